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

// shownValues is how many values that contradict one another are told.
const shownValues = 3

// counts tells the values, the most frequent first: "3110 on 9 cells, 5000 on 1".
func (p *PartFact) counts() string {
	list := slices.Clone(p.Values)
	slices.SortStableFunc(list, func(a, b PartValue) int { return cmp.Compare(b.Cells, a.Cells) })
	var parts []string
	rest := p.N
	for i, v := range list[:min(len(list), shownValues)] {
		text := fmt.Sprintf("%s on %d", p.Text(v.Value), v.Cells)
		switch {
		case i == 0 && v.Cells == 1:
			text += " cell"
		case i == 0:
			text += " cells"
		}
		parts = append(parts, text)
		rest -= v.Cells
	}
	if rest > 0 {
		parts = append(parts, fmt.Sprintf("others on %d", rest))
	}
	return strings.Join(parts, ", ")
}

// Text spells a value of the fact in the unit of its field.
func (p *PartFact) Text(v Micro) string {
	if d := &Fields[p.Field]; d.Type == WordField {
		return d.Words[v]
	}
	return v.String()
}

// Spread returns the smallest and the largest value on record.
func (p *PartFact) Spread() Bounds {
	if p.N == 0 {
		return Bounds{}
	}
	return Bounds{p.Values[0].Value, p.Values[len(p.Values)-1].Value}
}

// Short tells what is offered: "rated_mah 3120 (3100-3120, n=12)".
func (p *PartFact) Short() string {
	name := Fields[p.Field].Name
	if !p.Offered {
		return name + " (" + p.Why + ")"
	}
	spread := ""
	if b := p.Spread(); b.Lo != b.Hi {
		spread = p.Text(b.Lo) + "-" + p.Text(b.Hi) + ", "
	}
	return fmt.Sprintf("%s %s (%sn=%d)", name, p.Text(p.Value), spread, p.N)
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
