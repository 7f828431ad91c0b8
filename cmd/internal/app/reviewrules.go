package app

import (
	"slices"

	"pouchward/triage"
	"pouchward/triage/review"
)

// ruleDays holds the rulebooks of many days: between two days on which no record
// begins or ends there is one.
type ruleDays struct {
	tables triage.Tables
	starts []triage.Date // first days on which the rules are others than the day before
	books  map[int]*triage.Rulebook
	ways   map[wayKey]review.WayOf
}

type wayKey struct {
	era int
	id  string
}

// newRuleDays knows the rules of every day up to one; later days are asked for one by
// one.
func newRuleDays(tables triage.Tables, last triage.Date) *ruleDays {
	d := &ruleDays{tables: tables, books: map[int]*triage.Rulebook{}, ways: map[wayKey]review.WayOf{}}
	for _, c := range tables.Changes(1, last) {
		on := c.On
		if !c.Begins {
			on++ // the last day is still of the old rules
		}
		d.starts = append(d.starts, on)
	}
	slices.Sort(d.starts)
	d.starts = slices.Compact(d.starts)
	return d
}

// era numbers the times between changes.
func (d *ruleDays) era(day triage.Date) int {
	i, found := slices.BinarySearch(d.starts, day)
	if found {
		i++
	}
	return i
}

// on returns the rulebook of a day, nil where no rules are in force.
func (d *ruleDays) on(day triage.Date) *triage.Rulebook {
	era := d.era(day)
	rb, seen := d.books[era]
	if !seen {
		rb, _ = d.tables.On(day) // the error is that none is in force
		d.books[era] = rb
	}
	return rb
}

// way says what a way is by the rules of a day, 0 for no day.
func (d *ruleDays) way(day triage.Date, id string) review.WayOf {
	if day == 0 {
		return review.WayOf{ID: id}
	}
	key := wayKey{d.era(day), id}
	w, seen := d.ways[key]
	if !seen {
		w = wayOf(d.on(day), id)
		d.ways[key] = w
	}
	return w
}
