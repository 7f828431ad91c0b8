package app

import (
	"fmt"
	"slices"
	"time"

	"pouchward/triage"
)

// watch plans the looks at a cell that was isolated or is held, as the intervals
// have them: after an hour, before the last one leaves, at the next opening,
// after 24 h, and every week. Now and then one is missed, as people are.
func (y *demoYear) watch(c *demoCell, since time.Time) {
	c.look++
	c.since = since
	if c.class != triage.Isolate && c.class != triage.Hold {
		return
	}
	today := triage.DateOf(since)
	closing := y.moment(today, demoCloses)
	if c.class == triage.Isolate && since.Before(closing.Add(-time.Hour)) {
		y.lookAt(c, since.Add(time.Hour+time.Duration(c.rng.IntN(6))*time.Minute))
	}
	y.lookAt(c, closing.Add(time.Duration(1+c.rng.IntN(6))*time.Minute))
	next := y.nextStaffed(today + 1)
	if opening := y.moment(next, demoOpens+3+c.rng.IntN(10)); c.class == triage.Isolate {
		y.lookAt(c, opening)
	}
	y.lookAt(c, y.whenStaffed(since.Add(24*time.Hour), c.rng.IntN(15)))
	y.weekly(c, since, 1)
}

// whenStaffed returns a moment itself, or the next opening where nobody is there
// by then, with some minutes added.
func (y *demoYear) whenStaffed(t time.Time, more int) time.Time {
	day := triage.DateOf(t)
	if minute := t.Hour()*60 + t.Minute(); !y.staffed(day) || minute > demoCloses-20 {
		t = y.moment(y.nextStaffed(day+1), demoOpens+4)
	} else if minute < demoOpens {
		t = y.moment(day, demoOpens+4)
	}
	return t.Add(time.Duration(1+more) * time.Minute)
}

// weekly plans the look of a week, which plans the next.
func (y *demoYear) weekly(c *demoCell, since time.Time, week int) {
	mine := c.look
	at := y.whenStaffed(y.moment(triage.DateOf(since)+triage.Date(7*week), since.Hour()*60+since.Minute()+1), c.rng.IntN(40))
	y.at(at, func() {
		if c.look != mine {
			return
		}
		y.recheck(c)
		if c.look == mine {
			y.weekly(c, since, week+1)
		}
	})
}

// lookAt plans one look, which falls away when the cell's class has changed or
// it is gone by then.
func (y *demoYear) lookAt(c *demoCell, at time.Time) {
	mine := c.look
	if c.rng.IntN(25) == 0 {
		return // forgotten
	}
	y.at(at, func() {
		if c.look == mine {
			y.recheck(c)
		}
	})
}

// recheck looks at a cell without touching it, and once in a while measures one
// that is held.
func (y *demoYear) recheck(c *demoCell) {
	given := c.temperatures(y.now)
	if c.class == triage.Hold && c.part.thick > 0 && c.fate == fuller {
		given = append(given, Given{triage.ThicknessMm, decimal(c.thick, 2)})
	}
	y.found(c, "same", given)
}

// found records another look.
func (y *demoYear) found(c *demoCell, as string, given []Given) {
	if y.err != nil || c.gone {
		return
	}
	who := demoPeople[c.rng.IntN(len(demoPeople))]
	o, err := y.sit("").Recheck(y.day(), Act{Who: who}, c.tag, as, given)
	y.took(c, o, err)
}

// follow plans what comes of a cell after it was put away.
func (y *demoYear) follow(c *demoCell) {
	today := triage.DateOf(y.now)
	switch c.fate {
	case reused:
		y.at(y.moment(y.nextOpen(today+1+triage.Date(c.rng.IntN(9))), 11*60+c.rng.IntN(300)), func() {
			if c.class == triage.Sound {
				y.move(c.who, time.Time{}, Move{Out: "reused", Because: fmt.Sprintf("fitted, ticket T%d (invented)", 3000+y.made+c.rng.IntN(40))}, c)
			}
		})
	case low, unread:
		y.at(y.whenStaffed(y.now.Add(25*time.Hour), 10+c.rng.IntN(60)), func() { y.again(c) })
	case heated:
		y.in(24+c.rng.IntN(6), func() { y.again(c) })
	case recalled:
		y.at(y.moment(y.nextOpen(today+20+triage.Date(c.rng.IntN(15))), 15*60+c.rng.IntN(60)), func() {
			y.move(c.who, time.Time{}, Move{Out: "returned", Because: "the maker's kit for recalled cells, consignment RC-118 (invented)"}, c)
		})
	}
}

// again measures a cell a second time in full, and puts it where it then
// belongs.
func (y *demoYear) again(c *demoCell) {
	if c.gone {
		return
	}
	fate, hours := c.fate, int(y.now.Sub(c.since)/time.Hour)
	c.fate = plain
	given := c.reading(y.now)
	if fate == low { // it lay at rest since the first voltage, which is said with its hours
		given = slices.DeleteFunc(given, func(g Given) bool { return g.Field == triage.RestH })
		given = append(given, Given{triage.EarlierOcvV, decimal(c.part.series*c.mv/10, 2)}, Given{triage.EarlierH, fmt.Sprint(hours)}, Given{triage.RestH, fmt.Sprint(hours + 3)})
	}
	y.assess(c, given, time.Time{})
	if c.class >= triage.Isolate {
		y.in(2, func() { y.secure(c, time.Time{}) })
	}
	y.in(4, func() { y.put(c, time.Time{}) })
}
