package triage

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

// designationCases holds test cases 25 to 43 of the cell-science reference in its order, then spellings of our own.
// A source in capitals is a key of that reference.
var designationCases = []struct {
	text   string
	want   Designation
	print  string // canonical text; empty where it is the text itself
	source string
}{
	{"1ICP4/60/75", prismatic(1, "C", 4000, 60000, 75000, 1), "", "cell-science LBL1"},
	{"1ICP3/67/144-2", prismatic(1, "C", 3000, 67000, 144000, 2), "", "cell-science LBL2"},
	{"1ICP5/64/74", prismatic(1, "C", 5000, 64000, 74000, 1), "", "cell-science LBL3"},
	{"1ICP5/58/98-2", prismatic(1, "C", 5000, 58000, 98000, 2), "", "cell-science, stored id 54386446019"},
	{"1ICP4/9/45", prismatic(1, "C", 4000, 9000, 45000, 1), "", "cell-science PCMDOC"},
	{"4ICR19/66", cylindrical(4, "C", 19000, 66000, 1), "", "cell-science LBL5"},
	{"4ICR19/66-2", cylindrical(4, "C", 19000, 66000, 2), "", "cell-science LBL4"},
	{"3ICR19/66-2", cylindrical(3, "C", 19000, 66000, 2), "", "cell-science, stored id 42496077269"},
	{"10ICR19/66-2", cylindrical(10, "C", 19000, 66000, 2), "", "cell-science, stored id 2334797421"},
	{"INR19/65", cylindrical(0, "N", 19000, 65000, 1), "", "cell-science IEC61960 (forum question)"},
	{"ICR18650", legacy(cylindrical(0, "C", 18000, 65000, 1)), "", "cell-science LBDES"},
	{"ICP103450", legacy(prismatic(0, "C", 10000, 34000, 50000, 1)), "", "cell-science LBDES"},
	{"ICP083448", legacy(prismatic(0, "C", 8000, 34000, 48000, 1)), "", "cell-science LBDES2"},
	{"ICP08/34/150", prismatic(0, "C", 8000, 34000, 150000, 1), "ICP8/34/150", "cell-science LBDES"},
	{"ICPt73448", legacy(prismatic(0, "C", 700, 34000, 48000, 1)), "", "cell-science LBDES"},
	{"2ICP6/60/70-2", prismatic(2, "C", 6000, 60000, 70000, 2), "", "cell-science, made-up test case"},
	{"IMP5/34/50", prismatic(0, "M", 5000, 34000, 50000, 1), "", "cell-science, made-up test case"},
	{"IFpP10/40/90", prismatic(0, "Fp", 10000, 40000, 90000, 1), "", "cell-science, made-up test case, letters CTL"},
	{"ICPt9/35/48", prismatic(0, "C", 900, 35000, 48000, 1), "", "cell-science, made-up test case, rule IEC61960"},

	{"IFPP10/40/90", prismatic(0, "Fp", 10000, 40000, 90000, 1), "IFpP10/40/90", "made up, reading trap of cell-science 6"},
	{"IFP10/40/90", prismatic(0, "F", 10000, 40000, 90000, 1), "", "made up, reading trap of cell-science 6"},
	{"IFPR19/66", cylindrical(0, "Fp", 19000, 66000, 1), "IFpR19/66", "made up, all capitals"},
	{"IMPP5/34/50", prismatic(0, "Mp", 5000, 34000, 50000, 1), "IMpP5/34/50", "made up, all capitals"},
	{"IFPT7/34/48", prismatic(0, "F", 700, 34000, 48000, 1), "IFPt7/34/48", "made up, all capitals"},
	{"ifpp10/40/90", prismatic(0, "Fp", 10000, 40000, 90000, 1), "IFpP10/40/90", "made up, all lower case"},
	{"ifp10/40/90", prismatic(0, "F", 10000, 40000, 90000, 1), "IFP10/40/90", "made up, all lower case"},
	{"1icp4/60/75", prismatic(1, "C", 4000, 60000, 75000, 1), "1ICP4/60/75", "made up, all lower case"},
	{"ITPT7/34/48", prismatic(0, "T", 700, 34000, 48000, 1), "ITPt7/34/48", "made up, both meanings of T"},
	{"01ICP04/60/75-02", prismatic(1, "C", 4000, 60000, 75000, 2), "1ICP4/60/75-2", "made up, leading zeros"},
	{" 1ICP 5/58/98 \u2013\u00a02 ", prismatic(1, "C", 5000, 58000, 98000, 2), "1ICP5/58/98-2", "made up, en dash and spaces"},
	{"1ICP5/58/98\u22122", prismatic(1, "C", 5000, 58000, 98000, 2), "1ICP5/58/98-2", "made up, minus sign"},
	{"1ICP5/58/98\u20112", prismatic(1, "C", 5000, 58000, 98000, 2), "1ICP5/58/98-2", "made up, non-breaking hyphen"},
	{"2ICR18650-3", legacy(cylindrical(2, "C", 18000, 65000, 3)), "", "made up, older form in a battery"},
	{"ICR18655", legacy(cylindrical(0, "C", 18000, 65500, 1)), "", "made up, tenths that slashes cannot hold"},
	{"ICP193450", legacy(prismatic(0, "C", 19000, 34000, 50000, 1)), "", "made up, just inside our 20 mm limit"},
	{"LMP20/20/20", metal(prismatic(0, "M", 20000, 20000, 20000, 1)), "", "made up, as thick as wide, and lithium metal"},
	{"99IXPt1/999/999-99", prismatic(99, "X", 100, 999000, 999000, 99), "", "made up, every limit of the grammar"},
}

