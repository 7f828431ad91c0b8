package review

import (
	"fmt"
	"strings"
	"testing"

	"pouchward/triage"
)

func count(n int64) *int64 { return &n }

func TestCountDiffers(t *testing.T) {
	const key = "review-count-differs Yard"
	found := func(days float64, n int64) func(*builder) {
		return func(b *builder) { b.round(ago(days*aDay), func(r *Round) { r.Found = count(n) }) }
	}
	scan := func(days float64, missing, extra []string) func(*builder) {
		return func(b *builder) {
			b.round(ago(days*aDay), func(r *Round) { r.Found, r.Scanned, r.Missing, r.Extra = nil, true, missing, extra })
		}
	}
	both := func(list ...func(*builder)) func(*builder) {
		return func(b *builder) {
			for _, fn := range list {
				fn(b)
			}
		}
	}
	gone := []string{cellTag(2)}
	try(t, []tradeCase{
		{"one short today", found(0.05, 2), key, true, "found 2 cells, the log had 3"},
		{"one more", found(0.05, 4), key, true, "found 4 cells"},
		{"found by the next round", found(8, 2), key, false, "as the log has it on"},
		{"missing", scan(0.05, gone, nil), key, true, "not there: " + triage.SpacedTag(cellTag(2))},
		{"extra", scan(0.05, nil, gone), key, true, "there and not so in the log"},
		{"a count does not close a scan", scan(3, gone, nil), key, true, ""},
		{"a scan closes a scan", both(scan(3, gone, nil), scan(2, nil, nil)), key, false, ""},
		{"a scan closes a count", both(found(0.06, 2), scan(0.05, nil, nil)), key, false, ""},
		{"a scan does not see lots", both(found(0.06, 2), scan(0.05, nil, nil), func(b *builder) { b.s.Rounds[len(b.s.Rounds)-1].InLots = 1 }), key, true, ""},
		{"another place does not close", both(found(0.06, 2), found(0.05, 3), func(b *builder) { b.s.Rounds[len(b.s.Rounds)-1].About = "Shelf" }), key, true, ""},
		{"an earlier one entered later does not close", both(found(0.05, 2), found(0.06, 3)), key, true, ""},
		{"neither counted nor scanned", both(found(0.05, 2), func(b *builder) { b.s.Rounds[len(b.s.Rounds)-1].Found = nil }), "", false, ""},
	})
	b := tradingShop(t)
	found(0.05, 2)(b)
	b.s.Rounds[len(b.s.Rounds)-1].Void = true
	found(0.04, 3)(b)
	b.s.Rounds[len(b.s.Rounds)-1].Entered = noon
	if c := b.cleanOf("review-count-differs"); c.Checked != 5 || !strings.Contains(c.Untold, "1 round entered late") || !strings.Contains(c.Untold, "1 round taken back that had found a difference") {
		t.Errorf("%+v", c)
	}
}

