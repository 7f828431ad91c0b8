package app

import (
	"fmt"
	"time"

	"pouchward/triage"
)

// What people of the demo get wrong, and how it is put right.

// wrongTag: a swollen cell is entered under the tag of the one before it, and
// moved to its own.
func (y *demoYear) wrongTag() {
	right := y.newCell(plain)
	y.arrive(right)
	y.in(25, func() {
		other := y.newCell(swollen)
		own := y.strip()
		given := append(other.reading(y.now), Given{triage.Tag, right.tag})
		rec := y.sit(other.bench)
		a, err := rec.Judge(y.day(), given)
		if y.fail(err); y.err != nil {
			return
		}
		r, err := rec.Record(a)
		y.fail(err)
		right.class = a.Verdict.Handling // so it stands in the log for the moment
		y.in(7, func() {
			if y.err != nil {
				return
			}
			from, to, err := y.sit(other.bench).WrongCell(y.day(), Act{Who: "LS"}, Change{Entry: r.Number, Second: "MK", Criteria: "c"}, own)
			if y.fail(err); y.err != nil {
				return
			}
			other.tag = own
			y.took(right, from, nil)
			y.took(other, to, nil)
			y.put(right, time.Time{})
			y.store(other)
		})
	})
}

// strip takes a tag from the printed block.
func (y *demoYear) strip() string {
	if len(y.block) == 0 {
		y.fail(fmt.Errorf("the printed tags of the demo are used up"))
		return ""
	}
	tag := y.block[0]
	y.block = y.block[1:]
	return tag
}

// twoStrips: one cell is measured twice under two tags, which are merged.
func (y *demoYear) twoStrips() {
	c := y.newCell(plain)
	y.arrive(c)
	y.in(55, func() {
		twin := *c
		twin.who, twin.tag = demoPeople[2], y.strip()
		y.assess(&twin, c.reading(y.now), time.Time{})
		y.in(11, func() {
			o, err := y.sit("").Merge(y.day(), Act{Who: "MK"}, c.tag, twin.tag, "two strips on one cell")
			y.took(c, o, err)
		})
	})
}

// mistyped: a decimal point too early, found and mended within minutes.
func (y *demoYear) mistyped() {
	c := y.newCell(plain)
	c.part = demoPartByNumber("PX-4300")
	c.thick, c.mv = c.part.thick, 3810
	given := c.reading(y.now)
	for i := range given {
		if given[i].Field == triage.OcvV {
			given[i].Text = "0.381"
		}
	}
	y.assess(c, given, time.Time{})
	y.in(8, func() {
		if y.err != nil {
			return
		}
		o, err := y.sit(c.bench).Correct(y.day(), Act{Who: c.who}, Change{Entry: c.entry, Field: "ocv_v", New: "3.81", Reason: "mistyped", Note: "decimal point", Second: other(c.who), Criteria: "d"})
		y.took(c, o, err)
		y.store(c)
	})
}

// other returns somebody else.
func other(who string) string {
	if who == demoPeople[0] {
		return demoPeople[1]
	}
	return demoPeople[0]
}

// typedNextDay: the computer was off; the day sheet is typed at the next
// opening, with the hour at which it happened.
func (y *demoYear) typedNextDay() {
	c := y.newCell(torn)
	c.tag = y.strip()
	seen := y.now
	given := c.reading(seen)
	y.at(y.moment(y.nextOpen(triage.DateOf(y.now)+1), demoOpens+22), func() {
		y.assess(c, given, seen)
		y.pass(20 * time.Second)
		y.foundAt(c, y.moment(triage.DateOf(seen), demoCloses+2))
		y.in(1, func() { y.secure(c, seen.Add(6*time.Minute)) })
		y.in(2, func() { y.put(c, seen.Add(11*time.Minute)) })
	})
}

// tickedTooSoon: made safe is ticked for the cell beside it, and taken back.
func (y *demoYear) tickedTooSoon() {
	c := y.newCell(plain)
	y.assess(c, c.reading(y.now), time.Time{})
	y.in(3, func() {
		o := y.secure(c, time.Time{})
		y.in(5, func() {
			if y.err != nil {
				return
			}
			o, err := y.sit(c.bench).Retract(y.day(), Act{Who: c.who}, Change{Entry: o.Receipts[0].Number, Reason: "other", Note: "ticked for the cell beside it"})
			y.took(c, o, err)
			y.store(c)
		})
	})
}
