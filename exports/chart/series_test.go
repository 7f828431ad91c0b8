package chart

import (
	"bytes"
	"image/color"
	"image/png"
	"strings"
	"testing"
	"time"

	"pouchward/exports/exportstest"
	"pouchward/triage"
	"pouchward/triage/review"
)

// A shop of two days, a week and a year before 2026-11-25, noon. Invented.
func shopOf(t *testing.T) *review.Snapshot {
	t.Helper()
	rb := exportstest.Rules(t, "2026-11-25")
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.FixedZone("", -6*3600))
	return &review.Snapshot{Site: "Invented shop", Country: "US", Now: now, From: triage.DateOf(now) - 365, To: triage.DateOf(now), Rules: rb}
}

// put adds a cell that came in so many days ago.
func put(s *review.Snapshot, n int64, days int, h triage.Handling, readings ...[2]triage.Micro) {
	at := s.Now.AddDate(0, 0, -days)
	c := review.Cell{Tag: triage.IssueTag(triage.CellTag, n)}
	st := review.State{Is: review.Here, Handling: h, Waste: triage.CasingIntact, MicroWh: 15_400_000, MilliGram: 60_000, Start: triage.DateOf(at), StartBy: "pulled_on", Place: "Yard"}
	if len(readings) == 0 {
		readings = [][2]triage.Micro{{3_800_000, 4_400_000}}
	}
	for i, r := range readings {
		var given []review.Given
		for j, f := range []triage.FieldID{triage.OcvV, triage.ThicknessMm} {
			if r[j] > 0 {
				given = append(given, review.Given{Field: f, Value: triage.Value{State: triage.Known, Num: r[j], Hi: r[j]}})
			}
		}
		c.Steps = append(c.Steps, review.Step{Source: review.Source{Entry: n*100 + int64(i), Happened: at.AddDate(0, 0, i), Entered: at}, Kind: "assessment", Now: st, Look: &review.Look{Given: given}})
	}
	s.Cells = append(s.Cells, c)
}

// pictures draws each kind.
func pictures(s *review.Snapshot) map[string]func(*bytes.Buffer, string) error {
	cell := &review.Cell{Tag: triage.IssueTag(triage.CellTag, 9)}
	if len(s.Cells) > 0 {
		cell = &s.Cells[0]
	}
	all := map[string]func(*bytes.Buffer, string) error{
		"age":  func(b *bytes.Buffer, format string) error { return Age(b, s, review.AgesOf(s), format) },
		"cell": func(b *bytes.Buffer, format string) error { return Cell(b, s, cell, review.TrendsOf(cell), format) },
	}
	for _, of := range Measures {
		all[of] = func(b *bytes.Buffer, format string) error { return Stock(b, s, review.StockSeries(s), of, format) }
	}
	return all
}

func said(t *testing.T, s *review.Snapshot, name string) string {
	t.Helper()
	var b bytes.Buffer
	if err := pictures(s)[name](&b, "svg"); err != nil {
		t.Fatal(err)
	}
	return words(t, b.Bytes())
}

func TestSeriesPicturesSay(t *testing.T) {
	full := shopOf(t)
	put(full, 1, 366, triage.Isolate, [2]triage.Micro{3_801_000, 4_410_000}, [2]triage.Micro{3_793_000, 4_460_000}, [2]triage.Micro{3_785_000, 4_520_000}, [2]triage.Micro{3_777_000, 4_570_000})
	put(full, 2, 300, triage.Retire)
	put(full, 3, 5, triage.Retire)
	tag := triage.SpacedTag(full.Cells[0].Tag)
	one := shopOf(t)
	put(one, 1, 1, triage.Hold, [2]triage.Micro{3_800_000, 0})
	unknown := shopOf(t)
	put(unknown, 1, 1, triage.Hold)
	unknown.Cells[0].Steps[0].Now.Start = 0
	hostile := shopOf(t)
	hostile.Site = "<b>&\x1b[2J\u202e"
	put(hostile, 1, 1, triage.Hold)
	for _, c := range []struct {
		s    *review.Snapshot
		name string
		want []string
	}{
		{full, "cells", []string{"3 cells in hand on 2026-11-25: 1 ISOLATE, 2 RETIRE", "Cells in hand at the end of each day", "EMERGENCY none", "ISOLATE 1 cell, 15.4 Wh 0.060 kg", "Invented shop", "2026-02"}},
		{full, "wh", []string{"Watt-hours of cells whose rating is known", "Wh", "Most was in hand on 2026-11-20: 3 cells, 46.2 Wh"}},
		{full, "kg", []string{"Kilograms of cells that were weighed"}},
		{full, "age", []string{"1 cell past 12 months on 2026-11-25", "the limit for universal waste (from day 365): 1 cell", "(from day 273): 2 cells", tag, "40 CFR 273.15(a)", "Local law may be stricter"}},
		{full, "cell", []string{tag + ", ISOLATE: voltage falling, thickness growing", "-8.00 mV a day with a standard error of", "4 readings, meter shows 1 mV", "meter shows 0.01 mm", "over the practice limit", "A line says nothing of what to do"}},
		{one, "cell", []string{"voltage not told, thickness not told", "1 reading; a line with its error needs 3", "No thickness is on record."}},
		{unknown, "age", []string{"1 cell of unknown age on 2026-11-25, to be taken as past 12 months", "No clock runs", "Of the start nothing is known: 1 cell"}},
		{hostile, "cells", []string{"<b>&\ufffd[2J\ufffd"}},
		{shopOf(t), "cells", []string{"Nothing in hand on 2026-11-25", "Nothing was in hand in this time, as far as the log knows."}},
		{shopOf(t), "age", []string{"No accumulation clock runs", "nothing in hand has a known start"}},
		{shopOf(t), "cell", []string{"not in the shop: voltage not told", "No voltage is on record.", "No thickness is on record."}},
	} {
		got := said(t, c.s, c.name)
		for _, want := range c.want {
			if !strings.Contains(got, want) {
				t.Errorf("%s: no %q in %q", c.name, want, got)
			}
		}
	}
}

