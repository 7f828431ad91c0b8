package review

import (
	"slices"
	"sort"
	"time"

	"pouchward/triage"
)

// Classes is how many handling classes there are.
const Classes = int(triage.Emergency) + 1

// A StockDay is what stood in the shop at the end of a day, by handling class.
type StockDay struct {
	On triage.Date
	By [Classes]Amount
}

// Total adds the classes up.
func (d *StockDay) Total() (a Amount) {
	for i := range d.By {
		a = a.plus(d.By[i])
	}
	return a
}

// StockSeries returns the stock at the end of each day of the period, lots by their
// count. A determination that lapsed no longer counts from the day after.
func StockSeries(s *Snapshot) []StockDay {
	to := min(s.To, triage.DateOf(s.Now))
	if to < s.From {
		return nil
	}
	days := make([]StockDay, to-s.From+1)
	for i := range days {
		days[i].On = s.From + triage.Date(i)
	}
	// Each state enters what it adds on its first day and takes it off after its last.
	book := func(from, until triage.Date, h triage.Handling, a Amount) {
		if from = max(from, s.From); from >= until || from > to {
			return
		}
		x := &days[from-s.From].By[h]
		*x = x.plus(a)
		if until <= to {
			x = &days[until-s.From].By[h]
			*x = x.minus(a)
		}
	}
	for i := range s.Cells {
		eachState(&s.Cells[i], s.Now, func(st *State, a Amount, from, until triage.Date) {
			if st.Lapses == 0 {
				book(from, until, st.Handling, a)
				return
			}
			cut := min(max(st.Lapses+1, from), until)
			book(from, cut, st.Handling, a)
			book(cut, until, st.LapsedHandling, a)
		})
	}
	for i := 1; i < len(days); i++ {
		for h := range days[i].By {
			days[i].By[h] = days[i].By[h].plus(days[i-1].By[h])
		}
	}
	return days
}

// eachState calls fn with each state in which a cell stood in the shop at the end of a
// day, from its first such day until the day on which it no longer did.
func eachState(c *Cell, now time.Time, fn func(st *State, a Amount, from, until triage.Date)) {
	var last *Step
	var since triage.Date
	tell := func(until triage.Date) {
		if last == nil {
			return
		}
		if _, a := c.Amount(&last.Now); a.Cells > 0 && since < until {
			fn(&last.Now, a, since, until)
		}
	}
	c.course(now, func(at time.Time, x *Step) {
		day := triage.DateOf(at)
		tell(day)
		last, since = x, day
	})
	tell(triage.DateOf(now) + 1)
}

// Ages is how long what is in hand has been accumulated.
type Ages struct {
	On      triage.Date
	Country string
	Steps   []AgeStep // of the accumulation time, by age
	Cells   []Age     // cells and lots whose clock runs, oldest first
	Unknown []Age     // waste, or perhaps, and no start on record: as old as can be
	Kept    Amount    // not waste by what was judged, so that no clock runs
}

// An AgeStep is a step of the accumulation time; Days is the age from which it is
// reached on the day of the Ages.
type AgeStep struct {
	Days int
	By   *triage.Interval
}

// An Age is one tag.
type Age struct {
	Tag     string
	Amount  Amount
	Start   triage.Date
	StartBy string
	Days    int // since Start
	Reached *triage.Interval
}

// oldest is an age that no clock of a shop comes to, in days.
const oldest = 20_000

// AgesOf returns the ages of what is in hand at the moment reviewed for.
func AgesOf(s *Snapshot) *Ages {
	today := triage.DateOf(s.Now)
	x := &Ages{On: today, Country: s.Country}
	for _, step := range s.Rules.Accumulation(today, s.Country) {
		days := sort.Search(oldest, func(age int) bool {
			return slices.ContainsFunc(s.Rules.Accumulation(today-triage.Date(age), s.Country), func(a triage.Accrual) bool { return a.By == step.By && a.On <= today })
		})
		x.Steps = append(x.Steps, AgeStep{days, step.By})
	}
	for i := range s.Cells {
		c := &s.Cells[i]
		st := c.Last()
		_, a := c.Amount(st)
		age := Age{Tag: c.Tag, Amount: a, Start: st.Start, StartBy: st.StartBy, Days: int(today - st.Start)}
		switch {
		case a.Cells == 0:
		case st.Start == 0 && st.Waste == triage.NotWaste:
			x.Kept = x.Kept.plus(a)
		case st.Start <= 1: // none, or one that could not be read
			x.Unknown = append(x.Unknown, age)
		default:
			for _, step := range s.Rules.Accumulation(st.Start, s.Country) {
				if step.On <= today {
					age.Reached = step.By
				}
			}
			x.Cells = append(x.Cells, age)
		}
	}
	slices.SortStableFunc(x.Cells, func(a, b Age) int { return b.Days - a.Days })
	return x
}

// Past adds up the cells that have reached a step by now. What has no start counts with
// them.
func (x *Ages) Past(step AgeStep) (a Amount) {
	for i := range x.Cells {
		if x.Cells[i].Days >= step.Days {
			a = a.plus(x.Cells[i].Amount)
		}
	}
	for i := range x.Unknown {
		a = a.plus(x.Unknown[i].Amount)
	}
	return a
}

// UnknownCells counts the cells of which no start is known.
func (x *Ages) UnknownCells() (n int64) {
	for i := range x.Unknown {
		n += x.Unknown[i].Amount.Cells
	}
	return n
}
