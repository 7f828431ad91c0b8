package review

import (
	"strings"
	"testing"

	"pouchward/triage"
)

// keptSince puts cell 1 as the only entry of a damaged cell at a time, in a container
// or in none.
func keptSince(t *testing.T, hours float64, in string) (*builder, *Cell) {
	b := cleanShop(t)
	c := &b.s.Cells[0]
	s := isolated(ago(hours), in)
	s.MadeSafe = false
	c.Steps = []Step{{Source: b.source(ago(hours), "MK"), Kind: "assessment", Now: s, Look: &Look{Handling: s.Handling, Condition: s.Condition}}}
	return b, c
}

func TestOpenContainer(t *testing.T) {
	const id = "review-open-container"
	for name, c := range map[string]struct {
		hours float64
		in    string
		then  func(*builder, *Cell)
		finds string
		open  bool
	}{
		"a tin":            {30, boxTag(1), nil, "", false},
		"within the day":   {23.5, "", nil, "", false},
		"in none":          {24.5, "", nil, "in no container", true},
		"not on record":    {24.5, boxTag(9), nil, "that is not on record", true},
		"the lid not said": {24.5, boxTag(1), func(b *builder, _ *Cell) { b.s.Containers[0].Steps[0].Lid = "" }, "the lid not said", true},
		"the lid open":     {24.5, boxTag(1), func(b *builder, _ *Cell) { b.s.Containers[0].Steps[0].Lid = "open" }, "the lid open", true},
		"closed since": {30, boxTag(1), func(b *builder, _ *Cell) {
			box := &b.s.Containers[0]
			box.Steps[0].Lid = "open"
			closed := box.Steps[0]
			closed.Source, closed.Lid = b.source(ago(2), "ML"), "closed"
			box.Steps = append(box.Steps, closed)
		}, "the lid open", false},
		"moved in time": {30, "", func(b *builder, c *Cell) {
			b.step(c, 7, "move", func(s *Step) { s.Move, s.Now.In = &Move{To: boxTag(1)}, boxTag(1) })
		}, "", false},
		"a move taken back": {30, "", func(b *builder, c *Cell) {
			b.step(c, 7, "move", func(s *Step) { s.Move, s.Now.In, s.Void = &Move{To: boxTag(1)}, boxTag(1), true })
		}, "in no container", true},
		"a package, open": {30, boxTag(1), func(b *builder, _ *Cell) { b.s.Containers[0].Steps[0].Package = true }, "a package that was not closed", true},
		"a package, closed": {30, boxTag(1), func(b *builder, _ *Cell) {
			b.s.Containers[0].Steps[0].Package = true
			b.s.Shipments = []Shipment{{Tag: "S", Steps: []ShipmentStep{{Source: b.source(ago(29), "MK"), Did: "closed", Packages: []Package{{Tag: boxTag(1), Closed: true}}}}}}
		}, "", false},
		"reacts": {30, "", func(b *builder, c *Cell) {
			b.step(c, 29, "raise", func(s *Step) { classes(s, triage.Emergency, triage.Reacting) })
		}, "", false},
	} {
		b, x := keptSince(t, c.hours, c.in)
		if c.then != nil {
			c.then(b, x)
		}
		n, f := b.ofCheck(id)
		if n != 0 != (c.finds != "") || n > 0 && (f.Open() != c.open || !strings.Contains(f.Text, c.finds)) {
			t.Errorf("%s: %d findings %+v", name, n, f)
		}
	}
}

