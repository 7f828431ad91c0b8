package app

import "pouchward/triage"

// An Assessment is a reading with the verdict it got.
type Assessment struct {
	Shop    *Shop
	Verdict triage.Verdict
	Refused []string // a text for each refused value

	given   []Given // as typed
	earlier []int64 // the entries that it was judged over too
}

// Given is one value as a person gave it.
type Given struct {
	Field triage.FieldID
	Text  string
}

// Assess judges the given values. A refused value still gets a verdict: it
// counts as not known, and the assessment says so.
func Assess(shop *Shop, given []Given) *Assessment { return assess(shop, given, nil) }

// assess judges over what was known before; nil is nothing.
func assess(shop *Shop, given []Given, before *known) *Assessment {
	a := &Assessment{Shop: shop, given: given}
	c := shop.Case()
	if before != nil {
		a.earlier = before.entries
		before.apply(&c)
	}
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
