package consign

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pouchward/triage"
)

// A group is the items of one kind that owe the same, and what one package of
// them may hold.
type group struct {
	key   string
	way   *triage.Way
	un    string
	cond  triage.ConditionClass
	light string // the papers that it owes: groups share packages only if that stays
	items []*seen
	rooms []room       // of each outer packaging that will do
	most  int          // items in one package, 0 no limit
	netG  triage.Micro // net mass in one package, 0 no limit
	mark  *triage.Duty // a mark that few items are spared, nil for none
	over  *triage.Duty // a cap over the consignment, nil for none
}

// A room is what one outer packaging takes of a group.
type room struct {
	outer Outer
	massG triage.Micro // of items; huge where nothing limits it
}

const huge = triage.Micro(1) << 60

// A bin is a package being filled.
type bin struct {
	items []*seen
	massG triage.Micro
	netG  triage.Micro
}

// keyOf names the group of an item: what it is, its way, and each duty with terms
// that it owes, since some are owed by mass or rating.
func (j *judge) keyOf(s *seen, w *triage.Way) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s %s %s", s.un, s.condition, w.ID)
	for i, o := range s.duties(j, w) {
		if o.Level+o.Lifted+o.Per != "" || o.Cap().Unit != "" {
			fmt.Fprintf(&b, " %d%t", i, o.Sure)
		}
	}
	if s.massG == 0 {
		b.WriteString(" mass not known")
	}
	return b.String()
}

// newGroup works out what a package of items like s may hold.
func (p *planner) newGroup(s *seen, w *triage.Way) *group {
	g := &group{way: w, un: s.un, cond: s.condition}
	owes := s.duties(p.judge, w)
	grossCap, lifted := huge, (*triage.Duty)(nil)
	var papers []string
	for _, o := range owes {
		switch limit := o.Cap(); {
		case o.Per == "consignment":
			g.over = o.Duty
		case limit.Unit == triage.CapItems:
			g.most = int(limit.Most / triage.One)
		case limit.Unit == triage.CapMass && o.Kind == "gross-cap":
			if limit.Most < grossCap {
				grossCap, lifted = limit.Most, o.Duty
			}
		case limit.Unit == triage.CapMass && (g.netG == 0 || limit.Most < g.netG):
			g.netG = limit.Most
		case o.Spared != nil:
			g.mark = o.Duty
		}
		if slices.Contains([]string{"label", "paper", "telephone"}, o.Kind) && !slices.Contains(papers, o.Kind) {
			papers = append(papers, o.Kind)
		}
	}
	slices.Sort(papers)
	g.light = strings.Join(papers, " ")
	for _, o := range p.outers {
		if !takes(o, owes, g.most == 1) {
			continue
		}
		most := grossCap
		if lifted != nil && (&Package{Outer: o}).lifts(lifted) {
			most = huge
		}
		if m := o.maxGross(); m > 0 {
			most = min(most, m)
		}
		if most < huge {
			if s.massG == 0 || o.TareG <= 0 || o.TareG >= most {
				continue // its gross mass could not be told
			}
			most -= o.TareG
		}
		g.rooms = append(g.rooms, room{o, most})
	}
	slices.SortStableFunc(g.rooms, func(a, b room) int {
		return cmp.Or(cmp.Compare(a.massG, b.massG), strings.Compare(a.outer.Name, b.outer.Name))
	})
	return g
}

// takes reports whether the level and code of an outer packaging will do.
func takes(o Outer, owes []triage.Owing, alone bool) bool {
	pkg := Package{Outer: o}
	return !slices.ContainsFunc(owes, func(d triage.Owing) bool {
		text, _ := pkg.level(d.Duty, alone)
		return text != ""
	})
}

// roomG is what the largest outer packaging takes.
func (g *group) roomG() triage.Micro {
	if len(g.rooms) == 0 {
		return 0
	}
	return g.rooms[len(g.rooms)-1].massG
}

// smallest returns the outer packaging for a bin: of those that hold it the
// weakest level, which costs least, and of these the smallest.
func (g *group) smallest(b *bin) Outer {
	best := room{massG: -1}
	for _, r := range g.rooms {
		if b.massG > r.massG {
			continue
		}
		if best.massG < 0 || slices.Index(triage.Levels, r.outer.Level) < slices.Index(triage.Levels, best.outer.Level) {
			best = r
		}
	}
	return best.outer
}

// decreasing sorts items by mass, the heaviest first, then by tag.
func (g *group) decreasing() {
	slices.SortFunc(g.items, func(a, b *seen) int {
		return cmp.Or(cmp.Compare(b.massG, a.massG), strings.Compare(a.item.Tag, b.item.Tag))
	})
}

// pack fills packages by first-fit decreasing, and by best fit where that needs
// fewer. few, if not 0, is the most items in a package beyond the group's own.
func (g *group) pack(few int) []*bin {
	g.decreasing()
	first := g.fill(few, false)
	if len(first) > g.bound() {
		if best := g.fill(few, true); len(best) < len(first) {
			return best
		}
	}
	return first
}

func (g *group) fill(few int, best bool) []*bin {
	most := g.most
	if few > 0 && (most == 0 || few < most) {
		most = few
	}
	var bins []*bin
	open := 0 // bins before it are full by number
	for _, s := range g.items {
		var into *bin
		for _, b := range bins[open:] {
			if most > 0 && counted(b.items, few)+counted([]*seen{s}, few) > most || b.massG+s.massG > g.roomG() || g.netG > 0 && b.netG+s.netG > g.netG {
				continue
			}
			if into == nil || b.massG > into.massG {
				into = b
			}
			if !best {
				break
			}
		}
		if into == nil {
			into = new(bin)
			bins = append(bins, into)
		}
		into.items = append(into.items, s)
		into.massG, into.netG = into.massG+s.massG, into.netG+s.netG
		for open < len(bins) && most > 0 && counted(bins[open].items, few) >= most {
			open++
		}
	}
	return bins
}

// counted is the number of items, or for a mark exception of cells in them.
func counted(items []*seen, few int) int {
	if few == 0 {
		return len(items)
	}
	n := 0
	for _, s := range items {
		n += s.count()
	}
	return n
}
