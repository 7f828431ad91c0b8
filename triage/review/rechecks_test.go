package review

import (
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

// Times are hours before noon of a Wednesday; the shop is open from 09:00 to 18:00.
// Owed are: 1 h, end of day, next opening, 24 h, every 7 days; every hour of what
// reacts (common practice, intervals.toml).
func TestLookMissed(t *testing.T) {
	const id = "review-look-missed"
	at := func(hours ...float64) func(*builder, *Cell) {
		return func(b *builder, c *Cell) {
			for _, h := range hours {
				b.step(c, h, "recheck", looked)
			}
		}
	}
	emergency := func(_ *builder, c *Cell) {
		c.Steps[0].Now.Handling, c.Steps[0].Now.Condition = triage.Emergency, triage.Reacting
	}
	for name, c := range map[string]struct {
		hours  float64 // since it was isolated
		then   []func(*builder, *Cell)
		missed string // how the text begins, blank for none
		open   bool
		owed   int64
	}{
		"not yet owed":         {0.9, nil, "", false, 0},
		"owed, not yet late":   {2, nil, "", false, 1},
		"late":                 {2.1, nil, "1 of 1 look owed", true, 1},
		"made in time":         {2.1, []func(*builder, *Cell){at(0.2)}, "", false, 1},
		"made late":            {2.3, []func(*builder, *Cell){at(0.2)}, "1 of 1 look owed", false, 1},
		"taken back":           {2.3, []func(*builder, *Cell){at(0.4), func(_ *builder, c *Cell) { c.Steps[1].Void = true }}, "1 of 1 look owed", true, 1},
		"entered late":         {2.3, []func(*builder, *Cell){at(0.4), func(_ *builder, c *Cell) { c.Steps[1].Entered = noon }}, "", false, 1},
		"over a night":         {18.5, []func(*builder, *Cell){at(18, 2.5)}, "", false, 3},
		"not before it closed": {18.5, []func(*builder, *Cell){at(2.5)}, "1 of 3 looks owed", false, 3},
		"nor in the morning":   {18.5, nil, "2 of 3 looks owed", true, 3},
		"reacting at night":    {18.5, []func(*builder, *Cell){emergency, at(18, 2.5)}, "15 of 18 looks owed", true, 18},
		"left in time": {2.3, []func(*builder, *Cell){func(b *builder, c *Cell) {
			b.step(c, 0.4, "move", func(s *Step) { s.Move, s.Now.Is = &Move{Out: "handed-over"}, Out })
		}}, "", false, 1},
		"left late": {2.3, []func(*builder, *Cell){func(b *builder, c *Cell) {
			b.step(c, 0.2, "move", func(s *Step) { s.Move, s.Now.Is = &Move{Out: "handed-over"}, Out })
		}}, "1 of 1 look owed", false, 1},
		"retired": {100, []func(*builder, *Cell){func(_ *builder, c *Cell) {
			c.Steps[0].Now.Handling, c.Steps[0].Now.Condition = triage.Retire, triage.Undamaged
		}}, "", false, 0},
		"a week, late":         {24*10 + 23, []func(*builder, *Cell){at(24*10+22, 24*10+17, 24*10+2, 24*9+22)}, "1 of 5 looks owed", true, 5},
		"a week, not yet late": {24*10 + 11, []func(*builder, *Cell){at(24*10+10, 24*10+3, 24*10-6, 24*9+11)}, "", false, 5},
		"its verdict asked": {2.1, []func(*builder, *Cell){at(1.1), func(_ *builder, c *Cell) { c.Steps[0].Now.LookIn = 15; c.Steps[1].Now.LookIn = 5 }},
			"1 of 3 looks owed", true, 3},
		"its verdict asked, and another look came": {2.1, []func(*builder, *Cell){at(1.9, 1), func(_ *builder, c *Cell) {
			c.Steps[0].Now.LookIn = 15
			c.Steps[1].Now.LookIn = 0
			c.Steps[2].Now.LookIn = 0
		}},
			"", false, 1},
		"a determination lapsed": {100, []func(*builder, *Cell){func(_ *builder, c *Cell) {
			s := &c.Steps[0].Now
			s.Handling, s.Condition, s.Lapses, s.LapsedHandling, s.LapsedCondition = triage.Retire, triage.Undamaged, triage.DateOf(noon)-1, triage.Isolate, triage.Damaged
		}}, "1 of 1 look owed", true, 1},
	} {
		b, x := keptSince(t, c.hours, boxTag(1))
		looked(&x.Steps[0])
		for _, f := range c.then {
			f(b, x)
		}
		n, f := b.ofCheck(id)
		if n != 0 != (c.missed != "") || n > 0 && (f.Open() != c.open || !strings.HasPrefix(f.Text, c.missed)) {
			t.Errorf("%s: %d findings %+v", name, n, f)
		}
		if c.missed == "" {
			if _, n := b.untold(id); n != c.owed {
				t.Errorf("%s: %d looks owed, want %d", name, n, c.owed)
			}
		}
	}
}

// What was over before the period is left out, and counts neither.
func TestLookMissedInThePeriod(t *testing.T) {
	for _, c := range []struct {
		from   triage.Date
		missed string
	}{
		{triage.DateOf(ago(60)), "3 of 4 looks owed"}, // at 01:00 and 09:00, looked at 20:00; 24 h, gone a day later
		{triage.DateOf(ago(36)), "1 of 1 look owed"},
		{triage.DateOf(ago(11)), ""},
	} {
		b, x := keptSince(t, 60, boxTag(1))
		looked(&x.Steps[0])
		b.step(x, 40, "recheck", looked)
		b.step(x, 12.1, "move", func(s *Step) { s.Move, s.Now.Is = &Move{Out: "handed-over"}, Out })
		b.s.From = c.from
		n, f := b.ofCheck("review-look-missed")
		if n != 0 != (c.missed != "") || n > 0 && (f.Open() || !strings.HasPrefix(f.Text, c.missed)) {
			t.Errorf("from %s: %d findings %+v", c.from, n, f)
		}
	}
}

// A closed day puts the time of a look off that fell into it, and no other.
func TestLookOnAClosedDay(t *testing.T) {
	b, x := keptSince(t, 18.5, boxTag(1))
	looked(&x.Steps[0])
	b.step(x, 18, "recheck", looked)
	b.s.Hours.Closed[time.Wednesday] = true
	if n, f := b.ofCheck("review-look-missed"); n != 0 {
		t.Errorf("found %+v", f)
	}
}
