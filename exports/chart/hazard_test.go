package chart

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/color"
	"image/png"
	"io"
	"strings"
	"testing"

	"pouchward/exports/exportstest"
	"pouchward/triage"
	"pouchward/triage/hazard"
)

func screenOf(t *testing.T, m3, changes float64, cells ...float64) *hazard.Screen {
	t.Helper()
	rb := exportstest.Rules(t, "2026-11-25")
	f, err := hazard.FiguresOf(rb)
	if err != nil {
		t.Fatal(err)
	}
	g := hazard.Group{}
	for _, wh := range cells {
		g.Add(f, hazard.Cells{Count: 1, Wh: triage.Micro(wh * 1e6)})
	}
	s := &hazard.Screen{On: rb.On, Figures: f, Stand: &hazard.Stand{Groups: []hazard.Group{g}}}
	s.Gas, s.Under = f.Limit("hf-niosh-idlh")
	if m3 > 0 {
		s.Room = &hazard.Room{M3: m3, AirChanges: changes}
	}
	return s
}

func drawn(t *testing.T, s *hazard.Screen, format string) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Hazard(&b, s, format); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// words are the texts of an SVG, which is well-formed.
func words(t *testing.T, svg []byte) string {
	t.Helper()
	var b strings.Builder
	for dec := xml.NewDecoder(bytes.NewReader(svg)); ; {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			return strings.Join(strings.Fields(b.String()), " ")
		}
		if err != nil {
			t.Fatal(err)
		}
		if text, ok := tok.(xml.CharData); ok {
			b.Write(text)
			b.WriteByte(' ')
		}
	}
}

func TestHazardPictureSays(t *testing.T) {
	for _, c := range []struct {
		s    *hazard.Screen
		want []string
	}{
		{screenOf(t, 50, 2, 360, 360), []string{"At worst 117 times the immediately dangerous level, over it for 143 min", "worst 2880", "middle 720", "low 288",
			"143 min", "minutes after the gas is let off", "2 air changes an hour, as stated"}},
		{screenOf(t, 50, 0, 15.4), []string{"At worst 2.51 times the immediately dangerous level", "worst 61.6", "middle 15.4", "low 6.16", "the cell", "No air change stated"}},
		{screenOf(t, 50, 0, 12, 12), []string{"the largest cell", "the largest container", "2 cells, 24 Wh"}},
		{screenOf(t, 10_000, 6, 1), []string{"At worst 1 % of the immediately dangerous level"}},
		{screenOf(t, 1, 0.01, 90_000, 90_000), []string{"times the immediately dangerous level"}},
	} {
		got := words(t, drawn(t, c.s, "svg"))
		for _, want := range append(c.want, hazard.Caution, "NIOSH IDLH: 30 ppm", "immediately dangerous, 24.5 mg/m3", "Scientific Reports 7:10018") {
			if !strings.Contains(got, want) {
				t.Errorf("no %q in %q", want, got)
			}
		}
	}
}

// The same input gives the same bytes, in both formats.
func TestHazardPictureRepeats(t *testing.T) {
	for _, format := range []string{"svg", "png"} {
		for _, changes := range []float64{0, 2} {
			s := screenOf(t, 50, changes, 12, 12)
			if !bytes.Equal(drawn(t, s, format), drawn(t, s, format)) {
				t.Errorf("two pictures in %s differ", format)
			}
		}
	}
}

// In grey the band is neither the paper nor the lines on it.
func TestHazardPictureInGrey(t *testing.T) {
	img, err := png.Decode(bytes.NewReader(drawn(t, screenOf(t, 50, 2, 720), "png")))
	if err != nil {
		t.Fatal(err)
	}
	if b := img.Bounds(); b.Dx() != 1520 || b.Dy() != 1040 {
		t.Errorf("the picture is %v", b)
	}
	seen := map[uint8]int{}
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			seen[color.GrayModel.Convert(img.At(x, y)).(color.Gray).Y]++
		}
	}
	band := color.GrayModel.Convert(tint).(color.Gray).Y
	line := color.GrayModel.Convert(blood).(color.Gray).Y
	if seen[band] < 20_000 || seen[line] < 1000 || seen[255] < 500_000 || seen[0] < 2000 {
		t.Errorf("band %d, line %d, paper %d, ink %d points", seen[band], seen[line], seen[255], seen[0])
	}
	if band < 180 || band > 235 || line > 80 {
		t.Errorf("band %d and line %d are not apart in grey", band, line)
	}
}

func TestHazardPictureRefused(t *testing.T) {
	for _, c := range []struct {
		s      *hazard.Screen
		format string
		want   string
	}{
		{screenOf(t, 0, 0, 12), "svg", "--room-m3"}, {screenOf(t, 50, 0), "svg", "no cell on record"},
		{screenOf(t, 50, 0, 0), "png", "size of no cell is known"}, {screenOf(t, 50, 0, 12), "gif", "use svg or png"},
	} {
		var b bytes.Buffer
		if err := Hazard(&b, c.s, c.format); err == nil || !strings.Contains(err.Error(), c.want) || b.Len() > 0 {
			t.Errorf("got %v and %d bytes, want %q", err, b.Len(), c.want)
		}
	}
}
