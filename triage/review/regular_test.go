package review

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

const regular = "review-too-regular"

// run adds cells with a reading each; %d in the text is the number of the cell.
func (b *builder) run(n int, bench, text string) {
	b.t.Helper()
	for i := range n {
		no := int64(len(b.s.Cells) + 1)
		c := b.cell(cellTag(no), ago(2.3-float64(no)*0.001), retired, boxTag(2))
		c.Steps[0].Bench = bench
		if strings.Contains(text, "%") {
			give(b.t, c.Steps[0].Look, fmt.Sprintf(text, i%10))
		} else {
			give(b.t, c.Steps[0].Look, text)
		}
	}
}

func TestTooRegular(t *testing.T) {
	for _, c := range []struct {
		name  string
		make  func(*builder)
		found []string
	}{
		{"six voltages", func(b *builder) { b.run(6, "Bench 2", "ocv_v=3.83") }, []string{"Bench 2"}},
		{"five voltages", func(b *builder) { b.run(5, "Bench 2", "ocv_v=3.83") }, nil},
		{"six with another between", func(b *builder) {
			b.run(3, "Bench 2", "ocv_v=3.83")
			b.run(1, "Bench 2", "ocv_v=3.84")
			b.run(3, "Bench 2", "ocv_v=3.83")
		}, nil},
		{"three each at two benches", func(b *builder) {
			b.run(3, "Bench 2", "ocv_v=3.83")
			b.run(3, "Bench 3", "ocv_v=3.83")
		}, nil},
		{"always 3.70 with a meter of hundredths", func(b *builder) {
			b.run(30, "Bench 1", "ocv_v=3.8%d")
			b.run(12, "Bench 2", "ocv_v=3.6%d")
			b.run(6, "Bench 2", "ocv_v=3.70")
		}, []string{"Bench 2"}},
		{"3.8 with a meter of tenths", func(b *builder) {
			b.run(30, "Bench 1", "ocv_v=3.8%d")
			for range 4 {
				b.run(6, "Bench 2", "ocv_v=3.8")
				b.run(1, "Bench 2", "ocv_v=3.7")
			}
		}, nil},
		{"3.7 forty times with a meter of tenths", func(b *builder) { b.run(40, "Bench 2", "ocv_v=3.7") }, []string{"Bench 2"}},
		{"the nominal voltage of each", func(b *builder) {
			b.run(40, "Bench 1", "ocv_v=3.7%d nominal_v=3.85")
			b.run(8, "Bench 2", "ocv_v=3.8%[1]d nominal_v=3.8%[1]d")
		}, []string{"Bench 2"}},
		{"the thickness when new", func(b *builder) {
			b.run(40, "Bench 1", "thickness_mm=4.0%d nominal_thickness_mm=4.05")
			b.run(8, "Bench 2", "thickness_mm=4.1%[1]d nominal_thickness_mm=4.1%[1]d")
		}, []string{"Bench 2"}},
		{"the room temperature", func(b *builder) {
			b.run(40, "Bench 1", "cell_c=21.%d ambient_c=21.5")
			b.run(8, "Bench 2", "cell_c=21.%[1]d ambient_c=21.%[1]d")
		}, []string{"Bench 2"}},
		{"a thermometer of whole degrees", func(b *builder) {
			b.run(40, "Bench 1", "cell_c=21.%d ambient_c=21.5")
			for range 4 {
				b.run(8, "Bench 2", "cell_c=21 ambient_c=21")
				b.run(1, "Bench 2", "cell_c=22 ambient_c=21")
			}
		}, nil},
		{"no readings", func(b *builder) { b.run(20, "Bench 2", "ocv_v= cell_c=ni") }, nil},
	} {
		b := cleanShop(t)
		c.make(b)
		// The runs of voltages that b.cell gives are not the case.
		list, _ := b.of(regular, c.found...)
		for _, f := range list {
			if !f.Open() || !f.Presses() || len(f.Tags) < 6 || len(f.Tags) != len(f.Entries) {
				t.Errorf("%s: found %+v", c.name, f)
			}
		}
	}
}

func TestOneRunIsOneFinding(t *testing.T) {
	b := cleanShop(t)
	b.run(6, "Bench 2", "ocv_v=3.83")
	b.wants(regular + " Bench 2")
}

// It is over when each cell was measured again or left; assessments that were taken
// back were typed all the same; one cell measured six times is no run of six.
func TestRunsThatEnd(t *testing.T) {
	b := cleanShop(t)
	b.run(6, "", "ocv_v=3.83")
	for i := 3; i < 9; i++ {
		b.s.Cells[i].Steps[0].Void = i == 5
	}
	list, _ := b.of(regular, "MK")
	if !list[0].Open() {
		t.Errorf("found %+v", list[0])
	}
	for i := 3; i < 9; i++ {
		c := &b.s.Cells[i]
		s := b.look(1-float64(i)*0.01, "recheck", "ocv_v=3.81", retired(ago(2), boxTag(2)))
		if i == 4 {
			s = Step{Source: b.source(ago(0.5), "TO"), Kind: "move", Now: State{Is: Out}, Move: &Move{Out: "returned"}}
		}
		c.Steps = append(c.Steps, s)
		want := time.Time{}
		if i == 8 {
			want = ago(0.5)
		}
		if list, _ = b.of(regular, "MK"); list[0].Until != want {
			t.Errorf("after %d: until %v, want %v", i, list[0].Until, want)
		}
	}

	b = cleanShop(t)
	b.run(1, "Bench 2", "ocv_v=3.83")
	c := &b.s.Cells[3]
	for range 8 {
		c.Steps = append(c.Steps, b.look(1, "assessment", "ocv_v=3.83", retired(ago(2), boxTag(2))))
		c.Steps[len(c.Steps)-1].Bench = "Bench 2"
	}
	b.of(regular)
}

// Of 900 readings of other benches 90 have the value: with the prior one in ten. The
// first of a run may be any, so that six in a row are five times that.
func TestChanceOfARun(t *testing.T) {
	g := &regularities[0]
	got := chance(g, 3_830_000, 6, 100, map[triage.Micro]int64{3_830_000: 96, 3_840_000: 904}, map[triage.Micro]int64{3_830_000: 6, 3_840_000: 94}, false)
	if want := 1000 * 1e-5; got < want*0.99 || got > want*1.01 {
		t.Errorf("%g, want %g", got, want)
	}
}
