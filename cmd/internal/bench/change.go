package bench

import (
	"cmp"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

func (s *Server) changeRoutes(mux *http.ServeMux) {
	for _, part := range []string{"correct", "wrong", "retract", "determine"} {
		mux.HandleFunc("POST /cell/{tag}/"+part, func(w http.ResponseWriter, r *http.Request) { s.postChange(w, r, part) })
	}
}

// A change is what a form would have a cell's record say: a correction, an entry moved to
// the cell that was meant, a retraction, a determination.
type change struct {
	part   string // of the page
	tag    string
	entry  app.Change
	right  string     // tag of the cell that was meant
	ruling app.Ruling // of a determination
}

// A changeView shows what a change would make of a cell, or two, before it is recorded.
type changeView struct {
	Part, Tag string
	What      string // is recorded
	Says      string // what is changed
	Sheet     *sheet
	Cells     []changedCell
	Notes     []string
	Hidden    []choice // the form as typed
	Last      string   // the cells' last entries, which this rests on
	Moved     bool     // another entry came in between
	Command   string
}

// A changedCell has both verdicts on a cell. Before is nil where nothing was recorded.
type changedCell struct {
	Tag           string // blank where there is one cell alone
	Before, After *exports.Panel
	Same          bool // no other class
}

// changeOf reads a change off a form. The entry must be one of the cell's own.
func (s *Server) changeOf(r *http.Request, part string) (*change, error) {
	v := r.PostForm
	shop, err := s.desk.Shop()
	if err != nil {
		return nil, err
	}
	cell, err := s.desk.Cell(shop, r.PathValue("tag"))
	if err != nil {
		return nil, err
	}
	x := &change{part: part, tag: cell.Tag}
	second, criteria, reason := strings.TrimSpace(v.Get("second")), strings.Join(v["criteria"], ""), strings.TrimSpace(v.Get("reason"))
	if part == "determine" {
		x.ruling = app.Ruling{Lower: v["lower"], Condition: v.Get("condition"), Criteria: criteria, Reason: reason, Second: second, Expert: v.Get("expert") != "", Until: strings.TrimSpace(v.Get("until"))}
		for _, text := range v["mistaken"] {
			n, err := strconv.ParseInt(text, 10, 64)
			if err != nil {
				return nil, app.Usage("%q is no entry", exports.Clean(cut(text, 20)))
			}
			x.ruling.Mistaken = append(x.ruling.Mistaken, n)
		}
		return x, nil
	}
	if reason == "" && part != "wrong" {
		return nil, errWhy
	}
	x.entry = app.Change{Reason: reason, Note: strings.TrimSpace(v.Get("note")), Second: second, Criteria: criteria}
	switch part {
	case "correct":
		x.entry.Field, x.entry.New = v.Get("field"), strings.TrimSpace(v.Get("value"))
	case "wrong":
		if x.right = strings.TrimSpace(v.Get("right")); x.right == "" {
			return nil, app.Usage("scan or type the tag of the cell that was meant; nothing was recorded")
		}
	}
	if x.entry.Entry, err = strconv.ParseInt(v.Get("entry"), 10, 64); err != nil || x.entry.Entry < 1 {
		return nil, app.Usage("choose the entry; %q is none", exports.Clean(cut(v.Get("entry"), 20)))
	}
	for _, e := range cell.Entries {
		if e.Number == x.entry.Entry {
			return x, nil
		}
	}
	return nil, app.Usage("entry %d is not about %s", x.entry.Entry, triage.SpacedTag(cell.Tag))
}

// postChange shows both verdicts, and records only what was shown: do=record with the
// numbers of the last entries, which the page with the verdicts bears.
func (s *Server) postChange(w http.ResponseWriter, r *http.Request, part string) {
	v, err := s.readForm(w, r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	x, err := s.changeOf(r, part)
	if err == nil {
		err = s.needWho(r)
	}
	if err != nil {
		s.keepPosted(r)
		s.showCell(w, r, part, err, nil)
		return
	}
	if v.Get("do") != "record" || v.Get("last") == "" {
		s.keepPosted(r)
		s.showChange(w, r, x)
		return
	}
	tag := r.PathValue("tag")
	entry, err := s.once(r, func() (int64, error) { return s.change(r, x) })
	switch {
	case errors.Is(err, app.ErrMoved): // the verdicts that were shown are no longer those of the cell
		s.showChange(w, r, x)
	case err != nil:
		s.showCell(w, r, part, err, nil)
	default:
		http.Redirect(w, r, cellAfter(tag, entry), http.StatusSeeOther)
	}
}

// errWhy is that a form stands as it came: no reason is chosen for anybody.
var errWhy = &statusError{http.StatusUnprocessableEntity, "Not recorded yet: choose why it is changed."}

// try says what a change would make of each cell that it bears on.
func (x *change) try(rec *app.Recording, shop *app.Shop, act app.Act) (list []*app.Tentative, err error) {
	var one, two *app.Tentative
	switch x.part {
	case "correct":
		one, err = rec.TryCorrect(shop, act, x.entry)
	case "retract":
		one, err = rec.TryRetract(shop, act, x.entry)
	case "determine":
		one, err = rec.TryDetermine(shop, act, x.tag, x.ruling)
	default:
		if one, two, err = rec.TryWrongCell(shop, act, x.entry, x.right); err == nil {
			return []*app.Tentative{one, two}, nil
		}
	}
	return []*app.Tentative{one}, err
}

// write records a change, and returns what it made of the cell of the page.
func (x *change) write(rec *app.Recording, shop *app.Shop, act app.Act) (o *app.Outcome, err error) {
	switch x.part {
	case "correct":
		return rec.Correct(shop, act, x.entry)
	case "retract":
		return rec.Retract(shop, act, x.entry)
	case "determine":
		return rec.Determine(shop, act, x.tag, x.ruling)
	}
	o, to, err := rec.WrongCell(shop, act, x.entry, x.right)
	if err == nil {
		o.Notes = append(o.Notes, "The readings of entry "+strconv.FormatInt(x.entry.Entry, 10)+" stand on "+triage.SpacedTag(to.Tag)+" now.")
		o.Notes = append(o.Notes, to.Notes...)
	}
	return o, err
}

// lastOf names the entries that verdicts rest on.
func lastOf(list []*app.Tentative) string {
	var parts []string
	for _, t := range list {
		parts = append(parts, strconv.FormatInt(t.Last, 10))
	}
	return strings.Join(parts, "-")
}

// lastsOf reads what lastOf wrote. What it did not write rests on no entry.
func lastsOf(text string) (last, meant int64, err error) {
	first, second, two := strings.Cut(text, "-")
	if last, err = strconv.ParseInt(first, 10, 64); err == nil && two {
		meant, err = strconv.ParseInt(second, 10, 64)
	}
	if err != nil {
		return 0, 0, app.ErrMoved
	}
	return last, meant, nil
}

func (s *Server) change(r *http.Request, x *change) (int64, error) {
	shop, err := s.desk.Shop()
	if err != nil {
		return 0, err
	}
	last, meant, err := lastsOf(r.PostForm.Get("last"))
	if err != nil {
		return 0, err
	}
	o, err := x.write(s.recording(r).RestingOn(last, meant), shop, s.act(r))
	if err != nil {
		return 0, err
	}
	return s.tell(o, asCommand(s.who(r), x.command()...)), nil
}

// command are the words of the command that writes a change.
func (x *change) command() []string {
	var flags [][2]string
	e := &x.entry
	list := []string{x.part, strconv.FormatInt(e.Entry, 10)}
	switch x.part {
	case "determine":
		d := &x.ruling
		list = []string{"determine", x.tag}
		for _, id := range d.Lower {
			list = append(list, "--lower", id)
		}
		for _, n := range d.Mistaken {
			list = append(list, "--mistaken", strconv.FormatInt(n, 10))
		}
		if d.Expert {
			list = append(list, "--expert")
		}
		flags = [][2]string{{"--condition", d.Condition}, {"--criteria", d.Criteria}, {"--reason", d.Reason}, {"--second", d.Second}, {"--until", d.Until}}
	case "wrong":
		list[0] = "correct"
		flags = [][2]string{{"--wrong-cell", x.right}, {"--note", e.Note}, {"--second", e.Second}, {"--criteria", e.Criteria}}
	case "correct":
		list = append(list, "--field", e.Field, "--value", e.New)
		fallthrough
	default:
		flags = [][2]string{{"--reason", e.Reason}, {"--note", e.Note}, {"--second", e.Second}, {"--criteria", e.Criteria}}
	}
	for _, f := range flags {
		if f[1] != "" {
			list = append(list, f[0], f[1])
		}
	}
	return list
}

// says what is changed, and what that is called.
func (x *change) says() (what, text string) {
	entry := "entry " + strconv.FormatInt(x.entry.Entry, 10)
	switch x.part {
	case "correct":
		f, _ := triage.FieldByName(x.entry.Field)
		return "correction", triage.Fields[f].Label + " of " + entry + " should say: " + cmp.Or(x.entry.New, "blank: it was not measured")
	case "wrong":
		return "move to the other cell", "The whole of " + entry + " was meant for " + x.right + "."
	case "determine":
		d := &x.ruling
		text := "By criteria " + strings.Join(strings.Split(d.Criteria, ""), ", ") + ", with " + d.Second + " as second person: " + d.Reason
		if len(d.Lower) > 0 {
			text += ". Set aside: " + strings.Join(d.Lower, ", ")
		}
		for _, n := range d.Mistaken {
			text += ". Entry " + strconv.FormatInt(n, 10) + " was a slip"
		}
		if d.Condition != "" {
			text += ". The condition goes up to " + d.Condition
		}
		if d.Until != "" {
			text += ". It holds until " + d.Until
		}
		return "determination", text + "."
	}
	return "retraction", "Take " + entry + " back, because it was " + strings.ReplaceAll(x.entry.Reason, "-", " ") + "."
}

// showChange draws both verdicts.
func (s *Server) showChange(w http.ResponseWriter, r *http.Request, x *change) {
	shop, err := s.desk.Shop()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	list, err := x.try(s.recording(r), shop, s.act(r))
	if err != nil {
		s.showCell(w, r, x.part, err, nil)
		return
	}
	v := &changeView{Part: x.part, Tag: x.tag, Last: lastOf(list), Command: asCommand(s.who(r), x.command()...)}
	v.What, v.Says = x.says()
	v.Sheet = s.sheets(r).of(cellPath(x.tag, ""), x.part, r.URL.Path, nil)
	for _, t := range list {
		c := changedCell{After: s.desk.PanelOf(shop, t.After, &t.Is)}
		if t.Before != nil {
			c.Before = s.desk.PanelOf(shop, t.Before, &t.Was)
			c.Same = t.Before.Handling == t.After.Handling && t.Before.Condition == t.After.Condition
		}
		if len(list) > 1 {
			c.Tag = t.Tag
		}
		v.Cells = append(v.Cells, c)
		for _, note := range t.Notes {
			v.Notes = append(v.Notes, inWords(note))
		}
	}
	v.Moved = r.PostForm.Get("last") != "" && r.PostForm.Get("last") != v.Last
	for name, values := range r.PostForm {
		if slices.Contains([]string{"form", "do", "last"}, name) {
			continue
		}
		for _, text := range values {
			v.Hidden = append(v.Hidden, choice{Name: name, Value: text})
		}
	}
	slices.SortStableFunc(v.Hidden, func(a, b choice) int { return cmp.Compare(a.Name, b.Name) })
	status := 0
	if v.Moved {
		status = http.StatusConflict
	}
	s.show(w, r, page{Title: "Before it is recorded", Screen: "/cell", File: "change.html", Status: status, Data: v})
}
