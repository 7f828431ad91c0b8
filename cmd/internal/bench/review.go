package bench

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
	"pouchward/triage/review"
)

func (s *Server) reviewRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /review", s.getReview)
	mux.HandleFunc("POST /review/sign", s.signOff)
}

// A review goes over the whole log. A short one is reviewed when its page is opened, a
// long one when somebody asks for it, one at a time.
const (
	shortLog   = 20_000
	reviewTime = 30 * time.Minute
)

// A reviewView is the screen of a review.
type reviewView struct {
	From, To string
	Size     int64
	Asked    bool // it was made
	Head     []exports.PanelRow
	Sections []reviewSection
	Nothing  string
	Clean    exports.ReviewClean
	Sample   []choice
	Mark     string // on a log that does not verify
	Faults   []string
	forms    *sheets
	Notes    []string
	Who      string
	Command  string
	Care     string
}

type reviewSection struct {
	Head   string
	Checks []reviewCheck
}

type reviewCheck struct {
	ID, Title string
	Findings  []reviewFinding
	Untold    string
	Says      []exports.PanelRow
}

type reviewFinding struct {
	Text, Answer  string
	Subject       string
	Entries       []int64
	More          int
	Tags          []stockCell
	Open, CanSign bool
	Sheet         *sheet
	Refused       string
}

func (s *Server) getReview(w http.ResponseWriter, r *http.Request) { s.showReview(w, r, nil) }

func (s *Server) showReview(w http.ResponseWriter, r *http.Request, fault error) {
	q := r.URL.Query()
	x := &reviewView{From: q.Get("from"), To: q.Get("to"), Care: triage.LocalFirst}
	if r.Method == http.MethodPost {
		x.From, x.To = r.PostFormValue("from"), r.PostFormValue("to")
	}
	x.forms = s.sheets(r)
	status := 0
	if fault != nil {
		x.Faults, status = []string{words(fault)}, statusOf(fault)
	}
	x.Command = reviewCommand(x.From, x.To)
	var err error
	if x.Size, err = s.desk.Log().Size(); err != nil {
		s.fail(w, r, err)
		return
	}
	if x.Asked = x.Size <= shortLog || q.Has("go") || r.Method == http.MethodPost; x.Asked {
		if err := s.review(w, r, x); err != nil {
			x.Asked, status = false, statusOf(err)
			x.Faults = append(x.Faults, words(err))
		}
	}
	x.Who = s.who(r)
	if n, _ := strconv.ParseInt(q.Get("entry"), 10, 64); n > 0 {
		x.Notes = s.heard(n)
	}
	s.show(w, r, page{Title: "Review", Screen: "/review", File: "review.html", Status: status, Data: x})
}

func reviewCommand(from, to string) string {
	list := []string{"review"}
	for _, f := range [...][2]string{{"--from", from}, {"--to", to}} {
		if f[1] != "" {
			list = append(list, f[0], f[1])
		}
	}
	return app.Command(list...)
}

// review makes the review.
func (s *Server) review(w http.ResponseWriter, r *http.Request, x *reviewView) error {
	shop, err := s.desk.Shop()
	if err != nil {
		return err
	}
	if !s.reviewing.TryLock() {
		return &statusError{http.StatusServiceUnavailable, "A review is being made already. Wait for it, then open this page again."}
	}
	defer s.reviewing.Unlock()
	err = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(reviewTime))
	if err != nil && !errors.Is(err, http.ErrNotSupported) {
		return err
	}
	report, err := app.Review(shop, s.desk.Place, app.ReviewAsk{From: x.From, To: x.To})
	if err != nil {
		return err
	}
	x.Head, x.Clean = exports.ReviewRows(report), exports.NewReviewClean(report)
	if len(report.Findings) == 0 {
		x.Nothing = exports.NothingFound
	}
	today := report.Snapshot.To == triage.DateOf(s.desk.Now())
	for _, part := range exports.ReviewSections(report) {
		section := reviewSection{Head: part.Head}
		for _, k := range part.Checks {
			check := reviewCheck{ID: k.Check.ID, Title: k.Check.Title, Untold: k.Untold, Says: exports.CheckRows(k.Check)}
			for _, f := range k.Findings {
				check.Findings = append(check.Findings, x.finding(f, today))
			}
			section.Checks = append(section.Checks, check)
		}
		x.Sections = append(x.Sections, section)
	}
	for _, tag := range append(append([]string{}, report.Sample.Here...), report.Sample.Gone...) {
		x.Sample = append(x.Sample, choice{Value: cellPath(tag, ""), Words: triage.SpacedTag(tag)})
	}
	return nil
}

// part is where on the page a finding stands.
func (x *reviewView) part(f *review.Finding) string {
	return "f" + formKey(f.Check.ID, f.Subject)[:12]
}

// mostEvidence is how many entries and tags of a finding are named.
const mostEvidence = 12

// finding lays a finding out. What was found of an earlier day is not signed off here:
// an answer counts for what is found today.
func (x *reviewView) finding(f *review.Finding, today bool) reviewFinding {
	o := reviewFinding{Text: exports.FindingText(f), Answer: exports.AnswerOf(f), Subject: f.Subject, Open: f.Open(), CanSign: f.Signed == nil && today}
	o.Entries = f.Entries
	if len(o.Entries) > mostEvidence {
		o.Entries, o.More = o.Entries[:mostEvidence], len(f.Entries)-mostEvidence
	}
	for _, tag := range f.Tags[:min(len(f.Tags), mostEvidence)] {
		cell := stockCell{Text: triage.SpacedTag(tag)}
		switch kind, _ := tagKind(tag); kind {
		case triage.CellTag:
			cell.Href = cellPath(tag, "")
		case triage.ContainerTag:
			cell.Href = stockAt(tag)
		}
		o.Tags = append(o.Tags, cell)
	}
	o.Sheet = x.forms.of("/review?go=1", x.part(f), "/review/sign", url.Values{"check": {f.Check.ID}, "subject": {f.Subject}})
	if o.Sheet.Filled() && o.Sheet.Taken == nil {
		o.Refused = strings.Join(x.Faults, " ")
	}
	return o
}

// signOff answers a finding.
func (s *Server) signOff(w http.ResponseWriter, r *http.Request) {
	v, err := s.readForm(w, r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if v.Get("do") != "sign" {
		s.showReview(w, r, s.onlyFilled(r))
		return
	}
	entry, err := s.once(r, func() (int64, error) {
		shop, err := s.desk.Shop()
		if err != nil {
			return 0, err
		}
		signed, err := s.recording(r).SignOff(shop, s.act(r), app.SignOff{Check: v.Get("check"), Subject: v.Get("subject"), Reason: v.Get("reason"), Until: v.Get("until"), From: v.Get("from")})
		if err != nil {
			return 0, err
		}
		n := signed.Receipt.Number
		until := ""
		if signed.Until != "" {
			until = ", until " + signed.Until
		}
		words := []string{"review", "sign", signed.Finding.Check.ID, signed.Finding.Subject, "--reason", v.Get("reason")}
		s.say(n, fmt.Sprintf("Answered as entry %d%s. The finding stays, with the answer beside it, and is open again when more is found.", n, until), asCommand(s.who(r), words...))
		return n, nil
	})
	if err != nil {
		s.showReview(w, r, err)
		return
	}
	q := url.Values{"go": {"1"}, "entry": {strconv.FormatInt(entry, 10)}}
	for _, name := range []string{"from", "to"} {
		if text := v.Get(name); text != "" {
			q.Set(name, text)
		}
	}
	http.Redirect(w, r, "/review?"+q.Encode(), http.StatusSeeOther)
}
