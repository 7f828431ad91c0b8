package app

import (
	"fmt"
	"strings"

	"pouchward/triage"
)

// An Assessment is a reading with the verdict it got.
type Assessment struct {
	Shop    *Shop
	Verdict triage.Verdict
	Refused []string // a text for each refused value
}

// Given is one value as a person gave it.
type Given struct {
	Field triage.FieldID
	Text  string
}

// Assess judges the given values. A refused value still gets a verdict: it
// counts as not known, and the assessment says so.
func Assess(shop *Shop, given []Given) *Assessment {
	a := &Assessment{Shop: shop}
	c := shop.Case()
	var heard []string
	for _, g := range joined(given) {
		if g.twice {
			c.Reading[g.Field] = triage.Value{State: triage.Refused}
			a.Refused = append(a.Refused, fmt.Sprintf("%s %q: given twice, so none was believed; give it once", triage.Fields[g.Field].Name, g.Text))
			heard = append(heard, g.Text)
			continue
		}
		if err := c.Reading.Set(g.Field, g.Text); err != nil {
			a.Refused = append(a.Refused, err.Error())
			heard = append(heard, g.Text)
		}
	}
	for _, text := range heard {
		c.Reading.Hear(text)
	}
	for _, err := range c.Reading.Check() {
		a.Refused = append(a.Refused, err.Error())
	}
	shop.Rulebook.Judge(&c, &a.Verdict)
	return a
}

// joinedValue is all that was given for one field.
type joinedValue struct {
	Given
	twice bool
}

// joined gathers values given more than once. Lists of signs add up, and a sign
// said yes once stays yes; any other field given twice with two values is not
// believed, since which one is meant cannot be told.
func joined(given []Given) []joinedValue {
	var out []joinedValue
	for _, g := range given {
		at := -1
		for i := range out {
			if out[i].Field == g.Field {
				at = i
			}
		}
		switch {
		case at < 0:
			out = append(out, joinedValue{Given: g})
		case g.Field == triage.Signs:
			out[at].Text = joinSigns(out[at].Text, g.Text)
		case strings.TrimSpace(out[at].Text) == strings.TrimSpace(g.Text):
		default:
			out[at].twice = true
			out[at].Text += " / " + g.Text
		}
	}
	return out
}

// joinSigns adds two lists of signs; none beside a sign is dropped only when
// both say none.
func joinSigns(a, b string) string {
	if strings.TrimSpace(a) == strings.TrimSpace(b) {
		return a
	}
	return a + ";" + b
}
