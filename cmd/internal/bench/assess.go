package bench

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"reflect"
	"slices"
	"strings"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

func (s *Server) assessRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /assess", s.getAssess)
	mux.HandleFunc("POST /assess", s.postAssess)
	mux.HandleFunc("POST /assess/live", s.live)
	s.doneRoutes(mux)
}

// getAssess shows the form: the draft that is asked for, else the newest of this
// bench, else an empty one.
func (s *Server) getAssess(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	open := s.drafts.open(s.bench(r), s.desk.Now())
	var x *draft
	switch id := q.Get("draft"); {
	case id != "":
		var err error
		if x, err = s.drafts.get(id); err != nil {
			s.fail(w, r, err)
			return
		}
		if x != nil && x.Entry > 0 {
			http.Redirect(w, r, donePath(x.Entry), http.StatusSeeOther)
			return
		}
	case q.Has("new") || q.Get("tag") != "":
	case len(open) > 0:
		x = open[0]
	}
	f := &form{Other: open, Restored: x != nil && q.Get("draft") == ""}
	if f.draft = x; x != nil {
		if err := s.likeness(f); err != nil {
			s.fail(w, r, err)
			return
		}
	}
	if x == nil {
		x = &draft{ID: newDraftID(), Bench: s.bench(r), Begun: s.desk.Now(), Values: url.Values{}}
		if tag := q.Get("tag"); tag != "" {
			x.Values.Set("tag", cut(tag, 40))
		}
	}
	s.showForm(w, r, x, f, 0)
}

