package consign

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/triage"
)

// common is the source of what this program asks of any package.
const common = "common practice"

// numbers is where the entries stand that part cells alone from those in or with
// equipment.
const numbers = "49 CFR 172.101 and ADR Table A: UN3480 and UN3090 alone, UN3481 and UN3091 in or with equipment"

// check is one package under judgement, each item going by the way beside it.
type check struct {
	*judge
	p      *Package
	x      *Judgement
	items  []*seen
	ways   []*triage.Way
	spared spares
}

func (c *check) add(b Breach) {
	b.Package = c.p.Tag
	c.x.Breaches = append(c.x.Breaches, b)
}

// fails adds a breach of a duty: what was found, then what the duty says.
func (c *check) fails(rule string, d *triage.Duty, found string, missing bool) {
	c.add(Breach{Text: found + ". " + d.Text, Source: d.Source, Rule: rule, Missing: missing})
}

// kg prints a mass in kg, rounded up to the gram.
func kg(g triage.Micro) string {
	return ((g + triage.One - 1) / triage.One * triage.One / 1000).String() + " kg"
}

// weigh works out net and gross mass, and looks for what cannot be.
func (c *check) weigh() {
	p, x := c.p, c.x
	sum, net, scale := triage.Micro(0), triage.Micro(0), triage.Micro(0)
	known := true
	for _, s := range c.items {
		sum += s.massG
		scale += s.scaleG
		known = known && s.massG > 0
		if s.netG == 0 {
			net = -1 << 60
		}
		net += s.netG
	}
	x.NetG = max(net, 0)
	tare := p.TareG
	if tare <= 0 {
		tare = p.Outer.TareG
	}
	switch {
	case p.GrossG > 0:
		x.GrossG, x.Weighed = p.GrossG, true
		if least := max(tare, 0) + scale; p.GrossG < least && scale > 0 || tare > 0 && p.GrossG <= tare {
			c.add(Breach{Text: fmt.Sprintf("%s gross is less than tare and contents, %s: weigh it again", kg(p.GrossG), kg(least)), Source: common, Missing: true})
			x.GrossG, x.Weighed = 0, false
		}
	case known && tare > 0:
		x.GrossG = tare + sum
	}
	if x.Weighed && p.TareG > 0 && x.NetG > 0 && !slices.ContainsFunc(c.items, func(s *seen) bool { return !s.loose }) {
		x.NetG = max(x.NetG, x.GrossG-p.TareG) // what was weighed counts where it is more
	}
	if x.GrossG > 0 && !x.Weighed {
		x.note("The gross mass is worked out from tare and masses: weigh it before it goes.")
	}
}

// shared checks what the items must have in common.
func (c *check) shared() {
	if len(c.items) == 0 {
		c.add(Breach{Text: "the package holds nothing", Source: common, Missing: true})
	}
	tags := map[string]bool{}
	for i, s := range c.items {
		if s.un == "" && c.ways[i] != nil {
			c.add(Breach{Item: s.item.Tag, Text: "the UN number is not known: say the chemistry, and whether it is loose, in or with equipment", Source: numbers, Missing: true})
		}
		if s.item.Count > 1 && !s.installed {
			c.add(Breach{Item: s.item.Tag, Text: fmt.Sprintf("%d cells or batteries as one item: only those in one device are one. List each", s.item.Count), Source: common, Missing: true})
		}
		if t := s.item.Tag; t != "" && tags[t] {
			c.add(Breach{Item: t, Text: t + " is listed twice", Source: common})
		}
		tags[s.item.Tag] = true
	}
	for _, t := range c.together {
		if t.Within != "package" || len(t.Allows) > 0 {
			continue
		}
		words := c.words(t.Same)
		if len(words) < 2 || c.excepted(t.Same) {
			continue
		}
		text := fmt.Sprintf("%s in one package. %s", strings.Join(words, " and "), t.Title)
		if t.Same == "way" {
			text = fmt.Sprintf("%s in one package. %s [%s]", c.titles(), t.Title, strings.Join(words, ", "))
		}
		c.add(Breach{Text: text, Source: t.Source, Rule: t.ID})
	}
}

// titles names the ways that the items go by.
func (c *check) titles() string {
	var list []string
	for _, w := range c.ways {
		if w != nil && !slices.Contains(list, w.Title) {
			list = append(list, w.Title)
		}
	}
	slices.Sort(list)
	return strings.Join(list, " and ")
}

// words lists what the items are that should be the same.
func (c *check) words(same string) []string {
	var words []string
	for i, s := range c.items {
		w := ""
		switch {
		case same == "condition":
			w = s.condition.String()
		case same == "number":
			w = s.un
		case c.ways[i] != nil:
			w = c.ways[i].ID
		}
		if w != "" && !slices.Contains(words, w) {
			words = append(words, w)
		}
	}
	slices.Sort(words)
	return words
}

// excepted reports whether an exception covers the ways that are used. One for
// UN numbers is one for the ways that these have too.
func (c *check) excepted(same string) bool {
	if same == "condition" {
		return false
	}
	// It is for the ways that it names, side by side: by one of them the numbers are
	// those of loose cells and of cells in equipment, of which it says nothing.
	number := map[*triage.Way]string{}
	for i, w := range c.ways {
		if was, ok := number[w]; ok && was != c.items[i].un {
			return false
		}
		number[w] = c.items[i].un
	}
	return slices.ContainsFunc(c.together, func(t *triage.Together) bool {
		return len(t.Allows) > 0 && !slices.ContainsFunc(c.ways, func(w *triage.Way) bool { return w == nil || !slices.Contains(t.Allows, w.ID) })
	})
}

