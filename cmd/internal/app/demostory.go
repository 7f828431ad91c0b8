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
	{260, 10*60 + 5, func(y *demoYear) { y.notADent("the mark is the print of a bracket, not a dent", "") }},
	{225, 11 * 60, (*demoYear).findLot},
	{213, 14 * 60, (*demoYear).workLot},
	{203, 15*60 + 30, (*demoYear).raisedByHand},
	{188, 11*60 + 10, (*demoYear).wrongTag},
	{176, 14 * 60, (*demoYear).workLot},
	{141, 10*60 + 12, (*demoYear).twoStrips},
	{131, 15*60 + 10, (*demoYear).pierced},
	{120, 13*60 + 45, func(y *demoYear) { y.notADent("a crease of the wrap; the foil under it is smooth", "") }},
	{108, 14 * 60, (*demoYear).workLot},
	{97, 12*60 + 3, (*demoYear).mistyped},
	{84, 10*60 + 40, (*demoYear).grew},
	{77, 16*60 + 2, (*demoYear).twoUnderOneWrap},
	{63, 17*60 + 10, (*demoYear).typedNextDay},
	{41, 11*60 + 33, func(y *demoYear) {
		y.notADent("glue residue; flat on the plate, to be looked at again", (y.today + 18).String())
	}},
	{34, 12*60 + 20, (*demoYear).tickedTooSoon},
	{15, 16*60 + 50, (*demoYear).typedNextDay},
	{7, 10*60 + 30, func(y *demoYear) { y.arrive(y.newCell(swollen)) }}, // its week is up on the day
	{1, 14*60 + 40, func(y *demoYear) { y.arrive(y.newCell(swollen)) }}, // looked at again on the day
	{1, 16*60 + 10, (*demoYear).notMadeSafe},
}

// tellStories plans them.
func (y *demoYear) tellStories() {
	for _, s := range demoStories {
		y.at(y.moment(y.openBy(s.before), s.minute), func() { s.tell(y) })
	}
}

// leftBehind: a swollen tablet pack that no hand-over takes, because the
// recycler's box for large damaged packs never came. Its year is nearly up.
func (y *demoYear) leftBehind() {
	c := y.newCell(swollen)
	c.part, c.kept = demoPartByNumber("PT-7700"), "no box for it yet"
	c.mv = c.part.millivolts(41)
	y.arrive(c)
	y.in(12, func() { y.photograph(c) })
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
		for i, each := range []*demoCell{c, half} {
			y.in(5+6*i, func() {
				one := *c.part
				one.parallel, one.mah, one.grams10, one.labelWh = 1, c.part.mah/2, c.part.grams10/2, "15.4"
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

// notMadeSafe: at the end of a long day one is put into its tin and the ticks
// are forgotten.
func (y *demoYear) notMadeSafe() {
	c := y.newCell(torn)
	y.assess(c, c.reading(y.now), time.Time{})
	y.in(6, func() { y.put(c, time.Time{}) })
}
