package review

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

// lot adds a lot that came at a moment and, where out is above 0, left.
func (b *builder) lot(in, out float64, grams int64) *Cell {
	now := retired(ago(in), boxTag(2))
	now.Count, now.MilliGram = 1000, grams*1000
	c := Cell{Tag: cellTag(int64(len(b.s.Cells) + 1)), Steps: []Step{{Source: b.source(ago(in), "MK"), Kind: "lot", Now: now}}}
	if out > 0 {
		c.Steps = append(c.Steps, Step{Source: b.source(ago(out), "MK"), Kind: "move", Now: State{Is: Out}, Move: &Move{Out: "sent"}})
	}
	b.s.Cells = append(b.s.Cells, c)
	return &b.s.Cells[len(b.s.Cells)-1]
}

// Five tonnes at any time: 40 CFR 273.9; from then to the end of the calendar year:
// RCRA Online 14107.
func TestQuantity(t *testing.T) {
	const check = "review-quantity"
	day, year := 24.0, 365*24.0
	for _, c := range []struct {
		name  string
		make  func(*builder)
		found []string
		open  bool
	}{
		{"4,999.999 kg", func(b *builder) { b.lot(30*day, 0, 4_999_819) }, nil, false}, // with 180 g of the clean shop
		{"5,000 kg", func(b *builder) { b.lot(30*day, 0, 4_999_820) }, []string{"2026"}, true},
		{"one after the other", func(b *builder) { b.lot(40*day, 20*day, 3_000_000); b.lot(20*day, 0, 3_000_000) }, nil, false},
		{"together for a day", func(b *builder) { b.lot(40*day, 19*day, 3_000_000); b.lot(20*day, 0, 3_000_000) }, []string{"2026"}, true},
		{"last year", func(b *builder) { b.lot(year+20*day, year, 5_000_000) }, []string{"2025"}, false},
		{"over the turn of the year", func(b *builder) { b.lot(year+20*day, 300*day, 5_000_000) }, []string{"2025", "2026"}, false},
		{"left on New Year's Eve", func(b *builder) { b.lot(year, 329*day+13, 5_000_000) }, []string{"2025"}, false},
		{"before the years of the period", func(b *builder) { b.lot(3*year, 2*year, 5_000_000) }, nil, false},
		{"breached", func(b *builder) { b.lot(30*day, 0, 5_000_000).Steps[0].Now.Waste = triage.CasingBreached }, nil, false},
	} {
		b := cleanShop(t)
		c.make(b)
		list, _ := b.of(check, c.found...)
		for _, f := range list {
			if open := f.Subject == "2026"; f.Open() != open || !open && f.Until.Year() != 2025 || len(f.Entries) == 0 {
				t.Errorf("%s: found %+v", c.name, f)
			}
		}
	}

	b := cleanShop(t)
	b.lot(60*day, 0, 0)
	b.lot(30*day, 0, 1)
	b.s.Cells[1].Steps[0].Now.MilliGram, b.s.Cells[1].Steps[1].Now.MilliGram, b.s.Cells[1].Steps[2].Now.MilliGram = 0, 0, 0
	b.s.Cells[2].Steps[0].Now.MilliGram = 0 // weighed a minute later
	_, r := b.of(check)
	// The days since something stood here whose mass is known: 30 and today.
	if x := cleanOf(t, r, check); x.Checked != 31 || x.Untold != "1001 cells without a mass" {
		t.Errorf("%+v", x)
	}
	if x := cleanOf(t, (func() *Report { b := cleanShop(t); b.s.Cells = nil; _, r := b.of(check); return r })(), check); x.Checked != 0 {
		t.Errorf("nothing here: %+v", x)
	}
}

