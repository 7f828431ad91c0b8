package app

import (
	"time"

	"pouchward/triage"
)

// Faults with single cells that the demo plants: what the program refuses unless
// somebody says why it was done all the same, and what nobody thought of.

// tomorrow is a minute of the next day when somebody is there.
func (y *demoYear) tomorrow(minute int) time.Time {
	return y.moment(y.nextStaffed(triage.DateOf(y.now)+1), minute)
}

// safe assesses a cell and makes it safe to keep; then goes on with it some minutes
// later.
func (y *demoYear) safe(c *demoCell, then func()) {
	y.assess(c, c.reading(y.now), time.Time{})
	y.in(3, func() {
		y.secure(c, time.Time{})
		y.in(2, then)
	})
}

// fittedAgain: a swollen cell goes back into its telephone for a night.
func (y *demoYear) fittedAgain() {
	c := y.newCell(swollen)
	y.arrive(c)
	y.in(250, func() {
		y.move("TO", time.Time{}, Move{Out: "reused", Because: "the customer would not leave the telephone (invented)"}, c)
		y.plant("review-damaged-sent-light", c.tag, plantPast, "a swollen cell was fitted again for a night, against what was printed")
	})
	y.at(y.tomorrow(10*60+15), func() {
		c.gone = false
		y.found(c, "same", c.temperatures(y.now))
		y.store(c)
	})
}

// amongOthers: a swollen cell stands half an hour in a tray with another.
func (y *demoYear) amongOthers() {
	tray := y.addContainer(Container{Kind: "bin", Material: "steel", VolumeL: "5", Lid: "vented", Place: demoShelf, Note: "small bin of the bench"})
	other, c := y.newCell(plain), y.newCell(swollen)
	y.safe(other, func() { y.move(other.who, time.Time{}, Move{To: tray}, other) })
	y.in(20, func() {
		y.safe(c, func() {
			y.move(c.who, time.Time{}, Move{To: tray, Because: "hands full, the tins stand outside"}, c)
			y.plant("review-damaged-among-others", c.tag, plantPast, "a swollen cell stood half an hour in a bin with a retired one")
			y.in(30, func() { y.put(c, time.Time{}) })
		})
	})
	y.in(70, func() { y.put(other, time.Time{}) })
}

// smoked: a cell smokes, the fire service takes it along, and nobody writes down what
// happened.
func (y *demoYear) smoked() {
	c := y.newCell(plain)
	c.part, c.seen = demoPartByNumber("PX-4500"), "smoking"
	y.assess(c, handsOff(c.reading(y.now)), time.Time{})
	y.plant("review-reacted-unrecorded", c.tag, plantOpen, "a cell smoked and the fire service took it along; no incident was entered")
	y.in(38, func() {
		y.move("MK", time.Time{}, Move{Out: "handed-over", Because: "taken along by the fire service (invented)"}, c)
	})
}

// twoInATin: two swollen cells stand in one tin for a while.
func (y *demoYear) twoInATin() {
	a, b := y.newCell(swollen), y.newCell(swollen)
	y.arrive(a)
	y.in(15, func() {
		y.safe(b, func() {
			tin := a.where
			y.move(b.who, time.Time{}, Move{To: tin, Because: "no empty tin at hand"}, b)
			y.plant("review-several-in-one", tin, plantPast, "two swollen cells stood in one tin for three quarters of an hour")
			y.in(45, func() {
				y.put(b, time.Time{})
				y.inTin[tin] = a
			})
		})
	})
}

// onTheShelf: a swollen cell lies on a shelf over night.
func (y *demoYear) onTheShelf() {
	c := y.newCell(swollen)
	y.safe(c, func() {
		y.move(c.who, time.Time{}, Move{To: demoHoldShelf}, c)
		y.plant("review-open-container", c.tag, plantPast, "a swollen cell lay on the shelf for more than a day, in no container")
		y.at(y.whenStaffed(y.now.Add(26*time.Hour), 4), func() { y.put(c, time.Time{}) })
	})
}

// leaked: liquid on a cell is seen in the morning, and the cell is put into fill in the
// afternoon.
func (y *demoYear) leaked() {
	c := y.newCell(plain)
	c.part, c.seen = drawPart(c.rng, singleCell), "leaking"
	c.thick, c.mv = c.part.thick, c.part.millivolts(33)
	y.leaking = c
	y.assess(c, c.reading(y.now), time.Time{})
	y.plant("review-release-unanswered", c.tag, plantPast, "a leaking cell stood five hours and a half before it was put into fill and a tin")
	y.in(330, func() { y.secure(c, time.Time{}) })
	y.in(333, func() { y.put(c, time.Time{}) })
}

// lookedLate: the first look at an isolated cell comes four hours late.
func (y *demoYear) lookedLate() {
	c := y.newCell(swollen)
	y.arrive(c)
	y.in(12, func() {
		c.delay = 4 * time.Hour
		y.expect(c)
		y.plant("review-look-missed", c.tag, plantPast, "the first look at an isolated cell came four hours late")
	})
}

// loweredAlone: one person calls a dent none, with a house file that says that there is
// one person only.
func (y *demoYear) loweredAlone() {
	c := y.newCell(dented)
	c.part = drawPart(c.rng, singleCell)
	c.thick, c.mv = c.part.thick, c.part.millivolts(44)
	y.arrive(c)
	y.at(y.tomorrow(11*60+10), func() {
		o, err := y.sit("").Determine(y.solo(), Act{Who: "LS"}, c.tag, Ruling{Lower: []string{"dented"}, Criteria: "c", Reason: "the print of a clip"})
		y.took(c, o, err)
		y.plant("review-lowered-by-one", c.tag, plantPast, "one person lowered a dented cell, with a house file that said solo; twenty minutes later it stood as it was")
	})
	y.at(y.tomorrow(11*60+30), func() { y.found(c, "same", c.temperatures(y.now)) })
}

// solo is the shop with a house file that says that it has one person, which it has
// not: by it the program takes what it refuses this shop.
func (y *demoYear) solo() *Shop {
	shop, house := *y.day(), *y.house
	house.Shop.Solo = true
	shop.House = &house
	return &shop
}

// lostSight: on a Saturday after closing somebody brings in a cell that is held; it
// gets no place before Monday.
func (y *demoYear) lostSight() {
	c := y.newCell(fuller)
	y.assess(c, c.reading(y.now), time.Time{})
	y.plant("review-lost-sight", c.tag, plantPast, "a cell to be held came on a Saturday after closing and had no place before Monday")
	y.in(3, func() { y.secure(c, time.Time{}) })
	y.at(y.tomorrow(demoOpens+20), func() { y.put(c, time.Time{}) })
}

// notMadeSafe: at the end of a long day one is put into its tin and the ticks
// are forgotten.
func (y *demoYear) notMadeSafe() {
	c := y.newCell(torn)
	y.assess(c, c.reading(y.now), time.Time{})
	y.plant("review-not-made-safe", c.tag, plantOpen, "an isolated cell was put into its tin and never recorded as insulated and bagged")
	y.in(6, func() { y.put(c, time.Time{}) })
}
