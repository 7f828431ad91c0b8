package bench

import (
	"net/http"
	"strconv"
	"strings"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

// A cellAct writes an entry about a cell, as a form says, and returns its number.
type cellAct func(s *Server, r *http.Request, shop *app.Shop, tag string) (int64, error)

// errOnly is that a form was sent without one of its buttons, as Enter does.
var errOnly = &statusError{http.StatusUnprocessableEntity, "Nothing was recorded: press one of the buttons. Enter, and a scan, only fill in."}

// errMend is that a reading is refused and should be mended first.
var errMend = &statusError{http.StatusUnprocessableEntity, "Not recorded yet: what is refused below counts as not known. Mend it, or record it so."}

// postCell writes an entry about the cell of a path, once, and shows the cell.
func (s *Server) postCell(w http.ResponseWriter, r *http.Request, part string, act cellAct) {
	if _, err := s.readForm(w, r); err != nil {
		s.fail(w, r, err)
		return
	}
	shop, err := s.desk.Shop()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	tag := r.PathValue("tag")
	entry, err := s.once(r, func() (int64, error) {
		// Going up waits for nothing, not for a name either.
		if part != "raise" && r.PostForm.Get("found") != "worse" {
			if err := s.needWho(r); err != nil {
				return 0, err
			}
		}
		return act(s, r, shop, tag)
	})
	if err != nil {
		s.showCell(w, r, part, err, func(x *cellView) {
			x.Anyway = err == errMend
			if part == "move" {
				x.Because = moveTo(r)
			}
		})
		return
	}
	http.Redirect(w, r, cellAfter(tag, entry), http.StatusSeeOther)
}

// cellAfter is the page of a cell after an entry.
func cellAfter(tag string, entry int64) string {
	return cellPath(tag, "") + "?entry=" + strconv.FormatInt(entry, 10)
}

// recheck records another look, same or worse. One that found it worse is recorded
// whatever was typed: going up waits for nothing.
func (s *Server) recheck(r *http.Request, shop *app.Shop, tag string) (int64, error) {
	v := r.PostForm
	found, given := v.Get("found"), givenOf(v)
	if found == "" {
		return 0, errOnly
	}
	if found != "worse" && v.Get("anyway") == "" && len(app.Refusals(given)) > 0 {
		return 0, errMend
	}
	o, err := s.recording(r).Recheck(shop, s.act(r), tag, found, given)
	if err != nil {
		return 0, err
	}
	command := []string{"recheck", o.Tag, found}
	for _, g := range given {
		command = append(command, "--"+strings.ReplaceAll(triage.Fields[g.Field].Name, "_", "-"), g.Text)
	}
	return s.tell(o, asCommand(s.who(r), command...)), nil
}

// raise puts a cell up at once.
func (s *Server) raise(r *http.Request, shop *app.Shop, tag string) (int64, error) {
	v := r.PostForm
	if v.Get("to") == "" {
		return 0, errOnly
	}
	to, ok := triage.HandlingByName(v.Get("to"))
	if !ok {
		return 0, app.Usage("a raise goes to hold, isolate or emergency, not to %q", exports.Clean(cut(v.Get("to"), 40)))
	}
	o, err := s.recording(r).Raise(shop, s.act(r), tag, to, 0, strings.TrimSpace(v.Get("note")))
	if err != nil {
		return 0, err
	}
	command := []string{"raise", o.Tag, "--to", to.String()}
	if note := strings.TrimSpace(v.Get("note")); note != "" {
		command = append(command, "--note", note)
	}
	return s.tell(o, asCommand(s.who(r), command...)), nil
}

// secure records what was done to make a cell safe to keep.
func (s *Server) secure(r *http.Request, shop *app.Shop, tag string) (int64, error) {
	v := r.PostForm
	if v.Get("do") != "record" {
		return 0, errOnly
	}
	terminals, bag, fill := v.Get("terminals") != "", v.Get("bag") != "", v.Get("fill") != ""
	if !terminals && !bag && !fill {
		return 0, app.Usage("nothing was ticked; nothing was recorded")
	}
	o, err := s.recording(r).Secure(shop, s.act(r), tag, app.Secured(terminals, bag, fill))
	if err != nil {
		return 0, err
	}
	command := []string{"secure", o.Tag}
	for _, x := range []struct {
		is   bool
		flag string
	}{{terminals, "--terminals"}, {bag, "--bag"}, {fill, "--fill"}} {
		if x.is {
			command = append(command, x.flag)
		}
	}
	return s.tell(o, asCommand(s.who(r), command...)), nil
}

// moveTo is where a form moves a cell to: a button, or a place that was typed.
func moveTo(r *http.Request) string {
	v := r.PostForm
	if v.Get("do") == "typed" {
		return strings.TrimSpace(v.Get("place"))
	}
	return strings.TrimSpace(v.Get("to"))
}

// move records where a cell was put.
func (s *Server) move(r *http.Request, shop *app.Shop, tag string) (int64, error) {
	to, because := moveTo(r), strings.TrimSpace(r.PostForm.Get("because"))
	switch {
	case r.PostForm.Get("do") == "fill": // Enter in the field of why
		return 0, errOnly
	case to == "" && r.PostForm.Get("do") == "typed":
		return 0, app.Usage("name the place first; nothing was recorded")
	case to == "":
		return 0, errOnly
	}
	m, err := s.recording(r).Move(shop, s.act(r), app.Move{Tags: []string{tag}, To: to, Because: because})
	if err != nil {
		return 0, err
	}
	o := m.Outcome
	for _, c := range m.Cells {
		o.Notes = append(o.Notes, c.Notes...)
	}
	command := []string{"move", tag, "--to", to}
	if because != "" {
		command = append(command, "--because", because)
	}
	return s.tell(&o, asCommand(s.who(r), command...)), nil
}