func prismatic(series int, cathode string, thickness, width, height int64, parallel int) Designation {
	return Designation{Series: series, SeriesStated: series > 0, Anode: 'I', Cathode: cathode, Shape: 'P',
		ThicknessUM: thickness, WidthUM: width, HeightUM: height, Parallel: parallel}
}

func cylindrical(series int, cathode string, diameter, height int64, parallel int) Designation {
	return Designation{Series: series, SeriesStated: series > 0, Anode: 'I', Cathode: cathode, Shape: 'R',
		DiameterUM: diameter, HeightUM: height, Parallel: parallel}
}

func legacy(d Designation) Designation { d.Legacy = true; return d }

func metal(d Designation) Designation { d.Anode = 'L'; return d }

func TestParseDesignation(t *testing.T) {
	for _, c := range designationCases {
		got, err := ParseDesignation(c.text)
		if err != nil || got != c.want {
			t.Errorf("%s (%s): got %+v, %v; want %+v", c.text, c.source, got, err, c.want)
			continue
		}
		want := c.print
		if want == "" {
			want = c.text
		}
		if got.String() != want {
			t.Errorf("%s prints as %s, want %s", c.text, got, want)
		}
		if c.source == "" {
			t.Errorf("%s has no source", c.text)
		}
	}
}

