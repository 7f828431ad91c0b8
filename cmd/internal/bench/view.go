package bench

import (
	"cmp"
	"net/http"
	"slices"
	"strings"

	"pouchward/exports"
	"pouchward/triage"
)

// A form is the assess screen.
type form struct {
	draft    *draft
	Other    []*draft // open drafts of this bench
	Restored bool     // shown because nobody asked for another

	Faults  []string // of the form as a whole
	Panel   *exports.Panel
	Typed   bool     // something was
	Command string   // that gives the same answer
	Says    string   // of the scan
	AskWho  []string // nobody is remembered: who works here, asked before the first entry
	Asks    bool
	Anyway  string // the refusals that the next press records as not known
	Part    string // what part memory says
	Takes   bool   // some of it can be taken over
	Like    int64  // an entry with these readings that may be this form
	LikeTag string

	Label  string // tag of the last cell, whose label can be repeated
	Signs  []choice
	Looked []choice
	Groups []groupView

	refused []string
	faults  map[string]string // by field
}

// A choice is one button of several.
type choice struct {
	Name, Value, Words string
	On                 bool
}

// A groupView is a part of the form as drawn.
type groupView struct {
	group
	Views []fieldView
	Open  bool
}

// Numbers reports whether a part has a field for the keypad.
func (g groupView) Numbers() bool {
	return slices.ContainsFunc(g.Views, func(x fieldView) bool { return x.Kind == "number" })
}

// A fieldView is one field as drawn.
type fieldView struct {
	Name, Label, Unit, Meaning string
	Allowed, Example           string
	Text, Fault                string
	Kind                       string   // number, text, date, radio or select
	Choices                    []choice // of radio and select
	Codes                      []code   // of number
}

func (f *form) ID() string   { return f.draft.ID }
func (f *form) Rev() int     { return f.draft.Rev }
func (f *form) Age() string  { return f.draft.Age() }
func (f *form) Tag() string  { return f.draft.Values.Get("tag") }
func (f *form) Kept() bool   { return f.draft.Rev > 0 }
func (f *form) Cell() string { return cmp.Or(f.draft.Values.Get("tag"), "no tag yet") }

// Taken are the fields that were taken over from part memory.
func (f *form) Taken() []string { return f.draft.Values["frompart"] }

// FaultsBy are the faults beside fields, in field order, for the script.
func (f *form) FaultsBy() (list []exports.PanelRow) {
	for i := range triage.Fields {
		if text := f.faults[triage.Fields[i].Name]; text != "" {
			list = append(list, exports.PanelRow{Label: triage.Fields[i].Name, Text: text})
		}
	}
	return list
}

// TagFault is what is wrong with the tag.
func (f *form) TagFault() string { return f.faults["tag"] }

// SignFault is what is wrong with the buttons of the signs.
func (f *form) SignFault() string { return f.faults["signs"] }

// showForm draws the form of a draft.
func (s *Server) showForm(w http.ResponseWriter, r *http.Request, x *draft, f *form, status int) {
	x.Now = s.desk.Now()
	f.draft = x
	f.Other = slices.DeleteFunc(f.Other, func(o *draft) bool { return o.ID == x.ID })
	if err := s.judge(r, f); err != nil {
		s.fail(w, r, err)
		return
	}
	_, f.Label, _ = s.desk.LastLabel(s.bench(r)) // without it there is no button
	f.fill()
	s.show(w, r, page{Title: "Assess", Screen: "/assess", File: "assess.html", Status: status, Data: f})
}

// fill makes the controls of the form.
func (f *form) fill() {
	v := f.draft.Values
	for i := triage.Swollen; i <= triage.Misused; i++ {
		d := &triage.Fields[i]
		f.Signs = append(f.Signs, choice{d.Name, d.Meaning, d.Label, slices.Contains(v["sign"], d.Name)})
	}
	for _, c := range []choice{{"", "yes", "None of these, or no others: I looked, listened and smelled", false}, {"", "us", "unsafe to look", false},
		{"", "nr", "cannot be seen", false}, {"", "", "not looked yet", false}} {
		c.Name, c.On = "looked", v.Get("looked") == c.Value
		f.Looked = append(f.Looked, c)
	}
	for _, g := range groups {
		gv := groupView{group: g, Open: !g.Shut}
		for _, id := range g.Fields {
			x := f.field(id, g.Shut)
			gv.Open = gv.Open || x.Text != "" || x.Fault != ""
			gv.Views = append(gv.Views, x)
		}
		f.Groups = append(f.Groups, gv)
	}
}

// field draws one field; small draws it as short as it can be.
func (f *form) field(id triage.FieldID, small bool) fieldView {
	d := &triage.Fields[id]
	x := fieldView{Name: d.Name, Label: d.Label, Unit: d.Unit, Meaning: d.Meaning, Example: d.Example, Fault: f.faults[d.Name],
		Text: strings.Join(f.draft.Values[d.Name], " / ")}
	switch d.Type {
	case triage.NumberField, triage.CountField:
		x.Kind, x.Allowed = "number", rangeOf(d)
		if !small {
			x.Codes = codes
		}
	case triage.WordField, triage.YesNoField:
		x.Kind = "select"
		if len(d.Words) <= 3 && !small {
			x.Kind = "radio"
		}
		x.Choices = wordChoices(d, x.Text)
	case triage.DateField:
		x.Kind = "date"
	default:
		x.Kind = "text"
	}
	return x
}

// rangeOf says what a number may be, in short.
func rangeOf(d *triage.Field) string {
	text := strings.TrimSuffix(strings.TrimPrefix(d.Allowed(), "use "), ", or ?")
	text = strings.TrimPrefix(text, "a number in "+d.Unit)
	return strings.TrimPrefix(strings.TrimSpace(strings.TrimPrefix(text, "a whole number ")), "from ")
}

// wordChoices are the words of a field with the reasons; text is the one chosen. A
// text that is none of them stays as it was typed.
func wordChoices(d *triage.Field, text string) []choice {
	var list []choice
	words := d.Words
	if d.Type == triage.YesNoField {
		words = []string{"no", "yes"}
	}
	for _, w := range words {
		list = append(list, choice{d.Name, w, w, false})
	}
	for _, c := range reasons(d) {
		list = append(list, choice{d.Name, c.Code, c.Words, false})
	}
	list = append(list, choice{d.Name, "", "no answer", false})
	at := slices.IndexFunc(list, func(c choice) bool { return c.Value == strings.TrimSpace(text) })
	if at < 0 {
		list, at = append(list, choice{d.Name, text, text, false}), len(list)
	}
	list[at].On = true
	return list
}

// reasons are those that a choice of words can have: a label may not be legible, and
// what is looked up or decided is only not there yet.
func reasons(d *triage.Field) []code {
	switch {
	case d.Sign || d.Reach > triage.Desk:
		return codes
	case d.Carries:
		return []code{codes[0], codes[3], codes[4]}
	}
	return codes[:1]
}
