package triage

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Part memory: what the labels of cells of one part number say, offered where
// the label of another cannot be read. A value is offered only while no label
// contradicts another, and then the one that gives the worse answer, so that it
// makes no answer better than the worst of those labels would.

// PartFields are the label facts that cells of one part share. What is measured,
// seen, looked up or dated is of one cell and never among them: the thickness
// when new is, the thickness of a used cell is not.
var PartFields = [...]FieldID{Kind, Chemistry, Series, Parallel, NominalV, ChargeLimitV, RatedMah, LabelWh, NominalThicknessMm}

// thicknessSlack is how far two entries of a thickness when new may differ: a
// label's rounding, common practice.
const thicknessSlack = Micro(100_000) // 0.1 mm

// A PartValue is one value and how many cells have it on record.
type PartValue struct {
	Value Micro
	Cells int
}

// A PartFact is one label fact as the cells of a part have it on record.
type PartFact struct {
	Field   FieldID
	N       int         // cells that have it
	Values  []PartValue // each value once, ascending
	Median  Micro       // of an even N the lower of the two in the middle: a value that stands on a label
	Offered bool
	Value   Micro  // the value offered
	Why     string // why it is not offered, or why this one of several values is
}

// NewPartFact weighs one label fact; labels has one value for each cell.
func NewPartFact(f FieldID, labels []Micro) PartFact {
	p := PartFact{Field: f, N: len(labels)}
	if p.N == 0 {
		return p
	}
	labels = slices.Sorted(slices.Values(labels))
	for _, v := range labels {
		if n := len(p.Values); n > 0 && p.Values[n-1].Value == v {
			p.Values[n-1].Cells++
			continue
		}
		p.Values = append(p.Values, PartValue{v, 1})
	}
	p.Median = labels[(p.N-1)/2]
	if slices.ContainsFunc(labels, func(v Micro) bool { return !p.Agrees(v) }) {
		p.Why = p.counts() + ": read the label"
		return p
	}
	p.Offered, p.Value = true, labels[0]
	if len(p.Values) == 1 {
		return p
	}
	switch f {
	case RatedMah, LabelWh:
		// A larger rating passes fewer limits, and leaves a smaller share of it
		// to a measured capacity.
		p.Value, p.Why = labels[p.N-1], "the largest: a larger rating is the worse answer"
	case NominalThicknessMm:
		p.Why = "the smallest: a thinner new cell makes more of a swelling"
	case Chemistry:
		p.Why = "lithium ion, of which lithium polymer is a kind"
	}
	return p
}

// Agrees reports whether a value may stand on the label of another cell of the
// part: within 2 % for a rating, 0.1 mm for a thickness when new, the same for
// all else.
//
// Two voltages never agree. No one of them is the worse: the larger nominal
// voltage gives the larger rating but a later overcharge line (limitOfClass), the
// smaller limited charge voltage an earlier line and a higher charge, unless the
// larger one is so far above its class that the class counts (limitPerCell).
func (p *PartFact) Agrees(v Micro) bool {
	switch p.Field {
	case RatedMah, LabelWh:
		return within2Percent(v, p.Median)
	case NominalThicknessMm:
		return v-p.Median <= thicknessSlack && p.Median-v <= thicknessSlack
	case Chemistry:
		// li-ion and li-polymer, the first two words, are judged alike.
		return v == p.Median || max(v, p.Median) <= 1
	}
	return v == p.Median
}

// shownValues is how many values beside those that agree are told.
const shownValues = 3

// counts tells the values that agree as one, then the others, the most frequent
// first: "3100-3120 on 9 cells, 5000 on 1".
func (p *PartFact) counts() string {
	var among, rest []PartValue
	agree, others := 0, 0
	for _, v := range p.Values {
		if p.Agrees(v.Value) {
			among, agree = append(among, v), agree+v.Cells
			continue
		}
		rest, others = append(rest, v), others+v.Cells
	}
	cells := "cells"
	if agree == 1 {
		cells = "cell"
	}
	text := fmt.Sprintf("%s on %d %s", p.between(among[0].Value, among[len(among)-1].Value), agree, cells)
	slices.SortStableFunc(rest, func(a, b PartValue) int { return cmp.Compare(b.Cells, a.Cells) })
	for _, v := range rest[:min(len(rest), shownValues)] {
		text += fmt.Sprintf(", %s on %d", p.Text(v.Value), v.Cells)
		others -= v.Cells
	}
	if others > 0 {
		text += fmt.Sprintf(", others on %d", others)
	}
	return text
}

// between spells two values, or one where they are the same.
func (p *PartFact) between(lo, hi Micro) string {
	switch {
	case lo == hi:
		return p.Text(lo)
	case Fields[p.Field].Type == WordField:
		return p.Text(lo) + " or " + p.Text(hi)
	}
	return p.Text(lo) + "-" + p.Text(hi)
}

// Text spells a value of the fact in the unit of its field.
func (p *PartFact) Text(v Micro) string {
	if d := &Fields[p.Field]; d.Type == WordField {
		return d.Words[v]
	}
	return v.String()
}

// Spread spells the smallest and the largest value on record: "3100-3120".
func (p *PartFact) Spread() string {
	return p.between(p.Values[0].Value, p.Values[len(p.Values)-1].Value)
}

// Short tells what is offered: "rated_mah 3120 (3100-3120, n=12)".
func (p *PartFact) Short() string {
	name := Fields[p.Field].Name
	switch {
	case !p.Offered:
		return name + " (" + p.Why + ")"
	case len(p.Values) > 1:
		return fmt.Sprintf("%s %s (%s, n=%d)", name, p.Text(p.Value), p.Spread(), p.N)
	}
	return fmt.Sprintf("%s %s (n=%d)", name, p.Text(p.Value), p.N)
}

// FromPart reports whether part memory may answer a label fact of a reading: one
// that was left blank, or whose label cannot be read. What was written as
// refused, as not known yet or as not to be told stays as it is.
func (v *Value) FromPart() bool { return v.State == Blank || v.State == Unreadable }

// IsPartNumber reports whether a text names a part: three letters or figures at
// least, as the recall list asks, one of them a figure. A word such as "none"
// would gather cells that share nothing.
func IsPartNumber(s string) bool {
	key := PartKey(s)
	return len(key) >= 3 && strings.ContainsAny(key, "0123456789")
}
