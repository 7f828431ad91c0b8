package review

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

// many adds cells taken in at a bench in a month, the first of them isolated.
func (b *builder) many(n, bad int, bench, part, month string) {
	b.t.Helper()
	at, err := time.ParseInLocation("2006-01-02 15:04", month+"-10 10:00", noon.Location())
	if err != nil {
		b.t.Fatal(err)
	}
	for i := range n {
		no := int64(len(b.s.Cells) + 1)
		class := retired
		if i < bad {
			class = isolated
		}
		c := b.cell(cellTag(no), at.Add(time.Duration(no)*time.Minute), class, boxTag(2))
		c.Part, c.Steps[0].Bench = part, bench
	}
}

func TestPattern(t *testing.T) {
	const check = "review-pattern"
	b := cleanShop(t)
	b.many(200, 8, "Bench 1", "PA", "2026-05")
	b.many(40, 2, "Bench 2", "PB", "2026-06")
	_, r := b.of(check)
	if c := cleanOf(t, r, check); c.Checked != 6 || !strings.Contains(c.Untold, "3 cells without a part") || !strings.Contains(c.Untold, "1 group (bench, part, month) with too few") {
		t.Errorf("%+v", c)
	}

	// 14 of 40 against 8 of 200; the three groups are the same cells.
	b = cleanShop(t)
	b.many(200, 8, "Bench 1", "PA", "2026-05")
	b.many(40, 14, "Bench 2", "PB", "2026-06")
	list, _ := b.of(check, "Bench 2", "PB", "2026-06")
	for _, f := range list {
		if len(f.Entries) != 14 || !strings.Contains(f.Text, "14 of 40, 35.0 % isolated at intake; of the rest 9 of 203, 4.4 %") || f.Open() == (f.Subject == "2026-06") {
			t.Errorf("found %+v", f)
		}
	}

	// What was taken back is not counted, nor what lies before the period.
	for i := range b.s.Cells {
		if c := &b.s.Cells[i]; c.Part == "PB" && c.Steps[0].Look.Handling == triage.Isolate && i%2 == 0 {
			c.Steps[0].Void = true
		}
	}
	b.of(check)
	b.s.From = triage.DateOf(noon) - 100
	if _, r := b.of(check); cleanOf(t, r, check).Checked != 0 {
		t.Errorf("%+v", cleanOf(t, r, check))
	}
}

// The tail of the hypergeometric distribution by whole numbers.
func TestUpperTail(t *testing.T) {
	choose := func(n, k int64) float64 {
		x := 1.0
		for i := range k {
			x *= float64(n-i) / float64(i+1)
		}
		return x
	}
	for _, c := range []struct{ own, rest share }{{share{4, 20}, share{0, 20}}, {share{0, 20}, share{4, 20}}, {share{3, 5}, share{2, 30}}, {share{20, 20}, share{3, 9}}} {
		n, k, want := c.own.cells+c.rest.cells, c.own.isolated+c.rest.isolated, 0.0
		for i := c.own.isolated; i <= min(k, c.own.cells); i++ {
			if c.own.cells-i <= n-k {
				want += choose(k, i) * choose(n-k, c.own.cells-i) / choose(n, c.own.cells)
			}
		}
		if got := upperTail(c.own, c.rest); math.Abs(got-want) > 1e-9 {
			t.Errorf("%v %v: %g, want %g", c.own, c.rest, got, want)
		}
	}
	// Four of four isolated cells in one half of forty: C(20,4)/C(40,4) = 4845/91390.
	if got := upperTail(share{4, 20}, share{0, 20}); math.Abs(got-4845.0/91390) > 1e-9 {
		t.Errorf("%g", got)
	}
}

func TestNobodyReports(t *testing.T) {
	const check = "review-nobody-reports"
	for _, c := range []struct {
		name     string
		cells    int
		incident *Incident
		hours    float64
		found    bool
	}{
		{"500 cells", 497, nil, 0, false},
		{"501 cells", 498, nil, 0, true},
		{"a near miss", 498, &Incident{NearMiss: true}, 364 * 24, false},
		{"one of last year", 498, &Incident{NearMiss: true}, 366 * 24, true},
		{"one that was taken back", 498, &Incident{Void: true}, 24, true},
	} {
		b := cleanShop(t)
		b.many(c.cells, 0, "Bench 1", "PA", "2026-05")
		entry := int64(1)
		if c.incident != nil {
			c.incident.Source = b.source(ago(c.hours), "TO")
			b.s.Incidents = []Incident{*c.incident}
			if !c.incident.Void {
				entry = c.incident.Entry
			}
		}
		var want []string
		if c.found {
			want = []string{"near misses"}
		}
		list, r := b.of(check, want...)
		if c.found && (!list[0].Open() || fmt.Sprint(list[0].Entries) != fmt.Sprintf("[%d]", entry)) {
			t.Errorf("%s: found %+v", c.name, list[0])
		}
		if !c.found && cleanOf(t, r, check).Checked != int64(c.cells+3) {
			t.Errorf("%s: %+v", c.name, cleanOf(t, r, check))
		}
	}
}
