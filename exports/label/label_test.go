package label

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"io"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"pouchward/exports"
	"pouchward/exports/exportstest"
	"pouchward/exports/pdf"
	"pouchward/logbook"
	"pouchward/triage"
)

// judged judges a reading, name by value, in a country.
func judged(t *testing.T, country string, reading map[string]string) *triage.Verdict {
	t.Helper()
	rb := exportstest.Rules(t, "2026-11-25")
	k := triage.Case{On: rb.On, Country: country}
	for name, text := range reading {
		f, ok := triage.FieldByName(name)
		if !ok {
			t.Fatalf("no field %s", name)
		}
		if err := k.Reading.Set(f, text); err != nil {
			t.Fatal(err)
		}
	}
	v := new(triage.Verdict)
	rb.Judge(&k, v)
	return v
}

// long is a place in German and Greek, longer than most.
const long = "Hof hinter dem Haus, Gefahrstoffsicherheitsschrank Nr. 3 / Εργαστήριο επισκευής, ράφι δύο, κάτω"

// samples are cells of every class, with little known and with much, in countries
// with and without a waste table. Invented.
func samples(t *testing.T) map[string]*Cell {
	all := map[string]string{"recalled": "no", "cell_c": "22", "ambient_c": "21", "ocv_v": "3.8", "chemistry": "li-ion", "series": "1", "parallel": "1",
		"nominal_v": "3.85", "rated_mah": "3000", "fit": "loose", "purpose": "recycle", "signs": "none"}
	with := func(pairs ...string) map[string]string {
		m := map[string]string{}
		for k, v := range all {
			m[k] = v
		}
		for i := 0; i < len(pairs); i += 2 {
			m[pairs[i]] = pairs[i+1]
		}
		return m
	}
	list := map[string]*Cell{}
	for name, reading := range map[string]map[string]string{
		"nothing known": {},
		"retire":        with(),
		"reuse":         with("purpose", "reuse"),
		"isolate": with("signs", "swollen;dented;cracked;corroded;wet;misused;terminals_damaged", "rocks", "yes", "thickness_mm", "6.1", "nominal_thickness_mm", "4.0",
			"resistance_mohm", "200", "new_resistance_mohm", "50"),
		"emergency": with("signs", "smoking;hissing;odour;punctured;leaking;burnt;swollen"),
	} {
		for _, country := range []string{"US", "DE", "GB", "JP"} {
			v := judged(t, country, reading)
			k := &Known{State: logbook.State{Tag: "H4XN3X", Lapses: "2027-01-31", LapsedHandling: "isolate", LapsedCondition: "undetermined"}, Look: "12-31 23:59", Where: long, Entry: 1234567}
			if name == "nothing known" {
				k = &Known{State: logbook.State{Tag: "H4XN3X"}, Entry: 1}
			}
			for i := range 9 {
				k.Holds = append(k.Holds, exports.Hold{Rule: fmt.Sprintf("some-rule-%d", i), Entry: int64(100 + i/2)})
			}
			list[name+" in "+country] = NewCell(v, k)
		}
	}
	return list
}

