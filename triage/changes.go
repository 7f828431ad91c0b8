package triage

import (
	"cmp"
	"slices"
	"strings"
)

// A Change is a record, a duty or an instrument that begins or ends.
type Change struct {
	On         Date // the first day in force, or the last
	Instrument *Instrument
	ID         string // of the record, or of the instrument
	Title      string // of a duty, its text
	Begins     bool
}

// Changes lists what begins or ends on the days from one to another, both among
// them, by day. A record that comes and goes with its instrument is not named
// beside it, nor a duty beside its record. The last day for which the text of an
// instrument is known is an end as well: past it every verdict says so.
func (ts Tables) Changes(from, to Date) []Change {
	var list []Change
	add := func(in *Instrument, id, title string, on Date, begins bool) {
		if on != 0 && on >= from && on <= to {
			list = append(list, Change{on, in, id, title, begins})
		}
	}
	// window adds what changes inside the window of what holds it: a duty that
	// begins after its record has ended begins never.
	window := func(in *Instrument, id, title string, f, u, outerFrom, outerUntil Date) {
		if f > outerFrom && (outerUntil == 0 || f <= outerUntil) {
			add(in, id, title, f, true)
		}
		if u >= max(outerFrom, 1) && (outerUntil == 0 || u < outerUntil) {
			add(in, id, title, u, false)
		}
	}
	for _, t := range ts {
		in := &t.Instrument
		window(in, in.ID, in.Title, t.from, t.until, 0, 0)
		if known, err := ParseDate(in.KnownUntil); err == nil && (t.until == 0 || known < t.until) {
			add(in, in.ID, in.Title+": text known until this day", known, false)
		}
		t.eachRecord(func(_ string, r *Record) { window(in, r.ID, r.Title, r.from, r.until, t.from, t.until) })
		t.eachDuty(func(r *Record, d *Duty) {
			window(in, r.ID, d.Text, d.from, d.until, max(r.from, t.from), earlier(r.until, t.until))
		})
	}
	slices.SortStableFunc(list, func(a, b Change) int {
		return cmp.Or(cmp.Compare(a.On, b.On), strings.Compare(a.Instrument.ID, b.Instrument.ID), strings.Compare(a.ID, b.ID), strings.Compare(a.Title, b.Title))
	})
	return list
}

// eachDuty calls fn for every duty of the table with its record.
func (t *Table) eachDuty(fn func(r *Record, d *Duty)) {
	each := func(r *Record, list []Duty) {
		for i := range list {
			fn(r, &list[i])
		}
	}
	for i := range t.Ways {
		each(&t.Ways[i].Record, t.Ways[i].Duties)
	}
	for i := range t.Streams {
		each(&t.Streams[i].Record, t.Streams[i].Duties)
	}
}
