package review

import (
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

// looks makes a cell with a look every so many hours.
func (b *builder) looks(f triage.FieldID, hours float64, values ...triage.Micro) *Cell {
	c := &Cell{Tag: cellTag(50)}
	for i, v := range values {
		s := b.ledgerStep(c, ago(24*60-hours*float64(i)), "recheck", isolated(ago(24*60), boxTag(1)))
		s.Look = &Look{Given: []Given{known(f, v)}}
	}
	return c
}

func TestTrendWords(t *testing.T) {
	for _, c := range []struct {
		name  string
		field triage.FieldID
		hours float64
		at    []triage.Micro
		want  string
		why   string
	}{
		{"weeks at one voltage", triage.OcvV, 168, []triage.Micro{3_801_000, 3_800_000, 3_801_000, 3_800_000}, Settled, "under the practice limit"},
		{"falls 8 mV a day", triage.OcvV, 24, []triage.Micro{3_801_000, 3_793_000, 3_785_000, 3_777_000}, Falling, "over the practice limit"},
		{"falls, slowly", triage.OcvV, 168, []triage.Micro{3_801_000, 3_797_000, 3_793_000, 3_789_000}, Falling, "under the practice limit"},
		{"two readings", triage.OcvV, 168, []triage.Micro{3_801_000, 3_801_000}, NotTold, "2 readings"},
		{"one reading", triage.OcvV, 168, []triage.Micro{3_801_000}, NotTold, "1 reading;"},
		{"no reading", triage.OcvV, 168, nil, NotTold, "0 readings"},
		{"three within a day", triage.OcvV, 8, []triage.Micro{3_801_000, 3_801_000, 3_800_000}, NotTold, "error is too large"},
		{"a meter of 0.1 V", triage.OcvV, 24, []triage.Micro{3_800_000, 3_800_000, 3_800_000, 3_800_000}, NotTold, "error is too large"},
		{"rises", triage.OcvV, 24, []triage.Micro{3_701_000, 3_721_000, 3_741_000, 3_761_000}, NotTold, "it rose"},
		{"scatters about", triage.OcvV, 24, []triage.Micro{3_801_000, 3_701_000, 3_811_000, 3_703_000}, NotTold, "error is too large"},
		{"as thick as ever", triage.ThicknessMm, 168, []triage.Micro{4_410_000, 4_400_000, 4_410_000, 4_400_000, 4_410_000}, Settled, "under the practice limit"},
		{"grows", triage.ThicknessMm, 24, []triage.Micro{4_410_000, 4_460_000, 4_520_000, 4_570_000}, Growing, "over the practice limit"},
		{"a ruler", triage.ThicknessMm, 168, []triage.Micro{4_000_000, 4_000_000, 4_000_000}, NotTold, "error is too large"},
		{"shrinks", triage.ThicknessMm, 24, []triage.Micro{4_570_000, 4_520_000, 4_460_000, 4_410_000}, NotTold, "thinner"},
	} {
		b := cleanShop(t)
		got := trendOf(b.looks(c.field, c.hours, c.at...), c.field, "V")
		if got.Word != c.want || !strings.Contains(got.Why, c.why) || len(got.Points) != len(c.at) {
			t.Errorf("%s: %s, %s; %+v", c.name, got.Word, got.Why, got.Line)
		}
	}
}

// Just inside and just outside of what settled asks: 0, 0 and 0 at a meter of 1 mV has an
// error of 12.706 x 0.289 / sqrt(Sxx) mV a day, which is 2 at Sxx = 3.364, so at
// readings 1.297 days apart (computed).
func TestSettledAtItsLimit(t *testing.T) {
	for _, c := range []struct {
		hours float64
		want  string
	}{{31.2, Settled}, {31.0, NotTold}} {
		b := cleanShop(t)
		if got := trendOf(b.looks(triage.OcvV, c.hours, 3_801_000, 3_801_000, 3_801_000), triage.OcvV, "V"); got.Word != c.want {
			t.Errorf("%g h apart: %s, %+v", c.hours, got.Word, got.Line)
		}
	}
}

// What was taken back is left out, and what was corrected is taken as corrected.
func TestTrendOfWhatHolds(t *testing.T) {
	b := cleanShop(t)
	c := b.looks(triage.OcvV, 168, 3_801_000, 3_800_000, 3_901_000, 3_801_000, 3_800_000)
	if got := TrendsOf(c)[0]; got.Word == Settled {
		t.Errorf("with a slip in it: %s", got.Word)
	}
	b.ledgerStep(c, ago(1), "correction", *c.Last()).Correction = &Correction{Of: c.Steps[2].Entry, Field: "ocv_v", Old: "3.901", New: "3.801 V"}
	if got := TrendsOf(c)[0]; got.Word != Settled || len(got.Points) != 5 {
		t.Errorf("corrected: %s, %+v", got.Word, got.Points)
	}
	c.Steps[5].Correction.New = ""
	if got := TrendsOf(c)[0]; got.Word != Settled || len(got.Points) != 4 {
		t.Errorf("corrected to not measured: %s, %+v", got.Word, got.Points)
	}
	c.Steps[5].Void = true
	c.Steps[2].Void = true
	if got := TrendsOf(c)[0]; got.Word != Settled || got.Void != 1 || len(got.Points) != 4 {
		t.Errorf("taken back: %s, %+v", got.Word, got)
	}
	// A charge between the readings hides a fall.
	c.Steps[4].Look.Given = append(c.Steps[4].Look.Given, known(triage.RestH, 2_000_000))
	if got := TrendsOf(c)[0]; got.Word != NotTold || !got.Moved {
		t.Errorf("with current between: %s", got.Word)
	}
	// A look entered late counts from when it happened.
	c.Steps[4].Happened = c.Steps[0].Happened.Add(-48 * time.Hour)
	if got := TrendsOf(c)[0]; got.Points[len(got.Points)-1].Day != 0 {
		t.Errorf("days: %+v", got.Points)
	}
}
