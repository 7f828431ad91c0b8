package hazard

import (
	"math"

	"pouchward/triage"
)

// Cells are one cell, or a lot of them.
type Cells struct {
	Count int64        // 1 for a cell
	Wh    triage.Micro // rating of all of them, 0 not known
	Grams triage.Micro // mass of all of them, 0 not weighed
	Class string       // handling class, blank: not judged
	Start string       // date on which accumulation began, blank: no clock
}

// A Load is what stands together.
type Load struct {
	Cells   int64
	Wh      triage.Micro // of those with a rating, or bounded by their mass
	Bounded int64        // cells of these that are bounded by mass
	Unknown int64        // cells with neither: every figure is "at least"

	Grams     triage.Micro
	Unweighed int64

	Largest triage.Micro // Wh of the largest single cell
	Lots    int64        // cells in lots: one of them may be larger than their average
	Worst   string       // the worst handling class, blank: none judged
	Oldest  string       // the earliest start
}

// AtLeast reports whether a cell of unknown size is among them.
func (l *Load) AtLeast() bool { return l.Unknown > 0 }

// Add adds cells. One without a rating counts with the most that its mass can
// hold (Figures.Density).
func (l *Load) Add(f *Figures, c Cells) {
	n := max(c.Count, 1)
	l.Cells = plus(l.Cells, n)
	wh := c.Wh
	switch {
	case wh > 0:
	case c.Grams > 0:
		wh = mostIn(c.Grams, f.Density)
		l.Bounded = plus(l.Bounded, n)
	default:
		l.Unknown = plus(l.Unknown, n)
	}
	l.Wh = plus(l.Wh, wh)
	l.Grams = plus(l.Grams, c.Grams)
	if c.Grams <= 0 {
		l.Unweighed = plus(l.Unweighed, n)
	}
	if n > 1 {
		l.Lots = plus(l.Lots, n)
	}
	l.Largest = max(l.Largest, triage.Micro((int64(wh)+n-1)/n))
	l.seen(c.Class, c.Start)
}

// seen keeps the worst class and the earliest start.
func (l *Load) seen(class, start string) {
	if is, ok := triage.HandlingByName(class); ok {
		if was, ok := triage.HandlingByName(l.Worst); !ok || is > was {
			l.Worst = class
		}
	}
	if start != "" && (l.Oldest == "" || start < l.Oldest) {
		l.Oldest = start
	}
}

// join adds a whole load.
func (l *Load) join(o *Load) {
	l.Cells, l.Wh, l.Bounded, l.Unknown = plus(l.Cells, o.Cells), plus(l.Wh, o.Wh), plus(l.Bounded, o.Bounded), plus(l.Unknown, o.Unknown)
	l.Grams, l.Unweighed, l.Lots = plus(l.Grams, o.Grams), plus(l.Unweighed, o.Unweighed), plus(l.Lots, o.Lots)
	l.Largest = max(l.Largest, o.Largest)
	l.seen(o.Worst, o.Oldest)
}

// mostIn is the most energy that a mass holds, rounded up.
func mostIn(grams triage.Micro, density float64) triage.Micro {
	wh := math.Ceil(float64(grams) / 1000 * density)
	if wh >= math.MaxInt64 {
		return math.MaxInt64
	}
	return triage.Micro(wh)
}

// plus adds what is not negative, and stays at the most there is.
func plus[T ~int64](a, b T) T {
	if a > math.MaxInt64-b {
		return math.MaxInt64
	}
	return a + b
}

// A Group is a container, or all cells that stand at a place in none.
type Group struct {
	Tag    string // of a container on record
	What   string
	Place  string
	Litres float64 // volume of the container, 0 not known
	Loose  bool    // in no container: all that stands at the place is one group
	Load
}

// A Stand is what stands in a room.
type Stand struct {
	Groups []Group
	// Unplaced are cells that stand nobody has said where: they may stand here.
	Unplaced int64
}

// Total adds the groups up.
func (s *Stand) Total() (t Load) {
	for i := range s.Groups {
		t.join(&s.Groups[i].Load)
	}
	return t
}

// AtLeast reports whether more may stand here than is counted.
func (s *Stand) AtLeast() bool {
	t := s.Total()
	return t.AtLeast() || s.Unplaced > 0
}

// Largest returns the group of the most Wh, nil for none. Where a group has cells
// of unknown size, another than this may be the largest.
func (s *Stand) Largest() *Group {
	var most *Group
	for i := range s.Groups {
		if g := &s.Groups[i]; g.Cells > 0 && (most == nil || g.Wh > most.Wh || g.Wh == most.Wh && g.Cells > most.Cells) {
			most = g
		}
	}
	return most
}
