package app

import (
	"time"

	"pouchward/triage"
)

// Faults with places, containers and people that the demo plants.

// tooBig: a cabinet of 220 L is tried for two days.
func (y *demoYear) tooBig() {
	box := y.addContainer(Container{Kind: "cabinet", Material: "steel", VolumeL: "220", Lid: "vented", Place: demoShelf, Note: "on trial"})
	c := y.newCell(plain)
	y.safe(c, func() {
		y.move(c.who, time.Time{}, Move{To: box}, c)
		y.plant("review-store-over", box, plantPast, "a cabinet of 220 L held a cell for two days: more than the 7.5 cu ft that one state's fire code names")
		y.at(y.moment(y.nextOpen(triage.DateOf(y.now)+2), 10*60+5), func() { y.put(c, time.Time{}) })
	})
}

// wrongDate: the label of a new bin says the day, and the cell in it is older.
func (y *demoYear) wrongDate() {
	box := y.addContainer(Container{Kind: "bin", Material: "steel", VolumeL: "10", Lid: "vented", Place: demoShelf, Start: triage.DateOf(y.now).String(), Note: "second bin, label written today"})
	c := y.newCell(plain)
	c.pulled = triage.DateOf(y.now) - 3
	y.safe(c, func() {
		y.move(c.who, time.Time{}, Move{To: box}, c)
		y.plant("review-start-later", box, plantPast, "the label of a new bin said the day, and the cell in it had been pulled three days before")
		y.at(y.tomorrow(10*60+40), func() { y.put(c, time.Time{}) })
	})
}

// stockTaken: the lot is counted twice on a day on which nothing comes in, and two of
// its cells are gone.
func (y *demoYear) stockTaken() {
	y.countLot(Container{Kind: "bin", Note: "stock taken"})
	y.in(305, func() {
		y.lot.left, y.lot.grams = y.lot.left-2, y.lot.grams-110
		y.countLot(Container{Kind: "bin", Note: "counted again"})
		y.plant("review-ledger", y.lot.tag, plantOpen, "the lot was two cells smaller at the second count of a day, and no cell was recorded")
	})
}

// untold: a helper takes in a cell before anybody told her how, and is told a week
// later.
func (y *demoYear) untold() {
	const name = "JW"
	c := y.newCell(plain)
	c.who = name
	y.arrive(c)
	y.plant("review-not-informed", name, plantPast, "a helper took in a cell a week before she was told how")
	y.at(y.moment(y.nextOpen(triage.DateOf(y.now)+7), 9*60+50), func() {
		y.train(Training{Name: name, Topic: demoTopic, Materials: demoMaterials, By: "MK", Passed: "yes", Until: (y.today + 100).String()})
	})
}

// found years after: a cell that was pulled more than a year before it came in.
func (y *demoYear) overAYear() {
	c := y.newCell(plain)
	c.pulled = triage.DateOf(y.now) - 372
	c.old = true
	y.arrive(c)
}

// nineMonths: a swollen pack for which there is no box either, kept for nine months.
func (y *demoYear) nineMonths() {
	c := y.leave("no box for it yet", 300)
	y.in(14, func() {
		y.plant("review-kept-nine-months", c.where, plantOpen, "a swollen pack was pulled ten months ago and is still here")
	})
}

// leave takes in a swollen pack that no hand-over takes, pulled so many days before
// the end of the year.
func (y *demoYear) leave(why string, pulled triage.Date) *demoCell {
	c := y.newCell(swollen)
	c.part, c.kept, c.pulled = demoPartByNumber("PT-7700"), why, min(y.today-pulled, triage.DateOf(y.now))
	c.mv = c.part.millivolts(41)
	y.arrive(c)
	return c
}

// overlooked reports whether a round leaves a place out: one place, once.
func (y *demoYear) overlooked(place string) bool {
	day := triage.DateOf(y.now)
	if place != demoShelf || y.skipped || day < y.today-290 {
		return false
	}
	y.skipped = true
	y.plant("review-no-round", place, plantPast, "one Friday the shelf was left out of the round: a fortnight between two")
	return true
}

// unlabelled reports whether a round finds a bin without its label: on two Fridays, and
// put right by the third.
func (y *demoYear) unlabelled(place string) bool {
	day := triage.DateOf(y.now)
	if place != demoHoldShelf || day < y.today-128 || day >= y.today-114 {
		return false
	}
	if !y.labelOff {
		y.plant("review-round-open", place, plantPast, "a bin without its label on two rounds, said to be put right on the first")
	}
	y.labelOff = true
	return true
}
