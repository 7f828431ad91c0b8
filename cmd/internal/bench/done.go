package bench

import (
	"bytes"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"pouchward/cmd/internal/app"
	"pouchward/exports/pdf"
	"pouchward/logbook"
	"pouchward/triage"
)

// attachPath takes photos, which are larger than any form.
const attachPath = "/attach"

func donePath(entry int64) string { return "/done/" + strconv.FormatInt(entry, 10) }

func (s *Server) doneRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /done/{entry}", s.getDone)
	mux.HandleFunc("POST /done/{entry}", s.postDone)
	mux.HandleFunc("POST /retract/{entry}", s.retract)
	mux.HandleFunc("POST "+attachPath, s.attach)
	mux.HandleFunc("GET /label/{tag}", s.label)
}

// A done is the screen after an entry: the tag for the tape, and what is next.
type done struct {
	Entry  int64
	Kind   string
	At     string
	Who    string
	Cell   *app.DeskCell
	Steps  []choice // terminals, bag, fill
	Spots  app.Spots
	Away   string // place for isolated cells, of the house file
	Notes  []string
	Faults []string
	To     string // where a move was refused, for the reason
	Void   int64  // the retraction of the entry, 0 for none
	React  bool   // nobody goes near it

	Put, Back, Photo *sheet // away, the entry taken back
}

func (s *Server) getDone(w http.ResponseWriter, r *http.Request) { s.showDone(w, r, nil) }

func (s *Server) showDone(w http.ResponseWriter, r *http.Request, fault error) {
	d, err := s.doneOf(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	status := 0
	if fault != nil {
		d.Faults, status = append(d.Faults, words(fault)), statusOf(fault)
		d.To = cut(r.PostFormValue("to"), 200)
	} else {
		d.Notes = s.heard(d.Entry)
	}
	s.show(w, r, page{Title: "Recorded", Screen: "/assess", File: "done.html", Status: status, Data: d})
}

// entryOf reads the entry that a path names, and the tag of its cell.
func (s *Server) entryOf(r *http.Request) (*logbook.Entry, error) {
	n, err := strconv.ParseInt(r.PathValue("entry"), 10, 64)
	if err != nil || n < 1 {
		return nil, &statusError{http.StatusNotFound, "The log has no such entry."}
	}
	e, err := s.desk.Log().Entry(n)
	if errors.Is(err, logbook.ErrNoEntry) || err == nil && len(e.Tags) == 0 {
		return nil, &statusError{http.StatusNotFound, "The log has no entry of that number about a cell."}
	}
	return e, err
}

func (s *Server) doneOf(r *http.Request) (*done, error) {
	e, err := s.entryOf(r)
	if err != nil {
		return nil, err
	}
	shop, err := s.desk.Shop()
	if err != nil {
		return nil, err
	}
	d := &done{Entry: e.Number, Kind: e.Kind, At: e.Local(e.Happened).Format("15:04"), Who: e.Who}
	if d.Cell, err = s.desk.Cell(shop, e.Tags[0]); err != nil {
		return nil, err
	}
	d.Void = d.Cell.Void[e.Number]
	d.React = d.Cell.Verdict.Handling == triage.Emergency
	page, forms := donePath(e.Number), s.sheets(r)
	d.Put, d.Back = forms.of(page, "put", page, nil), forms.of(page, "retract", "/retract/"+strconv.FormatInt(e.Number, 10), nil)
	d.Photo = forms.of(page, "photo", attachPath, url.Values{"to": {d.Cell.Tag}})
	d.Steps = steps(d.Cell, d.Put)
	if shop.House != nil {
		d.Away = shop.House.Shop.IsolationPlace
	}
	d.Spots, err = s.desk.Spots()
	return d, err
}

// postDone records what was made safe, and where the cell was put: an entry each.
func (s *Server) postDone(w http.ResponseWriter, r *http.Request) {
	v, e, ok := posted(s, w, r, s.entryOf)
	if !ok {
		return
	}
	if enterOnly(v) {
		s.showDone(w, r, s.onlyFilled(r))
		return
	}
	_, err := s.once(r, func() (int64, error) {
		if v.Get("do") == "fill" {
			return 0, errOnly
		}
		return s.putAway(r, e, v.Get("terminals") != "", v.Get("bag") != "", v.Get("fill") != "", v.Get("to"), v.Get("because"))
	})
	if err != nil {
		s.showDone(w, r, err)
		return
	}
	http.Redirect(w, r, donePath(e.Number), http.StatusSeeOther)
}

// putAway returns the last entry that it wrote.
func (s *Server) putAway(r *http.Request, e *logbook.Entry, terminals, bag, fill bool, to, because string) (last int64, err error) {
	if err := s.needWho(r); err != nil {
		return 0, err
	}
	shop, err := s.desk.Shop()
	if err != nil {
		return 0, err
	}
	cell, err := s.desk.Cell(shop, e.Tags[0])
	if err != nil {
		return 0, err
	}
	rec, act, tag := s.recording(r), s.act(r), cell.Tag
	if terminals && !cell.Terminals || bag && !cell.Bag || fill && !cell.Fill {
		o, err := rec.Secure(shop, act, tag, app.Secured(terminals, bag, fill))
		if err != nil {
			return 0, err
		}
		s.say(e.Number, o.Notes...)
		last = o.Receipts[len(o.Receipts)-1].Number
	} else if to == "" {
		return 0, app.Usage("nothing was ticked and no place was named")
	}
	if to = strings.TrimSpace(to); to == "" {
		return last, nil
	}
	m, err := rec.Move(shop, act, app.Move{Tags: []string{tag}, To: to, Because: strings.TrimSpace(because)})
	if err != nil {
		if last > 0 { // else the page would say that nothing was recorded
			err = fmt.Errorf("entry %d has what was ticked; the place is %w", last, err)
		}
		return 0, err
	}
	s.say(e.Number, m.Notes...)
	for _, c := range m.Cells {
		s.say(e.Number, c.Notes...)
	}
	return m.Receipts[len(m.Receipts)-1].Number, nil
}

// retract takes an entry back with an entry.
func (s *Server) retract(w http.ResponseWriter, r *http.Request) {
	v, e, ok := posted(s, w, r, s.entryOf)
	if !ok {
		return
	}
	if enterOnly(v) {
		s.showDone(w, r, s.onlyFilled(r))
		return
	}
	_, err := s.once(r, func() (int64, error) {
		if err := s.needWho(r); err != nil {
			return 0, err
		}
		if v.Get("reason") == "" {
			return 0, errWhy
		}
		shop, err := s.desk.Shop()
		if err != nil {
			return 0, err
		}
		o, err := s.recording(r).Retract(shop, s.act(r), app.Change{Entry: e.Number, Reason: v.Get("reason"), Note: v.Get("note")})
		if err != nil {
			return 0, err
		}
		s.say(e.Number, o.Notes...)
		return o.Receipts[len(o.Receipts)-1].Number, nil
	})
	if err != nil {
		s.showDone(w, r, err)
		return
	}
	http.Redirect(w, r, donePath(e.Number), http.StatusSeeOther)
}

// label sends the label of a cell or a container as PDF.
func (s *Server) label(w http.ResponseWriter, r *http.Request) {
	shop, err := s.desk.Shop()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	var b bytes.Buffer
	if _, err = s.desk.WriteLabels(&b, shop, []string{r.PathValue("tag")}, pdf.Paper{}); err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Disposition", `inline; filename="label.pdf"`)
	send(w, 0, "application/pdf", b.Bytes())
}
