package review

import (
	"cmp"
	"time"

	"pouchward/triage"
)

// oneShift is how long after the first assessment a reading still belongs to it.
const oneShift = 24 * time.Hour

// An intake is the first assessment of a single cell with what was read and found
// within a shift of it. An assessment that was taken back is none: its cell is counted
// under the next.
type intake struct {
	cell  *Cell
	first *Step
	looks []*Step // those of the shift, the first among them
	worst triage.Handling
}

// intakes are those within the period, in the order of the cells.
func (p *pass) intakes() (list []intake) {
	for i := range p.Cells {
		if x := intakeOf(&p.Cells[i]); x.first != nil && p.within(x.first.Happened) {
			list = append(list, x)
		}
	}
	return list
}

func intakeOf(c *Cell) (x intake) {
	x.cell = c
	for i := range c.Steps {
		s := &c.Steps[i]
		switch {
		case s.Look == nil || s.Void || s.Now.Count > 0:
			continue
		case x.first == nil && s.Kind == "assessment":
			x.first = s
		case x.first == nil || s.Happened.Sub(x.first.Happened) > oneShift:
			continue
		}
		x.looks = append(x.looks, s)
		x.worst = max(x.worst, s.Look.Handling)
	}
	return x
}

// read reports whether a field was answered, or does not apply.
func (x *intake) read(f triage.FieldID) bool {
	for _, s := range x.looks {
		if st := s.Look.Get(f).State; st >= triage.NotApplicable {
			return true
		}
	}
	return x.kindSpares(f)
}

// kindSpares reports whether the kind of cell has no such reading.
func (x *intake) kindSpares(f triage.FieldID) bool {
	for _, s := range x.looks {
		if spares(s.Look.Get(triage.Kind), f) {
			return true
		}
	}
	return false
}

func spares(kind triage.Value, f triage.FieldID) bool {
	if kind.State != triage.Known {
		return false
	}
	for _, k := range triage.Fields[f].NA {
		if k == triage.Fields[triage.Kind].Words[kind.Num] {
			return true
		}
	}
	return false
}

// month is the name of a month, 2026-03.
func month(t time.Time) string { return t.Format("2006-01") }

// monthEnd is when the month of a moment is over, zero where that is still to come.
func (p *pass) monthEnd(t time.Time) time.Time {
	end := time.Date(t.Year(), t.Month()+1, 1, 0, 0, 0, 0, t.Location()).Add(-time.Minute)
	if end.After(p.Now) {
		return time.Time{}
	}
	return end
}

// groups gathers intakes under a name, in the order in which the names come; those
// without one are counted.
func groups(list []intake, name func(*intake) string) (names []string, of map[string][]*intake, unnamed int64) {
	of = map[string][]*intake{}
	for i := range list {
		n := name(&list[i])
		switch {
		case n == "":
			unnamed++
			continue
		case of[n] == nil:
			names = append(names, n)
		}
		of[n] = append(of[n], &list[i])
	}
	return names, of, unnamed
}

// earliest is the first of some intakes.
func earliest(list []*intake) *Step {
	first := list[0].first
	for _, x := range list {
		if c := cmp.Or(x.first.Happened.Compare(first.Happened), cmp.Compare(x.first.Entry, first.Entry)); c < 0 {
			first = x.first
		}
	}
	return first
}
