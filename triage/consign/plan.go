package consign

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pouchward/triage"
)

// A Left is an item that no planned package holds.
type Left struct {
	Tag    string   `json:"tag"`
	Why    string   `json:"why"`
	Source string   `json:"source"`
	Frees  []string `json:"frees,omitempty"` // each alone would free it, if it turns out well
}

// A KindPlan is what the plan makes of one kind.
type KindPlan struct {
	Kind     string `json:"kind"`
	Items    int    `json:"items"`
	Packages int    `json:"packages"`
	Bound    int    `json:"bound"` // no plan of these items by this way has fewer
}

// An Exception is a mark exception that the plan uses.
type Exception struct {
	Text   string `json:"text"`
	Source string `json:"source"`
	Saves  int    `json:"saves"` // marks that need not be put on
}

// A Plan is stock laid out in packages.
type Plan struct {
	Route      triage.Route
	Packages   []*Package
	Judged     []*Judgement // in the order of Packages
	Left       []Left       // by tag
	Bound      int          // no plan by these ways has fewer packages without more papers
	Kinds      []KindPlan
	Exceptions []Exception
	Notes      []string // what the plan rests on
}

// Gap returns how many packages the plan has above the bound.
func (p *Plan) Gap() int { return len(p.Packages) - p.Bound }

// planner lays out the items of one route.
type planner struct {
	*judge
	plan   *Plan
	outers []Outer
}

// MakePlan lays items out in packages that break no limit. Each item goes by the
// lightest of its open ways by which some outer packaging takes it. Within a kind
// packages are filled by first-fit decreasing, by mass and then tag; kinds that owe
// the same papers share packages where that saves one. Where the shop names no
// outer packaging, those of packing.toml stand in, and the plan says so.
func MakePlan(rb *triage.Rulebook, route triage.Route, items []Item, outers []Outer) *Plan {
	p := &planner{judge: newJudge(rb, route), plan: &Plan{Route: route}, outers: slices.Clone(outers)}
	if len(outers) == 0 {
		p.standIn()
	}
	list := make([]*Item, len(items))
	for i := range items {
		list[i] = &items[i]
	}
	slices.SortStableFunc(list, func(a, b *Item) int { return strings.Compare(a.Tag, b.Tag) })
	groups := p.sort(list)
	groups = merge(groups, p)
	p.ration(groups)
	p.lay(groups)
	slices.SortStableFunc(p.plan.Left, func(a, b Left) int { return strings.Compare(a.Tag, b.Tag) })
	return p.plan
}

// standIn takes the outer packagings of the rule tables.
func (p *planner) standIn() {
	for _, o := range p.rb.StockOuters() {
		p.outers = append(p.outers, Outer{Name: o.Title, Level: o.Level, UNMark: o.UNMark, TareG: o.TareG, MaxGrossG: o.MaxGrossG})
	}
	p.plan.Notes = append(p.plan.Notes, "No outer packaging was given: ones of this program stand in, with their tare and 30 kg. Give your own.")
}

// sort looks at each item and puts it into its group, or leaves it.
func (p *planner) sort(items []*Item) []*group {
	var groups []*group
	at := map[string]*group{}
	for i, it := range items {
		if i > 0 && it.Tag != "" && it.Tag == items[i-1].Tag {
			p.leave(it, "its tag is listed twice: only the first is planned", common)
			continue
		}
		s := p.look(it)
		if len(s.open) == 0 {
			p.plan.Left = append(p.plan.Left, Left{it.Tag, s.none.Text, s.none.Source, p.frees(it)})
			continue
		}
		w, b := p.wayFor(s)
		if w == nil {
			p.plan.Left = append(p.plan.Left, Left{it.Tag, b.Text, b.Source, p.freesPacking(it)})
			continue
		}
		key := p.keyOf(s, w)
		g := at[key]
		if g == nil {
			g = p.newGroup(s, w)
			g.key = key
			at[key] = g
			groups = append(groups, g)
		}
		g.items = append(g.items, s)
	}
	slices.SortFunc(groups, func(a, b *group) int {
		return cmp.Or(cmp.Compare(a.way.RouteClass(), b.way.RouteClass()), strings.Compare(a.key, b.key))
	})
	return groups
}

func (p *planner) leave(it *Item, why, source string) {
	p.plan.Left = append(p.plan.Left, Left{Tag: it.Tag, Why: why, Source: source})
}