func TestRoundOpen(t *testing.T) {
	const key = "review-round-open Yard"
	says := func(days float64, check, word string) func(*builder) {
		return func(b *builder) { b.round(ago(days*aDay), func(r *Round) { r.Checks[check] = word }) }
	}
	// all rounds of the trading shop but the oldest, changed.
	later := func(fn func(*Round)) func(*builder) {
		return func(b *builder) {
			for i := range b.s.Rounds[1:] {
				fn(&b.s.Rounds[1+i])
			}
		}
	}
	try(t, []tradeCase{
		{"no lid", says(0.05, "closed", "no"), key, true, "Yard: not closed, round of"},
		{"hiss", says(0.05, "quiet", "no"), key, true, "heat, a smell or a hiss"},
		{"what was done does not close", func(b *builder) {
			says(0.05, "labelled", "no")(b)
			b.s.Rounds[len(b.s.Rounds)-1].Action = "label written anew"
		}, key, true, "said to be done: label written anew"},
		{"not looked does not close", func(b *builder) { says(0.05, "dated", "no")(b); says(0.04, "dated", "not looked")(b) }, key, true, "no date"},
		{"put right by the next round", says(8, "closed", "no"), "", false, ""},
		{"put right ten days later", func(b *builder) {
			b.s.Rounds[0].Checks["sound"] = "no"
			b.s.Rounds[1].Checks["sound"] = "not looked"
			b.s.Rounds[1].Happened = ago(20 * aDay)
			b.s.Rounds[2].Happened = ago(18 * aDay)
			b.s.Rounds[3].Happened = ago(8 * aDay)
		}, "", false, ""},
		{"put right two weeks later", func(b *builder) {
			b.s.Rounds[0].Checks["sound"], b.s.Rounds[1].Checks["sound"] = "no", "no"
		}, key, false, "and 1 later one, put right by the round of"},
		{"never again said", func(b *builder) {
			b.s.Rounds[0].Checks["alone"] = "no"
			later(func(r *Round) { delete(r.Checks, "alone") })(b)
		}, key, true, "something else stored there"},
		{"a question not known", says(0.05, "odd", "no"), key, true, "no to odd"},
	})
	b := tradingShop(t)
	says(0.05, "closed", "no")(b)
	b.s.Rounds[len(b.s.Rounds)-1].Void = true
	if c := b.cleanOf("review-round-open"); c.Checked != 0 || c.Untold != "1 round taken back that had found a fault" {
		t.Errorf("%+v", c)
	}

	// What is open is told before what is past, of which a reader sees three at most.
	b = tradingShop(t)
	for _, check := range []string{"alone", "closed", "dated", "labelled"} {
		b.s.Rounds[0].Checks[check], b.s.Rounds[1].Checks[check] = "no", "no"
	}
	says(0.05, "sound", "no")(b)
	r := b.wants(key)
	if f := &r.Findings[0]; !f.Open() || !strings.HasPrefix(f.Text, "Yard: a container not sound") || !strings.HasSuffix(f.Text, "; and 2 more") || len(f.Entries) != 4 {
		t.Errorf("found %+v", f)
	}
}

