package exports

import (
	"bytes"
	"encoding/json"
	"math"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"pouchward/triage"
	"pouchward/triage/hazard"
)

// screenOf screens one container of cells in a room; m3 0 is no room.
func screenOf(t *testing.T, m3, changes float64, cells ...hazard.Cells) *hazard.Screen {
	t.Helper()
	rb := shipped(t)
	f, err := hazard.FiguresOf(rb)
	if err != nil {
		t.Fatal(err)
	}
	g := hazard.Group{Tag: "JEHF", What: "steel tin"}
	for _, c := range cells {
		g.Add(f, c)
	}
	s := &hazard.Screen{On: rb.On, Of: "an invented tin", Figures: f, Stand: &hazard.Stand{Groups: []hazard.Group{g}}, Storages: rb.Storages()}
	s.Gas, s.Under = f.Limit("hf-niosh-idlh")
	if m3 > 0 {
		s.Room = &hazard.Room{M3: m3, AirChanges: changes}
	}
	return s
}

func wh(x float64) hazard.Cells { return hazard.Cells{Count: 1, Wh: triage.Micro(x * 1e6)} }

var notPrinted = regexp.MustCompile(`(?i)\b(safe|safely|dead|ok|okay)\b`)

// Every form has the caution, no line is too long, no word gives an all-clear.
func TestHazardForms(t *testing.T) {
	unknown, lot := hazard.Cells{Count: 1}, hazard.Cells{Count: 1_000_000, Grams: math.MaxInt64}
	for name, s := range map[string]*hazard.Screen{
		"one": screenOf(t, 50, 0, wh(15.4)), "aired": screenOf(t, 50, 2, wh(12), wh(12)), "no room": screenOf(t, 0, 0, wh(15.4), unknown),
		"empty": screenOf(t, 50, 0), "unknown": screenOf(t, 50, 6, unknown), "huge": screenOf(t, 10_000, 0.01, lot, wh(99_999)),
		"small": screenOf(t, 10_000, 60, wh(0.000_001)), "nothing": screenOf(t, 0, 0),
	} {
		var text, doc bytes.Buffer
		if err := Hazard(&text, s); err != nil {
			t.Fatal(err)
		}
		if err := HazardJSON(&doc, s); err != nil {
			t.Fatal(err)
		}
		if got := strings.Join(strings.Fields(text.String()), " "); !strings.Contains(got, hazard.Caution) {
			t.Errorf("%s: the text has no caution", name)
		}
		var got struct{ Caution string }
		if err := json.Unmarshal(doc.Bytes(), &got); err != nil || got.Caution != hazard.Caution {
			t.Errorf("%s: the document has the caution %q, %v", name, got.Caution, err)
		}
		for _, line := range strings.Split(text.String(), "\n") {
			if utf8.RuneCountInString(line) > width {
				t.Errorf("%s: too long: %q", name, line)
			}
		}
		if w := notPrinted.FindString(text.String() + doc.String()); w != "" {
			t.Errorf("%s prints %q", name, w)
		}
		if s := text.String() + doc.String(); strings.Contains(s, "NaN") || strings.Contains(s, "Inf") || strings.Contains(s, "%!") {
			t.Errorf("%s prints what is no number", name)
		}
		if h := NewStockHazard(s); h != nil && h.Caution != hazard.Caution {
			t.Errorf("%s: the line of the stock has the caution %q", name, h.Caution)
		}
	}
}

// What is not known is never a limit kept, and never a number of cells that may
// stand.
func TestHazardOfTheUnknown(t *testing.T) {
	var b bytes.Buffer
	s := screenOf(t, 10_000, 60, hazard.Cells{Count: 1}, wh(0.001))
	if err := Hazard(&b, s); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.String(), " under\n") || !strings.Contains(b.String(), "NONE INDOORS until it is") || !strings.Contains(b.String(), "not known") {
		t.Errorf("a cell of unknown size gives\n%s", b.String())
	}
	if got := HazardHeadline(s); !strings.HasPrefix(got, "May be immediately dangerous") {
		t.Errorf("the headline is %q", got)
	}
}

func TestHazardHeadline(t *testing.T) {
	for _, c := range []struct {
		m3, changes, wh float64
		want            string
	}{
		{50, 0, 15.4, "At worst 2.51 times the immediately dangerous level"},
		{50, 2, 720, "At worst 117 times the immediately dangerous level, over it for 143 min"},
		{10_000, 0, 15.4, "At worst 2 % of the immediately dangerous level"},
	} {
		if got := HazardHeadline(screenOf(t, c.m3, c.changes, wh(c.wh))); got != c.want {
			t.Errorf("%g Wh in %g m3: %q, want %q", c.wh, c.m3, got, c.want)
		}
	}
}

func TestSig(t *testing.T) {
	for _, c := range []struct {
		x    float64
		want string
	}{{6.16, "6.16"}, {15.4, "15.4"}, {61.6, "61.6"}, {2880, "2880"}, {0.818, "0.818"}, {24.547, "24.5"}, {100, "100"}, {9.999, "10"}, {0, "0"}, {0.0001234, "0.000123"}, {1, "1"}} {
		if got := Sig(c.x); got != c.want {
			t.Errorf("Sig(%g) = %q, want %q", c.x, got, c.want)
		}
	}
	for _, c := range []struct {
		minutes float64
		want    string
	}{{0.2, "1 min"}, {74.0001, "75 min"}, {180, "180 min"}, {181, "3.1 h"}} {
		if got := Minutes(c.minutes); got != c.want {
			t.Errorf("Minutes(%g) = %q, want %q", c.minutes, got, c.want)
		}
	}
}