// wayFor returns the lightest way by which some outer packaging takes the item
// alone; else the breach of the least that is broken.
func (p *planner) wayFor(s *seen) (*triage.Way, *Breach) {
	var best *Judgement
	for _, w := range s.open {
		for _, o := range p.outers {
			x := p.judgeBy(p.readied(o, []*seen{s}, w), []*seen{s}, []*triage.Way{w}, nil)
			if x.Lawful() {
				return w, nil
			}
			if best == nil || broken(x, best) < 0 {
				best = x
			}
		}
	}
	return nil, &best.Breaches[0]
}

// readied is a package as the plan has it packed: with inner packagings and
// cushioning where the way asks for them, which is what it tells people to use.
func (p *planner) readied(o Outer, items []*seen, w *triage.Way) *Package {
	pkg := &Package{Outer: o, Items: make([]Item, len(items))}
	for i, s := range items {
		pkg.Items[i] = *s.item
		for _, d := range s.duties(p.judge, w) {
			pkg.Inner = pkg.Inner || d.Asks == "inner"
			pkg.Fill = pkg.Fill || d.Asks == "fill"
		}
	}
	return pkg
}

// ration leaves what is over the caps of the whole consignment, the heaviest
// first: as many cells as can go, go. Under such a cap no mass may be open.
func (p *planner) ration(groups []*group) {
	at := slices.IndexFunc(groups, func(g *group) bool { return g.over != nil })
	if at < 0 {
		return
	}
	over, net := groups[at].over, triage.Micro(0)
	for _, g := range groups {
		g.items = slices.DeleteFunc(g.items, func(s *seen) bool {
			if s.netG == 0 {
				p.plan.Left = append(p.plan.Left, Left{s.item.Tag, "its mass is not known. " + over.Text, over.Source, []string{triage.Fields[triage.MassG].Name}})
			}
			return s.netG == 0
		})
		for _, s := range g.items {
			net += s.netG
		}
	}
	for _, g := range groups {
		if g.over == nil {
			continue
		}
		slices.SortStableFunc(g.items, func(a, b *seen) int {
			return cmp.Or(cmp.Compare(a.netG, b.netG), strings.Compare(a.item.Tag, b.item.Tag))
		})
		for net > g.over.Cap().Most && len(g.items) > 0 {
			s := g.items[len(g.items)-1]
			g.items, net = g.items[:len(g.items)-1], net-s.netG
			p.leave(s.item, fmt.Sprintf("over %s net in all. %s", kg(g.over.Cap().Most), g.over.Text), g.over.Source)
		}
	}
}

// lay packs the groups and judges what came of it.
func (p *planner) lay(groups []*group) {
	groups = slices.DeleteFunc(groups, func(g *group) bool { return len(g.items) == 0 })
	bins := make([][]*bin, len(groups))
	for i, g := range groups {
		bins[i] = g.pack(0)
	}
	p.spare(groups, bins)
	var seenOf [][]*seen
	for i, g := range groups {
		for _, b := range bins[i] {
			pkg := p.readied(g.smallest(b), b.items, g.way)
			pkg.Tag = fmt.Sprint(len(p.plan.Packages) + 1)
			p.plan.Packages = append(p.plan.Packages, pkg)
			seenOf = append(seenOf, b.items)
		}
	}
	p.plan.Judged, _ = p.judgeAll(p.plan.Packages, seenOf)
	n := 0
	for i, g := range groups {
		p.plan.Kinds = append(p.plan.Kinds, KindPlan{p.plan.Judged[n].Kind, len(g.items), len(bins[i]), g.bound()})
		n += len(bins[i])
	}
	p.plan.Bound = p.bound(groups)
	p.exceptions()
}

// exceptions tells which marks the consignment is spared.
func (p *planner) exceptions() {
	for _, x := range p.plan.Judged {
		for _, d := range x.Spared {
			at := slices.IndexFunc(p.plan.Exceptions, func(e Exception) bool { return e.Source == d.Source })
			if at < 0 {
				at = len(p.plan.Exceptions)
				p.plan.Exceptions = append(p.plan.Exceptions, Exception{Source: d.Source,
					Text: fmt.Sprintf("The mark %s is not owed: at most %d packages, each with at most %d cells or %d batteries in equipment.", d.Words, d.Spared.Packages, d.Spared.Cells, d.Spared.Batteries)})
			}
			p.plan.Exceptions[at].Saves++
		}
	}
}
