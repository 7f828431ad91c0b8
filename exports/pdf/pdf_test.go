package pdf

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"pouchward/triage"
)

// odd is text that a shop may well have: long, German, Greek, with accents written
// apart, with what steers a terminal, and with what the face does not have.
const odd = "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft Εργαστήριο επισκευής Ω ° ≤ – µ a\u0308 \x1b[2J 電池 end"

func day(t *testing.T) triage.Date {
	t.Helper()
	d, err := triage.ParseDate("2026-11-25")
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// within reports the first words that leave their page.
func within(d *Doc) error {
	for i, p := range d.Pages {
		if p.foot {
			p = d.withFoot(p, i+1)
		}
		for _, w := range p.Words {
			if right := w.X + Width(w.Text, w.Style); w.X < 0 || right > p.W || w.Y > p.H || w.Y-Capital(w.Style) < 0 {
				return fmt.Errorf("page %d: %q from %.1f to %.1f at %.1f of %.0f x %.0f mm", i+1, w.Text, w.X, right, w.Y, p.W, p.H)
			}
		}
	}
	return nil
}

func sample(on triage.Date) *Doc {
	d := &Doc{Title: "Probe", On: on, Foot: strings.Repeat("A foot of "+odd+" ", 4)}
	f := d.Flow(Papers[0])
	t := &Table{Columns: []Column{{"Tag", 20, false}, {"What", 0, false}, {"Wh", 18, true}}, Style: Style{Points: 9}}
	for i := range 60 {
		t.Rows = append(t.Rows, []string{"F2 XE9R", strings.Repeat(odd+" ", 1+i%4), fmt.Sprint(i)})
	}
	f.Para(odd, Style{Points: 11})
	f.Indented(30, odd, odd, Style{Points: 9})
	f.Table(t)
	return d
}

func TestNothingLeavesThePage(t *testing.T) {
	d := sample(day(t))
	if len(d.Pages) < 3 {
		t.Fatalf("%d pages: the table does not go over several", len(d.Pages))
	}
	if err := within(d); err != nil {
		t.Error(err)
	}
	for i, p := range d.Pages {
		last := d.withFoot(p, i+1).Words
		want := fmt.Sprintf("page %d of %d", i+1, len(d.Pages))
		found := false
		for _, w := range last {
			found = found || w.Text == want
		}
		if !found {
			t.Errorf("page %d does not say %q", i+1, want)
		}
		// Body and foot do not meet.
		for _, w := range p.Words {
			if foot := p.H - margin - d.footHeight(p.W) + 2; w.Y > foot {
				t.Errorf("page %d: %q at %.1f reaches into the foot at %.1f", i+1, w.Text, w.Y, foot)
			}
		}
	}
}

func TestTableKeepsEveryWord(t *testing.T) {
	d := &Doc{}
	f := d.Flow(Papers[0])
	cell := strings.Repeat("word ", 3000) // higher than a page
	f.Table(&Table{Columns: []Column{{"A", 60, false}}, Rows: [][]string{{cell}}, Style: Style{Points: 10}})
	n := 0
	for _, p := range d.Pages {
		for _, w := range p.Words {
			n += strings.Count(w.Text, "word")
		}
	}
	if n != 3000 {
		t.Errorf("%d of 3000 words are drawn", n)
	}
	if err := within(d); err != nil {
		t.Error(err)
	}
}

func TestWrapAndFit(t *testing.T) {
	s := Style{Points: 12}
	for _, width := range []float64{3, 10, 40, 200} {
		lines := Wrap(odd, width, s)
		for _, l := range lines {
			if Width(l, s) > width && len([]rune(l)) > 1 {
				t.Errorf("in %.0f mm stands %q, %.1f mm wide", width, l, Width(l, s))
			}
		}
		got, want := strings.Join(lines, ""), strings.ReplaceAll(Printable(odd), " ", "")
		if strings.ReplaceAll(got, " ", "") != want {
			t.Errorf("in %.0f mm: %q, want all of %q", width, got, want)
		}
	}
	small, lines, ok := Fit("ISOLATE NOW", 40, 8, Style{Points: 40, Bold: true}, 6)
	if !ok || len(lines) != 1 || small.Points >= 40 || small.Points < 6 {
		t.Errorf("Fit gives %v %q %v", small, lines, ok)
	}
	if _, _, ok := Fit(strings.Repeat("much ", 200), 40, 8, Style{Points: 40}, 6); ok {
		t.Error("Fit says that 200 words fit into 40 x 8 mm at 6 points")
	}
	if got := Wrap("  ", 50, s); len(got) != 0 {
		t.Errorf("no text gives lines %q", got)
	}
}

// Drawn by the face: German, Greek, signs of units; not by it: an empty box.
func TestPrintable(t *testing.T) {
	for in, want := range map[string]string{
		"äöüÄÖÜß Ω°≤≥–—µμ²³…€":      "äöüÄÖÜß Ω°≤≥–—µμ²³…€",
		"Εργαστήριο ΑΒΓΔΘΛΞΠΣΦΨ ώϊ": "Εργαστήριο ΑΒΓΔΘΛΞΠΣΦΨ ώϊ",
		"a\u0308":         "ä",
		"電池":              "□□",
		"a\x1b[2Jb\u202e": "a□[2Jb□",
		"😀\xff":           "□□",
	} {
		if got := Printable(in); got != want {
			t.Errorf("Printable(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestLetterHeights(t *testing.T) {
	for _, bold := range []bool{false, true} {
		s := Style{Points: PointsOf(12, bold), Bold: bold}
		if got := Capital(s); got < 11.999 || got > 12.001 {
			t.Errorf("a capital of 12 mm is %.3f mm high", got)
		}
		caps, small := PointsLeast("OVERPACK", 12, bold), PointsLeast("battery", 12, bold)
		if small < caps*1.25 {
			t.Errorf("%.1f points for small letters of 12 mm, %.1f for capitals", small, caps)
		}
		if dash := PointsLeast("A—B", 12, bold); dash != PointsLeast("AB", 12, bold) {
			t.Errorf("a dash counts as a letter: %.1f points", dash)
		}
	}
}

func TestSameBytes(t *testing.T) {
	var a, b, c bytes.Buffer
	for _, x := range []struct {
		to *bytes.Buffer
		on triage.Date
	}{{&a, day(t)}, {&b, day(t)}, {&c, day(t) + 1}} {
		if err := sample(x.on).Write(x.to); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("the same document gives other bytes")
	}
	if bytes.Equal(a.Bytes(), c.Bytes()) {
		t.Error("another day gives the same bytes")
	}
	if !bytes.Contains(a.Bytes(), []byte("D:20261125000000")) {
		t.Error("the file is not dated with the day that it is for")
	}
}
