package bench

import (
	"net/http"
	"strconv"
	"strings"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

func (s *Server) changeRoutes(mux *http.ServeMux) {
	for _, part := range []string{"correct", "retract"} {
		mux.HandleFunc("POST /cell/{tag}/"+part, func(w http.ResponseWriter, r *http.Request) { s.postChange(w, r, part) })
	}
}

// A changeView shows what a correction or a retraction would make of a cell, before it
// is recorded.
type changeView struct {
	Part          string // correct or retract
	Tag           string
	Form          string
	Says          string // what is changed
	Before, After *exports.Panel
	Same          bool // both verdicts are the same
	Notes         []string
	Hidden        []choice // the form as typed
	Last          int64    // the cell's last entry, which this rests on
	Moved         bool     // another entry came in between
	Command       string
	Faults        []string
}

// changeOf reads a correction or a retraction off a form. The entry must be one of the
// cell's own.
func (s *Server) changeOf(r *http.Request, part string) (x app.Change, err error) {
	v := r.PostForm
	if x.Entry, err = strconv.ParseInt(v.Get("entry"), 10, 64); err != nil || x.Entry < 1 {
		return x, app.Usage("choose the entry; %q is none", exports.Clean(cut(v.Get("entry"), 20)))
	}
	x.Reason, x.Note = v.Get("reason"), strings.TrimSpace(v.Get("note"))
	x.Second, x.Criteria = strings.TrimSpace(v.Get("second")), strings.TrimSpace(v.Get("criteria"))
	if part == "correct" {
		x.Field, x.New = v.Get("field"), strings.TrimSpace(v.Get("value"))
	}
	shop, err := s.desk.Shop()
	if err != nil {
		return x, err
	}
	c, err := s.desk.Cell(shop, r.PathValue("tag"))
	if err != nil {
		return x, err
	}
	for _, e := range c.Entries {
		if e.Number == x.Entry {
			return x, nil
		}
	}
	return x, app.Usage("entry %d is not about %s", x.Entry, triage.SpacedTag(c.Tag))
}

// postChange shows both verdicts, and records only what was shown: do=record with the
// number of the cell's last entry, which the page with the verdicts bears.
func (s *Server) postChange(w http.ResponseWriter, r *http.Request, part string) {
	v, err := readForm(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	x, err := s.changeOf(r, part)
	if err != nil {
		s.showCell(w, r, part, err, nil)
		return
	}
	if v.Get("do") != "record" || v.Get("last") == "" {
		s.showChange(w, r, part, x)
		return
	}
	tag := r.PathValue("tag")
	entry, err := s.once(r, func() (int64, error) { return s.change(r, part, x) })
	switch {
	case err == errMoved:
		s.showChange(w, r, part, x)
	case err != nil:
		s.showCell(w, r, part, err, nil)
	default:
		http.Redirect(w, r, cellAfter(tag, entry), http.StatusSeeOther)
	}
}

// errMoved is that the verdicts that were shown are no longer those of the cell.
var errMoved = &statusError{http.StatusConflict, "another entry came in between"}

func (s *Server) change(r *http.Request, part string, x app.Change) (int64, error) {
	shop, err := s.desk.Shop()
	if err != nil {
		return 0, err
	}
	cell, err := s.desk.Cell(shop, r.PathValue("tag"))
	if err != nil {
		return 0, err
	}
	if last := cell.Entries[len(cell.Entries)-1].Number; r.PostForm.Get("last") != strconv.FormatInt(last, 10) {
		return 0, errMoved
	}
	rec, write := s.recording(r), (*app.Recording).Correct
	if part == "retract" {
		write = (*app.Recording).Retract
	}
	o, err := write(rec, shop, s.act(r), x)
	if err != nil {
		return 0, err
	}
	return s.tell(o, asCommand(s.who(r), changeWords(part, &x)...)), nil
}

// changeWords are the command that writes a change.
func changeWords(part string, x *app.Change) []string {
	list := []string{part, strconv.FormatInt(x.Entry, 10)}
	if part == "correct" {
		list = append(list, "--field", x.Field, "--value", x.New)
	}
	list = append(list, "--reason", x.Reason)
	for _, f := range [...][2]string{{"--note", x.Note}, {"--second", x.Second}, {"--criteria", x.Criteria}} {
		if f[1] != "" {
			list = append(list, f[0], f[1])
		}
	}
	return list
}

// showChange draws both verdicts.
func (s *Server) showChange(w http.ResponseWriter, r *http.Request, part string, x app.Change) {
	shop, err := s.desk.Shop()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	rec, try := s.recording(r), (*app.Recording).TryCorrect
	if part == "retract" {
		try = (*app.Recording).TryRetract
	}
	t, err := try(rec, shop, s.act(r), x)
	if err != nil {
		s.showCell(w, r, part, err, nil)
		return
	}
	v := &changeView{Part: part, Tag: t.Tag, Form: newForm(), Notes: t.Notes, Last: t.Last, Command: asCommand(s.who(r), changeWords(part, &x)...)}
	v.Before, v.After = s.desk.PanelOf(shop, t.Before, &t.Was), s.desk.PanelOf(shop, t.After, &t.Is)
	v.Same = t.Before.Handling == t.After.Handling && t.Before.Condition == t.After.Condition
	v.Moved = r.PostForm.Get("last") != "" && r.PostForm.Get("last") != strconv.FormatInt(t.Last, 10)
	v.Says = "Take entry " + strconv.FormatInt(x.Entry, 10) + " back, because it was " + strings.ReplaceAll(x.Reason, "-", " ") + "."
	if part == "correct" {
		f, _ := triage.FieldByName(x.Field)
		to := x.New
		if to == "" {
			to = "blank: it was not measured"
		}
		v.Says = triage.Fields[f].Label + " of entry " + strconv.FormatInt(x.Entry, 10) + " should say: " + to
	}
	for _, name := range []string{"entry", "field", "value", "reason", "note", "second", "criteria", "who"} {
		if text := r.PostForm.Get(name); text != "" {
			v.Hidden = append(v.Hidden, choice{Name: name, Value: text})
		}
	}
	status := 0
	if v.Moved {
		status = http.StatusConflict
	}
	s.show(w, r, page{Title: "Before it is recorded", Screen: "/cell", File: "change.html", Status: status, Data: v})
}
