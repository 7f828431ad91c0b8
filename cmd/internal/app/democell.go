package app

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"time"

	"pouchward/triage"
)

// A demoFate is what is the matter with a cell of the demo.
type demoFate int

const (
	plain    demoFate = iota // nothing seen, goes for recycling
	reused                   // tested, goes into a device again
	worn                     // meant for reuse, under 80 % of its capacity
	swollen                  // by eye
	fuller                   // 5 to 10 % over nominal by the caliper
	dented                   //
	torn                     // a tab or a lead
	low                      // 2.5 to 3.0 V
	flat                     // under 2.5 V
	unread                   // the meter is lent out; read the next day
	recalled                 // on the list
	wet                      //
	dropped                  // with its device, the case cracked
	heated                   // still warm from the opening of the device
	numDemoFates
)

// demoFates says how many cells of the year have each fate: about one in eight
// is swollen, most show nothing and are retired. Invented proportions.
var demoFates = [numDemoFates]int{plain: 172, reused: 52, worn: 14, swollen: 30, fuller: 5, dented: 7, torn: 7, low: 6, flat: 7,
	recalled: 4, wet: 2, dropped: 3, heated: 2}

// A demoCell is a cell of the demo as its people know it. What the log knows of
// it is the log's.
type demoCell struct {
	rng        *rand.Rand // of its own, so that one cell more changes no other
	fate       demoFate
	part       *demoPart
	who, bench string
	tag        string
	class      triage.Handling
	where      string // the container or place that it was put into
	entry      int64  // of its first assessment
	mv         int    // of one cell
	thick      int
	pulled     triage.Date
	since      time.Time // in its class
	reacted    time.Time // zero: never
	loose      bool      // of the drawer: known by its look alone
	gone       bool
	kept       string        // why no hand-over takes it
	seen       string        // what is seen of it, where its fate does not say
	old        bool          // pulled more than a year before
	look       int           // counts the looks that were planned: a later one ends the earlier
	delay      time.Duration // by which its next look comes late
}

// newCell makes a cell of a fate.
func (y *demoYear) newCell(fate demoFate) *demoCell {
	y.made++
	c := &demoCell{fate: fate, rng: rand.New(rand.NewPCG(demoSeed, uint64(y.made)))}
	c.part = drawPart(c.rng, func(p *demoPart) bool { return fate != fuller && fate != recalled || singleCell(p) })
	switch y.swollenOnes++; {
	case fate == recalled:
		c.part = demoPartByNumber(demoRecalledPart)
	case fate != swollen:
		y.swollenOnes--
	case y.swollenOnes <= demoBadParts:
		if c.part = demoPartByNumber(demoBadPart); y.swollenOnes == 1 {
			y.plant("review-pattern", triage.PartKey(demoBadPart), plantOpen, "of one part most come in swollen")
		}
	}
	who := c.rng.IntN(len(demoPeople))
	c.who, c.bench = demoPeople[who], demoBenches[who%len(demoBenches)]
	charge := 18 + c.rng.IntN(58)
	if fate == reused || fate == worn {
		charge = 42 + c.rng.IntN(30)
	}
	c.mv = c.part.millivolts(charge) + c.rng.IntN(7) - 3
	switch fate {
	case low:
		c.mv = 2620 + c.rng.IntN(330)
	case flat:
		c.mv = 700 + c.rng.IntN(1700)
	}
	c.thick = c.part.thick + c.rng.IntN(max(1, c.part.thick/80))
	switch fate {
	case swollen:
		c.thick = c.part.thick * (116 + c.rng.IntN(30)) / 100
	case fuller:
		c.thick = c.part.thick*1068/1000 + 1
	}
	y.cells = append(y.cells, c)
	return c
}

// signs are what is seen of it.
func (c *demoCell) signs() string {
	if c.seen != "" {
		return c.seen
	}
	switch c.fate {
	case swollen:
		return "swollen"
	case dented:
		return "dented"
	case torn:
		return "terminals_damaged"
	case wet:
		return "wet"
	case dropped:
		return "cracked;misused"
	}
	return "none"
}

