package hazard

import (
	"math"

	"pouchward/triage"
)

// A Screen is what is asked of what stands in a room; the text, the document and
// the picture read off it.
type Screen struct {
	On       triage.Date
	Of       string // what was asked about, in words
	Figures  *Figures
	Stand    *Stand
	Room     *Room // nil: no room was given, only masses can be told
	Gas      *Gas  // of Under
	Under    *triage.Limit
	Storages []*triage.Storage
}

// Asked is the limit that how many may stand is answered by: the one asked for,
// unless it would let more stand than the immediately dangerous level of hydrogen
// fluoride, which then takes its place. No level asked for makes the answer lax.
func (s *Screen) Asked() (*Gas, *triage.Limit) {
	const immediate = "hf-niosh-idlh"
	g, l := s.Figures.Limit(immediate)
	room := Room{M3: mostM3}
	if l != nil && g.MostWh(l, room) < s.Gas.MostWh(s.Under, room) {
		return g, l
	}
	return s.Gas, s.Under
}

// A Case is one answer to "what if": which cells react.
type Case struct {
	Key     string // only, cell, container or all
	Wh      triage.Micro
	Cells   int64
	AtLeast bool   // it may be more
	Group   *Group // of the case container
}

// wh is the energy of the case in Wh.
func (c *Case) wh() float64 { return float64(c.Wh) / 1e6 }

// MG is the mass of a gas that the case gives off, in mg.
func (c *Case) MG(g *Gas) Band { return g.Yield.times(c.wh()) }

// Litres is the volume of all gas, in L.
func (c *Case) Litres(f *Figures) Band { return f.Volume.times(c.wh()) }

// MgM3 is the concentration of a gas in a room as soon as it has mixed.
func (c *Case) MgM3(g *Gas, r Room) Band { return c.MG(g).times(1 / r.M3) }

// Cases lists what is asked: one cell, the largest container, everything. A case
// that is the same as the one before it is left out; of nothing there is none.
func (s *Stand) Cases() (list []Case) {
	total, largest := s.Total(), s.Largest()
	if largest == nil {
		return nil
	}
	atLeast := s.AtLeast()
	one := "cell"
	if total.Cells == 1 {
		one = "only"
	}
	list = append(list, Case{one, total.Largest, 1, atLeast || total.Lots > 0, nil})
	if largest.Cells > 1 || largest.Wh != total.Largest {
		list = append(list, Case{"container", largest.Wh, largest.Cells, atLeast, largest})
	}
	if total.Cells > largest.Cells {
		list = append(list, Case{"all", total.Wh, total.Cells, atLeast, nil})
	}
	return list
}

// Main is the case that is held against the limits and drawn: the largest
// container, or the one cell.
func Main(list []Case) *Case {
	var main *Case
	for i := range list {
		if list[i].Key != "all" {
			main = &list[i]
		}
	}
	return main
}

// Reach says whether a concentration comes up to a limit.
type Reach uint8

// The answers. Unknown is said where more may stand there than is counted: that a
// limit is kept is never read off a figure that may be too small.
const (
	NotReached Reach = iota
	NotKnown
	Reached
)

// Above says whether a concentration of the case reaches a limit, and for how many
// minutes: +Inf without end.
func (c *Case) Above(g *Gas, l *triage.Limit, mgM3 float64, r Room) (Reach, float64) {
	minutes := r.MinutesAbove(mgM3, g.MgM3(l.PPM))
	switch {
	case minutes > 0 || mgM3 >= g.MgM3(l.PPM):
		return Reached, minutes
	case c.AtLeast:
		return NotKnown, 0
	}
	return NotReached, 0
}

// A MayStand answers how many may stand in one container.
type MayStand struct {
	Wh    float64 // less than this, by the worst yield
	Known bool    // whether the size of the largest cell is
	Cells int64   // of the largest cell here: 0 is none
}

// HowMany is how many of the largest cell may stand in one container so that its
// worst case stays under a limit. Where a cell of unknown size is among them, the
// answer is none.
func (s *Stand) HowMany(g *Gas, l *triage.Limit, r Room) MayStand {
	total := s.Total()
	m := MayStand{Wh: g.MostWh(l, r), Known: !s.AtLeast() && total.Lots == 0 && total.Largest > 0}
	if !m.Known {
		return m
	}
	// Less than, not up to: the worst case is to stay under.
	m.Cells = max(int64(math.Ceil(m.Wh*1e6/float64(total.Largest)))-1, 0)
	return m
}

// A StorageAnswer is a storage rule with a volume, held against what stands there.
type StorageAnswer struct {
	Rule    *triage.Storage
	Litres  float64 // of what is known
	Unsized int64   // containers, or groups without one, whose volume is not known
	Over    bool
}

// Storage holds the volumes of containers against the storage rules that have
// one. A volume that is not known never makes a store small enough.
func (s *Stand) Storage(rules []*triage.Storage) (list []StorageAnswer) {
	for _, rule := range rules {
		if rule.Litres() == 0 {
			continue
		}
		a := StorageAnswer{Rule: rule}
		for i := range s.Groups {
			g := &s.Groups[i]
			switch {
			case g.Cells == 0: // an empty container stores nothing
			case g.Litres == 0:
				a.Unsized++
			case rule.Counts == "total":
				a.Litres += g.Litres
			default:
				a.Litres = max(a.Litres, g.Litres)
			}
		}
		a.Over = a.Litres > rule.Litres()
		list = append(list, a)
	}
	return list
}
