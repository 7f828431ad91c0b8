package app

import (
	"fmt"
	"slices"
	"time"

	"pouchward/triage"
)

// expect plans the next look that is owed at a cell, as the list of what is due has
// it: by the intervals of its class and by what its last verdict wants. It is made
// within minutes; what reacts is watched whatever the hours, the rest while somebody
// is there.
func (y *demoYear) expect(c *demoCell) {
	c.look++
	if y.err != nil || c.gone || c.tag == "" {
		return
	}
	at, emergency := y.owed(c.tag)
	if at.IsZero() {
		return
	}
	at, c.delay = at.Add(c.delay), 0
	if more := c.rng.IntN(6); emergency {
		at = later(at, y.now).Add(time.Minute)
	} else {
		at = y.whenStaffed(at, more)
	}
	mine := c.look
	y.at(at, func() {
		if c.look == mine {
			y.recheck(c)
		}
	})
}

// owed is when a tag has next to be looked at, zero for never, and whether nobody may
// wait for that until somebody is there.
func (y *demoYear) owed(tag string) (at time.Time, emergency bool) {
	h, ok, err := y.rec.log.HeldAs(tag)
	if y.fail(err); !ok || y.err != nil {
		return at, false
	}
	handling, _ := h.ClassOn(triage.DateOf(y.now).String())
	w := triage.Watch{Handling: handling, Since: h.Since.In(y.zone), Looked: h.Looked.In(y.zone), LookAgainMin: int(h.LookIn)}
	at, _ = y.day().Rulebook.NextLook(w, y.house.Shop.Hours())
	return at, handling == triage.Emergency
}

// whenStaffed returns the moment itself, or the next opening where nobody is there
// then, with some minutes added. What is past is done now.
func (y *demoYear) whenStaffed(t time.Time, more int) time.Time {
	t = later(t, y.now)
	day := triage.DateOf(t)
	switch minute := t.Hour()*60 + t.Minute(); {
	case !y.staffed(day) || minute > demoCloses+20:
		t = y.moment(y.nextStaffed(day+1), demoOpens+3)
	case minute < demoOpens:
		t = y.moment(day, demoOpens+3)
	}
	return t.Add(time.Duration(1+more) * time.Minute)
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
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

// foundAt records a look that was made earlier, as a day sheet has it.
func (y *demoYear) foundAt(c *demoCell, happened time.Time) {
	if y.err != nil {
		return
	}
	o, err := y.sit("").Recheck(y.day(), Act{c.who, happened}, c.tag, "same", c.temperatures(happened))
	y.took(c, o, err)
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
