package review

import (
	"sort"
	"time"

	"pouchward/triage"
)

// Lot reports whether the tag is that of a bin whose cells are only counted.
func (c *Cell) Lot() bool {
	kind, _ := triage.TagNumber(c.Tag)
	return kind == triage.ContainerTag
}

// Amount says how much a state of the cell stands for, and where; nothing outside the
// shop, and nothing for a lot of which no cell is left.
func (c *Cell) Amount(s *State) (w Where, a Amount) {
	if s.Is != Here {
		return w, a
	}
	a = Amount{Cells: 1, MicroWh: s.MicroWh, MilliGram: s.MilliGram}
	w = Where{Container: s.In}
	if s.In == "" {
		w.Place = s.Place
	}
	if c.Lot() {
		if s.Count == 0 {
			return Where{}, Amount{}
		}
		a.Cells, w = s.Count, Where{Container: c.Tag}
	}
	if s.MicroWh == 0 {
		a.Unrated = a.Cells
	}
	if s.MilliGram == 0 {
		a.Unweighed = a.Cells
	}
	return w, a
}

// course calls fn with each step of a cell and the moment from which it counts: when
// it happened, but never before the step that it follows, nor after now.
func (c *Cell) course(now time.Time, fn func(at time.Time, s *Step)) {
	var at time.Time
	for i := range c.Steps {
		at = later(at, c.Steps[i].Happened)
		if at.After(now) {
			at = now // the clock stood back: review-clock
		}
		fn(at, &c.Steps[i])
	}
}

// A dated is a cell with the day from which each of its steps counts.
type dated struct {
	*Cell
	days []triage.Date
}

// datedCells works the days out once for all months.
func (s *Snapshot) datedCells() []dated {
	list := make([]dated, len(s.Cells))
	for i := range s.Cells {
		list[i] = dated{&s.Cells[i], make([]triage.Date, 0, len(s.Cells[i].Steps))}
		s.Cells[i].course(s.Now, func(at time.Time, _ *Step) { list[i].days = append(list[i].days, triage.DateOf(at)) })
	}
	return list
}

// standing looks up what each tag stands for at the end of a day.
func standing(list []dated, day triage.Date) map[Where]Amount {
	sum := map[Where]Amount{}
	for i := range list {
		c := &list[i]
		n := sort.Search(len(c.days), func(n int) bool { return c.days[n] > day })
		if n == 0 {
			continue
		}
		if w, a := c.Amount(&c.Steps[n-1].Now); a.Cells > 0 {
			sum[w] = sum[w].plus(a)
		}
	}
	return sum
}

// flow enters what each step of a cell changed into the month in which it counts.
func (l *Ledger) flow(c *dated, flows []map[Where]*Line) {
	var was Amount
	var stood Where
	for n := range c.Steps {
		x := &c.Steps[n]
		w, is := c.Amount(&x.Now)
		if w != stood || is != was {
			if i := l.month(c.days[n]); i >= 0 {
				change{x, stood, w, was, is}.enter(func(w Where) *Line {
					if flows[i][w] == nil {
						flows[i][w] = new(Line)
					}
					return flows[i][w]
				})
			}
		}
		stood, was = w, is
	}
}

// month is the index of the month of a day, -1 for none.
func (l *Ledger) month(day triage.Date) int {
	for i := range l.Months {
		if day >= l.Months[i].From && day <= l.Months[i].To {
			return i
		}
	}
	return -1
}

// A change is what one step made of what a tag stands for.
type change struct {
	step     *Step
	from, to Where
	was, is  Amount
}

// enter books a change. What was wrong in the record is restated, and moved nothing: an
// entry taken back or corrected, one tag that stood for two cells, two that stood for
// one, a lot counted anew. Cells taken out of a lot come in as cells first recorded, and
// the lot's next count restates it.
func (c change) enter(at func(Where) *Line) {
	book := func(w Where, column func(*Line) *Amount, a Amount) {
		to := column(at(w))
		*to = to.plus(a)
	}
	restated := func(l *Line) *Amount { return &l.Restated }
	record := c.step.Kind == "retraction" || c.step.Kind == "correction" || c.step.Kind == "split" || c.step.Kind == "merge"
	switch {
	case c.was.Cells == 0 && record:
		book(c.to, restated, c.is)
	case c.was.Cells == 0:
		book(c.to, func(l *Line) *Amount { return &l.CameIn }, c.is)
	case c.is.Cells == 0 && (record || c.step.Now.Is != Out):
		book(c.from, restated, Amount{}.minus(c.was))
	case c.is.Cells == 0:
		book(c.from, func(l *Line) *Amount { return &l.Left }, c.was)
	case c.from == c.to:
		book(c.to, restated, c.is.minus(c.was))
	case record:
		book(c.from, restated, Amount{}.minus(c.was))
		book(c.to, restated, c.is)
	default:
		book(c.from, func(l *Line) *Amount { return &l.MovedOut }, c.was)
		book(c.to, func(l *Line) *Amount { return &l.MovedIn }, c.was)
		if c.is != c.was {
			book(c.to, restated, c.is.minus(c.was))
		}
	}
}
