package app

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// demoSeed begins every random number of the demo.
const demoSeed = 20261125

// A demoYear is the invented shop at work. Its people do what is on the agenda,
// on a clock of their own, by the same functions as the commands: the demo has
// no way of its own to write an entry.
//
// The first thing that fails ends the year; err keeps it, and what is called
// after it does nothing.
type demoYear struct {
	rng   *rand.Rand
	zone  *time.Location
	now   time.Time
	first triage.Date // of the year
	today triage.Date // the day after its last

	tables triage.Tables // with the house's
	house  *triage.House
	shop   *Shop // of the day that it is
	rec    *Recording

	agenda  demoAgenda
	planned int
	err     error

	cells   []*demoCell
	made    int
	block   []string // printed tags not yet used
	bins    map[string]string
	boxAt   map[string]string // place of each container
	tins    []string          // every tin, and what stands in it
	inTin   map[string]*demoCell
	lot     demoLot
	sent    int       // hand-overs so far
	scratch string    // folder of files that are attached
	lowered *demoCell // the last that two people lowered
	planted []demoPlant

	// What is to go wrong, or did.
	leaking                   *demoCell // the one that leaked
	missed, skipped, labelOff bool      // a cell left the drawer without an entry; a round left out a place; a bin lost its label
	swollenOnes               int
}

// day returns the shop with the rules in force on the day that it is, and the
// recall list as it was last read.
func (y *demoYear) day() *Shop {
	on := triage.DateOf(y.now)
	if y.shop != nil && y.shop.Rulebook.On == on {
		return y.shop
	}
	rb, err := y.tables.On(on)
	if err != nil {
		y.fail(fmt.Errorf("%w (the demo begins a year before its day: name a later one)", err))
		return y.shop
	}
	y.shop = &Shop{Rulebook: rb, House: y.house, Recalls: demoRecalls(on, y.today)}
	return y.shop
}

func (y *demoYear) fail(err error) {
	if err != nil && y.err == nil {
		y.err = fmt.Errorf("on %s: %w", y.now.Format("2006-01-02 15:04"), err)
	}
}

// at the bench of a cell, or at none.
func (y *demoYear) sit(bench string) *Recording {
	y.rec.bench = bench
	return y.rec
}

// took notes what an entry made of a cell, and whether it went wrong.
func (y *demoYear) took(c *demoCell, o *Outcome, err error) *Outcome {
	if y.fail(err); y.err != nil {
		return &Outcome{Receipts: make([]logbook.Receipt, 1)}
	}
	if len(o.Refused) > 0 {
		y.fail(fmt.Errorf("a reading of the demo was refused: %s", o.Refused[0]))
	}
	was := c.class
	c.class, _ = triage.HandlingByName(o.Is.Handling)
	if was != c.class {
		c.since = y.now
	}
	y.expect(c)
	return o
}

// assess measures a cell and records it; happened is zero for now.
func (y *demoYear) assess(c *demoCell, given []Given, happened time.Time) int64 {
	if y.err != nil {
		return 0
	}
	if c.tag != "" {
		given = append(slices.Clone(given), Given{triage.Tag, c.tag})
	}
	rec := y.sit(c.bench)
	rec.Happened = happened
	a, err := rec.Judge(y.day(), given)
	if y.fail(err); y.err != nil {
		return 0
	}
	r, err := rec.Record(a)
	rec.Happened = time.Time{}
	if y.fail(err); y.err != nil {
		return 0
	}
	if len(a.Refused) > 0 {
		y.fail(fmt.Errorf("a reading of the demo was refused: %s", a.Refused[0]))
	}
	if c.tag = a.Verdict.Tag; c.entry == 0 {
		c.entry = r.Number
	}
	c.class = a.Verdict.Handling
	if happened.IsZero() {
		happened = y.now
	}
	c.since = happened
	y.expect(c)
	return r.Number
}

// secure ticks that a cell was made safe to keep.
func (y *demoYear) secure(c *demoCell, happened time.Time) *Outcome {
	if y.err != nil || c.gone {
		return &Outcome{}
	}
	o, err := y.sit(c.bench).Secure(y.day(), Act{c.who, happened}, c.tag, Secured(true, true, c.class >= triage.Isolate))
	return y.took(c, o, err)
}

// move records where cells went and returns the number of its entry.
func (y *demoYear) move(who string, happened time.Time, m Move, cells ...*demoCell) (entry int64) {
	if y.err != nil || len(cells) == 0 {
		return 0
	}
	for _, c := range cells {
		m.Tags = append(m.Tags, c.tag)
	}
	moved, err := y.sit("").Move(y.day(), Act{who, happened}, m)
	if y.fail(err); y.err != nil {
		return 0
	}
	for _, c := range cells {
		if y.inTin[c.where] == c {
			delete(y.inTin, c.where)
		}
		if c.where, c.gone = m.To, m.Out != ""; c.gone {
			c.look++
		}
		if slices.Contains(y.tins, m.To) {
			y.inTin[m.To] = c
		}
	}
	return moved.Receipts[0].Number
}

// put puts a cell where its class belongs: isolated alone into a tin, held on
// the shelf for that, retired into a bin, for reuse into the drawer.
func (y *demoYear) put(c *demoCell, happened time.Time) {
	if y.err != nil || c.gone {
		return
	}
	to := demoDrawer
	switch c.class {
	case triage.Emergency:
		return // nobody carries it
	case triage.Isolate:
		to = y.freeTin()
	case triage.Hold:
		to = demoHoldShelf
	case triage.Retire:
		if to = y.bin(c); y.suspect(to) {
			y.in(15, func() { y.put(c, happened) })
			return
		}
	}
	if to != c.where {
		y.move(c.who, happened, Move{To: to}, c)
	}
}

// suspect reports whether a cell that is to stand alone is in a bin for the moment:
// nobody puts another beside it.
func (y *demoYear) suspect(bin string) bool {
	return slices.ContainsFunc(y.cells, func(c *demoCell) bool { return !c.gone && c.where == bin && c.class >= triage.Isolate })
}

// arrive takes a cell in: measured, made safe to keep and put away within
// minutes.
func (y *demoYear) arrive(c *demoCell) {
	y.assess(c, c.reading(y.now), time.Time{})
	y.store(c)
}

// store makes a cell safe to keep and puts it away.
func (y *demoYear) store(c *demoCell) {
	y.in(2+c.rng.IntN(3), func() {
		y.secure(c, time.Time{})
		y.in(1+c.rng.IntN(3), func() { y.put(c, time.Time{}) })
	})
	y.follow(c)
}
