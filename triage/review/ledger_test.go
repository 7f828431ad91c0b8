package review

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

// counted is the stock view of a shop as its last steps have it.
func (b *builder) counted() (list []Counted) {
	for w, a := range standing(b.s.datedCells(), triage.DateOf(noon)) {
		list = append(list, Counted{Key: w.Container, Place: w.Place, Cells: a.Cells, MicroWh: a.MicroWh, MilliGram: a.MilliGram})
	}
	return list
}

// ledgerStep adds a step to a cell.
func (b *builder) ledgerStep(c *Cell, at time.Time, kind string, now State) *Step {
	c.Steps = append(c.Steps, Step{Source: b.source(at, "MK"), Kind: kind, Now: now})
	return &c.Steps[len(c.Steps)-1]
}

// line finds a line of a month.
func line(t *testing.T, m *Month, w Where) Line {
	t.Helper()
	for i := range m.Lines {
		if m.Lines[i].Where == w {
			return m.Lines[i]
		}
	}
	t.Fatalf("no line %+v in %s", w, m.From)
	return Line{}
}

func day(t *testing.T, text string) triage.Date {
	t.Helper()
	d, err := triage.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// A life worked by hand (computed): in September a cell came into a bin, in October it
// was weighed, moved, and left; in November it came back and the way out was taken back.
func TestLedgerOfOneLife(t *testing.T) {
	b := cleanShop(t)
	b.s.Cells, b.s.From = nil, day(t, "2026-09-10")
	on := func(text string) time.Time { return day(t, text).In(noon.Location()).Add(10 * time.Hour) }
	b.s.Cells = append(b.s.Cells, Cell{Tag: cellTag(1)})
	c := &b.s.Cells[0]
	first := retired(on("2026-09-05"), boxTag(1))
	first.MilliGram = 0
	b.ledgerStep(c, on("2026-09-05"), "assessment", first) // before the period: only what was there
	weighed := first
	weighed.MilliGram = 61_000
	b.ledgerStep(c, on("2026-10-31"), "assessment", weighed)
	moved := weighed
	moved.In, moved.Place = "", "Bench 2"
	b.ledgerStep(c, on("2026-10-31"), "move", moved)
	out := moved
	out.Is = Out
	b.ledgerStep(c, on("2026-10-31"), "move", out)
	b.ledgerStep(c, on("2026-11-02"), "retraction", moved)
	b.s.Counted = b.counted()

	l := NewLedger(&b.s)
	if len(l.Months) != 3 || len(l.Differences) != 0 || !l.Compared || l.Months[0].From != b.s.From || l.Months[2].To != b.s.To {
		t.Fatalf("months %d, differences %+v", len(l.Months), l.Differences)
	}
	unweighed := Amount{Cells: 1, Unweighed: 1, MicroWh: 15_400_000}
	whole := Amount{Cells: 1, MicroWh: 15_400_000, MilliGram: 61_000}
	weigh := Amount{Unweighed: -1, MilliGram: 61_000}
	bin, bench := Where{Container: boxTag(1)}, Where{Place: "Bench 2"}
	for _, want := range []struct {
		month int
		line  Line
	}{
		{0, Line{Where: bin, Before: unweighed, After: unweighed}},
		{1, Line{Where: bin, Before: unweighed, Restated: weigh, MovedOut: whole}},
		{1, Line{Where: bench, MovedIn: whole, Left: whole}},
		{2, Line{Where: bench, Restated: whole, After: whole}},
	} {
		if got := line(t, &l.Months[want.month], want.line.Where); got != want.line {
			t.Errorf("month %d: %+v, want %+v", want.month, got, want.line)
		}
	}
	if got, want := l.Months[1].Total, (Line{Before: unweighed, MovedIn: whole, MovedOut: whole, Left: whole, Restated: weigh}); got != want {
		t.Errorf("the shop in October: %+v, want %+v", got, want)
	}
}

// A tag that stood for two cells, and two that stood for one, restate the stock: nothing
// came, nothing left.
func TestLedgerRestatesTies(t *testing.T) {
	b := cleanShop(t)
	c := &b.s.Cells[2]
	b.s.Cells = append(b.s.Cells, Cell{Tag: cellTag(4), Steps: []Step{{Source: b.source(ago(1), "MK"), Kind: "split", Now: c.Steps[2].Now}}})
	b.ledgerStep(&b.s.Cells[1], ago(0.5), "merge", State{Is: Alias, In: cellTag(3)})
	b.s.Counted = b.counted()
	l := NewLedger(&b.s)
	got := l.Months[len(l.Months)-1].Total
	if len(l.Differences) != 0 || got.CameIn.Cells != 3 || got.Left.Cells != 0 || got.Restated.Cells != 0 || got.After.Cells != 3 {
		t.Errorf("%+v, %+v", got, l.Differences)
	}
}

func TestLedgerAgainstTheStockView(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(list []Counted) []Counted
		want  string
	}{
		{"as counted", func(l []Counted) []Counted { return l }, ""},
		{"a line twice by class", func(l []Counted) []Counted {
			for i := range l {
				if l[i].Cells == 2 {
					half := l[i]
					half.Cells, half.MicroWh, half.MilliGram = 1, half.MicroWh/2, half.MilliGram/2
					l[i] = half
					return append(l, half)
				}
			}
			return l
		}, ""},
		{"a line is missing", func(l []Counted) []Counted { return l[1:] }, "off by "},
		{"a milligram", func(l []Counted) []Counted { l[0].MilliGram--; return l }, "off by 0 cells, 0 Wh, 0 kg"},
		{"a microwatt-hour", func(l []Counted) []Counted { l[0].MicroWh++; return l }, "off by 0 cells"},
		{"one more", func(l []Counted) []Counted { l[0].Cells++; return l }, "off by -1 cells"},
		{"one that no entry has", func(l []Counted) []Counted { return append(l, Counted{Place: "Attic", Cells: 1}) }, "off by -1 cells"},
		{"none at all", func([]Counted) []Counted { return []Counted{} }, "off by "},
	} {
		b := cleanShop(t)
		b.s.Counted = c.spoil(b.counted())
		_, r := b.found()
		var texts []string
		for i := range r.Findings {
			f := &r.Findings[i]
			if f.Check.ID != "review-ledger" || !f.Open() || len(f.Entries) == 0 && f.Subject != "Attic" {
				t.Errorf("%s: %+v", c.name, f)
			}
			texts = append(texts, f.Text)
		}
		if (c.want == "") != (len(texts) == 0) || !strings.Contains(strings.Join(texts, "\n"), c.want) {
			t.Errorf("%s: found %q, want %q", c.name, texts, c.want)
		}
	}
	// In the past there is no stock view: said, and not taken for in order.
	b := cleanShop(t)
	_, r := b.found()
	for _, x := range r.Clean {
		if x.Check.ID == "review-ledger" && (x.Checked != 3 || !strings.Contains(x.Untold, "not compared")) {
			t.Errorf("clean: %+v", x)
		}
	}
}