// designationErrors holds cases 44 and 45 of the reference, then refusals of our own.
var designationErrors = []struct {
	text   string
	pos    int
	reason string // a part of the reason
	hint   string // a part of the hint; empty where none is given
	source string
}{
	{"1CP4/60/75", 2, `'C' where I`, "missing I?", "cell-science case 44"},
	{"ICP4/60", 4, "P (prismatic) needs three sizes", "", "cell-science case 44"},
	{"ICR19/66/1", 4, "R (cylindrical) needs two sizes", "", "cell-science case 44"},
	{"803048", 1, "not an IEC 61960-3 designation", "8.0 x 30 x 48 mm", "cell-science case 45, SPEC1"},
	{"521129", 1, "not an IEC 61960-3 designation", "5.2 x 11 x 29 mm", "cell-science 6, PCMDOC"},

	// The wrong one of two readings would hide swelling or a lithium-metal cell.
	{"ICP803048", 4, "20 mm or more without slashes", "tenths", "made up: maker's code behind the letters"},
	{"ICP203450", 4, "20 mm or more without slashes", "tenths", "made up: just outside our limit"},
	{"ICP60/4/75", 4, "thickness above the width", "", "made up: sizes in another order"},
	{"ICP5/60/4", 4, "thickness above the width or the height", "", "made up: sizes in another order"},
	{"lCP4/60/75", 1, "lower-case l", "", "made up: I or L"},
	{"1lcp4/60/75", 2, "lower-case l", "", "made up: I or L"},
	{"CR17345", 1, `'C' where I`, "lithium-metal primary", "made up: adding an I would make it lithium ion"},
	{"IFp10/40/90", 3, "the case of the p", "IFpP", "made up: F with P, or Fp without a shape"},
	{"Ifp10/40/90", 3, "the case of the p", "IFpP", "made up: as above"},
	{"IFPp10/40/90", 3, "the case of the p", "IFpP", "made up: letters swapped, or one too many"},
	{"ICP4/60/75 2", 12, "a space between two digits", "slash or hyphen", "made up: 75 and 2, or 752"},
	{"ICP 10 34 50", 8, "a space between two digits", "slash or hyphen", "made up: older form, or slashes lost"},
	{"2 1ICP4/60/75", 3, "a space between two digits", "slash or hyphen", "made up: 21 series, or 1"},
	{"ICP4/60/7\u00ad5", 10, `'\u00ad' is not part`, "", "made up: an unseen soft hyphen"},
	{"\u0406CP4/60/75", 1, `'\u0406' is not part`, "", "made up: a Cyrillic letter that looks like I"},

	{"0ICP4/60/75", 1, "a series count outside 1 to 99", "", "made up: N1 counts cells, from 1"},
	{"00ICP4/60/75", 1, "a series count outside 1 to 99", "", "made up: as above"},
	{"100ICP4/60/75", 1, "a series count outside 1 to 99", "", "made up: grammar of cell-science 6, two digits"},
	{"ICP4/60/75-1", 12, `"1" is not a parallel count`, "two cells or more", "made up: N5 is absent for one, IEC 61960-3 5.1"},
	{"ICP4/60/75-0", 12, `"0" is not a parallel count`, "two cells or more", "made up: as above"},
	{"ICP4/60/75-", 12, `"" is not a parallel count`, "two cells or more", "made up: cut short"},
	{"ICP4/60/75--2", 12, `"-2" is not a parallel count`, "two cells or more", "made up"},
	{"ICP4/60/75-+2", 12, `"+2" is not a parallel count`, "two cells or more", "made up: a sign is not a digit"},
	{"ICP4/60/75-100", 12, `"100" is not a parallel count`, "two cells or more", "made up: two digits"},
	{"ICP0/60/75", 4, `"0" is not a size`, "1 to 999", "made up: no cell has a size of 0"},
	{"ICPt0/60/75", 4, `"t0" is not a size`, "t1 to t9", "made up: as above"},
	{"ICP4/000/75", 6, `"000" is not a size`, "1 to 999", "made up: as above"},
	{"ICP003450", 4, `"00" is not a size`, "1 to 999", "made up: as above, older form"},
	{"ICR18000", 6, `"000" is not a size`, "1 to 999", "made up: as above, older form"},
	{"ICP4/1000/75", 6, `"1000" is not a size`, "1 to 999", "made up: three digits"},
	{"ICPt12/60/75", 4, `"t12" is not a size`, "t1 to t9", "made up: one digit after t"},
	{"ICP4.2/60/75", 4, `"4.2" is not a size`, "whole millimetres", "made up: a measured size, not a designation"},
	{"ICP+4/60/75", 4, `"+4" is not a size`, "whole millimetres", "made up: a sign is not a digit"},
	{"ICP4/-60/75", 4, "needs three sizes", "", "made up"},
	{"ICPO8/34/150", 4, `"O8" is not a size`, "letter O", "made up: letter for digit"},
	{"ICP4/60/", 9, `"" is not a size`, "whole millimetres", "made up: cut short"},
	{"ICP4/60/75x", 9, `"75x" is not a size`, "whole millimetres", "made up: text behind"},
	{"ICP", 4, "needs three sizes", "", "made up: cut short"},
	{"ICP10345", 4, "six digits without slashes", "", "made up: a digit lost"},
	{"ICP1034500", 4, "six digits without slashes", "", "made up: a digit too many"},
	{"ICR186500", 4, "five digits without slashes", "", "made up: a digit too many"},
	{"ICRt7650", 4, "needs two sizes", "", "made up: the older R has no t form"},
	{"ICP10t750", 4, "needs three sizes", "", "made up: the older t is for the thickness only"},

	{"", 1, "it ends where I", "", "made up"},
	{" \t\u00a0", 4, "it ends where I", "", "made up"},
	{"18650", 1, "a series count outside 1 to 99", "", "made up: a trade size, not a designation"},
	{"1I", 3, "it ends where one of C N M", "", "made up: cut short"},
	{"1IC", 4, "it ends where R", "", "made up: cut short"},
	{"1IF", 4, "it ends where R", "", "made up: cut short"},
	{"1IFP", 5, "needs three sizes", "", "made up: cut short"},
	{"1IFp", 4, "the case of the p", "IFpP", "made up: cut short"},
	{"ABC", 1, `'A' where I`, "", "made up"},
	{"IZP4/60/75", 2, `'Z' where one of C N M`, "", "made up"},
	{"ICQ4/60/75", 3, `'Q' where R`, "", "made up"},
	{"ICP4\x00/60/75", 4, `"4\x00" is not a size`, "whole millimetres", "made up: control character"},
	{"ICP\xff4/60/75", 4, `'\ufffd' is not part`, "", "made up: not UTF-8"},
	{"1ICP4/60/75" + strings.Repeat(" ", 30), 41, "longer than 40", "", "made up: one rune too many"},
}