// duties checks each duty that some item owes once.
func (c *check) duties() {
	type owed struct {
		d    *triage.Duty
		rule string
		sure bool
	}
	var list []owed
	at := map[*triage.Duty]int{}
	for i, s := range c.items {
		if c.ways[i] == nil {
			continue
		}
		for _, o := range s.duties(c.judge, c.ways[i]) {
			if n, ok := at[o.Duty]; ok {
				list[n].sure = list[n].sure || o.Sure
				continue
			}
			at[o.Duty] = len(list)
			list = append(list, owed{o.Duty, c.ways[i].ID, o.Sure})
		}
	}
	for _, o := range list {
		c.packaging(o.rule, o.d, o.sure)
		c.limit(o.rule, o.d, o.sure)
		c.owed(o.rule, o.d)
	}
}

// packaging checks level, inner packagings and cushioning.
func (c *check) packaging(rule string, d *triage.Duty, sure bool) {
	if text, missing := c.p.level(d, len(c.items) == 1); text != "" {
		c.fails(rule, d, text, missing || !sure)
	}
	switch {
	case d.Asks == "inner" && !c.p.Inner:
		c.fails(rule, d, "it is not said that each item has its own inner packaging", !sure)
	case d.Asks == "fill" && !c.p.Fill:
		c.fails(rule, d, "it is not said that the cushioning asked for is round each item", !sure)
	}
}

// limit checks a cap over one package. One over a consignment is checked for this
// package alone here, and for all of them in totals.
func (c *check) limit(rule string, d *triage.Duty, sure bool) {
	limit := d.Cap()
	if limit.Unit == "" {
		return
	}
	if c.p.lifts(d) {
		return
	}
	mass := func(what string, g triage.Micro) {
		switch {
		case g == 0:
			c.fails(rule, d, "the "+what+" mass is not known, at most "+kg(limit.Most), true)
		case g > limit.Most:
			c.fails(rule, d, fmt.Sprintf("%s %s, at most %s", kg(g), what, kg(limit.Most)), !sure)
		}
	}
	switch {
	case limit.Unit == triage.CapSets:
		c.sets(rule, d, sure)
	case limit.Unit == triage.CapItems && triage.Micro(len(c.items))*triage.One > limit.Most:
		c.fails(rule, d, fmt.Sprintf("%d items, at most %s", len(c.items), limit.Most), !sure)
	case limit.Unit == triage.CapMass && d.Kind == "gross-cap":
		mass("gross", c.x.GrossG)
	case limit.Unit == triage.CapMass:
		mass("net", c.x.NetG)
	}
}

// sets checks the number of spare sets. Cells that are all in equipment are none.
func (c *check) sets(rule string, d *triage.Duty, sure bool) {
	limit := d.Cap()
	if !slices.ContainsFunc(c.items, func(s *seen) bool { return !s.installed }) {
		return
	}
	switch n := c.p.SpareSets; {
	case n == nil || *n < 0:
		c.fails(rule, d, "how many spare sets are in it is not said", true)
	case triage.Micro(*n)*triage.One > limit.Most:
		c.fails(rule, d, fmt.Sprintf("%d spare sets, at most %s", *n, limit.Most), !sure)
	}
}

// owed gathers marks, labels, papers and the telephone, and compares the marks
// with those that are said to be on it.
func (c *check) owed(rule string, d *triage.Duty) {
	if printed(d) < 0 || d.Overpack && c.p.Overpack == "" {
		return
	}
	if most := d.OverMass(); most > 0 && c.x.NetG > 0 && c.x.NetG <= most {
		return
	}
	if c.spared[d] {
		c.x.Spared = append(c.x.Spared, d)
		return
	}
	if slices.ContainsFunc(c.x.Marks, func(m *triage.Duty) bool { return m.Kind == d.Kind && m.Text == d.Text && m.Words == d.Words }) {
		return
	}
	c.x.Marks = append(c.x.Marks, d)
	c.x.Papers = c.x.Papers || d.Kind == "paper"
	c.x.Phone = c.x.Phone || d.Kind == "telephone"
	if words := append(slices.Clone(d.AnyOf), d.Words); c.p.Marked != nil && d.Kind == "mark" && words[0] != "" && !c.p.shows(words) {
		c.fails(rule, d, "the mark "+words[0]+" is not on it", false)
	}
}

// shows reports whether one of the wordings stands on the package.
func (p *Package) shows(words []string) bool {
	return slices.ContainsFunc(p.Marked, func(m string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return w != "" && bare(m) == bare(w) })
	})
}

// bare leaves case, spaces and the kind of dash out of a comparison of marks.
func bare(s string) string {
	return strings.ToUpper(strings.NewReplacer(" ", "", "\u2014", "-", "\u2013", "-").Replace(s))
}

// outer checks what the outer packaging may weigh.
func (c *check) outer() {
	o, most := &c.p.Outer, c.p.Outer.maxGross()
	needs := o.Level != "" && o.Level != triage.Levels[0]
	switch {
	case most == 0 && !needs:
	case most == 0:
		c.add(Breach{Text: "what the UN packaging may weigh is not said: give its UN mark", Source: "the UN mark of the packaging", Missing: true})
	case c.x.GrossG == 0:
		c.add(Breach{Text: "the gross mass is not known, and the outer packaging may weigh " + kg(most), Source: "the mark or figure of the outer packaging", Missing: true})
	case c.x.GrossG > most:
		c.add(Breach{Text: fmt.Sprintf("%s gross, and the outer packaging may weigh %s", kg(c.x.GrossG), kg(most)), Source: "the mark or figure of the outer packaging"})
	}
}