// A lot of forty is worked off: cells first recorded about then stand for those gone.
func TestLotCountedSmaller(t *testing.T) {
	for _, c := range []struct {
		name     string
		recorded []float64 // hours before now, single cells
		is       int64
		counted  float64 // hours before now
		want     bool
	}{
		{"as many recorded", []float64{53, 52, 51}, 37, 50, false},
		{"a day before the first count, a day after the second", []float64{123.5, 26.5, 50}, 37, 50, false},
		{"one is missing", []float64{53, 52}, 37, 50, true},
		{"one was too early", []float64{124.5, 52, 51}, 37, 50, true},
		{"one was too late", []float64{25.5, 52, 51}, 37, 50, true},
		{"none, of all", nil, 0, 50, true},
		{"it grew", nil, 41, 50, false},
		{"a day is not over", nil, 37, 23, false},
	} {
		b := cleanShop(t)
		lot := State{Is: Here, Handling: triage.Hold, Condition: triage.Undetermined, Count: 40, MilliGram: 900_000, Place: "Shelf", Looked: ago(1), Start: triage.DateOf(noon) - 4}
		cells := []Cell{{Tag: boxTag(3)}}
		b.ledgerStep(&cells[0], ago(100), "container", lot)
		anew := lot
		anew.Count = c.is
		if c.is == 0 {
			anew = State{} // as the log's reader says that none is left
		}
		b.ledgerStep(&cells[0], ago(c.counted), "container", anew)
		b.s.Cells = append(b.s.Cells, cells...)
		for i, h := range c.recorded {
			b.cell(cellTag(int64(10+i)), ago(h), retired, boxTag(2))
		}
		keys, r := b.found()
		got := false
		for i, k := range keys {
			if k == "review-ledger "+boxTag(3) {
				f := &r.Findings[i]
				if got = true; !f.Open() || len(f.Entries) != 2 || !strings.Contains(f.Text, fmt.Sprintf("%d not accounted for", 40-c.is-int64(len(c.recorded))+outOfTime(c.name))) {
					t.Errorf("%s: %+v", c.name, f)
				}
			}
		}
		if got != c.want || len(r.Ledger.Differences) != 0 {
			t.Errorf("%s: found %q, %+v", c.name, keys, r.Ledger.Differences)
		}
	}
}

