package app

import (
	"container/heap"
	"time"

	"pouchward/triage"
)

// The invented shop is open as its house file says. In two holiday weeks, and while
// stock is taken, somebody comes in every day to look after what stands isolated, and
// takes nothing in.
const (
	demoOpens  = 9 * 60
	demoCloses = 18 * 60
)

func weekday(d triage.Date) time.Weekday { return time.Weekday((int(d)%7 + 4) % 7) } // day 0 was a Thursday

func (y *demoYear) holiday(d triage.Date) bool {
	_, month, day := y.moment(d, 0).Date()
	switch month {
	case time.December:
		return day >= 24
	case time.January:
		return day == 1
	case time.August:
		return day >= 8 && day <= 14
	}
	return false
}

// stocktaking reports whether all that is there is counted on a day: three days of
// which the middle one is far from every cell that comes in.
func (y *demoYear) stocktaking(d triage.Date) bool {
	return d >= y.stockDay()-1 && d <= y.stockDay()+1
}

// demoStocktaking is how many days before the end of the year stock is taken.
const demoStocktaking = 155

// stockDay is the middle one.
func (y *demoYear) stockDay() triage.Date { return y.nextStaffed(y.today - demoStocktaking) }

// open reports whether cells are taken in on a day.
func (y *demoYear) open(d triage.Date) bool {
	return y.staffed(d) && !y.holiday(d) && !y.stocktaking(d)
}

// staffed reports whether anybody is in the shop on a day.
func (y *demoYear) staffed(d triage.Date) bool { return weekday(d) != time.Sunday }

// openBy returns the last open day on or before one that lies so many days
// before the end of the year, the first open day where there is none.
func (y *demoYear) openBy(before int) triage.Date {
	for d := y.today - triage.Date(before); d >= y.first; d-- {
		if y.open(d) {
			return d
		}
	}
	return y.nextOpen(y.first)
}

// nextOpen returns the first open day from a day on.
func (y *demoYear) nextOpen(d triage.Date) triage.Date {
	for !y.open(d) {
		d++
	}
	return d
}

// nextStaffed returns the first day from a day on when anybody is there.
func (y *demoYear) nextStaffed(d triage.Date) triage.Date {
	for !y.staffed(d) {
		d++
	}
	return d
}

// moment returns a minute of a day on the shop's clock.
func (y *demoYear) moment(d triage.Date, minute int) time.Time {
	t := d.In(time.UTC)
	return time.Date(t.Year(), t.Month(), t.Day(), 0, minute, 0, 0, y.zone)
}

// A demoTask is something that is done at a moment of the year.
type demoTask struct {
	at  time.Time
	seq int // of two at one moment, the one that was planned first
	do  func()
}

// A demoAgenda is the tasks to come, the next at the top of the heap.
type demoAgenda []demoTask

func (a demoAgenda) Len() int { return len(a) }
func (a demoAgenda) Less(i, j int) bool {
	if c := a[i].at.Compare(a[j].at); c != 0 {
		return c < 0
	}
	return a[i].seq < a[j].seq
}
func (a demoAgenda) Swap(i, j int) { a[i], a[j] = a[j], a[i] }
func (a *demoAgenda) Push(x any)   { *a = append(*a, x.(demoTask)) }
func (a *demoAgenda) Pop() any {
	last := (*a)[len(*a)-1]
	*a = (*a)[:len(*a)-1]
	return last
}

// at plans a task. What would be done on the last day or later is not done: it
// is what the shop has before it.
func (y *demoYear) at(t time.Time, do func()) {
	if !t.Before(y.moment(y.today, 0)) {
		return
	}
	y.planned++
	heap.Push(&y.agenda, demoTask{t, y.planned, do})
}

// in plans a task so many minutes and odd seconds from now.
func (y *demoYear) in(minutes int, do func()) {
	y.at(y.now.Add(time.Duration(minutes)*time.Minute+time.Duration(y.rng.IntN(50))*time.Second), do)
}

// run does what is planned in its order until nothing is left or something fails.
func (y *demoYear) run() {
	for y.err == nil && len(y.agenda) > 0 {
		t := heap.Pop(&y.agenda).(demoTask)
		if t.at.After(y.now) {
			y.now = t.at
		}
		t.do()
		y.now = y.now.Add(time.Second) // no two entries at one moment
	}
}