// The same input gives the same bytes, and every picture fits its page in both formats.
func TestSeriesPicturesRepeat(t *testing.T) {
	s := shopOf(t)
	for i := range int64(40) {
		put(s, i, int(i*i)/4, triage.Handling(i%5))
	}
	for name, draw := range pictures(s) {
		for _, format := range []string{"svg", "png"} {
			var a, b bytes.Buffer
			if err := draw(&a, format); err != nil {
				t.Fatal(err)
			}
			if err := draw(&b, format); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) || a.Len() < 5000 {
				t.Errorf("%s as %s: %d bytes, %v", name, format, a.Len(), err)
			}
		}
		if err := draw(new(bytes.Buffer), "gif"); err == nil {
			t.Errorf("%s was drawn as gif", name)
		}
	}
	if err := Stock(new(bytes.Buffer), s, nil, "volts", "svg"); err == nil || !strings.Contains(err.Error(), "cells, wh or kg") {
		t.Errorf("a stock of volts: %v", err)
	}
}

// In grey, each class is told from the next by its tone or by its lines.
func TestClassesInGrey(t *testing.T) {
	for h := 1; h < review.Classes; h++ {
		a, b := classFillings[h-1], classFillings[h]
		grey := func(f filling) int { return int(color.GrayModel.Convert(f.tone).(color.Gray).Y) }
		if lines := a.apart != b.apart || a.slope != b.slope; !lines && grey(a)-grey(b) < 60 {
			t.Errorf("classes %d and %d look alike", h-1, h)
		}
		if grey(b) > grey(a) {
			t.Errorf("class %d is lighter than the milder one", h)
		}
	}
	// The worst stands on the floor, as high as it counts: 2 of 10 cells.
	s := shopOf(t)
	for i := range int64(10) {
		put(s, i, 400, map[bool]triage.Handling{true: triage.Emergency, false: triage.Sound}[i < 2])
	}
	var b bytes.Buffer
	if err := Stock(&b, s, review.StockSeries(s), "cells", "png"); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	dark := 0
	for y := range img.Bounds().Dy() {
		if img.At(600, y) == color.Color(color.RGBA{140, 20, 20, 255}) {
			dark++
		}
	}
	// 416-88 points for 10.8 cells, two pixels a point (computed).
	if want := 2 * (416 - 88) * 2 / 10.8; float64(dark) < want-4 || float64(dark) > want+4 {
		t.Errorf("the worst class is %d pixels high, want about %.0f", dark, want)
	}
}

func TestRoundSteps(t *testing.T) {
	for _, c := range []struct {
		span     float64
		most     int
		step     float64
		decimals int
	}{{140, 8, 20, 0}, {1, 8, 0.2, 1}, {0.04, 5, 0.01, 2}, {5000, 8, 1000, 0}, {7, 8, 1, 0}} {
		if step, d := round(c.span, c.most); step < c.step*0.999 || step > c.step*1.001 || d != c.decimals {
			t.Errorf("%g in %d: %g with %d, want %g", c.span, c.most, step, d, c.step)
		}
	}
}
