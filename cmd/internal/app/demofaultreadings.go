package app

import (
	"fmt"
	"time"

	"pouchward/triage"
)

// Faults with readings, tags and clocks that the demo plants.

// labelled takes in a cell with a rating printed on it.
func (y *demoYear) labelled(part, wh string) *demoCell {
	c := y.newCell(plain)
	p := *demoPartByNumber(part)
	p.labelWh = wh
	c.part = &p
	c.thick, c.mv = p.thick, p.millivolts(51)
	y.arrive(c)
	return c
}

// twoSides: the printed and the computed rating lie on two sides of 20 Wh, until a
// photo of the label comes.
func (y *demoYear) twoSides() {
	c := y.labelled(demoNearPart, "20.4")
	y.plant("review-rating-crosses", c.tag, plantPast, "20.4 Wh was typed as printed and 19.9815 Wh is computed; a photo of the label came nine days later")
	y.at(y.moment(y.nextOpen(triage.DateOf(y.now)+9), 13*60+20), func() { y.photograph(c, "label.png", 0) })
}

// misread: a rating read wrongly, with no limit between.
func (y *demoYear) misread() {
	c := y.labelled("PX-4000", "15.9")
	y.plant("review-rating-differs", c.tag, plantPast, "15.9 Wh was typed as printed and 15.4 Wh is computed; it left with the next shipment")
}

// near: a cell of just under 20 Wh, without a photo.
func (y *demoYear) near() {
	y.labelled(demoNearPart, "")
	y.plant("review-rating-near", "part "+triage.PartKey(demoNearPart), plantOpen, "19.9815 Wh, and no photo of the label")
}

// meterLent: for two days cells come in without a voltage, eight of them.
func (y *demoYear) meterLent() {
	y.plant("review-unread-share", y.now.Format("2006-01"), plantPast, "the meter was lent out for two days: eight cells without a voltage")
	next := y.nextOpen(triage.DateOf(y.now) + 1)
	for i := range 8 {
		take := func() { y.arrive(y.newCell(unread)) }
		if i < 4 {
			y.in(5+40*i, take)
		} else {
			y.at(y.moment(next, 10*60+20+50*(i-4)), take)
		}
	}
}

// meterDay is a day that lies well within its month, some days before the end of the
// year.
func (y *demoYear) meterDay(before int) triage.Date {
	d := y.openBy(before)
	for !y.open(d) || y.moment(d, 0).Day() < 8 || y.moment(d, 0).Day() > 20 {
		d--
	}
	return d
}

// neverMeasured: a cell came in without a voltage and nobody measured it since.
func (y *demoYear) neverMeasured() {
	c := y.newCell(unread)
	y.safe(c, func() { y.put(c, time.Time{}) })
	y.plant("review-unread-long", c.tag, plantOpen, "a cell was taken in without a voltage and not measured since")
}

// sameVolts: eight cells in a row with the same voltage to the hundredth.
func (y *demoYear) sameVolts() {
	const bench = "Bench 3"
	y.plant("review-too-regular", bench, plantPast, "eight cells in a row with the same voltage of 3.81 V; all have left")
	for i := range 8 {
		y.at(y.now.Add(time.Duration(i)*time.Minute), func() {
			c := y.newCell(plain)
			c.part = demoPartByNumber("PX-4300")
			c.thick, c.mv, c.who, c.bench = c.part.thick, 3810, "TO", bench
			y.arrive(c)
		})
	}
}

// strangeTag: a strip with a tag from nowhere is stuck on a cell.
func (y *demoYear) strangeTag() {
	c := y.newCell(plain)
	c.tag = triage.IssueTag(triage.CellTag, 612_345)
	y.plant("review-tag-unissued", c.tag, plantOpen, "a cell was recorded under a tag that the log never issued")
	y.arrive(c)
}

// wrongClock: the machine's clock stands back for one entry.
func (y *demoYear) wrongClock() {
	const back = 2 * time.Hour
	y.checkInstrument(InstrumentCheck{Name: "Meter 2", Reference: "3.000", Reading: "3.002", Unit: "V", Within: "0.005"})
	y.now = y.now.Add(time.Minute - back)
	entry := y.checkInstrument(InstrumentCheck{Name: "Meter 1", Reference: "3.000", Reading: "3.001", Unit: "V", Within: "0.005"})
	y.now = y.now.Add(back)
	y.plant("review-clock", fmt.Sprintf("entry %d", entry), plantPast, "the machine's clock stood two hours back for one entry")
}

// badCaliper: the caliper fails its check and is used until it is cleaned two days on.
func (y *demoYear) badCaliper() {
	y.checkInstrument(InstrumentCheck{Name: "Caliper", Reference: "10.00", Reading: "10.08", Unit: "mm", Within: "0.03"})
	y.plant("review-instrument", "Caliper", plantPast, "the caliper failed its check and was used until it passed again two days later")
	y.in(105, func() { y.arrive(y.newCell(swollen)) })
	y.at(y.moment(y.nextOpen(triage.DateOf(y.now)+2), demoOpens+16), func() {
		y.checkInstrument(InstrumentCheck{Name: "Caliper", Reference: "10.00", Reading: "10.01", Unit: "mm", Within: "0.03", Note: "jaws cleaned"})
	})
}

func (y *demoYear) checkInstrument(x InstrumentCheck) (entry int64) {
	if y.err != nil {
		return 0
	}
	t, err := y.sit(demoBenches[0]).CheckInstrument(Act{Who: "TO"}, x)
	if y.fail(err); y.err != nil {
		return 0
	}
	return t.Receipt.Number
}

// newEditions: where the rules changed over night, what is in the shop and would get
// another answer is judged again, as is good practice.
func (y *demoYear) newEditions(then triage.Date) {
	before, err := y.tables.On(then)
	if y.fail(err); y.err != nil {
		return
	}
	shop := y.day()
	for _, c := range y.cells {
		if y.err != nil || c.tag == "" || c.gone || c.class == triage.Emergency {
			continue
		}
		cell, err := readCell(y.rec.log, c.tag)
		if y.fail(err); err != nil {
			return
		}
		if len(judgedOn(cell, shop, before, shop.Rulebook.On).Changed(judgedOn(cell, shop, shop.Rulebook, shop.Rulebook.On))) > 0 {
			y.pass(35 * time.Second)
			y.found(c, "same", c.temperatures(y.now))
		}
	}
}

// planEditions plans that for the days on which rules begin or end in the year.
func (y *demoYear) planEditions() {
	seen := map[triage.Date]bool{}
	for _, x := range y.tables.Changes(y.first+1, y.today-1) {
		on := x.On
		if !x.Begins {
			on++ // the last day is still of the old rules
		}
		if seen[on] || on >= y.today {
			continue
		}
		seen[on] = true
		y.at(y.moment(y.nextOpen(on), demoOpens+31), func() { y.newEditions(on - 1) })
	}
}
