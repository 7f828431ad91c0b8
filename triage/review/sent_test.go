package review

import (
	"strings"
	"testing"

	"pouchward/triage"
)

// sent is a shipment of one package with cell 4, damaged, dispatched half an hour ago.
func sent(b *builder) (*ShipmentStep, *Cell) {
	box, ship := boxTag(3), triage.IssueTag(triage.ShipmentTag, 1)
	b.box(box, ago(2)).Steps[0].Package = true
	c := b.cell(cellTag(4), ago(0.9), isolated, box)
	s := ShipmentStep{Source: b.source(ago(0.5), "TO"), Did: "dispatched", Stage: "on-the-way", Open: true, Route: "us-highway", Packages: []Package{{
		Tag: box, Closed: true, Inner: true, Fill: true, Cells: []string{c.Tag}, PackedBy: "MK", CheckedBy: "TO",
		Ways: []WayOf{{ID: "us-damaged", Known: true, Damaged: true, OnePerOuter: true}}}}}
	step := b.step(c, 0.5, "shipment", func(x *Step) { x.Entry, x.Shipment, x.Did, x.Now.Is, x.Now.In = s.Entry, ship, s.Did, Out, "" })
	step.Entry = s.Entry
	b.s.Shipments = append(b.s.Shipments, Shipment{Tag: ship, Steps: []ShipmentStep{s}})
	return &b.s.Shipments[0].Steps[0], c
}

func TestDamagedSentLight(t *testing.T) {
	const id = "review-damaged-sent-light"
	both := func(c *Cell, h triage.Handling, x triage.ConditionClass) {
		for i := range c.Steps {
			c.Steps[i].Now.Handling, c.Steps[i].Now.Condition = h, x
		}
	}
	light := []WayOf{{ID: "us-small", Known: true}}
	for name, c := range map[string]struct {
		change func(*builder, *ShipmentStep, *Cell)
		finds  string // what the text says, blank for no finding
		untold string
	}{
		"as it should":   {func(*builder, *ShipmentStep, *Cell) {}, "", ""},
		"by air":         {func(_ *builder, s *ShipmentStep, _ *Cell) { s.Route = "air-cargo" }, "by air (air-cargo)", ""},
		"by a light way": {func(_ *builder, s *ShipmentStep, _ *Cell) { s.Packages[0].Ways = light }, "by us-small, which is for undamaged ones", ""},
		"by no way":      {func(_ *builder, s *ShipmentStep, _ *Cell) { s.Packages[0].Ways = nil }, "by no way that is on record", ""},
		"by an unknown":  {func(_ *builder, s *ShipmentStep, _ *Cell) { s.Packages[0].Ways = []WayOf{{ID: "x"}} }, "", "1 package with a damaged cell by a way that no rulebook here has"},
		"two in an outer": {func(_ *builder, s *ShipmentStep, _ *Cell) {
			s.Packages[0].Cells = append(s.Packages[0].Cells, cellTag(2))
		}, "2 in an outer packaging that takes one", ""},
		"no inner": {func(_ *builder, s *ShipmentStep, _ *Cell) { s.Packages[0].Inner = false }, "not recorded as each in an inner packaging", ""},
		"reacting": {func(_ *builder, _ *ShipmentStep, c *Cell) { both(c, triage.Emergency, triage.Reacting) }, "what reacts is not offered", ""},
		"undamaged, light": {func(_ *builder, s *ShipmentStep, c *Cell) {
			both(c, triage.Retire, triage.Undamaged)
			s.Packages[0].Ways = light
		}, "", ""},
		"undetermined": {func(_ *builder, s *ShipmentStep, c *Cell) {
			both(c, triage.Hold, triage.Undetermined)
			s.Packages[0].Ways = light
		}, "", "1 cell that left in a package with their condition undetermined"},
		"recalled, light": {func(_ *builder, s *ShipmentStep, c *Cell) {
			both(c, triage.Isolate, triage.RecalledCell)
			s.Packages[0].Ways = light
		}, "(recalled)", ""},
		"lapsed": {func(_ *builder, s *ShipmentStep, c *Cell) {
			both(c, triage.Retire, triage.Undamaged)
			for i := range c.Steps {
				c.Steps[i].Now.Lapses, c.Steps[i].Now.LapsedHandling, c.Steps[i].Now.LapsedCondition = triage.DateOf(noon)-1, triage.Isolate, triage.Damaged
			}
			s.Packages[0].Ways = light
		}, "(damaged)", ""},
		"not in the log": {func(_ *builder, s *ShipmentStep, _ *Cell) { s.Packages[0].Cells = []string{cellTag(9)} }, "", "1 cell of packages that the log does not have"},
		"seen before, entered later": {func(b *builder, s *ShipmentStep, c *Cell) {
			both(c, triage.Retire, triage.Undamaged)
			s.Packages[0].Ways = light
			b.step(c, 0.6, "recheck", func(x *Step) { looked(x); x.Look.Condition = triage.Damaged })
		}, "(damaged)", ""},
		"seen before, entered later, taken back": {func(b *builder, s *ShipmentStep, c *Cell) {
			both(c, triage.Retire, triage.Undamaged)
			s.Packages[0].Ways = light
			b.step(c, 0.6, "recheck", func(x *Step) { looked(x); x.Look.Condition, x.Void = triage.Damaged, true })
		}, "", ""},
		"seen after": {func(b *builder, s *ShipmentStep, c *Cell) {
			both(c, triage.Retire, triage.Undamaged)
			s.Packages[0].Ways = light
			b.step(c, 0.4, "recheck", func(x *Step) { looked(x); x.Look.Condition, x.Now.Condition = triage.Damaged, triage.Damaged })
		}, "", ""},
	} {
		b := cleanShop(t)
		s, cell := sent(b)
		c.change(b, s, cell)
		n, f := b.ofCheck(id)
		if n != 0 != (c.finds != "") || n > 0 && (!strings.Contains(f.Text, c.finds) || !f.Open() || f.Subject != boxTag(3)) {
			t.Errorf("%s: %d findings %+v", name, n, f)
		}
		if c.finds == "" {
			if untold, checked := b.untold(id); untold != c.untold || checked != 1 {
				t.Errorf("%s: %d checked, untold %q", name, checked, untold)
			}
			continue
		}
		// It came in: past.
		sh := &b.s.Shipments[0]
		sh.Steps = append(sh.Steps, ShipmentStep{Source: b.source(ago(0.1), "TO"), Did: "received"})
		if _, f := b.ofCheck(id); f.Open() || !f.Until.Equal(ago(0.1)) {
			t.Errorf("%s, received: %+v", name, f)
		}
	}
}