// boxes are containers: with a cell of whole casing, with one not known, empty.
func boxes(t *testing.T, country string) map[string]*Container {
	whole := judged(t, country, map[string]string{"signs": "none", "chemistry": "li-ion", "purpose": "recycle", "recalled": "no", "cell_c": "22", "ambient_c": "21", "ocv_v": "3.8"})
	unknown := judged(t, country, map[string]string{"chemistry": "li-ion", "purpose": "recycle"})
	reuse := judged(t, country, map[string]string{"signs": "none", "chemistry": "li-ion", "purpose": "reuse", "recalled": "no", "cell_c": "22", "ambient_c": "21", "ocv_v": "3.8"})
	bad := judged(t, country, map[string]string{"signs": "punctured", "purpose": "recycle"})
	if whole.Waste != triage.CasingIntact || unknown.Waste != triage.WasteUnknown || reuse.Waste != triage.NotWaste || bad.Waste != triage.CasingBreached {
		t.Fatalf("casings: %v, %v, %v, %v", whole.Waste, unknown.Waste, reuse.Waste, bad.Waste)
	}
	h := &logbook.Held{State: logbook.State{Tag: "XNTF", What: "galvanised steel drum with a very long description", MilliLitr: 30_000, Place: long}}
	make := func(worst *triage.Verdict, start string, in ...*triage.Verdict) *Container {
		x := &Contents{Worst: worst, Start: start, StartBy: "came out of the device", Size: 7654321, Cells: int64(len(in)), Unrated: 1}
		for _, v := range in {
			x.ByWaste[v.Waste]++
			x.OfWaste[v.Waste] = v
		}
		return NewContainer(h, x, whole.On)
	}
	return map[string]*Container{
		"empty":   make(whole, ""),
		"whole":   make(whole, "2026-01-02", whole, whole),
		"no day":  make(whole, "", whole),
		"reuse":   make(reuse, "", reuse),
		"unknown": make(unknown, "2026-01-02", whole, unknown, reuse),
		"bad":     make(bad, "2026-01-02", whole, unknown, bad),
	}
}

// Every label fits: no words outside the piece, smaller than stated or over others,
// and its lines stand upright or lie flat, so that none looks like a diamond.
func TestLabelsFit(t *testing.T) {
	pieces := map[string]Label{"strip": NewStrip([]string{"H4XN3X"})[1]}
	for name, c := range samples(t) {
		pieces["cell: "+name] = c
	}
	for _, country := range []string{"US", "DE", "GB", "JP"} {
		for name, c := range boxes(t, country) {
			pieces["container: "+name+" in "+country] = c
		}
	}
	for name, l := range pieces {
		p, err := l.Piece()
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if w, h := l.Size(); p.W != w || p.H != h {
			t.Errorf("%s: %.0f x %.0f mm, want %.0f x %.0f", name, p.W, p.H, w, h)
		}
		said := ""
		for i, a := range p.Words {
			said += a.Text + "\n"
			if a.X < edge-0.01 || a.X+pdf.Width(a.Text, a.Style) > p.W-edge+0.01 || a.Y > p.H-edge || a.Y-pdf.Capital(a.Style) < edge-0.01 {
				t.Errorf("%s: %q leaves the label", name, a.Text)
			}
			if pdf.Capital(a.Style) < handCap-0.01 {
				t.Errorf("%s: %q is %.2f mm high", name, a.Text, pdf.Capital(a.Style))
			}
			for _, b := range p.Words[:i] {
				if meet(a, b) {
					t.Errorf("%s: %q stands over %q", name, a.Text, b.Text)
				}
			}
		}
		for _, line := range p.Lines {
			if line.X1 != line.X2 && line.Y1 != line.Y2 {
				t.Errorf("%s: a slanting line", name)
			}
		}
		if !strings.Contains(strings.ToLower(said), "transport mark") || strings.Contains(said, "UN3") || strings.Contains(said, "UN 3") {
			t.Errorf("%s: says %q", name, said)
		}
	}
}

// meet reports whether two words stand over one another, from base line to capital.
func meet(a, b pdf.Words) bool {
	return a.X < b.X+pdf.Width(b.Text, b.Style) && b.X < a.X+pdf.Width(a.Text, a.Style) && a.Y-pdf.Capital(a.Style) < b.Y && b.Y-pdf.Capital(b.Style) < a.Y
}

