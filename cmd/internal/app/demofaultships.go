package app

import (
	"slices"
	"time"
)

// Faults with packages and hand-overs that the demo plants.

// wrongDrum: the cell that leaked is put into the drum of another, and taken out again.
func (y *demoYear) wrongDrum(s *demoParcel, in *demoCell) {
	c := y.leaking
	if y.err != nil || c == nil || c == in || c.gone {
		return
	}
	y.leaking = nil
	tin := c.where
	y.pass(2 * time.Minute)
	y.move(demoPeople[1], time.Time{}, Move{To: s.packs[0], Because: "scanned into the drum beside its own"}, c)
	y.plant("review-breached-among-intact", c.tag, plantPast, "the leaking cell lay ten minutes in the drum of a cell with a whole casing")
	y.pass(10 * time.Minute)
	y.move(demoPeople[1], time.Time{}, Move{To: tin}, c)
}

// checker is who checks a package, and by which house file.
func (y *demoYear) checker(s *demoParcel, pack int) (shop *Shop, checker string) {
	switch {
	case s.alone && pack == 0:
		y.plant("review-one-pair-of-hands", s.packs[0], plantPast, "one person packed and checked a package, with a house file that said solo")
		return y.solo(), demoPeople[1]
	case s.untrained && pack == 0:
		y.plant("review-untrained", demoLapsed, plantPast, "a package was checked by somebody whose training had run out; it was given again ten days later")
		return y.day(), demoLapsed
	}
	return y.day(), demoPeople[0]
}

// plantSent notes what is wrong with a shipment that left.
func (y *demoYear) plantSent(s *demoParcel) {
	for _, x := range []struct {
		so                 bool
		check, state, what string
	}{
		{s.lapsed, "review-sent-unaccepted", plantPast, "written past the program: the acceptance had run out on the day before"},
		{s.nameless, "review-shipment-record", plantOpen, "written past the program: who carried the shipment was left out"},
		{s.paperless, "review-paper-copy", plantOpen, "no copy of the shipping papers was attached"},
		{s.untried, "review-emergency-number", plantPast, "the emergency telephone had not been tried for more than 90 days"},
		{s.short, "review-receipt-differs", plantPast, "the receipt said one cell less; it was settled two days later"},
		{s.unanswered, "review-no-receipt", plantOpen, "a shipment left two months ago, and no receipt came"},
	} {
		if x.so {
			y.plant(x.check, s.tag, x.state, x.what)
		}
	}
	if slices.ContainsFunc(s.cells, func(c *demoCell) bool { return c.old }) {
		y.plant("review-kept-a-year", s.tag, plantPast, "a cell left that had been pulled more than a year before")
	}
}