// postAssess takes the form: RECORD writes an entry, anything else keeps the draft
// and shows the form anew. Without a button, as on Enter, nothing is recorded.
func (s *Server) postAssess(w http.ResponseWriter, r *http.Request) {
	v, err := readForm(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	at := cmp.Or(setCode(v), "verdict") // where the page opens anew
	switch v.Get("do") {
	case "record":
		s.record(w, r, v)
		return
	case "drop":
		if err := s.drafts.drop(v.Get("draft")); err != nil {
			s.fail(w, r, err)
			return
		}
		http.Redirect(w, r, "/assess?new=1", http.StatusSeeOther)
		return
	case "label":
		err, at = s.sameLabel(r, v), "g-label"
	case "part":
		err, at = s.takePart(v), "g-label"
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	x, err := s.keep(r, v)
	if x.Entry > 0 {
		http.Redirect(w, r, donePath(x.Entry), http.StatusSeeOther)
		return
	}
	if err != nil {
		s.showForm(w, r, x, &form{Faults: []string{words(err)}}, http.StatusOK)
		return
	}
	http.Redirect(w, r, "/assess?draft="+x.ID+"#"+at, http.StatusSeeOther)
}

// setCode does what a button of a reason does: it writes the reason into its field.
func setCode(v url.Values) (id string) {
	name, code, ok := strings.Cut(v.Get("set"), "=")
	if _, isField := triage.FieldByName(name); !ok || !isField {
		return ""
	}
	v.Set(name, code)
	return "f-" + name
}

// sameLabel fills the label facts that are blank with those of the last cell
// recorded at this bench.
func (s *Server) sameLabel(r *http.Request, v url.Values) error {
	given, _, err := s.desk.LastLabel(s.bench(r))
	for _, g := range given {
		if name := triage.Fields[g.Field].Name; strings.TrimSpace(v.Get(name)) == "" {
			v.Set(name, g.Text)
		}
	}
	return err
}

// takePart takes over what part memory offers. The form names the fields, so that the
// entry says that nobody read them off this cell.
func (s *Server) takePart(v url.Values) error {
	o, err := app.OfferPart(s.desk.Log(), givenOf(v))
	if err != nil || o == nil {
		return err
	}
	filled, fields := o.Take(givenOf(v))
	for _, g := range filled {
		if name := triage.Fields[g.Field].Name; slices.Contains(fields, name) {
			v.Set(name, g.Text)
		}
	}
	v["frompart"] = append(v["frompart"], fields...)
	return nil
}

// keep keeps what was typed as a draft. A form that is older than its draft, as of a
// second window, becomes a draft of its own. The draft that is returned holds what
// was typed even where it could not be written.
func (s *Server) keep(r *http.Request, v url.Values) (*draft, error) {
	s.drafting.Lock()
	defer s.drafting.Unlock()
	now := s.desk.Now()
	x := &draft{ID: v.Get("draft"), Bench: s.bench(r), Begun: now, Changed: now, Values: kept(v), Now: now}
	if !draftID.MatchString(x.ID) {
		x.ID = newDraftID()
	}
	const here = "what you typed stands on this page only: %w"
	old, err := s.drafts.get(x.ID)
	if err != nil {
		return x, fmt.Errorf(here, err)
	}
	another := v.Get("again") != "" // somebody said that it is not the cell of the entry like it
	switch {
	case old == nil:
	case old.Entry > 0:
		return old, nil
	case reflect.DeepEqual(old.Values, x.Values) && !another:
		return old, nil
	case fmt.Sprint(old.Rev) != v.Get("rev"):
		x.ID = newDraftID()
	case another:
		x.Rev, x.Begun = old.Rev, old.Begun
	default:
		x.Rev, x.Begun, x.Writing, x.Wrote = old.Rev, old.Begun, old.Writing, old.Wrote
	}
	if old == nil && len(x.Values) == 0 {
		return x, nil // nothing was typed
	}
	x.Rev++
	if err := s.drafts.put(x); err != nil {
		return x, fmt.Errorf(here, err)
	}
	return x, nil
}

// live answers the script: it keeps the draft and draws the verdict, and the faults
// for the fields.
func (s *Server) live(w http.ResponseWriter, r *http.Request) {
	v, err := readForm(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	x, err := s.keep(r, v)
	f := &form{draft: x}
	if err != nil {
		f.Faults = append(f.Faults, words(err))
	}
	if err := s.judge(r, f); err != nil {
		s.fail(w, r, err)
		return
	}
	s.part(w, "assess.html", "live", f)
}

// record writes the entry of a form, once.
func (s *Server) record(w http.ResponseWriter, r *http.Request, v url.Values) {
	s.recordingNow.Lock()
	defer s.recordingNow.Unlock()
	x, err := s.keep(r, v)
	if x.Entry > 0 {
		http.Redirect(w, r, donePath(x.Entry), http.StatusSeeOther)
		return
	}
	f := &form{draft: x}
	if err != nil {
		f.Faults = append(f.Faults, words(err))
	}
	if stop := s.mayRecord(r, f, v); stop != nil {
		s.showForm(w, r, x, f, statusOf(stop))
		return
	}
	entry, err := s.write(r, f)
	if err != nil {
		x.Writing, x.Wrote = 0, nil
		_ = s.putDraft(x) // where this fails the draft asks what became of it
		f.Faults = append(f.Faults, words(err))
		if status := statusOf(err); status == http.StatusServiceUnavailable {
			w.Header().Set("Retry-After", "2")
		}
		s.showForm(w, r, x, f, statusOf(err))
		return
	}
	http.Redirect(w, r, donePath(entry), http.StatusSeeOther)
}

// errAsked is that a person must say something before an entry is written.
var errAsked = &statusError{http.StatusUnprocessableEntity, "asked"}

// mayRecord reports what stands in the way of an entry, and puts it on the form.
func (s *Server) mayRecord(r *http.Request, f *form, v url.Values) error {
	if len(givenOf(f.draft.Values)) == 0 {
		f.Faults = append(f.Faults, "Nothing was read yet: nothing was recorded.")
		return errAsked
	}
	if err := s.likeness(f); err != nil || f.Like > 0 {
		return cmp.Or(err, error(errAsked))
	}
	if v.Get("sure") == "" {
		f.Faults = append(f.Faults, "Not recorded yet: tick the box beside RECORD first. It keeps a scan from recording.")
		return errAsked
	}
	if err := s.judge(r, f); err != nil {
		return err
	}
	if f.faults["tag"] != "" {
		f.Faults = append(f.Faults, "Not recorded: the tag does not hold. Scan or type it again, or clear it to be given a new one.")
		return errAsked
	}
	if said := strings.Join(f.refused, "\n"); said != "" && said != v.Get("anyway") {
		f.Faults = append(f.Faults, "Not recorded yet: what is refused below counts as not known. Mend it, or record it so.")
		f.Anyway = said
		return errAsked
	}
	return nil
}

// likeness looks for the entry that the form of a program that ended may have become.
func (s *Server) likeness(f *form) (err error) {
	if f.draft.Writing > 0 {
		f.Like, f.LikeTag, err = s.desk.Likeness(f.draft.Writing, f.draft.Bench, givenOf(f.draft.Wrote))
	}
	return err
}

// putDraft writes a draft while no other request of its form does.
func (s *Server) putDraft(x *draft) error {
	s.drafting.Lock()
	defer s.drafting.Unlock()
	return s.drafts.put(x)
}

// write writes the entry. The draft says so first: should the program end between
// the two, nobody records the cell again without being asked.
func (s *Server) write(r *http.Request, f *form) (int64, error) {
	shop, err := s.desk.Shop()
	if err != nil {
		return 0, err
	}
	if f.draft.Writing, err = s.desk.Log().Size(); err != nil {
		return 0, err
	}
	f.draft.Wrote = f.draft.Values
	if err := s.putDraft(f.draft); err != nil {
		f.Faults = append(f.Faults, words(err)) // the log counts more than the draft
	}
	rec := s.recording(r)
	a, err := rec.Judge(shop, s.mended(givenOf(f.draft.Values)))
	if err != nil {
		return 0, err
	}
	if err := s.fromPart(f, a); err != nil {
		return 0, err
	}
	receipt, err := rec.Record(a)
	if err != nil {
		return 0, err
	}
	if receipt.Clock != "" {
		s.say(receipt.Number, "The machine's clock stands behind the last entry ("+receipt.Clock+"); the entry says so. Set the clock.")
	}
	done := &draft{ID: f.draft.ID, Bench: f.draft.Bench, Begun: f.draft.Begun, Changed: s.desk.Now(), Entry: receipt.Number, Tag: a.Verdict.Tag}
	if err := s.putDraft(done); err != nil {
		s.say(receipt.Number, "Recorded, but its draft could not be put away: "+words(err))
	}
	return receipt.Number, nil
}

// mended are the values with the tag as it is stored, where it was mended.
func (s *Server) mended(given []app.Given) []app.Given {
	for i := range given {
		if given[i].Field == triage.Tag {
			if scan, err := app.ReadCellScan(s.desk.Log(), given[i].Text); err == nil {
				given[i].Text = scan.Tag
			}
		}
	}
	return given
}

// judge fills the verdict of a form. An emergency does not wait for the log.
func (s *Server) judge(r *http.Request, f *form) error {
	shop, err := s.desk.Shop()
	if err != nil {
		return err
	}
	given := givenOf(f.draft.Values)
	f.Typed = len(given) > 0
	f.Command = app.CommandLine(given, "--record")
	f.faults = map[string]string{}
	for _, g := range given {
		if g.Field == triage.Tag {
			f.readTag(app.ReadCellScan(s.desk.Log(), g.Text))
		}
	}
	given = s.mended(given)
	a := app.Assess(shop, given)
	if a.Verdict.Handling != triage.Emergency {
		if a, err = s.recording(r).Judge(shop, given); err != nil && f.faults["tag"] == "" {
			f.faults["tag"] = words(err)
		}
	}
	if a.Verdict.Handling != triage.Emergency { // its card waits for nothing more
		if err := s.fromPart(f, a); err != nil {
			return err
		}
	}
	f.refused = a.Refused
	f.sortFaults()
	f.Panel = s.desk.Panel(a)
	return nil
}

// fromPart marks what was taken over from part memory, and reads what it offers.
func (s *Server) fromPart(f *form, a *app.Assessment) error {
	given := givenOf(f.draft.Values)
	x, err := app.TookOver(s.desk.Log(), given, f.draft.Values["frompart"])
	if err != nil {
		return err
	}
	x.Mark(a)
	o, err := app.OfferPart(s.desk.Log(), given)
	if o != nil {
		f.Part, f.Takes = o.Says(), len(o.Facts) > 0
	}
	return err
}

// readTag puts beside the scan field what became of a scan.
func (f *form) readTag(scan app.Scan, err error) {
	if err != nil {
		f.faults["tag"] = words(err) + ". Judged by the readings alone."
		return
	}
	f.Says = scan.Says
}

// sortFaults puts each refusal beside its field.
func (f *form) sortFaults() {
	for _, text := range f.refused {
		name, reason, _ := strings.Cut(text, " ")
		if _, ok := triage.FieldByName(name); ok && f.faults[name] == "" {
			f.faults[name] = exports.Clean(reason)
		}
	}
}