// The tag is read at arm's length, and so are the word and the verb.
func TestReadAtArmsLength(t *testing.T) {
	for name, c := range samples(t) {
		p, err := c.Piece()
		if err != nil {
			t.Fatal(err)
		}
		verb, _, _ := strings.Cut(c.Verb, ": ")
		for _, want := range []string{"H4 XN3X", c.Word, verb} {
			found := 0.0
			for _, w := range p.Words {
				if w.Text == want {
					found = pdf.Capital(w.Style)
				}
			}
			if found < armCap-0.01 || want == "H4 XN3X" && found < tagCap-0.5 {
				t.Errorf("%s: %q is %.2f mm high", name, want, found)
			}
		}
	}
}

// What is not known stands where it would, and what holds the cell is said.
func TestCellSays(t *testing.T) {
	text := func(name string) string {
		var b bytes.Buffer
		if err := samples(t)[name].Text(&b); err != nil {
			t.Fatal(err)
		}
		return strings.Join(strings.Fields(b.String()), " ")
	}
	for name, wants := range map[string][]string{
		"nothing known in US": {"WARNING HOLD: KEEP APART", "UNKNOWN, NOT MEASURED: ______Wh", "casing NOT KNOWN to be whole", "undetermined: not universal waste", "____-__-__"},
		"retire in US":        {"RETIRE: STORE FOR RECYCLING", "UNDAMAGED; casing intact", "SMALL, 11.55 Wh", "Universal Waste—Battery(ies)"},
		"reuse in US":         {"NO FAULT SEEN", "not waste while it is kept for reuse", "2027-01-31. From the day after: ISOLATE"},
		"isolate in US":       {"ISOLATE NOW", "DAMAGED, not by air", "entry 100: some-rule-0, some-rule-1", "Swelling seen by eye", "Swelling of 10 % or more over nominal (5"},
		"emergency in US":     {"GET AWAY NOW", "REACTING, not by air; casing BREACHED", "hazardous waste determination owed"},
		"retire in DE":        {"16 06 05"},
		"nothing known in DE": {"16 06 05; 20 01 33*; 20 01 34; no code given here: look it up in the list of waste; 16 02 13*"}, // many: the numbers alone
		"retire in JP":        {"no table for this country"},
	} {
		for _, want := range wants {
			if got := text(name); !strings.Contains(got, want) {
				t.Errorf("%s does not say %q: %s", name, want, got)
			}
		}
	}
	if got := text("emergency in US"); strings.Contains(got, "Universal") {
		t.Errorf("a breached cell is called universal waste: %s", got)
	}
}