// outOfTime counts the cells of a case that are out of their time.
func outOfTime(name string) int64 { return int64(strings.Count(name, "too")) }

// Two lots share no cell: each wants its own.
func TestLotsShareNoCell(t *testing.T) {
	b := cleanShop(t)
	for i := range int64(2) {
		lot := State{Is: Here, Handling: triage.Hold, Condition: triage.Undetermined, Count: 10, Place: "Shelf"}
		c := Cell{Tag: boxTag(3 + i)}
		b.ledgerStep(&c, ago(100), "container", lot)
		lot.Count = 8
		b.ledgerStep(&c, ago(60), "container", lot)
		b.s.Cells = append(b.s.Cells, c)
	}
	for i := range int64(3) {
		b.cell(cellTag(10+i), ago(70), retired, boxTag(2))
	}
	l := NewLedger(&b.s)
	if l.Recounts[0].Missing()+l.Recounts[1].Missing() != 1 {
		t.Errorf("%+v", l.Recounts)
	}
}

func TestOneCellUnderTwoTags(t *testing.T) {
	b := cleanShop(t)
	b.s.Cells[1].Aliases = []string{cellTag(3)}
	b.wants("review-ledger " + cellTag(2))
	b.s.Cells[2].Steps[2].Now = State{Is: Alias, In: cellTag(2)}
	b.wants()
}

func TestCellInNoContainer(t *testing.T) {
	// In one that no entry recorded.
	b := cleanShop(t)
	b.s.Containers = b.s.Containers[:1]
	r := b.wants("review-ledger " + boxTag(2))
	if f := &r.Findings[0]; !f.Open() || len(f.Entries) != 2 || !strings.Contains(f.Text, "no entry had recorded") {
		t.Errorf("%+v", f)
	}

	// The bin left and its cells did not, by the log; then they did.
	b = cleanShop(t)
	bin := &b.s.Containers[1]
	bin.Steps = append(bin.Steps, ContainerStep{Source: b.source(ago(0.5), "MK"), Kind: "move", Is: Out, What: "steel tin", Lid: "vented"})
	r = b.wants("review-ledger " + boxTag(2))
	if f := &r.Findings[0]; !f.Open() || f.Since != ago(0.5) || len(f.Entries) != 3 {
		t.Errorf("%+v", f)
	}
	gone := b.s.Cells[1].Steps[2].Now
	gone.Is = Out
	b.ledgerStep(&b.s.Cells[1], ago(0.2), "move", gone)
	b.ledgerStep(&b.s.Cells[2], ago(0.2), "move", gone)
	r = b.wants("review-ledger " + boxTag(2))
	if f := &r.Findings[0]; f.Open() {
		t.Errorf("%+v", f)
	}

	// All in one entry: nothing to find.
	b = cleanShop(t)
	src := b.source(ago(0.5), "MK")
	b.s.Containers[1].Steps = append(b.s.Containers[1].Steps, ContainerStep{Source: src, Kind: "move", Is: Out})
	for i := 1; i < 3; i++ {
		b.s.Cells[i].Steps = append(b.s.Cells[i].Steps, Step{Source: src, Kind: "move", Now: gone})
	}
	b.wants()
}
