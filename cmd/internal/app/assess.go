package app

import (
	"slices"
	"strings"
	"time"

	"pouchward/triage"
)

// An Assessment is a reading with the verdict it got.
type Assessment struct {
	Shop    *Shop
	Verdict triage.Verdict
	Refused []string // a text for each refused value

	FromPart  []string // names of the label facts that part memory gave
	PartCells int      // cells of the part that it had on record
	MovedFrom int64    // the entry on another cell that this was meant for, 0 for none

	given   []Given   // as typed
	earlier []int64   // the looks that it was judged over too
	seen    int64     // the last entry about the cell that it was judged over
	at      time.Time // when it happened
}

// Given is one value as a person gave it.
type Given struct {
	Field triage.FieldID
	Text  string
}

// Assess judges the given values. A refused value still gets a verdict: it
// counts as not known, and the assessment says so.
func Assess(shop *Shop, given []Given) *Assessment { return assess(shop, given, nil, time.Time{}) }

// assess judges over what was known of the cell before a time; nil is nothing.
func assess(shop *Shop, given []Given, cell *Cell, at time.Time) *Assessment {
	given = joined(given)
	a := &Assessment{Shop: shop, given: given, at: at}
	c := shop.Case()
	c.Reading, a.Refused = readGiven(given)
	if cell != nil {
		a.earlier = cell.numbers()
		if n := len(cell.Entries); n > 0 {
			a.seen = cell.Entries[n-1].Number
		}
		cell.apply(shop, &c, at)
	}
	shop.Rulebook.Judge(&c, &a.Verdict)
	return a
}

// readGiven reads typed values into a reading and returns a text for each that
// was refused. A sign that a refused text names counts as seen.
func readGiven(given []Given) (r triage.Reading, refused []string) {
	var heard []string
	for _, g := range given {
		if err := g.set(&r); err != nil {
			refused = append(refused, err.Error())
			heard = append(heard, g.Text)
		}
	}
	for _, text := range heard {
		r.Hear(text)
	}
	for _, err := range r.Check() {
		refused = append(refused, err.Error())
	}
	return r, refused
}

// Refusals are why values would be refused, each beginning with its field's name.
func Refusals(given []Given) []string {
	_, refused := readGiven(joined(given))
	return refused
}

// givenTwice ends the text of a field that was given more than once with several values,
// and between is what stands between them.
const givenTwice, between = " (given twice)", " / "

// values returns the values of a field that was given more than once, in the order in
// which they were given.
func (g *Given) values() (list []string, several bool) {
	text, several := strings.CutSuffix(g.Text, givenTwice)
	if !several {
		return nil, false
	}
	return strings.Split(text, between), true
}

// set sets a value in a reading. One that was given with several values is refused, since
// which is meant cannot be told; what is bad news in one of them is heard all the same.
func (g *Given) set(r *triage.Reading) error {
	list, several := g.values()
	if !several {
		return r.Set(g.Field, g.Text)
	}
	d := &triage.Fields[g.Field]
	r[g.Field] = triage.Value{State: triage.Refused}
	for _, text := range list {
		if v, yes := saysYes(g.Field, text); yes && triage.YesIsBad(g.Field) {
			r[g.Field] = v
		}
	}
	return &triage.FieldError{Field: d.Name, Text: strings.Join(list, between), Reason: "given more than once, and which is meant cannot be told", Want: d.Allowed()}
}

// joined gathers values given more than once into one. Lists of signs add up; any
// other field given twice with two values becomes a text that is refused, since
// which one is meant cannot be told, and whose bad news is heard all the same.
func joined(given []Given) []Given {
	var out []Given
	for _, g := range given {
		at := -1
		for i := range out {
			if out[i].Field == g.Field {
				at = i
			}
		}
		switch {
		case at < 0:
			out = append(out, g)
		case strings.TrimSpace(out[at].Text) == strings.TrimSpace(g.Text):
		case g.Field == triage.Signs:
			out[at].Text += ";" + g.Text
		default:
			list, several := out[at].values()
			if !several {
				list = []string{out[at].Text}
			}
			if !slices.Contains(list, strings.TrimSpace(g.Text)) {
				out[at].Text = strings.Join(append(list, strings.TrimSpace(g.Text)), between) + givenTwice
			}
		}
	}
	return out
}

// saysYes reports whether a text of a yes/no field is a yes, or is heard as one.
func saysYes(f triage.FieldID, text string) (v triage.Value, yes bool) {
	if triage.Fields[f].Type != triage.YesNoField {
		return v, false
	}
	var r triage.Reading
	_ = r.Set(f, text) // a yes with something beside it is one too
	return r[f], r[f].State == triage.Known && r[f].Num == 1
}