// The words of 40 CFR 273.14(a), as the waste table has them, stand on a container
// only while each casing in it is whole; the earliest day stands beside them.
func TestContainerWords(t *testing.T) {
	list := boxes(t, "US")
	for name, want := range map[string]string{
		"empty":   "□ Universal Waste—Battery(ies)|□ Waste Battery(ies)|□ Used Battery(ies) SINCE ____-__-__",
		"whole":   "Universal Waste—Battery(ies) SINCE 2026-01-02",
		"no day":  "Universal Waste—Battery(ies) SINCE ____-__-__",
		"reuse":   "Not waste while kept for reuse SINCE ____-__-__",
		"unknown": "undetermined: not universal waste until the casing is seen whole SINCE 2026-01-02",
		"bad":     "hazardous waste determination owed: likely D001, D003 SINCE 2026-01-02",
	} {
		c := list[name]
		if got := strings.Join(c.waste(), "|") + " " + c.start(); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	if got := boxes(t, "JP")["whole"].waste(); !strings.HasPrefix(got[0], "WASTE WORDS ____") {
		t.Errorf("a country without a table: %q, want a line to write on", got)
	}
}

// The codes, drawn as rectangles, are read back from the picture of the page.
func TestCodesAreRead(t *testing.T) {
	d := &pdf.Doc{}
	var want []string
	add := func(l Label, tag string) {
		if err := Draw(d, []Label{l}, pdf.Paper{}); err != nil {
			t.Fatal(err)
		}
		want = append(want, tag)
	}
	for n := range int64(25) {
		tag := triage.IssueTag(triage.CellTag, n*50_000)
		add(NewStrip([]string{tag})[0], tag)
	}
	add(samples(t)["isolate in US"], "H4XN3X")
	add(boxes(t, "US")["unknown"], "XNTF")
	for i, img := range pictures(t, d, 200) {
		bits, err := gozxing.NewBinaryBitmapFromImage(img)
		if err != nil {
			t.Fatal(err)
		}
		got, err := qrcode.NewQRCodeReader().Decode(bits, nil)
		if err != nil {
			t.Errorf("the code of %s is not read: %v", want[i], err)
		} else if got.GetText() != want[i] {
			t.Errorf("the code reads %q, want %q", got.GetText(), want[i])
		}
	}
}

// Every mark that a rule gives a letter height is as high as it says, measured on
// the picture of the page: the lowest letter, small ones included.
func TestMarksAreAsHighAsAsked(t *testing.T) {
	marks, err := Marks(exportstest.Rules(t, "2026-11-25"))
	if err != nil {
		t.Fatal(err)
	}
	d := &pdf.Doc{}
	var heights []float64
	for i := range marks {
		for _, mm := range []float64{float64(marks[i].Least) / 1e6, UsualMM} {
			if err := DrawMark(d, pdf.Papers[i%2], &marks[i], mm, "test"); err != nil {
				t.Errorf("%v", err)
				continue
			}
			heights = append(heights, mm)
		}
	}
	const dpi = 150
	px := func(mm float64) int { return int(mm / 25.4 * dpi) }
	for i, img := range pictures(t, d, dpi) {
		p, mm := d.Pages[i], heights[i]
		bottom, most := 0.0, 0.0
		for _, w := range p.Words {
			most = max(most, w.Points)
		}
		for _, w := range p.Words {
			if w.Points == most {
				bottom = max(bottom, w.Y)
			}
		}
		// Inside of the cutting marks, below the last base line only tails.
		part := image.Rect(px(16), px(16), px(p.W-16), px(bottom+mm/2))
		least := 1e9
		for _, box := range inks(img, part) {
			if h := float64(box.Dy()) / dpi * 25.4; h > mm*0.7 { // dots, commas and dashes are lower
				least = min(least, h)
			}
		}
		if least < mm || least > mm*1.1 {
			t.Errorf("page %d, %q: the lowest letter is %.2f mm high, want %.0f to %.1f", i+1, p.Words[0].Text, least, mm, mm*1.1)
		}
	}
}

// The texts of the rules, with their source, letter by letter.
func TestMarkWords(t *testing.T) {
	marks, err := Marks(exportstest.Rules(t, "2026-11-25"))
	if err != nil {
		t.Fatal(err)
	}
	for words, least := range map[string]triage.Micro{
		"Damaged/defective lithium ion battery":   12 * triage.One, // 49 CFR 173.185(f)(4)
		"Damaged/defective lithium metal battery": 12 * triage.One, // 49 CFR 173.185(f)(4)
		"DAMAGED/DEFECTIVE LITHIUM-ION BATTERIES": 12 * triage.One, // ADR special provision 376; 3.3.1
		"OVERPACK":                        12 * triage.One, // 49 CFR 173.185(c)(3)(iii)
		"LITHIUM BATTERIES FOR RECYCLING": 12 * triage.One, // ADR special provision 377; 3.3.1
		"LITHIUM ION BATTERIES—FORBIDDEN FOR TRANSPORT ABOARD PASSENGER AIRCRAFT": 6 * triage.One, // 49 CFR 173.185(c)(1)(iii), (v)
		"LITHIUM BATTERIES—FORBIDDEN FOR TRANSPORT ABOARD AIRCRAFT AND VESSEL":    6 * triage.One, // 49 CFR 173.185(c)(1)(iv), (v)
	} {
		m, err := FindMark(marks, words)
		if err != nil {
			t.Errorf("%q: %v", words, err)
		} else if m.Words != words || m.Least != least {
			t.Errorf("%q: found %q with %s mm, want %s", words, m.Words, m.Least, least)
		}
		if loose, err := FindMark(marks, strings.ToLower(strings.ReplaceAll(words, "—", " - "))); err != nil || loose.Words != words {
			t.Errorf("%q typed loosely: %v, %v", words, loose, err)
		}
	}
	for _, words := range []string{"UN3480 UN3481", "FRAGILE", ""} {
		if m, err := FindMark(marks, words); err == nil {
			t.Errorf("%q finds %q", words, m.Words)
		}
	}
	d := &pdf.Doc{}
	if err := DrawMark(d, pdf.Papers[0], &Mark{Words: "Damaged/defective lithium ion battery"}, 60, ""); err == nil {
		t.Error("letters of 60 mm fit on the paper")
	}
}

// German and Greek are found again by another program, and so is a name too long for
// a line; the same labels give the same bytes.
func TestTextSurvives(t *testing.T) {
	d := &pdf.Doc{}
	c := samples(t)["retire in US"]
	if err := Draw(d, []Label{c, NewStrip([]string{"H4XN3X"})[0]}, pdf.Papers[0]); err != nil {
		t.Fatal(err)
	}
	rb := exportstest.Rules(t, "2026-11-25")
	site := "Müller & Söhne Reparaturgesellschaft für Mobiltelefone mbH / Εργαστήριο επισκευής Ω"
	lines, err := exports.NewLines(rb)
	if err != nil {
		t.Fatal(err)
	}
	DrawWall(d, pdf.Papers[0], exports.NewWallSheet(rb, triage.Shop{Site: site, FireService: "112", IsolationPlace: long[:60]}), lines)
	DrawDay(d, pdf.Papers[0], exports.NewDaySheet(site))
	got := strings.Join(strings.Fields(plain(t, d)), " ")
	for _, want := range []string{"Gefahrstoffsicherheitsschrank", "Εργαστήριο επισκευής", "H4 XN3X", "112", "Müller & Söhne", "WHAT PUTS A CELL WHERE", "Surface 60 °C or more"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not in the text of the PDF: %s", want, got)
		}
	}
	for i, p := range d.Pages {
		for _, w := range p.Words {
			if w.X < 0 || w.X+pdf.Width(w.Text, w.Style) > p.W || w.Y > p.H {
				t.Errorf("page %d: %q leaves the page", i+1, w.Text)
			}
			for _, o := range p.Words {
				if o != w && meet(o, w) {
					t.Errorf("page %d: %q stands over %q", i+1, w.Text, o.Text)
				}
			}
		}
	}
	var a, b bytes.Buffer
	for _, to := range []*bytes.Buffer{&a, &b} {
		if err := Write(to, []Label{samples(t)["isolate in US"], boxes(t, "US")["bad"]}, pdf.Papers[1], rb.On, "t"); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("the same labels give other bytes")
	}
}

// The picture of a code reads as the code on the label, and is one of a tag alone.
func TestWriteCode(t *testing.T) {
	for _, tag := range []string{"H4XN3X", "XNTF", triage.IssueTag(triage.CellTag, 77_000)} {
		var b bytes.Buffer
		if err := WriteCode(&b, strings.ToLower(triage.SpacedTag(tag))); err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(&b)
		if err != nil {
			t.Fatal(err)
		}
		bits, err := gozxing.NewBinaryBitmapFromImage(img)
		if err != nil {
			t.Fatal(err)
		}
		got, err := qrcode.NewQRCodeReader().Decode(bits, nil)
		if err != nil || got.GetText() != tag {
			t.Errorf("%s reads %v, %v", tag, got, err)
		}
	}
	for _, text := range []string{"", "H4XN3Y", "../x", "<svg>"} {
		if err := WriteCode(io.Discard, text); err == nil {
			t.Errorf("a code of %q", text)
		}
	}
}
