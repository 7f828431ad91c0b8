package app

import (
	"time"

	"pouchward/triage"
)

// A demoStory is something out of the ordinary, so many days before the end of
// the year at a minute of the day.
type demoStory struct {
	before, minute int
	tell           func(*demoYear)
}

var demoStories = []demoStory{
	{328, 11*60 + 20, (*demoYear).leftBehind},
	{318, 11*60 + 5, (*demoYear).fittedAgain},
	{310, 14*60 + 10, (*demoYear).amongOthers},
	{297, 10*60 + 50, (*demoYear).untold},
	{294, 13*60 + 15, (*demoYear).nineMonths},
	{281, 11*60 + 15, (*demoYear).twoInATin},
	{270, demoOpens + 16, (*demoYear).badCaliper},
	{263, 13*60 + 30, (*demoYear).onTheShelf},
	{260, 10*60 + 5, func(y *demoYear) { y.notADent("the mark is the print of a bracket, not a dent", "") }},
	{258, 12*60 + 40, (*demoYear).tooBig},
	{252, 10*60 + 20, (*demoYear).leaked},
	{232, 15 * 60, (*demoYear).wrongDate},
	{225, 11 * 60, (*demoYear).findLot},
	{218, 11*60 + 3, (*demoYear).lookedLate},
	{208, 14*60 + 20, (*demoYear).loweredAlone},
	{213, 14 * 60, (*demoYear).workLot},
	{203, 15*60 + 30, (*demoYear).raisedByHand},
	{188, 11*60 + 10, (*demoYear).wrongTag},
	{176, 14 * 60, (*demoYear).workLot},
	{170, demoOpens + 4, (*demoYear).sameVolts},
	{141, 10*60 + 12, (*demoYear).twoStrips},
	{131, 15*60 + 10, (*demoYear).pierced},
	{134, 13 * 60, (*demoYear).twoSides},
	{126, 10*60 + 10, (*demoYear).misread},
	{120, 13*60 + 45, func(y *demoYear) { y.notADent("a crease of the wrap; the foil under it is smooth", "") }},
	{112, 12*60 + 30, (*demoYear).strangeTag},
	{108, 14 * 60, (*demoYear).workLot},
	{104, demoOpens + 25, (*demoYear).wrongClock},
	{97, 12*60 + 3, (*demoYear).mistyped},
	{84, 10*60 + 40, (*demoYear).grew},
	{77, 16*60 + 2, (*demoYear).twoUnderOneWrap},
	{72, 11 * 60, (*demoYear).overAYear},
	{41, 11*60 + 33, func(y *demoYear) {
		y.notADent("glue residue; flat on the plate, to be looked at again", (y.today + 18).String())
	}},
	{38, 15*60 + 40, (*demoYear).smoked},
	{34, 12*60 + 20, (*demoYear).tickedTooSoon},
	{20, 12 * 60, (*demoYear).near},
	{7, 10*60 + 30, func(y *demoYear) { y.arrive(y.newCell(swollen)) }}, // its week is up on the day
	{5, 13*60 + 10, (*demoYear).olderRelease},
	{4, 14*60 + 5, (*demoYear).neverMeasured},
	{3, 16*60 + 10, (*demoYear).notMadeSafe},
}

// tellStories plans them.
func (y *demoYear) tellStories() {
	for _, s := range demoStories {
		y.at(y.moment(y.openBy(s.before), s.minute), func() { s.tell(y) })
	}
	for _, before := range []int{63, 15} {
		d := y.openBy(before)
		for !y.open(d) || !y.open(d+1) { // else it would be entered more than a day late
			d--
		}
		y.at(y.moment(d, 17*60+10), y.typedNextDay)
	}
	saturday := y.openBy(178)
	for weekday(saturday) != time.Saturday || !y.open(saturday) {
		saturday--
	}
	y.at(y.moment(saturday, demoCloses+12), y.lostSight)
	y.at(y.moment(y.meterDay(190), 10*60), y.meterLent)
	y.at(y.moment(y.stockDay(), 10*60+10), y.stockTaken)
}

