package app

import (
	"fmt"
	"slices"
	"time"

	"pouchward/triage"
)

// planRecords plans what is about no cell: trainings, rounds, instruments, the
// emergency telephone, and a near miss.
func (y *demoYear) planRecords() {
	y.in(25, y.trainAll)
	for d := y.first; d < y.today; d++ {
		if weekday(d) == time.Friday {
			y.at(y.moment(y.roundDay(d), 17*60+12), y.rounds)
		}
	}
	for i := range 13 {
		y.at(y.moment(y.openBy(demoDays-8-28*i), demoOpens+15), func() { y.checkMeter(i) })
	}
	for _, before := range []int{364, 184, 93} { // one was forgotten in spring, and the next is up again
		y.at(y.moment(y.openBy(before), 16*60+20), func() {
			_, err := y.sit("").TryNumber(y.day(), Act{Who: "MK"}, "yes", "asked for the sheet of an invented cell; read out within a minute")
			y.fail(err)
		})
	}
	y.at(y.moment(y.openBy(52), 17*60+31), y.nearMiss)
}

// roundDay is the Friday itself, or the last day before it when somebody is
// there.
func (y *demoYear) roundDay(friday triage.Date) triage.Date {
	for d := friday; d > friday-6; d-- {
		if y.staffed(d) {
			return d
		}
	}
	return friday
}

const (
	demoTopic     = "damaged and suspect cells"
	demoMaterials = "bench sheet, 3rd edition (invented)"
)

// trainAll records who was shown what, before the year began. TO's runs out in the year
// and is given again late, RB's runs out soon.
func (y *demoYear) trainAll() {
	for i, who := range demoPeople {
		given := y.first - triage.Date(10+7*i)
		until := y.today + triage.Date(60*(4-i)-48)
		if who == demoLapsed {
			until = y.today - 175
		}
		trainings := []Training{{Name: who, Topic: demoTopic, Materials: demoMaterials, By: "MK", Given: given.String(), Until: until.String(), Passed: "yes"}}
		if i < 2 {
			trainings = append(trainings, Training{Name: who, Topic: "hazmat: general awareness, function, security", Materials: "course HZ-2 (invented)",
				By: "Invented Training House", Given: (given - 400).String(), Until: (given + 695).String(), Passed: "yes"})
		}
		for _, x := range trainings {
			y.train(x)
		}
	}
	y.at(y.moment(y.openBy(140), 9*60+40), func() {
		y.train(Training{Name: demoLapsed, Topic: demoTopic, Materials: demoMaterials, By: "MK", Until: (y.today + 120).String(), Passed: "yes"})
	})
}

// demoLapsed is whose training ran out.
const demoLapsed = "TO"

func (y *demoYear) train(x Training) {
	if y.err == nil {
		_, err := y.sit("").Train(Act{Who: "MK"}, x)
		y.fail(err)
	}
}

// rounds looks over each place, an empty one too.
func (y *demoYear) rounds() {
	who := demoPeople[y.rng.IntN(len(demoPeople))]
	for _, place := range []string{demoYard, demoShelf, demoHoldShelf, demoDrawer} {
		if !y.overlooked(place) {
			y.round(who, place)
		}
		y.pass(3 * time.Minute)
	}
}

func (y *demoYear) round(who, place string) {
	found := int64(y.count(place))
	x := Inspection{Place: place, Checks: map[string]string{}, Found: &found}
	for _, c := range Checks {
		x.Checks[c.Name] = "yes"
	}
	switch {
	case y.unlabelled(place):
		x.Checks["labelled"], x.Action = "no", "label written anew"
	case y.rng.IntN(16) == 0:
		delete(x.Checks, "dated") // nobody looked
	}
	late := y.slipped(place)
	if late != nil {
		found--
		x.Note = "one was fitted yesterday and not entered"
	}
	if triage.DateOf(y.now)%28 < 7 && place == demoYard {
		x.Scanned = []string{}
		for _, c := range y.cells {
			if !c.gone && slices.Contains(y.tins, c.where) {
				x.Scanned = append(x.Scanned, c.tag)
			}
		}
	}
	if y.err != nil {
		return
	}
	_, err := y.sit("").Inspect(Act{Who: who}, x)
	y.fail(err)
	if late != nil {
		y.move(late.who, y.now.Add(-25*time.Hour), Move{Out: "reused", Because: "fitted the day before, entered late"}, late)
		y.plant("review-count-differs", place, plantPast, "a cell had been fitted and not entered when the round counted")
		y.plant("review-entered-late", late.who, plantPast, "what the round found was entered 25 hours after it happened")
	}
}

