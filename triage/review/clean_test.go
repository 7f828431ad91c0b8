package review

import (
	"slices"
	"testing"
	"time"

	"pouchward/triage"
)

// The invented shop of these tests: everything in it is in order on 2026-11-25, so
// that a case breaks one thing and finds just that.
var noon = time.Date(2026, 11, 25, 12, 0, 0, 0, time.FixedZone("", -6*3600))

// ago is a moment before noon, in hours.
func ago(hours float64) time.Time { return noon.Add(-time.Duration(hours * float64(time.Hour))) }

// A builder numbers entries as it goes.
type builder struct {
	t *testing.T
	s Snapshot
	n int64
}

func (b *builder) source(at time.Time, who string) Source {
	b.n++
	return Source{Entry: b.n, Who: who, Bench: "Bench 1", Happened: at, Entered: at}
}

// isolated is a swollen cell's state; retired that of one without damage.
func isolated(at time.Time, in string) State {
	return State{Is: Here, Handling: triage.Isolate, Condition: triage.Damaged, Size: triage.Small, Waste: triage.CasingIntact, MicroWh: 15_400_000, MilliGram: 60_000,
		Start: triage.DateOf(at), StartBy: "pulled_on", Since: at, Looked: at, In: in, MadeSafe: in != ""}
}

func retired(at time.Time, in string) State {
	s := isolated(at, in)
	s.Handling, s.Condition = triage.Retire, triage.Undamaged
	return s
}

// cell adds a cell that was looked at, secured and moved within minutes.
func (b *builder) cell(tag string, at time.Time, class func(time.Time, string) State, box string) *Cell {
	look := &Look{Given: []Given{known(triage.OcvV, 3_801_000+triage.Micro(len(b.s.Cells))*7_000), known(triage.CellC, 21_400_000+triage.Micro(len(b.s.Cells))*200_000), known(triage.AmbientC, 21_000_000)}}
	first := class(at, "")
	look.Handling, look.Condition = first.Handling, first.Condition
	safe := first
	safe.MadeSafe = true
	moved := class(at, box)
	c := Cell{Tag: tag, Steps: []Step{
		{Source: b.source(at, "MK"), Kind: "assessment", Now: first, Look: look},
		{Source: b.source(at.Add(4*time.Minute), "MK"), Kind: "secured", Now: safe, Secured: &Secured{true, true, true}},
		{Source: b.source(at.Add(6*time.Minute), "MK"), Kind: "move", Now: moved, Move: &Move{To: box}},
	}}
	b.s.Cells = append(b.s.Cells, c)
	return &b.s.Cells[len(b.s.Cells)-1]
}

func known(f triage.FieldID, v triage.Micro) Given {
	return Given{f, triage.Value{State: triage.Known, Num: v, Hi: v}}
}

// box adds a closed steel tin.
func (b *builder) box(tag string, at time.Time) *Container {
	b.s.Containers = append(b.s.Containers, Container{Tag: tag, Steps: []ContainerStep{{Source: b.source(at, "MK"), Kind: "container", Is: Here, What: "steel tin", Lid: "vented",
		MilliLitr: 2500, Place: "Yard"}}})
	return &b.s.Containers[len(b.s.Containers)-1]
}

// Tags of the tests, by their number.
func cellTag(n int64) string { return triage.IssueTag(triage.CellTag, n) }
func boxTag(n int64) string  { return triage.IssueTag(triage.ContainerTag, n) }

// cleanShop returns a shop in order, of this hour: one isolated cell alone in a tin,
// two retired ones in a bin.
func cleanShop(t *testing.T) *builder {
	t.Helper()
	tables, err := triage.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	rb, err := tables.On(triage.DateOf(noon))
	if err != nil {
		t.Fatal(err)
	}
	b := &builder{t: t, s: Snapshot{Site: "Invented shop", Country: "US", Now: noon, From: triage.DateOf(noon) - 365, To: triage.DateOf(noon), Rules: rb, Verified: true,
		Recalls: &Recalls{ReadOn: triage.DateOf(noon) - 10}}}
	b.s.Entries.Began = ago(700)
	b.box(boxTag(1), ago(700))
	b.box(boxTag(2), ago(700))
	b.cell(cellTag(1), ago(0.9), isolated, boxTag(1))
	b.cell(cellTag(2), ago(3.2), retired, boxTag(2))
	b.cell(cellTag(3), ago(2.4), retired, boxTag(2))
	return b
}

// found runs the review and returns the keys of what it found.
func (b *builder) found() (keys []string, r *Report) {
	b.t.Helper()
	b.s.Entries.First, b.s.Entries.Last, b.s.Entries.Count = 1, b.n, b.n
	r = Run(&b.s, "seed")
	for i := range r.Findings {
		keys = append(keys, r.Findings[i].Key())
	}
	return keys, r
}

// wants runs the review and compares the keys of what it found.
func (b *builder) wants(want ...string) *Report {
	b.t.Helper()
	got, r := b.found()
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		b.t.Errorf("found %q, want %q", got, want)
	}
	return r
}

func TestACleanShopHasNoFinding(t *testing.T) {
	r := cleanShop(t).wants()
	if len(r.Clean) == 0 || r.Pressing() != 0 {
		t.Errorf("%d clean checks, %d pressing", len(r.Clean), r.Pressing())
	}
}
