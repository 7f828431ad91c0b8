package review

import (
	"slices"
	"strings"
	"testing"

	"pouchward/triage"
)

// keptFor makes all states of a cell count from a day.
func keptFor(c *Cell, start triage.Date, by string) {
	for i := range c.Steps {
		c.Steps[i].Now.Start, c.Steps[i].Now.StartBy = start, by
	}
}

// Steps at 9, 11 and 12 months (40 CFR 273.15(a); common practice before), on
// 2026-11-25.
func TestKept(t *testing.T) {
	const year, eleven, nine = "review-kept-a-year", "review-kept-eleven-months", "review-kept-nine-months"
	for _, c := range []struct{ start, want string }{
		{"2026-02-26", ""}, {"2026-02-25", nine}, {"2025-12-26", nine}, {"2025-12-25", eleven}, {"2025-11-26", eleven}, {"2025-11-25", year}, {"2024-01-01", year},
	} {
		b := cleanShop(t)
		keptFor(&b.s.Cells[1], day(t, c.start), "pulled_on")
		var want []string
		if c.want != "" {
			want = []string{c.want + " " + boxTag(2)}
		}
		r := b.wants(want...)
		if c.want == "" {
			continue
		}
		// Both cells of the bin are one container, which is told by the oldest.
		f := &r.Findings[0]
		if !f.Open() || !slices.Equal(f.Tags, []string{boxTag(2), cellTag(2)}) || !strings.Contains(f.Text, "1 of 2 cells, the oldest "+triage.SpacedTag(cellTag(2))+" since "+c.start+" (the day it was pulled)") {
			t.Errorf("%s: %+v", c.start, f)
		}
		if _, n := b.untold("review-start-unknown"); n != 3 {
			t.Errorf("%d clocks", n)
		}
	}
}

func TestKeptByWhatIsSaid(t *testing.T) {
	// A start that is not known has reached every step; what is kept for reuse has none.
	b := cleanShop(t)
	keptFor(&b.s.Cells[0], 0, "")
	b.wants("review-kept-a-year "+boxTag(1), "review-start-unknown "+nowhereSaidIn(b, boxTag(1)))
	for i := range b.s.Cells[0].Steps {
		b.s.Cells[0].Steps[i].Now.Waste = triage.NotWaste
	}
	b.wants()
	keptFor(&b.s.Cells[0], day(t, "2025-01-01"), "stated") // a day that stands there counts
	b.wants("review-kept-a-year " + boxTag(1))

	// Of no container: by place. A lot has one clock.
	b = cleanShop(t)
	x := &b.s.Cells[0]
	keptFor(x, day(t, "2025-01-01"), "waste_on")
	for i := range x.Steps {
		x.Steps[i].Now.In, x.Steps[i].Now.Place = "", "Yard"
	}
	b.wants("review-kept-a-year Yard")
	b = cleanShop(t)
	lot := State{Is: Here, Handling: triage.Hold, Condition: triage.Undetermined, Waste: triage.WasteUnknown, Count: 60, Start: day(t, "2025-12-01"), StartBy: "stated", Since: ago(1), Looked: ago(1), Place: "Yard"}
	b.box(boxTag(3), ago(1))
	b.s.Cells = append(b.s.Cells, Cell{Tag: boxTag(3), Steps: []Step{{Source: b.source(ago(1), "MK"), Kind: "container", Now: lot}}})
	if f := &b.wants("review-kept-eleven-months " + boxTag(3)).Findings[0]; !strings.Contains(f.Text, "60 of 60 cells") {
		t.Errorf("found %+v", f)
	}
}

// nowhereSaidIn is the place of a container.
func nowhereSaidIn(b *builder, box string) string {
	for i := range b.s.Containers {
		if c := &b.s.Containers[i]; c.Tag == box {
			return c.Steps[len(c.Steps)-1].Place
		}
	}
	return nowhereSaid
}

func TestLeftLate(t *testing.T) {
	out := func(s *Step) { s.Move = &Move{Out: "handed-over"}; s.Now.Is, s.Now.In = Out, "" }
	for _, c := range []struct {
		start string
		want  []string
	}{
		{"2025-11-25", nil}, // on the very day
		{"2025-11-24", []string{"review-kept-a-year left on 2026-11-25"}},
	} {
		b := cleanShop(t)
		for i := 1; i < 3; i++ {
			keptFor(&b.s.Cells[i], day(t, c.start), "pulled_on")
			b.step(&b.s.Cells[i], 0.5, "move", out)
		}
		r := b.wants(c.want...)
		if c.want != nil {
			if f := &r.Findings[0]; f.Open() || f.Presses() || len(f.Tags) != 2 || !strings.Contains(f.Text, "2 cells left on 2026-11-25 past the last step") {
				t.Errorf("found %+v", f)
			}
		}
	}
	// In a shipment: under its tag.
	b := cleanShop(t)
	_, x := sent(b)
	keptFor(x, day(t, "2025-10-01"), "pulled_on")
	if n, f := b.ofCheck("review-kept-a-year"); n != 1 || f.Subject != b.s.Shipments[0].Tag || f.Open() {
		t.Errorf("%d findings %+v", n, f)
	}
}

func TestStartUnknown(t *testing.T) {
	b := cleanShop(t)
	keptFor(&b.s.Cells[1], triage.DateOf(noon)-20, "recorded")
	keptFor(&b.s.Cells[2], triage.DateOf(noon)-10, "recorded")
	f := &b.wants("review-start-unknown Yard").Findings[0]
	if !f.Open() || len(f.Entries) != 2 || !strings.Contains(f.Text, "2 of 3 accumulation clocks") {
		t.Errorf("found %+v", f)
	}
}

func TestStartLater(t *testing.T) {
	b := cleanShop(t)
	today := triage.DateOf(noon)
	box := &b.s.Containers[1]
	box.Steps[0].Stated = today // as its cells
	b.wants()
	if _, n := b.untold("review-start-later"); n != 1 {
		t.Errorf("%d checked", n)
	}
	keptFor(&b.s.Cells[1], today-1, "pulled_on")
	f := &b.wants("review-start-later " + boxTag(2)).Findings[0]
	if !f.Open() || len(f.Entries) != 2 || len(f.Tags) != 2 {
		t.Errorf("found %+v", f)
	}
	// A new label: past.
	label := box.Steps[0]
	label.Source, label.Stated = b.source(ago(0.2), "ML"), today-1
	box.Steps = append(box.Steps, label)
	if f := &b.wants("review-start-later " + boxTag(2)).Findings[0]; f.Open() || !f.Until.Equal(ago(0.2)) {
		t.Errorf("found %+v", f)
	}
	// A start that is not known is later than nothing.
	b = cleanShop(t)
	b.s.Containers[1].Steps[0].Stated = today
	keptFor(&b.s.Cells[1], 0, "")
	if untold, _ := b.untold("review-start-later"); untold != "1 cell in them whose start is not known" {
		t.Errorf("untold %q", untold)
	}
}