func TestParseDesignationRefuses(t *testing.T) {
	for _, c := range designationErrors {
		d, err := ParseDesignation(c.text)
		var e *DesignationError
		if !errors.As(err, &e) {
			t.Errorf("%q (%s): got %+v, %v; want a *DesignationError", c.text, c.source, d, err)
			continue
		}
		if d != (Designation{}) {
			t.Errorf("%q: a refused text gave %+v", c.text, d)
		}
		if e.Pos != c.pos || !strings.Contains(e.Reason, c.reason) {
			t.Errorf("%q: got character %d, %s; want character %d, %s", c.text, e.Pos, e.Reason, c.pos, c.reason)
		}
		if (c.hint == "") != (e.Hint == "") || !strings.Contains(e.Hint, c.hint) {
			t.Errorf("%q: got hint %q, want %q", c.text, e.Hint, c.hint)
		}
	}
}

func TestDesignationErrorText(t *testing.T) {
	for text, want := range map[string]string{
		"ICQ4/60/75": `designation "ICQ4/60/75", character 3: ` +
			`'Q' where R (cylindrical) or P (prismatic, pouch) should stand`,
		"ICP4/60/75-1\x1b[": `designation "ICP4/60/75-1\x1b[", character 12: "1\x1b[" is not a parallel count, 2 to 99; ` +
			`it is written for two cells or more: look at the label again`,
	} {
		if _, err := ParseDesignation(text); err == nil || err.Error() != want {
			t.Errorf("got %v\nwant %s", err, want)
		}
	}
}

func TestParseDesignationLength(t *testing.T) {
	if _, err := ParseDesignation("1ICP4/60/75" + strings.Repeat("\u00a0", 29)); err != nil {
		t.Errorf("40 runes: %v", err)
	}
	huge := strings.Repeat("\u20139", 1<<20)
	var e *DesignationError
	if _, err := ParseDesignation(huge); !errors.As(err, &e) || utf8.RuneCountInString(e.Text) != 40 {
		t.Errorf("a huge text: got %.100v, want an error that keeps 40 runes", err)
	}
	if n := testing.AllocsPerRun(10, func() { ParseDesignation(huge) }); n > 30 {
		t.Errorf("a huge text took %v allocations", n)
	}
}

func TestDesignationFacts(t *testing.T) {
	for _, c := range []struct {
		text                          string
		cell, metal, nickel, ironPhos bool
	}{
		{"1ICP4/60/75", true, false, false, false},
		{"ICP4/60/75", true, false, false, false},
		{"1ICP4/60/75-2", false, false, false, false}, // two in parallel are a battery
		{"ICP4/60/75-2", false, false, false, false},
		{"2ICP4/60/75", false, false, false, false},
		{"LMR19/66", true, true, false, false},
		{"INR19/65", true, false, true, false},
		{"IFpP10/40/90", true, false, false, true},
		{"IFP10/40/90", true, false, false, false},
		{"IMpP10/40/90", true, false, false, false},
	} {
		d, err := ParseDesignation(c.text)
		if err != nil {
			t.Error(err)
		}
		got := []bool{d.IsCell(), d.LithiumMetal(), d.NickelRich(), d.IronPhosphate()}
		if want := []bool{c.cell, c.metal, c.nickel, c.ironPhos}; !slices.Equal(got, want) {
			t.Errorf("%s: got cell, metal, nickel, iron phosphate %v, want %v", c.text, got, want)
		}
	}
	var none Designation
	if none.IsCell() || none.LithiumMetal() || none.NickelRich() || none.IronPhosphate() || none.String() != "" {
		t.Error("the zero Designation states a fact")
	}
}