// leftBehind: a swollen tablet pack that no hand-over takes, because the
// recycler's box for large damaged packs never came. Its year is nearly up.
func (y *demoYear) leftBehind() {
	c := y.leave("no box for it yet", 345)
	y.in(14, func() {
		y.photograph(c, "side-view.png", 18)
		y.plant("review-kept-eleven-months", c.where, plantOpen, "a swollen pack was pulled more than eleven months ago and is still here")
	})
}

// notADent: two people lower what looked like a dent.
func (y *demoYear) notADent(reason, until string) {
	c := y.newCell(dented)
	c.part = drawPart(c.rng, singleCell)
	c.thick, c.mv = c.part.thick, c.part.millivolts(48)
	if until != "" {
		c.kept = "looked at again when the determination lapses"
	}
	y.arrive(c)
	y.lowered = c
	y.at(y.moment(y.nextOpen(triage.DateOf(y.now)+1), 10*60+25), func() {
		o, err := y.sit("").Determine(y.day(), Act{Who: "MK"}, c.tag, Ruling{Lower: []string{"dented"}, Criteria: "c", Reason: reason, Second: "LS", Until: until})
		y.took(c, o, err)
		y.in(6, func() { y.put(c, time.Time{}) })
	})
}

// raisedByHand: somebody does not like the look of a cell and puts it up; two
// days later two people measure it and let go.
func (y *demoYear) raisedByHand() {
	c := y.newCell(plain)
	c.part = demoPartByNumber("PX-4500")
	c.thick, c.mv = c.part.thick+2, c.part.millivolts(37)
	y.arrive(c)
	today := triage.DateOf(y.now)
	raised := y.nextOpen(today + 1)
	lowered := y.nextOpen(raised + 2)
	y.at(y.moment(raised, 12*60+40), func() {
		o, err := y.sit("").Raise(y.day(), Act{Who: "TO"}, c.tag, triage.Isolate, triage.Undamaged, "looks fuller than yesterday in this light")
		y.took(c, o, err)
		y.store(c)
	})
	y.at(y.moment(lowered, 9*60+50), func() {
		y.found(c, "same", append(c.temperatures(y.now), Given{triage.ThicknessMm, decimal(c.thick, 2)}))
		y.in(4, func() {
			o, err := y.sit("").Determine(y.day(), Act{Who: "MK"}, c.tag, Ruling{Lower: []string{"raise"}, Criteria: "c", Reason: "measured twice over three days: no thicker, flat on the plate", Second: "TO"})
			y.took(c, o, err)
			y.in(5, func() { y.put(c, time.Time{}) })
		})
	})
}

// twoUnderOneWrap: what was taken for one cell are two.
func (y *demoYear) twoUnderOneWrap() {
	c := y.newCell(plain)
	c.part = demoPartByNumber("PT-3850D")
	c.mv = c.part.millivolts(52)
	y.assess(c, c.reading(y.now), time.Time{})
	y.in(9, func() {
		if y.err != nil {
			return
		}
		first, second, err := y.sit(c.bench).Split(y.day(), Act{Who: c.who}, c.tag, "", "two pouches under one wrap, joined at the tabs only")
		if y.fail(err); y.err != nil {
			return
		}
		y.took(c, first, nil)
		half := y.newCell(plain)
		half.tag = second.Tag
		whole := c.part
		for i, each := range []*demoCell{c, half} {
			y.in(5+6*i, func() {
				one := *whole
				one.parallel, one.mah, one.grams10, one.labelWh = 1, whole.mah/2, whole.grams10/2, "15.4"
				each.part, each.mv, each.who, each.bench, each.pulled = &one, c.mv, c.who, c.bench, c.pulled
				y.assess(each, each.reading(y.now), time.Time{})
				y.store(each)
			})
		}
	})
}

// grew: a cell that was held thickens within two weeks and is isolated.
func (y *demoYear) grew() {
	c := y.newCell(fuller)
	y.arrive(c)
	y.at(y.moment(y.nextOpen(triage.DateOf(y.now)+13), 9*60+20), func() {
		c.thick = c.part.thick * 113 / 100
		y.found(c, "same", append(c.temperatures(y.now), Given{triage.ThicknessMm, decimal(c.thick, 2)}))
		y.store(c)
	})
}
