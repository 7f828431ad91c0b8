package app

import (
	"time"

	"pouchward/triage"
)

// pierced: the blade goes through the foil while the cell is pried out.
func (y *demoYear) pierced() {
	c := y.newCell(swollen)
	c.part = demoPartByNumber("PX-4820")
	c.thick, c.mv = c.part.thick*121/100, c.part.millivolts(44)
	c.seen = "swollen;punctured;odour"
	given := handsOff(c.reading(y.now))
	for i := range given {
		if given[i].Field == triage.CellC {
			given[i].Text = decimal(roomTemperature[y.now.Month()-1]+62, 1)
		}
	}
	c.reacted = y.now
	y.assess(c, append(given, Given{triage.Note, "blade slipped while prying"}), time.Time{})
	y.in(2, func() {
		y.move(c.who, time.Time{}, Move{To: demoFlags, Because: "pushed out of the door on its tray in the first minute, before it was recorded"}, c)
	})
	y.in(31, func() { y.tellOf(c) })
	// It is watched from a distance every hour, through the night. Once it was quiet for
	// a day it goes into fill and a tin.
	y.at(c.reacted.Add(24*time.Hour+25*time.Minute), func() { y.store(c) })
	y.at(y.moment(y.nextOpen(triage.DateOf(y.now)+2), 11*60), func() {
		o, err := y.sit("").Determine(y.day(), Act{Who: "MK"}, c.tag, Ruling{Lower: []string{"punctured", "odour", "raise"}, Criteria: "ac", Second: "TO",
			Reason: "quiet for over a day and as cool as the yard; the foil is open: it goes as damaged, with a breached casing"})
		y.took(c, o, err)
	})
}

// handsOff leaves out what nobody touches a reacting cell for.
func handsOff(given []Given) (seen []Given) {
	for _, g := range given {
		switch g.Field {
		case triage.OcvV, triage.RestH, triage.ThicknessMm, triage.NominalThicknessMm, triage.Rocks, triage.MassG:
			continue
		}
		seen = append(seen, g)
	}
	return seen
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
	y.at(y.moment(y.nextStaffed(triage.DateOf(y.now)+1), demoOpens+40), func() { y.followUp("MK", told, c.who+"=none", second+"=none") })
}
