package app

import "pouchward/triage"

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
	for _, g := range given {
		if err := c.Reading.Set(g.Field, g.Text); err != nil {
			a.Refused = append(a.Refused, err.Error())
		}
	}
	for _, err := range c.Reading.Check() {
		a.Refused = append(a.Refused, err.Error())
	}
	shop.Rulebook.Judge(&c, &a.Verdict)
	return a
}
