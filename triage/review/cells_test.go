package review

import (
	"slices"
	"strings"
	"testing"

	"pouchward/triage"
)

// step adds an entry about a cell that keeps its last state, as change leaves it.
func (b *builder) step(c *Cell, hours float64, kind string, change func(*Step)) *Step {
	s := Step{Source: b.source(ago(hours), "TO"), Kind: kind, Now: *c.Last()}
	change(&s)
	c.Steps = append(c.Steps, s)
	return &c.Steps[len(c.Steps)-1]
}

// looked makes a step a look that read something and left the state as it is.
func looked(s *Step) {
	s.Look = &Look{Given: []Given{known(triage.CellC, 21_300_000), known(triage.AmbientC, 21_000_000)}, Handling: s.Now.Handling, Condition: s.Now.Condition, Found: "same"}
	s.Now.Looked = s.Happened
}

// quietLook is a look that finds a cell quiet for 24 h and cool.
func quietLook(s *Step) {
	looked(s)
	s.Look.Given = append(s.Look.Given, known(triage.QuietH, 24_000_000), known(triage.Warm, 0))
}

func classes(s *Step, h triage.Handling, c triage.ConditionClass) {
	if h > s.Now.Handling || h < triage.Hold {
		s.Now.Since = s.Happened
	}
	s.Now.Handling, s.Now.Condition = h, c
}

// ofCheck counts the findings of one check, and returns the last.
func (b *builder) ofCheck(id string) (n int, f *Finding) {
	b.t.Helper()
	_, r := b.found()
	for i := range r.Findings {
		if r.Findings[i].Check.ID == id {
			n, f = n+1, &r.Findings[i]
			if len(f.Entries) == 0 || f.Text == "" || strings.HasSuffix(f.Text, ".") || f.Since.IsZero() {
				b.t.Errorf("%s: a finding rests on entries, says when and what: %+v", id, f)
			}
		}
	}
	return n, f
}

// untold is what a clean check could not tell.
func (b *builder) untold(id string) (string, int64) {
	b.t.Helper()
	_, r := b.found()
	for i := range r.Clean {
		if r.Clean[i].Check.ID == id {
			return r.Clean[i].Untold, r.Clean[i].Checked
		}
	}
	b.t.Fatalf("%s is not clean", id)
	return "", 0
}

func TestReactedUnrecorded(t *testing.T) {
	const id = "review-reacted-unrecorded"
	// Cell 1 reacts 30 h ago; what answers it is added by the case.
	for name, c := range map[string]struct {
		answer func(*builder, *Cell)
		finds  int
	}{
		"nothing":                      {func(*builder, *Cell) {}, 1},
		"incident":                     {func(b *builder, c *Cell) { b.incident(c.Tag, 30) }, 0},
		"incident told first":          {func(b *builder, c *Cell) { b.incident(c.Tag, 53.9) }, 0},
		"incident of another reaction": {func(b *builder, c *Cell) { b.incident(c.Tag, 54.1) }, 1},
		"incident of another cell":     {func(b *builder, c *Cell) { b.incident(cellTag(2), 30) }, 1},
		"incident taken back":          {func(b *builder, c *Cell) { b.incident(c.Tag, 30).Void = true }, 1},
		"quiet look": {func(b *builder, c *Cell) {
			b.step(c, 6, "recheck", func(s *Step) { quietLook(s); classes(s, triage.Isolate, triage.Liable) })
		}, 0},
		"quiet look too soon": {func(b *builder, c *Cell) {
			b.step(c, 6.1, "recheck", func(s *Step) { quietLook(s); classes(s, triage.Isolate, triage.Liable) })
		}, 1},
		"quiet look taken back": {func(b *builder, c *Cell) {
			b.step(c, 6, "recheck", func(s *Step) { quietLook(s); classes(s, triage.Isolate, triage.Liable) }).Void = true
		}, 1},
		"retracted by one hand": {func(b *builder, c *Cell) {
			at := &c.Steps[len(c.Steps)-1]
			at.Void = true
			b.step(c, 29, "retraction", func(s *Step) { s.Retracts = at.Entry })
		}, 1},
		"a slip, by two people": {func(b *builder, c *Cell) {
			n := c.Steps[len(c.Steps)-1].Entry
			b.step(c, 29, "determination", func(s *Step) {
				s.Decision = &Decision{Mistaken: []int64{n}, Second: "ML"}
				classes(s, triage.Isolate, triage.Damaged)
			})
		}, 0},
		"a slip, by one": {func(b *builder, c *Cell) {
			n := c.Steps[len(c.Steps)-1].Entry
			b.step(c, 29, "determination", func(s *Step) {
				s.Decision = &Decision{Mistaken: []int64{n}, Second: "to"}
				classes(s, triage.Isolate, triage.Damaged)
			})
		}, 1},
	} {
		b := cleanShop(t)
		x := &b.s.Cells[0]
		shift(x.Steps, -40)
		b.step(x, 30, "raise", func(s *Step) { classes(s, triage.Emergency, triage.Reacting) })
		c.answer(b, x)
		if n, f := b.ofCheck(id); n != c.finds || n > 0 && (!f.Open() || f.Subject != cellTag(1)) {
			t.Errorf("%s: %d findings %+v", name, n, f)
		}
	}
}