// slipped returns, once in the year, a cell that was fitted without an entry.
func (y *demoYear) slipped(place string) *demoCell {
	if place != demoDrawer || y.missed || triage.DateOf(y.now) < y.today-100 {
		return nil
	}
	for _, c := range y.cells {
		if !c.gone && c.where == demoDrawer && c.since.Before(y.now.Add(-48*time.Hour)) {
			y.missed = true
			return c
		}
	}
	return nil
}

// count is how many cells stand at a place as its people see them.
func (y *demoYear) count(place string) (n int) {
	for _, c := range y.cells {
		if c.tag == "" || c.gone || c.where == "" {
			continue
		}
		at := c.where
		if box, ok := y.boxAt[at]; ok {
			at = box
		}
		if at == place {
			n++
		}
	}
	if place == demoHoldShelf {
		n += y.lot.left
	}
	return n
}

// checkMeter holds the meter against a reference every four weeks, and the
// caliper every twelve.
func (y *demoYear) checkMeter(i int) {
	checks := []InstrumentCheck{{Name: "Meter 1", Reference: "3.000", Reading: "3.00" + fmt.Sprint(y.rng.IntN(3)), Unit: "V", Within: "0.005"}}
	if i%3 == 0 {
		checks = append(checks, InstrumentCheck{Name: "Caliper", Reference: "10.00", Reading: "10.0" + fmt.Sprint(y.rng.IntN(3)), Unit: "mm", Within: "0.03"})
	}
	for _, x := range checks {
		y.checkInstrument(x)
		y.pass(time.Minute)
	}
}

// nearMiss: rain got at the tins, and nothing came of it.
func (y *demoYear) nearMiss() {
	told := y.incident("RB", Incident{Answers: map[string]string{"reacted": "no", "seen": "the locker's door stood open in the rain; three tins wet outside, dry inside",
		"started": y.now.Add(-40 * time.Minute).Format(time.RFC3339), "ended": y.now.Add(-15 * time.Minute).Format(time.RFC3339), "there": "RB", "room": "yard",
		"cause": "door not latched after the round", "action": "a spring latch was fitted", "near_miss": "yes", "fire_called": "no"}, Exposure: []string{"RB=none"}})
	y.plant("review-incident-open", fmt.Sprintf("incident %d", told), plantPast, "a near miss was followed up and closed after twelve days")
	y.at(y.moment(y.nextStaffed(triage.DateOf(y.now)+12), demoOpens+25), func() { y.followUp("MK", told, "RB=none") })
}

func (y *demoYear) incident(who string, x Incident) int64 {
	if y.err != nil {
		return 0
	}
	told, err := y.sit("").TellIncident(y.day(), Act{Who: who}, x)
	if y.fail(err); y.err != nil {
		return 0
	}
	return told.Number
}

// followUp asks everybody again on a later day, and closes the incident.
func (y *demoYear) followUp(who string, incident int64, exposure ...string) {
	if y.err != nil {
		return
	}
	told, err := y.sit("").Follow(Act{Who: who}, FollowUp{Incident: incident, Exposure: exposure, Closed: "yes", Note: "asked each in person"})
	if err == nil && told.Open {
		err = fmt.Errorf("incident %d stays open: %s", incident, told.WhyOpen)
	}
	y.fail(err)
}

// pass lets time pass within a task.
func (y *demoYear) pass(d time.Duration) { y.now = y.now.Add(d) }