// drawDesignation draws any value that ParseDesignation may give.
func drawDesignation(t *rapid.T) Designation {
	size := rapid.OneOf(
		rapid.Map(rapid.Int64Range(1, 9), func(n int64) int64 { return n * 100 }),
		rapid.Map(rapid.Int64Range(1, 999), func(n int64) int64 { return n * 1000 }))
	twoDigits := rapid.Map(rapid.Int64Range(1, 99), func(n int64) int64 { return n * 1000 })
	d := Designation{
		Series:   rapid.IntRange(0, 99).Draw(t, "series"),
		Anode:    rapid.SampledFrom([]byte("IL")).Draw(t, "anode"),
		Cathode:  rapid.SampledFrom([]string{"C", "N", "M", "V", "T", "F", "Fp", "Mp", "X"}).Draw(t, "cathode"),
		Shape:    rapid.SampledFrom([]byte("RP")).Draw(t, "shape"),
		Parallel: rapid.IntRange(1, 99).Draw(t, "parallel"),
		Legacy:   rapid.Bool().Draw(t, "legacy"),
	}
	d.SeriesStated = d.Series > 0
	switch {
	case d.Shape == 'R' && d.Legacy:
		d.DiameterUM = twoDigits.Draw(t, "diameter")
		d.HeightUM = 100 * rapid.Int64Range(1, 999).Draw(t, "height")
	case d.Shape == 'R':
		d.DiameterUM, d.HeightUM = size.Draw(t, "diameter"), size.Draw(t, "height")
	case d.Legacy:
		d.WidthUM, d.HeightUM = twoDigits.Draw(t, "width"), twoDigits.Draw(t, "height")
		d.ThicknessUM = size.Filter(func(um int64) bool {
			return um < legacyThicknessRefusedUM && um <= d.WidthUM && um <= d.HeightUM
		}).Draw(t, "thickness")
	default:
		d.WidthUM, d.HeightUM = size.Draw(t, "width"), size.Draw(t, "height")
		thick := size.Draw(t, "thickness")
		d.ThicknessUM = min(thick, d.WidthUM, d.HeightUM)
	}
	return d
}

func TestDesignationRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawDesignation(t)
		got, err := ParseDesignation(d.String())
		if err != nil || got != d {
			t.Fatalf("%s came back as %+v, %v; want %+v", d, got, err, d)
		}
	})
}

// Letter case may cost a reading, never change it; all capitals, which labels and scanners print, never cost one.
func TestDesignationCase(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawDesignation(t)
		got, err := ParseDesignation(strings.ToUpper(d.String()))
		if err != nil || got != d {
			t.Fatalf("%s in capitals: got %+v, %v", d, got, err)
		}
		mixed := []byte(d.String())
		for i := range mixed {
			if rapid.Bool().Draw(t, "flip") && 'A' <= mixed[i]&^0x20 && mixed[i]&^0x20 <= 'Z' {
				mixed[i] ^= 0x20
			}
		}
		if got, err := ParseDesignation(string(mixed)); err == nil && got != d {
			t.Fatalf("%s written %s: got %s", d, mixed, got)
		}
	})
}

func TestDesignationSpacesAndHyphens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawDesignation(t)
		var noisy strings.Builder
		var before rune
		for _, r := range d.String() {
			if !('0' <= before && before <= '9' && '0' <= r && r <= '9') {
				noisy.WriteString(rapid.SampledFrom([]string{"", "", " ", "\u00a0", "\t"}).Draw(t, "space"))
			}
			before = r
			if r == '-' {
				r = rapid.SampledFrom([]rune(hyphens)).Draw(t, "hyphen")
			}
			noisy.WriteRune(r)
		}
		got, err := ParseDesignation(noisy.String())
		if err != nil || got != d {
			t.Fatalf("%s written %q: got %+v, %v", d, noisy.String(), got, err)
		}
	})
}

func FuzzParseDesignation(f *testing.F) {
	if len(designationCases) < 19 || len(designationErrors) < 5 {
		f.Fatal("seeds are missing")
	}
	for _, c := range designationCases {
		f.Add(c.text)
	}
	for _, c := range designationErrors {
		f.Add(c.text)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := ParseDesignation(s)
		if err != nil {
			var e *DesignationError
			runes := utf8.RuneCountInString(s)
			if !errors.As(err, &e) || e.Reason == "" || e.Pos < 1 || e.Pos > runes+1 || len(e.Text) > len(s) {
				t.Fatalf("%q: error %#v", s, err)
			}
			if d != (Designation{}) {
				t.Fatalf("%q: refused, yet gave %+v", s, d)
			}
			return
		}
		if again, err := ParseDesignation(d.String()); err != nil || again != d {
			t.Fatalf("%q prints as %s, which gave %+v, %v; want %+v", s, d, again, err, d)
		}
		sizes := []int64{d.DiameterUM, d.HeightUM}
		if d.Shape == 'P' {
			sizes = []int64{d.ThicknessUM, d.WidthUM, d.HeightUM}
		}
		for _, um := range sizes {
			if um < 100 || um > 999_000 {
				t.Fatalf("%q: size of %d µm", s, um)
			}
		}
		if d.Series < 0 || d.Series > 99 || d.SeriesStated != (d.Series > 0) || d.Parallel < 1 || d.Parallel > 99 {
			t.Fatalf("%q: counts of %+v", s, d)
		}
	})
}