func TestDamagedCarriedOut(t *testing.T) {
	const id = "review-damaged-sent-light"
	for _, c := range []struct {
		cell   int
		out    string
		finds  int
		untold string
	}{
		{0, "returned", 1, ""}, {0, "reused", 1, ""}, {1, "returned", 0, ""},
		{0, "handed-over", 0, "1 damaged cell handed over without a shipment: how they travelled is not said"},
	} {
		b := cleanShop(t)
		x := &b.s.Cells[c.cell]
		s := b.step(x, 0.5, "move", func(s *Step) { s.Move = &Move{Out: c.out, Because: "asked"}; s.Now.Is, s.Now.In = Out, "" })
		n, f := b.ofCheck(id)
		if n != c.finds || n > 0 && (!f.Open() || !strings.Contains(f.Text, c.out+`, "asked"`)) {
			t.Errorf("%s: %d findings %+v", c.out, n, f)
		}
		if n == 0 {
			if untold, checked := b.untold(id); untold != c.untold || checked != 1 {
				t.Errorf("%s: %d checked, untold %q", c.out, checked, untold)
			}
			continue
		}
		s.Void = true
		if n, _ := b.ofCheck(id); n != 0 {
			t.Errorf("%s, taken back: %d findings", c.out, n)
		}
	}
}

