package review

import (
	"cmp"
	"slices"
	"time"
)

// A Recount is a lot that was counted anew and found smaller.
type Recount struct {
	Tag      string
	Entry    int64 // that counted it
	Before   int64 // the entry with the count before it
	Was, Is  int64
	From, At time.Time // of the count before, and of this one
	Recorded int64     // how many single cells first recorded about then were found for it
	Soon     bool      // its time to be worked off is not over yet
}

// Missing is how many cells are gone from the lot without a record of their own.
func (r *Recount) Missing() int64 { return max(r.Was-r.Is-r.Recorded, 0) }

// recounts finds single cells for those that a lot shrank by. The log does not say from
// where a cell was taken, so any cell first recorded between the count before and this
// one, each with the hours of the check's record to spare, counts for one, and for one
// recount only. Recounts are served in the order in which their time ends, each with
// the earliest cells that are left: no other order finds more cells in all.
func (l *Ledger) recounts(s *Snapshot) {
	spare := time.Duration(0)
	for _, c := range s.Rules.Checks() {
		if c.ID == "review-ledger" {
			spare = time.Duration(c.Limits["match_h"]) * time.Hour
		}
	}
	for i := range s.Cells {
		l.Recounts = append(l.Recounts, recountsOf(&s.Cells[i], s.Now)...)
	}
	if len(l.Recounts) == 0 {
		return
	}
	slices.SortStableFunc(l.Recounts, func(a, b Recount) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Entry, b.Entry)) })
	first := firstRecorded(s)
	for i := range l.Recounts {
		r := &l.Recounts[i]
		r.Soon = s.Now.Sub(r.At) <= spare
		first = slices.DeleteFunc(first, func(at time.Time) bool {
			take := r.Recorded < r.Was-r.Is && !at.Before(r.From.Add(-spare)) && !at.After(r.At.Add(spare))
			if take {
				r.Recorded++
			}
			return take
		})
	}
}

// recountsOf lists the counts of a lot after which it was smaller. What was taken back
// is not held against anybody: the entry that took it back states the count again.
func recountsOf(c *Cell, now time.Time) (list []Recount) {
	if !c.Lot() {
		return nil
	}
	var last Recount
	c.course(now, func(at time.Time, x *Step) {
		_, a := c.Amount(&x.Now)
		if x.Kind == "container" && !x.Void && x.Now.Is != Out && a.Cells < last.Is {
			list = append(list, Recount{Tag: c.Tag, Entry: x.Entry, Before: last.Entry, Was: last.Is, Is: a.Cells, From: last.At, At: at})
		}
		if x.Kind == "container" || a.Cells != last.Is {
			last = Recount{Entry: x.Entry, Is: a.Cells, At: at}
		}
	})
	return list
}

// firstRecorded lists when each single cell was first recorded, in order. The half of a
// split cell is no cell that came from somewhere.
func firstRecorded(s *Snapshot) (list []time.Time) {
	for i := range s.Cells {
		c := &s.Cells[i]
		if len(c.Steps) > 0 && !c.Lot() && c.Steps[0].Kind != "split" {
			list = append(list, c.Steps[0].Happened)
		}
	}
	slices.SortFunc(list, time.Time.Compare)
	return list
}