func TestNotMadeSafe(t *testing.T) {
	const id = "review-not-made-safe"
	all := func(s *Step) { s.Secured, s.Now.MadeSafe = &Secured{true, true, true}, true }
	part := func(s *Step) { s.Secured = &Secured{Terminals: true, Bag: true} }
	for name, c := range map[string]struct {
		hours float64
		then  func(*builder, *Cell)
		finds string
		open  bool
	}{
		"within the hours": {23.9, nil, "", false},
		"past the hours":   {24.1, nil, "terminals insulated, a bag of its own, dry fill", true},
		"done":             {30, func(b *builder, c *Cell) { b.step(c, 7, "secured", all) }, "", false},
		"done late":        {30, func(b *builder, c *Cell) { b.step(c, 5, "secured", all) }, "for 25 h", false},
		"done in part":     {30, func(b *builder, c *Cell) { b.step(c, 29, "secured", part) }, "not recorded: dry fill", true},
		"taken back": {30, func(b *builder, c *Cell) {
			n := b.step(c, 29, "secured", all)
			n.Void = true
			b.step(c, 1, "retraction", func(s *Step) { s.Retracts, s.Now.MadeSafe = n.Entry, false })
		}, "terminals insulated", true},
		"left": {30, func(b *builder, c *Cell) {
			b.step(c, 7, "move", func(s *Step) { s.Move, s.Now.Is = &Move{Out: "handed-over"}, Out })
		}, "", false},
		"reacts": {30, func(b *builder, c *Cell) {
			b.step(c, 29, "raise", func(s *Step) { classes(s, triage.Emergency, triage.Reacting) })
		}, "", false},
	} {
		b, x := keptSince(t, c.hours, boxTag(1))
		if c.then != nil {
			c.then(b, x)
		}
		n, f := b.ofCheck(id)
		if n != 0 != (c.finds != "") || n > 0 && (f.Open() != c.open || !strings.Contains(f.Text, c.finds)) {
			t.Errorf("%s: %d findings %+v", name, n, f)
		}
		if c.finds == "" {
			if _, n := b.untold(id); n != 3 {
				t.Errorf("%s: %d checked", name, n)
			}
		}
	}
}

func TestLostSight(t *testing.T) {
	const id = "review-lost-sight"
	for name, c := range map[string]struct {
		hours float64
		place string
		then  func(*builder, *Cell)
		finds int
		open  bool
	}{
		"within the day":  {23.9, "", nil, 0, false},
		"past the day":    {24.1, "", nil, 1, true},
		"at a place":      {30, "Yard", nil, 0, false},
		"looked at again": {30, "", func(b *builder, c *Cell) { b.step(c, 7, "recheck", looked) }, 0, false},
		"placed for no time": {30, "", func(b *builder, c *Cell) {
			b.step(c, 15, "move", func(s *Step) { s.Move, s.Now.Place = &Move{To: "Yard"}, "Yard" })
			b.step(c, 15, "move", func(s *Step) { s.Move, s.Now.Place = &Move{}, "" })
		}, 1, true},
		"looked at late":    {30, "", func(b *builder, c *Cell) { b.step(c, 5, "recheck", looked) }, 1, false},
		"a look taken back": {30, "", func(b *builder, c *Cell) { b.step(c, 7, "recheck", looked).Void = true }, 1, true},
		"placed late": {30, "", func(b *builder, c *Cell) {
			b.step(c, 5, "move", func(s *Step) { s.Move, s.Now.Place = &Move{To: "Yard"}, "Yard" })
		}, 1, false},
		"a place taken back": {30, "", func(b *builder, c *Cell) {
			b.step(c, 29, "move", func(s *Step) { s.Move, s.Now.Place, s.Void = &Move{To: "Yard"}, "Yard", true })
			b.step(c, 28, "secured", func(s *Step) { s.Secured = &Secured{Bag: true} })
		}, 1, true},
		"retired": {30, "", func(_ *builder, c *Cell) {
			c.Steps[0].Now.Handling, c.Steps[0].Now.Condition = triage.Retire, triage.Undamaged
		}, 0, false},
	} {
		b, x := keptSince(t, c.hours, "")
		x.Steps[0].Now.Place = c.place
		if c.then != nil {
			c.then(b, x)
		}
		n, f := b.ofCheck(id)
		if n != c.finds || n > 0 && (f.Open() != c.open || !f.Since.Equal(ago(30)) && c.hours == 30) {
			t.Errorf("%s: %d findings %+v", name, n, f)
		}
	}
}