func TestNoRound(t *testing.T) {
	const key = "review-no-round "
	// The cells of cleanShop came so many days ago; the rounds of the yard are these.
	held := func(days float64, rounds ...float64) func(*builder) {
		return func(b *builder) {
			b.s.Rounds = nil
			for i := range b.s.Containers {
				for j := range b.s.Containers[i].Steps {
					b.s.Containers[i].Steps[j].Happened = ago(90 * aDay)
				}
			}
			b.s.Cells[1].Steps = shift(b.s.Cells[1].Steps, -days*aDay)
			for _, days := range rounds {
				b.round(ago(days*aDay), nil)
			}
		}
	}
	for _, c := range []struct {
		name   string
		change func(*builder)
		want   string // place, blank for none
		open   bool
	}{
		{"ten days without one", held(10.3), "", false},
		{"eleven days without one", held(10.6), "Yard", true},
		{"the gap between two", held(30, 25, 12, 5), "Yard", false},
		{"no gap between two", held(30, 25, 15, 5), "", false},
		{"none any more", held(30, 25, 15), "Yard", true},
		{"one that was taken back", func(b *builder) { held(30, 25, 15, 5)(b); b.s.Rounds[1].Void = true }, "Yard", false},
		{"one of a container", func(b *builder) { held(30, 25, 15, 5)(b); b.s.Rounds[1].About = boxTag(2) }, "Yard", false},
		{"the cell left", func(b *builder) {
			held(30, 25)(b)
			gone := b.s.Cells[1].Steps[2]
			gone.Source, gone.Move, gone.Now.Is = b.source(ago(15*aDay), "MK"), &Move{Out: "sold"}, Out
			b.s.Cells[1].Steps = append(b.s.Cells[1].Steps, gone)
		}, "", false},
		{"the bin was moved", func(b *builder) {
			held(16)(b)
			there := b.s.Containers[1].Steps[0]
			there.Source, there.Place = b.source(ago(9*aDay), "MK"), "Shelf"
			b.s.Containers[1].Steps = append(b.s.Containers[1].Steps, there)
		}, "", false},
		{"one cell after another", func(b *builder) {
			held(15)(b)
			gone := b.s.Cells[1].Steps[2]
			gone.Source, gone.Move, gone.Now.Is = b.source(ago(8*aDay), "MK"), &Move{Out: "sold"}, Out
			b.s.Cells[1].Steps = append(b.s.Cells[1].Steps, gone)
			b.s.Cells[2].Steps = shift(b.s.Cells[2].Steps, -8*aDay)
		}, "Yard", true},
		{"late, then moved", func(b *builder) {
			held(40, 36)(b)
			there := b.s.Containers[1].Steps[0]
			there.Source, there.Place = b.source(ago(22*aDay), "MK"), "Shelf"
			b.s.Containers[1].Steps = append(b.s.Containers[1].Steps, there)
			for _, days := range []float64{15, 8, 1} {
				b.round(ago(days*aDay), nil).About = "Shelf"
			}
		}, "Yard", false},
		{"the bin was moved long ago", func(b *builder) {
			held(40, 36, 29)(b)
			there := b.s.Containers[1].Steps[0]
			there.Source, there.Place = b.source(ago(22*aDay), "MK"), "Shelf"
			b.s.Containers[1].Steps = append(b.s.Containers[1].Steps, there)
		}, "Shelf", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := cleanShop(t)
			b.s.Cells[1].Tag = cellTag(2)
			c.change(b)
			_, r := b.found()
			var got []*Finding
			for i := range r.Findings {
				if r.Findings[i].Check.ID == "review-no-round" {
					got = append(got, &r.Findings[i])
				}
			}
			if c.want == "" && len(got) == 0 {
				return
			}
			if len(got) != 1 || got[0].Key() != key+c.want || got[0].Open() != c.open || len(got[0].Entries) == 0 {
				t.Errorf("found %+v, want %q open %t", got, c.want, c.open)
			}
		})
	}

	// Nobody said where: no round can be told to have seen it.
	b := cleanShop(t)
	held(8)(b)
	for i := range b.s.Containers {
		b.s.Containers[i].Steps[0].Place = ""
	}
	if c := b.cleanOf("review-no-round"); c.Checked != 0 || !strings.HasPrefix(c.Untold, "1 cell whose place is not said") {
		t.Errorf("%+v", c)
	}
}

func TestIncidentOpen(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*Incident)
		found  bool
		open   bool
		text   string
	}{
		{"closed", func(*Incident) {}, false, false, ""},
		{"open for a week", func(x *Incident) { x.Open, x.Happened = true, ago(7*aDay) }, false, false, ""},
		{"open for longer", func(x *Incident) { x.Open, x.Happened = true, ago(8*aDay) }, true, true, "open after 8 days"},
		{"closed late", func(x *Incident) { x.Happened, x.Last.Happened = ago(10*aDay), ago(2*aDay) }, true, false, "after 8 days"},
		{"closed on the last day", func(x *Incident) { x.Happened, x.Last.Happened = ago(10*aDay), ago(3*aDay) }, false, false, ""},
		{"closed and not said", func(x *Incident) { x.Unsaid = []string{"cause", "waste"} }, true, true, "not said: cause, waste"},
		{"a near miss", func(x *Incident) { x.Open, x.NearMiss, x.Tags = true, true, []string{cellTag(1)} }, true, true, "near miss of"},
	} {
		b := tradingShop(t)
		x := &b.s.Incidents[0]
		if c.change(x); !c.found {
			b.wants()
			continue
		}
		r := b.wants(fmt.Sprint("review-incident-open incident ", x.Entry))
		if f := &r.Findings[0]; f.Open() != c.open || !strings.Contains(f.Text, c.text) || f.Entries[0] != x.Entry {
			t.Errorf("%s: found %+v", c.name, f)
		}
	}
	b := tradingShop(t)
	b.s.Incidents[0].Void = true
	if c := b.cleanOf("review-incident-open"); c.Checked != 0 || c.Untold != "1 incident that was taken back" {
		t.Errorf("%+v", c)
	}
}
