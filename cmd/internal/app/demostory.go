package app

import (
	"fmt"
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

// mistyped: a decimal point too early, found and mended within minutes.
func (y *demoYear) mistyped() {
	c := y.newCell(plain)
	c.part = demoPartByNumber("PX-4300")
	c.mv = 3810
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

// typedNextDay: the computer was off; the day sheet is typed at the next
// opening, with the hour at which it happened.
func (y *demoYear) typedNextDay() {
	c := y.newCell(torn)
	c.tag = y.strip()
	seen := y.now
	given := c.reading(seen)
	y.at(y.moment(y.nextOpen(triage.DateOf(y.now)+1), demoOpens+22), func() {
		y.assess(c, given, seen)
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

// notMadeSafe: at the end of a long day one is put into its tin and the ticks
// are forgotten.
func (y *demoYear) notMadeSafe() {
	c := y.newCell(torn)
	y.assess(c, c.reading(y.now), time.Time{})
	y.in(6, func() { y.put(c, time.Time{}) })
}

// pierced: the blade goes through the foil while the cell is pried out.
func (y *demoYear) pierced() {
	c := y.newCell(swollen)
	c.part = demoPartByNumber("PX-4820")
	c.thick, c.mv = c.part.thick*121/100, c.part.millivolts(44)
	var given []Given
	for _, g := range c.reading(y.now) {
		switch g.Field {
		case triage.Signs:
			g.Text = "swollen;punctured;odour"
		case triage.CellC:
			g.Text = decimal(roomTemperature[y.now.Month()-1]+62, 1)
		case triage.OcvV, triage.RestH, triage.ThicknessMm, triage.NominalThicknessMm, triage.Rocks, triage.MassG:
			continue // nobody touches it for that
		}
		given = append(given, g)
	}
	c.reacted = y.now
	y.assess(c, append(given, Given{triage.Note, "blade slipped while prying"}), time.Time{})
	y.in(2, func() {
		y.move(c.who, time.Time{}, Move{To: demoFlags, Because: "pushed out of the door on its tray in the first minute, before it was recorded"}, c)
	})
	y.in(31, func() { y.tellOf(c) })
	look := func() { y.found(c, "same", c.temperatures(y.now)) }
	for hour := 1; hour <= 3; hour++ {
		y.in(60*hour, look)
	}
	y.at(y.moment(y.nextStaffed(triage.DateOf(y.now)+1), demoOpens+6), look)
	y.at(y.whenStaffed(c.reacted.Add(24*time.Hour+10*time.Minute), 5), look)
	y.at(y.moment(y.nextOpen(triage.DateOf(y.now)+2), 11*60), func() {
		o, err := y.sit("").Determine(y.day(), Act{Who: "MK"}, c.tag, Ruling{Lower: []string{"punctured", "odour", "raise"}, Criteria: "ac", Second: "TO",
			Reason: "quiet for over a day and as cool as the yard; the foil is open: it goes as damaged, with a breached casing"})
		y.took(c, o, err)
		y.store(c)
	})
}

// tellOf records the incident when it is over, and asks everybody again on the
// next day.
func (y *demoYear) tellOf(c *demoCell) {
	second := other(c.who)
	told := y.incident("MK", Incident{Answers: map[string]string{"tags": c.tag, "reacted": "yes", "started": c.reacted.Format(time.RFC3339),
		"ended": y.now.Add(-10 * time.Minute).Format(time.RFC3339), "seen": "blade through the foil, a sweet smell, warm, no smoke", "there": c.who + " " + second,
		"room": c.bench, "energy": "18.6 Wh, about half charged", "first_aid": "both out of doors; hands washed", "fire_called": "no", "fire_came": "no",
		"extinguishing": "none", "waste": "gloves and wipes, bagged with the cell", "cause": "steel blade under a swollen cell", "action": "plastic cards only; the steel blade went into the bin",
		"near_miss": "no"}, Exposure: []string{c.who + "=none", second + "=headache for an hour"}})
	y.at(y.moment(y.nextOpen(triage.DateOf(y.now)+1), demoOpens+40), func() { y.followUp("MK", told, c.who+"=none", second+"=none") })
}