// reading returns what is typed of a cell that is measured at a moment.
func (c *demoCell) reading(at time.Time) []Given {
	g := c.part.label()
	day := triage.DateOf(at)
	if c.pulled == 0 {
		c.pulled = day - triage.Date(max(0, c.rng.IntN(8)-5)) // now and then it lay a day or two
	}
	room := c.room(at)
	warmer := c.rng.IntN(6)
	if c.fate == heated {
		warmer = 36 + c.rng.IntN(12)
		g = append(g, Given{triage.HeatedMinAgo, fmt.Sprint(8 + c.rng.IntN(5))})
	}
	g = append(g, Given{triage.Signs, c.signs()}, Given{triage.CellC, decimal(room+warmer, 1)}, Given{triage.AmbientC, decimal(room, 1)},
		Given{triage.Fit, "loose"}, Given{triage.Who, c.who})
	if c.loose {
		g = append(g, Given{triage.WasteOn, c.pulled.String()})
	} else {
		g = append(g, Given{triage.PulledOn, c.pulled.String()}, Given{triage.TypeTested, "yes"})
	}
	if c.part.number == demoRecalledPart {
		made := "2022-11-" + decimal(10+c.rng.IntN(18), 0)
		if c.fate == recalled {
			made = "2023-04-" + decimal(10+c.rng.IntN(18), 0)
		}
		g = append(g, Given{triage.MadeOn, made})
	}
	if c.fate != recalled { // somebody looks its part up
		g = append(g, Given{triage.Recalled, "no"})
	}
	if c.fate != unread {
		g = append(g, c.voltage()...)
	}
	return append(g, c.touched()...)
}

func (c *demoCell) voltage() []Given {
	return []Given{{triage.OcvV, decimal(c.part.series*c.mv/10, 2)}, {triage.RestH, fmt.Sprint(1 + c.rng.IntN(3))}}
}

// touched are the readings for which hands must be on the cell, and what they are
// for.
func (c *demoCell) touched() []Given {
	g := []Given{{triage.MassG, decimal(c.part.grams10+c.rng.IntN(9)-4, 1)}, {triage.Purpose, "recycle"}}
	if c.part.thick > 0 && (c.fate != plain || c.rng.IntN(3) > 0) {
		rocks := "no"
		if c.fate == swollen {
			rocks = "yes"
		}
		g = append(g, Given{triage.ThicknessMm, decimal(c.thick, 2)}, Given{triage.NominalThicknessMm, decimal(c.part.thick, 2)}, Given{triage.Rocks, rocks})
	}
	left := 0
	switch c.fate {
	case reused:
		left = 86 + c.rng.IntN(11)
	case worn:
		left = 61 + c.rng.IntN(17)
	default:
		return g
	}
	g[1].Text = "reuse"
	return append(g, Given{triage.MeasuredMah, fmt.Sprint(c.part.mah * left / 100)})
}

// room is the temperature beside the cell, in tenths of a degree.
func (c *demoCell) room(at time.Time) int { return roomTemperature[at.Month()-1] + c.rng.IntN(15) - 7 }

// temperatures are the readings of a look without touching.
func (c *demoCell) temperatures(at time.Time) []Given {
	room := c.room(at)
	warmer := c.rng.IntN(5)
	if c.reacted.IsZero() {
		return []Given{{triage.CellC, decimal(room+warmer, 1)}, {triage.AmbientC, decimal(room, 1)}}
	}
	hours := int(at.Sub(c.reacted) / time.Hour)
	warmer = max(warmer, 24-9*hours) // it cools
	return []Given{{triage.CellC, decimal(room+warmer, 1)}, {triage.AmbientC, decimal(room, 1)}, {triage.QuietH, fmt.Sprint(hours)}}
}

// row spells a reading as a row of a sheet with these fields.
func row(fields []triage.FieldID, given []Given) []string {
	cells := make([]string, len(fields))
	for i, f := range fields {
		for _, g := range given {
			if g.Field == f {
				cells[i] = strings.TrimSpace(g.Text)
			}
		}
	}
	return cells
}
