package review

import (
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

const (
	crosses = "review-rating-crosses"
	differs = "review-rating-differs"
	near    = "review-rating-near"
)

// The limits are those of 49 CFR 173.185(c)(1)(i), (iv): 20 and 60 Wh a cell, 100 and
// 300 Wh a battery.
func TestRatings(t *testing.T) {
	const cell, battery = " series=1 parallel=1", " series=10 parallel=3"
	for _, c := range []struct{ label, want string }{
		{"label_wh=20 nominal_v=3.85 rated_mah=5200" + cell, crosses}, // 20.02 Wh
		{"label_wh=20.01 nominal_v=3.85 rated_mah=5200" + cell, near},
		{"label_wh=20.02 nominal_v=3.85 rated_mah=5200" + cell, near},
		{"label_wh=59 nominal_v=3.85 rated_mah=16000" + cell, crosses}, // 61.6 Wh
		{"label_wh=101 nominal_v=36 rated_mah=2700" + battery, crosses},
		{"label_wh=299 nominal_v=36 rated_mah=8400" + battery, crosses}, // 302.4 Wh
		{"label_wh=101 nominal_v=36 rated_mah=2700", crosses},           // 97.2 Wh; a cell or a battery: both
		{"label_wh=59 nominal_v=36 rated_mah=1700" + battery, differs},  // 61.2 Wh: no limit of a battery
		{"label_wh=12 nominal_v=3.85 rated_mah=3110" + cell, ""},        // 11.9735 Wh
		{"label_wh=12.24 nominal_v=4 rated_mah=3000" + cell, ""},        // 2 % above 12 Wh
		{"label_wh=12.25 nominal_v=4 rated_mah=3000" + cell, differs},
		{"label_wh=11.76 nominal_v=4 rated_mah=3000" + cell, ""},
		{"label_wh=11.75 nominal_v=4 rated_mah=3000" + cell, differs},
		{"label_wh=19.8" + cell, near},
		{"label_wh=19.79" + cell, ""},
		{"label_wh=20.2" + cell, near},
		{"label_wh=20.21" + cell, ""},
		{"label_wh=99.5" + battery, near},
		{"label_wh=99.5" + cell, ""},
		{"label_wh=99.5", near}, // a cell or a battery: both
	} {
		b := cleanShop(t)
		give(t, b.s.Cells[1].Steps[0].Look, c.label)
		if c.want == "" {
			b.wants()
			continue
		}
		r := b.wants(c.want + " " + cellTag(2))
		if f := &r.Findings[0]; !f.Open() || len(f.Entries) != 1 || f.Entries[0] != b.s.Cells[1].Steps[0].Entry || !strings.HasPrefix(f.Text, triage.SpacedTag(cellTag(2))+": ") {
			t.Errorf("%s: found %+v", c.label, f)
		}
	}
}

func TestRatingsThatAreNotKnown(t *testing.T) {
	for _, label := range []string{"", "label_wh=ur nominal_v=3.85 rated_mah=?", "label_wh=x nominal_v=3.85 rated_mah=5200"} {
		b := cleanShop(t)
		give(t, b.s.Cells[1].Steps[0].Look, label)
		r := b.wants()
		for _, check := range []string{crosses, differs, near} {
			if c := cleanOf(t, r, check); c.Checked != 0 || !strings.HasPrefix(c.Untold, "3 cells without") {
				t.Errorf("%q, %s: %+v", label, check, c)
			}
		}
	}
}

// The rating used is the one that triage judges by.
func TestTheRatingUsed(t *testing.T) {
	for _, text := range []string{"", "label_wh=12", "label_wh=12 nominal_v=4 rated_mah=3100", "label_wh=13 nominal_v=4 rated_mah=3100", "nominal_v=4 rated_mah=3100 typical_mah=3300",
		"nominal_v=4 typical_mah=3300", "label_wh=ur nominal_v=4 rated_mah=3100", "label_wh=12 nominal_v=4 rated_mah=x", "label_wh=x nominal_v=4 rated_mah=3100", "nominal_v=4"} {
		var l label
		look := &Look{}
		give(t, look, text)
		l.take(&Step{Look: look})
		want := triage.Micro(0)
		if e := triage.Derive(&l.r)[triage.FEnergy]; e.State == triage.Known {
			want = e.Hi
		}
		if got := l.used(); got != want {
			t.Errorf("%q: %s, want %s", text, got, want)
		}
	}
}

// A label that is read again, a correction, a photo and leaving end the matter; what
// was taken back was never said.
func TestWhatEndsARating(t *testing.T) {
	const two = "label_wh=20 nominal_v=3.85 rated_mah=5200 series=1 parallel=1"
	type change struct {
		name  string
		do    func(*builder, *Cell)
		found bool
		until time.Time
	}
	in := retired(ago(3.2), boxTag(2))
	for _, c := range []change{
		{"nothing", func(*builder, *Cell) {}, true, time.Time{}},
		{"a look with no label", func(b *builder, c *Cell) { c.Steps = append(c.Steps, b.look(1, "recheck", "label_wh=ur", in)) }, true, time.Time{}},
		{"read again", func(b *builder, c *Cell) {
			c.Steps = append(c.Steps, b.look(1, "recheck", "label_wh=24 nominal_v=3.85 rated_mah=6230", in))
		}, true, ago(1)},
		{"corrected", func(b *builder, c *Cell) {
			c.Steps = append(c.Steps, Step{Source: b.source(ago(1), "TO"), Kind: "correction", Now: in, Correction: &Correction{Of: c.Steps[0].Entry, Field: "rated_mah", New: "5100"}},
				Step{Source: b.source(ago(0.9), "TO"), Kind: "correction", Now: in, Correction: &Correction{Of: c.Steps[0].Entry, Field: "label_wh", New: "19.6"}})
		}, true, ago(1)},
		{"another entry corrected", func(b *builder, c *Cell) {
			c.Steps = append(c.Steps, Step{Source: b.source(ago(1), "TO"), Kind: "correction", Now: in, Correction: &Correction{Of: 1, Field: "rated_mah", New: "5100"}})
		}, true, time.Time{}},
		{"a photo then", func(b *builder, c *Cell) {
			b.s.Files = []File{{Source: b.source(c.Steps[0].Happened, "TO"), Tags: []string{c.Tag}, What: "photo", Read: true}}
		}, false, time.Time{}},
		{"a photo of the tag later", func(b *builder, c *Cell) {
			b.s.Files = []File{{Source: b.source(ago(1), "TO"), Tags: []string{c.Tag}, What: "photo", Read: true}}
		}, true, ago(1)},
		{"a photo later", func(b *builder, c *Cell) {
			b.s.Files = []File{{Source: b.source(ago(1), "TO"), OfEntry: c.Steps[0].Entry, What: "photo", Read: true}}
		}, true, ago(1)},
		{"a photo that is gone", func(b *builder, c *Cell) {
			b.s.Files = []File{{Source: b.source(ago(1), "TO"), Tags: []string{c.Tag}, What: "photo", Wrong: "not there"}}
		}, true, time.Time{}},
		{"left", func(b *builder, c *Cell) {
			c.Steps = append(c.Steps, Step{Source: b.source(ago(1), "TO"), Kind: "move", Now: State{Is: Out}, Move: &Move{Out: "returned"}})
		}, true, ago(1)},
		{"taken back", func(b *builder, c *Cell) { c.Steps[0].Void = true }, false, time.Time{}},
	} {
		b := cleanShop(t)
		cell := &b.s.Cells[1]
		give(t, cell.Steps[0].Look, two)
		c.do(b, cell)
		var want []string
		if c.found {
			want = []string{cell.Tag}
		}
		list, _ := b.of(crosses, want...)
		if len(list) == 1 && list[0].Until != c.until {
			t.Errorf("%s: until %v, want %v", c.name, list[0].Until, c.until)
		}
	}
}