func (b *builder) incident(tag string, hours float64) *Incident {
	b.s.Incidents = append(b.s.Incidents, Incident{Source: b.source(ago(hours), "ML"), Tags: []string{tag}})
	return &b.s.Incidents[len(b.s.Incidents)-1]
}

func TestLoweredByOne(t *testing.T) {
	const id = "review-lowered-by-one"
	decide := func(second string) func(*Step) {
		return func(s *Step) { s.Decision = &Decision{Second: second}; classes(s, triage.Retire, triage.Undamaged) }
	}
	lower := func(h triage.Handling, c triage.ConditionClass, how func(*Step)) func(*Step) {
		return func(s *Step) { how(s); classes(s, h, c) }
	}
	none := func(*Step) {}
	for name, c := range map[string]struct {
		was   class
		kind  string
		entry func(*Step)
		finds int
	}{
		"two people":                {class{triage.Isolate, triage.Damaged, false}, "determination", decide("ML"), 0},
		"one person":                {class{triage.Isolate, triage.Damaged, false}, "determination", decide(""), 1},
		"twice the same":            {class{triage.Isolate, triage.Damaged, false}, "determination", decide(" to"), 1},
		"correction":                {class{triage.Isolate, triage.Damaged, false}, "correction", lower(triage.Retire, triage.Undamaged, none), 1},
		"retraction":                {class{triage.Hold, triage.Undetermined, false}, "retraction", lower(triage.Retire, triage.Undamaged, none), 1},
		"move":                      {class{triage.Hold, triage.Undetermined, false}, "move", lower(triage.Retire, triage.Undamaged, func(s *Step) { s.Move = &Move{To: boxTag(2)} }), 1},
		"look at a damaged":         {class{triage.Isolate, triage.Damaged, false}, "assessment", lower(triage.Retire, triage.Undamaged, looked), 1},
		"handling alone":            {class{triage.Isolate, triage.Damaged, false}, "recheck", lower(triage.Hold, triage.Damaged, looked), 1},
		"what was unknown":          {class{triage.Hold, triage.Undetermined, false}, "assessment", lower(triage.Retire, triage.Undamaged, looked), 0},
		"warmth explained":          {class{triage.Isolate, triage.Undetermined, false}, "recheck", lower(triage.Retire, triage.Undamaged, looked), 0},
		"a look that reads nothing": {class{triage.Hold, triage.Undetermined, false}, "recheck", lower(triage.Retire, triage.Undamaged, func(s *Step) { s.Look = &Look{Given: []Given{{Field: triage.CellC}}} }), 1},
		"a look from memory": {class{triage.Hold, triage.Undetermined, false}, "recheck", lower(triage.Retire, triage.Undamaged, func(s *Step) {
			s.Look = &Look{Given: []Given{known(triage.ChargeLimitV, 4_400_000)}, FromPart: []string{"charge_limit_v"}}
		}), 1},
		"quiet":             {class{triage.Emergency, triage.Reacting, false}, "recheck", lower(triage.Isolate, triage.Liable, quietLook), 0},
		"quiet, too much":   {class{triage.Emergency, triage.Reacting, false}, "recheck", lower(triage.Isolate, triage.Damaged, quietLook), 1},
		"quiet to hold":     {class{triage.Emergency, triage.Reacting, false}, "recheck", lower(triage.Hold, triage.Liable, quietLook), 1},
		"not said as quiet": {class{triage.Emergency, triage.Reacting, false}, "recheck", lower(triage.Isolate, triage.Liable, looked), 1},
		"casing":            {class{triage.Isolate, triage.Damaged, true}, "recheck", func(s *Step) { looked(s); s.Now.Waste = triage.CasingIntact }, 1},
		"casing, by two":    {class{triage.Isolate, triage.Damaged, true}, "determination", func(s *Step) { s.Decision = &Decision{Second: "ML"}; s.Now.Waste = triage.CasingIntact }, 0},
		"raised":            {class{triage.Hold, triage.Undetermined, false}, "raise", lower(triage.Isolate, triage.Damaged, none), 0},
	} {
		b := cleanShop(t)
		x := &b.s.Cells[0]
		shift(x.Steps, -40)
		for i := range x.Steps {
			s := &x.Steps[i].Now
			if s.Handling, s.Condition = c.was.handling, c.was.condition; c.was.breached {
				s.Waste = triage.CasingBreached
			}
		}
		b.step(x, 2, c.kind, c.entry)
		if n, f := b.ofCheck(id); n != c.finds || n > 0 && !f.Open() {
			t.Errorf("%s: %d findings %+v", name, n, f)
		}
		if c.finds == 0 && c.kind != "raise" {
			if _, n := b.untold(id); n != 1 {
				t.Errorf("%s: %d checked", name, n)
			}
		}
		if c.finds == 0 {
			continue
		}
		// Put up again, or determined by two, it is past.
		b.step(x, 1, "raise", func(s *Step) {
			s.Now.Handling, s.Now.Condition = c.was.handling, c.was.condition
			if c.was.breached {
				s.Now.Waste = triage.CasingBreached
			}
		})
		if n, f := b.ofCheck(id); n != 1 || f.Open() || !f.Until.Equal(ago(1)) {
			t.Errorf("%s, and raised: %d findings %+v", name, n, f)
		}
	}
	// A shop of one; a look too soon after it reacted; a determination that lapsed.
	b := cleanShop(t)
	x := &b.s.Cells[0]
	b.step(x, 0.5, "determination", decide(""))
	b.s.Solo = true
	if n, f := b.ofCheck(id); n != 0 {
		t.Errorf("a shop of one: %+v", f)
	}
	b = cleanShop(t)
	x = &b.s.Cells[0]
	b.step(x, 23.9, "raise", func(s *Step) { classes(s, triage.Emergency, triage.Reacting) })
	b.step(x, 0, "recheck", func(s *Step) { quietLook(s); classes(s, triage.Isolate, triage.Liable) })
	if n, _ := b.ofCheck(id); n != 1 {
		t.Errorf("quiet 23.9 h after it reacted: %d findings", n)
	}
	b = cleanShop(t)
	x = &b.s.Cells[0]
	shift(x.Steps, -100)
	b.step(x, 90, "determination", func(s *Step) {
		decide("ML")(s)
		s.Now.Lapses, s.Now.LapsedHandling, s.Now.LapsedCondition = triage.DateOf(ago(72)), triage.Isolate, triage.Damaged
	})
	b.step(x, 1, "move", func(s *Step) { s.Move = &Move{To: boxTag(1)}; s.Now.Lapses = 0 })
	if n, _ := b.ofCheck(id); n != 1 {
		t.Errorf("carried on after it lapsed: %d findings", n)
	}
}

func TestAnswerChanged(t *testing.T) {
	b := cleanShop(t)
	if _, n := b.untold("review-answer-changed"); n != 3 {
		t.Errorf("%d checked", n)
	}
	e := b.s.Cells[1].Steps[0].Entry
	b.s.Changed = []Changed{{Tag: cellTag(2), Entry: e, Changes: []triage.AnswerChange{{Answer: "size", From: "small", To: "medium"}, {Answer: "waste codes", From: "x"}}}}
	f := &b.wants("review-answer-changed " + cellTag(2)).Findings[0]
	if !f.Open() || !slices.Equal(f.Entries, []int64{e}) || !strings.Contains(f.Text, "size medium now, small then; waste codes none now, x then") {
		t.Errorf("found %+v", f)
	}
}