func TestBreachedMass(t *testing.T) {
	const check = "review-breached-mass"
	make := func(grams ...int64) *builder {
		b := cleanShop(t)
		for i, g := range grams {
			b.lot(400+float64(i), 0, g).Steps[0].Now.Waste = triage.CasingBreached
		}
		return b
	}
	_, r := make(60_000, 39_999).of(check)
	if x := cleanOf(t, r, check); x.Checked != 1 || x.Untold != "" {
		t.Errorf("%+v", x)
	}
	list, _ := make(60_000, 40_000, 0).of(check, "2026-11")
	if f := list[0]; !f.Open() || len(f.Entries) != 3 || !strings.Contains(f.Text, "100 kg in 3 cells with a breached casing, 1000 of them not weighed") {
		t.Errorf("found %+v", f)
	}
	b := make(100_000) // found breached in another month: over when that was
	b.s.Cells[3].Steps[0].Happened = ago(24 * 40)
	if list, _ = b.of(check, "2026-10"); list[0].Until != time.Date(2026, 10, 31, 23, 59, 0, 0, noon.Location()) {
		t.Errorf("found %+v", list[0])
	}
	b = make(100_000) // a determination took it back
	b.s.Cells[3].Steps = append(b.s.Cells[3].Steps, Step{Source: b.source(ago(1), "TO"), Kind: "determination", Now: retired(ago(1), boxTag(2))})
	b.of(check)
	b = make(0)
	if _, r = b.of(check); cleanOf(t, r, check).Untold != "1000 cells with a breached casing and no mass" {
		t.Errorf("%+v", cleanOf(t, r, check))
	}
}

// More than 7.5 cu ft a container and 15 cu ft in all: WAC 51-54A-0322, 322.2 and
// 322.4.1; 212.376 and 424.753 L.
func TestStoreOver(t *testing.T) {
	const check = "review-store-over"
	round := func(b *builder, hours float64, place string, ml int64) {
		b.s.Rounds = append(b.s.Rounds, Round{Source: b.source(ago(hours), "TO"), About: place, MilliLitr: ml})
	}
	bin := func(b *builder, n int64, ml int64) { // with a cell in it
		b.box(boxTag(n), ago(600)).Steps[0].MilliLitr = ml
		b.cell(cellTag(n+100), ago(2), retired, boxTag(n))
	}
	for _, c := range []struct {
		name  string
		make  func(*builder)
		found []string
		open  bool
	}{
		{"7.5 cu ft", func(b *builder) { b.s.Containers[1].Steps[0].MilliLitr = 212_376 }, nil, false},
		{"more", func(b *builder) { b.s.Containers[1].Steps[0].MilliLitr = 212_377 }, []string{boxTag(2)}, true},
		{"more, empty", func(b *builder) { b.box(boxTag(3), ago(600)).Steps[0].MilliLitr = 300_000 }, nil, false},
		{"15 cu ft in all", func(b *builder) { bin(b, 3, 210_000); bin(b, 4, 209_752) }, nil, false}, // with two tins of 2.5 L
		{"more in all", func(b *builder) { bin(b, 3, 210_000); bin(b, 4, 209_753) }, []string{"site"}, true},
		{"more in all, now out", func(b *builder) {
			bin(b, 3, 210_000)
			bin(b, 4, 209_753)
			c := &b.s.Cells[4]
			c.Steps = append(c.Steps, Step{Source: b.source(ago(1), "TO"), Kind: "move", Now: State{Is: Out}, Move: &Move{Out: "sent"}})
			c.Steps[3].Happened = ago(0.5) // the tin has its cell since 0.8 h
		}, []string{"site"}, false},
		{"rounds of two places", func(b *builder) { round(b, 50, "Yard", 210_000); round(b, 49, "Room", 214_752) }, nil, false},
		{"rounds over", func(b *builder) { round(b, 50, "Yard", 210_000); round(b, 49, "Room", 214_753) }, []string{"site"}, true},
		{"rounds over and less since", func(b *builder) {
			round(b, 50, "Yard", 425_000)
			round(b, 40, "Yard", 0) // it stated none
			round(b, 30, "Yard", 200_000)
		}, []string{"site"}, false},
		{"a round that was taken back", func(b *builder) { round(b, 50, "Yard", 425_000); b.s.Rounds[0].Void = true }, nil, false},
	} {
		b := cleanShop(t)
		c.make(b)
		list, _ := b.of(check, c.found...)
		for _, f := range list {
			if f.Open() != c.open || len(f.Entries) == 0 {
				t.Errorf("%s: found %+v", c.name, f)
			}
		}
	}

	b := cleanShop(t)
	b.s.Containers[1].Steps[0].MilliLitr = 0
	last := &b.s.Cells[0].Steps[2].Now
	last.In = ""
	_, r := b.of(check)
	if x := cleanOf(t, r, check); x.Checked != 0 || x.Untold != "1 container with cells and no recorded volume; 1 cell in no container, and so in no volume" {
		t.Errorf("%+v", x)
	}
}

func TestKilos(t *testing.T) {
	if got := fmt.Sprint(kilos(5_000_000_000), " ", kilos(1_234_567)); got != "5000 1.235" {
		t.Error(got)
	}
}