func TestBreachedAmongIntact(t *testing.T) {
	const id = "review-breached-among-intact"
	for name, c := range map[string]struct {
		waste, other triage.Waste
		hours        float64 // since it was judged so, in a bin where it stood
		finds        int
		untold       string
	}{
		"within the hours": {triage.CasingBreached, triage.CasingIntact, 23.5, 0, ""},
		"past the hours":   {triage.CasingBreached, triage.CasingIntact, 24.5, 1, ""},
		"kept for reuse":   {triage.CasingBreached, triage.NotWaste, 24.5, 1, ""},
		"not known":        {triage.CasingBreached, triage.WasteUnknown, 24.5, 0, "1 breached cell that stood with one whose casing is not known"},
		"both breached":    {triage.CasingBreached, triage.CasingBreached, 24.5, 0, ""},
		"intact":           {triage.CasingIntact, triage.CasingIntact, 24.5, 0, ""},
	} {
		b := cleanShop(t)
		x, other := &b.s.Cells[1], &b.s.Cells[2]
		shift(x.Steps, -40)
		shift(other.Steps, -40)
		b.step(x, c.hours, "recheck", func(s *Step) { looked(s); s.Now.Waste = c.waste })
		for i := range other.Steps {
			if other.Steps[i].Now.Waste = c.other; c.other == triage.CasingBreached {
				x.Steps[i].Now.Waste = c.other // from the beginning: put with whole ones it is a fault at once
			}
		}
		if n, f := b.ofCheck(id); n != c.finds || n > 0 && (!f.Open() || len(f.Tags) != 3) {
			t.Errorf("%s: %d findings %+v", name, n, f)
		}
		if c.finds == 0 {
			if untold, _ := b.untold(id); untold != c.untold {
				t.Errorf("%s: untold %q", name, untold)
			}
		}
	}
}

func TestReleaseUnanswered(t *testing.T) {
	const id = "review-release-unanswered"
	fill := func(s *Step) { s.Secured = &Secured{true, true, true}; s.Now.MadeSafe = true }
	move := func(s *Step) { s.Move = &Move{To: boxTag(3)}; s.Now.In = boxTag(3) }
	for name, c := range map[string]struct {
		answer func(*builder, *Cell)
		finds  int
		open   bool
	}{
		"nothing":              {func(*builder, *Cell) {}, 1, true},
		"fill in time":         {func(b *builder, c *Cell) { b.step(c, 26.1, "secured", fill) }, 0, false},
		"fill too late":        {func(b *builder, c *Cell) { b.step(c, 25.9, "secured", fill) }, 1, false},
		"fill taken back":      {func(b *builder, c *Cell) { b.step(c, 29, "secured", fill).Void = true }, 1, true},
		"a bag alone":          {func(b *builder, c *Cell) { b.step(c, 29, "secured", func(s *Step) { s.Secured = &Secured{Bag: true} }) }, 1, true},
		"container in time":    {func(b *builder, c *Cell) { b.step(c, 29, "move", move) }, 0, false},
		"container taken back": {func(b *builder, c *Cell) { b.step(c, 29, "move", move).Void = true }, 1, true},
		"incident in time":     {func(b *builder, c *Cell) { b.incident(c.Tag, 27) }, 0, false},
		"incident taken back":  {func(b *builder, c *Cell) { b.incident(c.Tag, 27).Void = true }, 1, true},
		"incident long before": {func(b *builder, c *Cell) { b.incident(c.Tag, 55) }, 1, true},
		"left within the hours": {func(b *builder, c *Cell) {
			b.step(c, 27, "move", func(s *Step) { s.Move = &Move{Out: "handed-over"}; s.Now.Is = Out })
		}, 0, false},
		"reacts": {func(b *builder, c *Cell) {
			b.step(c, 29.9, "raise", func(s *Step) { classes(s, triage.Emergency, triage.Reacting) })
		}, 0, false},
	} {
		b := cleanShop(t)
		b.s.Cells = append(b.s.Cells, Cell{Tag: cellTag(4)})
		x := &b.s.Cells[3]
		found := isolated(ago(30), "")
		found.Waste = triage.CasingBreached
		x.Steps = []Step{{Source: b.source(ago(30), "MK"), Kind: "assessment", Now: found, Look: &Look{}}}
		c.answer(b, x)
		if n, f := b.ofCheck(id); n != c.finds || n > 0 && (f.Open() != c.open || !f.Since.Equal(ago(30))) {
			t.Errorf("%s: %d findings %+v", name, n, f)
		}
		if c.finds == 0 {
			if _, n := b.untold(id); n != 1 {
				t.Errorf("%s: %d checked", name, n)
			}
		}
	}
}
