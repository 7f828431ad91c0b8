package review

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"pouchward/triage"
)

// A Ledger is what was there, came and left, by calendar month and by where it stood:
//
//	before + came in + moved in - moved out - left + restated = after
//
// in count, watt-hours and mass. The flows are read off the entries one after the
// other; what was there before and after is looked up in what each tag's last entry of
// the time says, and the end of the last month is held against the stock view of the
// log, which another program part keeps. Common practice; no rule asks for it.
type Ledger struct {
	Months      []Month
	Differences []Difference
	Recounts    []Recount
	Compared    bool // the last month was held against the stock view
}

// An Amount is of cells in hand or under way. Wh and mass are of those whose rating or
// mass is known; the others are counted as unrated and unweighed, never as none.
type Amount struct {
	Cells     int64 // lots by their count
	Unrated   int64
	Unweighed int64
	MicroWh   int64
	MilliGram int64
}

func (a Amount) plus(b Amount) Amount {
	return Amount{a.Cells + b.Cells, a.Unrated + b.Unrated, a.Unweighed + b.Unweighed, a.MicroWh + b.MicroWh, a.MilliGram + b.MilliGram}
}

func (a Amount) minus(b Amount) Amount {
	return Amount{a.Cells - b.Cells, a.Unrated - b.Unrated, a.Unweighed - b.Unweighed, a.MicroWh - b.MicroWh, a.MilliGram - b.MilliGram}
}

// A Where is a container, or a place for cells of no container. Both blank: nobody
// said where.
type Where struct {
	Container string // tag; a lot is its own container
	Place     string // blank in a container
}

// A Line is one container or place, or the whole shop, in one month.
type Line struct {
	Where
	Before   Amount
	CameIn   Amount // from outside, or first recorded
	MovedIn  Amount // from elsewhere in the shop
	MovedOut Amount
	Left     Amount
	Restated Amount // counted, weighed or read anew, or an entry taken back, while it stood there
	After    Amount
}

// Off is by how much the line does not balance.
func (l *Line) Off() Amount {
	return l.Before.plus(l.CameIn).plus(l.MovedIn).minus(l.MovedOut).minus(l.Left).plus(l.Restated).minus(l.After)
}

func (l *Line) add(o *Line) {
	for _, x := range []struct{ to, from *Amount }{{&l.Before, &o.Before}, {&l.CameIn, &o.CameIn}, {&l.MovedIn, &o.MovedIn}, {&l.MovedOut, &o.MovedOut},
		{&l.Left, &o.Left}, {&l.Restated, &o.Restated}, {&l.After, &o.After}} {
		*x.to = x.to.plus(*x.from)
	}
}

// A Month is a calendar month, or the part of it that lies in the period.
type Month struct {
	From, To triage.Date // both days in it
	Lines    []Line      // containers by tag, then places; only where something stood or moved
	Total    Line        // the whole shop
}

// A Difference is what does not balance.
type Difference struct {
	Month triage.Date // its first day
	Where             // both blank, and Shop: the whole shop
	Shop  bool
	What  string // one clause
	Off   Amount
}

// NewLedger makes the ledger of a snapshot over its period.
func NewLedger(s *Snapshot) *Ledger {
	l := &Ledger{Months: monthsOf(s.From, min(s.To, triage.DateOf(s.Now)))}
	if len(l.Months) == 0 {
		return l
	}
	flows := make([]map[Where]*Line, len(l.Months))
	for i := range flows {
		flows[i] = map[Where]*Line{}
	}
	cells := s.datedCells()
	for i := range cells {
		l.flow(&cells[i], flows)
	}
	before := standing(cells, s.From-1)
	for i := range l.Months {
		m := &l.Months[i]
		after := standing(cells, m.To)
		m.fill(before, flows[i], after)
		l.balance(m)
		before = after
	}
	if s.Counted != nil && s.To >= triage.DateOf(s.Now) {
		l.Compared = true
		l.compare(before, s.Counted)
	}
	l.recounts(s)
	return l
}

// monthsOf cuts a period into calendar months.
func monthsOf(from, to triage.Date) (list []Month) {
	for from <= to {
		t := from.In(time.UTC)
		next := triage.DateOf(time.Date(t.Year(), t.Month()+1, 1, 0, 0, 0, 0, time.UTC))
		list = append(list, Month{From: from, To: min(next-1, to)})
		from = next
	}
	return list
}

// fill makes the lines of a month, and their sum.
func (m *Month) fill(before map[Where]Amount, flows map[Where]*Line, after map[Where]Amount) {
	at := func(w Where) *Line {
		x := flows[w]
		if x == nil {
			x = new(Line)
			flows[w] = x
		}
		return x
	}
	for w, a := range before {
		at(w).Before = a
	}
	for w, a := range after {
		at(w).After = a
	}
	for _, w := range slices.SortedFunc(maps.Keys(flows), compareWhere) {
		x := *flows[w]
		if x.Where = w; x == (Line{Where: w}) {
			continue
		}
		m.Lines = append(m.Lines, x)
		m.Total.add(&x)
	}
}

// compareWhere puts containers first, by tag, then places.
func compareWhere(a, b Where) int {
	none := func(w Where) int {
		if w.Container == "" {
			return 1
		}
		return 0
	}
	return cmp.Or(cmp.Compare(none(a), none(b)), cmp.Compare(a.Container, b.Container), cmp.Compare(a.Place, b.Place))
}

// balance notes what of a month does not come out at zero.
func (l *Ledger) balance(m *Month) {
	for i := range m.Lines {
		if off := m.Lines[i].Off(); off != (Amount{}) {
			l.Differences = append(l.Differences, Difference{Month: m.From, Where: m.Lines[i].Where, What: "what was there, came and left does not give what is there", Off: off})
		}
	}
	if off := m.Total.MovedOut.minus(m.Total.MovedIn); off != (Amount{}) {
		l.Differences = append(l.Differences, Difference{Month: m.From, Shop: true, What: "what was moved out of one place did not come into another", Off: off})
	}
}

// compare holds the end of the last month against the stock view: by container, place,
// count, Wh and mass.
func (l *Ledger) compare(after map[Where]Amount, counted []Counted) {
	off := map[Where]Amount{}
	for w, a := range after {
		a.Unrated, a.Unweighed = 0, 0 // the view's sums say nothing of these
		off[w] = a
	}
	for i := range counted {
		c := &counted[i]
		w := Where{Container: c.Key}
		if c.Key == "" {
			w.Place = c.Place
		}
		off[w] = off[w].minus(Amount{Cells: c.Cells, MicroWh: c.MicroWh, MilliGram: c.MilliGram})
	}
	for _, w := range slices.SortedFunc(maps.Keys(off), compareWhere) {
		if off[w] != (Amount{}) {
			l.Differences = append(l.Differences, Difference{Month: l.Months[len(l.Months)-1].From, Where: w, What: "the entries give another stock than the stock view of the log", Off: off[w]})
		}
	}
}
