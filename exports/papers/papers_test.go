package papers

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pouchward/exports/exportstest"
	"pouchward/exports/pdf"
	"pouchward/triage"
)

func text(t *testing.T, x *Shipment) string {
	t.Helper()
	var b strings.Builder
	if err := New(x).Text(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// flat is a text with its line breaks and blanks made one blank.
func flat(s string) string { return strings.Join(strings.Fields(s), " ") }

// sheet returns the text of one sheet without heads and feet.
func sheet(t *testing.T, x *Shipment, n int) string {
	t.Helper()
	d := New(x)
	w := &textWriter{}
	for _, b := range d.Sheets[n-1].Blocks {
		b.text(w)
	}
	var lines []string
	for _, l := range w.lines {
		lines = append(lines, l.text)
	}
	return strings.Join(lines, "\n")
}

// Every page names the shipment, its number, how it stands, the day, the rulebook, and
// what comes first; so in both forms.
func TestEveryPage(t *testing.T) {
	rb := exportstest.Rules(t, "2026-11-25")
	x := shipment(rb, triage.USHighway, closed(t, rb, triage.USHighway, "JEHF", slices.Repeat([]map[string]string{whole}, 70)))
	x.Packages[0].Closed = false
	pages := strings.Split(text(t, x), "\f")
	doc := New(x).pages(pdf.Papers[0])
	if len(pages) < 9 || len(doc.Pages) < 9 {
		t.Fatalf("%d pages of text and %d of PDF", len(pages), len(doc.Pages))
	}
	want := []string{"SHIPMENT J EHC2", "DRAFT: package JEHF is open", "Judged for 2026-11-25 by rulebook " + rb.Digest[:12], triage.LocalFirst, "Check against current rules and your authority"}
	for i, p := range pages {
		for _, w := range want {
			if !strings.Contains(flat(p), w) {
				t.Errorf("page %d of the text does not say %q", i+1, w)
			}
		}
		if lines := strings.Count(p, "\n"); lines > textLines {
			t.Errorf("page %d of the text has %d lines", i+1, lines)
		}
		for line := range strings.Lines(p) {
			if n := len([]rune(strings.TrimRight(line, "\n"))); n > textWidth {
				t.Errorf("page %d: a line of %d letters: %s", i+1, n, line)
			}
		}
	}
	for i, p := range doc.Pages {
		said := doc.Foot
		for _, w := range p.Words {
			said += " " + w.Text
		}
		for _, w := range want {
			if !strings.Contains(flat(said), w) {
				t.Errorf("page %d of the PDF does not say %q", i+1, w)
			}
		}
	}
}

func TestSameBytes(t *testing.T) {
	rb := exportstest.Rules(t, "2026-11-25")
	make := func() (pages, text bytes.Buffer) {
		x := New(shipment(rb, triage.USHighway, closed(t, rb, triage.USHighway, "JEHF", []map[string]string{with("signs", "dented")}), closed(t, rb, triage.USHighway, "7T3P", []map[string]string{whole})))
		if err := x.Write(&pages, pdf.Papers[1]); err != nil {
			t.Fatal(err)
		}
		if err := x.Text(&text); err != nil {
			t.Fatal(err)
		}
		return pages, text
	}
	a, c := make()
	b, d := make()
	if !bytes.Equal(a.Bytes(), b.Bytes()) || !bytes.Equal(c.Bytes(), d.Bytes()) {
		t.Error("the same shipment gives other bytes")
	}
}

// Papers by way: owed, or not, and which line. What the rules say of each is tested in
// triage; the cases are those of testdata/cases (49 CFR 173.185(c), (d), (f); 172.101;
// IMDG 5.4.1.4; ADR 5.4.1.1.1, special provision 188).
func TestTransportPaperByWay(t *testing.T) {
	rb := exportstest.Rules(t, "2026-11-25")
	for _, c := range []struct {
		name    string
		route   triage.Route
		reading map[string]string
		way     string
		line    string // "" where none is owed
		source  string
	}{
		{"small, undamaged", triage.USHighway, with("purpose", "reuse"), "us-small-ion", "", "49 CFR 173.185(c)"},
		{"no type proof, for recycling", triage.USHighway, with("type_tested", "no"), "us-recycling-small-ion", "", "49 CFR 173.185(d)(2)"},
		{"no rating, for recycling", triage.USHighway, with("type_tested", "no", "rated_mah", ""), "us-recycling", "UN3480, Lithium ion batteries including lithium ion polymer batteries, 9", "49 CFR 172.101, 172.202(a)(1)-(4), (b)"},
		{"dented", triage.USHighway, with("signs", "dented"), "us-damaged", "UN3480, Lithium ion batteries including lithium ion polymer batteries, 9", "49 CFR 172.101, 172.202(a)(1)-(4), (b)"},
		{"dented, in a device", triage.USHighway, with("signs", "dented", "fit", "installed"), "us-damaged", "UN3481, Lithium ion batteries contained in equipment including lithium ion polymer batteries, 9", "49 CFR 172.101"},
		{"dented, by sea", triage.Sea, with("signs", "dented"), "sea-damaged", "UN 3480, WASTE LITHIUM ION BATTERIES, 9", "IMDG 5.4.1.4.1"},
		{"dented, by road in Europe", triage.ADRRoad, with("signs", "dented"), "adr-damaged", "UN 3480 WASTE LITHIUM ION BATTERIES, 9, (E)", "ADR 5.4.1.1.1"},
		{"small, by road in Europe", triage.ADRRoad, whole, "adr-small-ion", "", "ADR special provision 188"},
	} {
		p := closed(t, rb, c.route, "JEHF", []map[string]string{c.reading})
		if len(p.Ways) != 1 || !strings.HasPrefix(p.Ways[0].ID, c.way) {
			t.Errorf("%s: goes by %s, want %s", c.name, p.wayText(), c.way)
			continue
		}
		got := flat(sheet(t, shipment(rb, c.route, p), 5))
		doc := New(shipment(rb, c.route, p))
		rows := ""
		for _, b := range doc.Sheets[4].Blocks {
			if tab, ok := b.(*Table); ok {
				for _, r := range tab.Rows {
					rows += strings.Join(r, "|") + "\n"
				}
			}
		}
		if c.line == "" {
			if !strings.Contains(got, "No description line: the way asks for no transport paper") || !strings.Contains(got, c.source) || rows != "" {
				t.Errorf("%s: want no line and the source %s:\n%s", c.name, c.source, got)
			}
			continue
		}
		for _, want := range []string{c.line + "|", c.source, "1 x drum 10 L, UN mark 1A2/X20/S/26/INVENTED|", "Total quantity: 0.048 kg net|"} {
			if !strings.Contains(rows, want) {
				t.Errorf("%s: want %q in\n%s", c.name, want, rows)
			}
		}
		if accepted := field(doc.Sheets[4].Blocks, "Accepted by the carrier on"); accepted == nil || accepted.Value != "" {
			t.Errorf("%s: the day on which the carrier takes it is not left blank: %v", c.name, accepted)
		}
		if c.route == triage.USHighway && !strings.Contains(rows, "Emergency telephone: +1 555 0143|") {
			t.Errorf("%s: no telephone in\n%s", c.name, rows)
		}
	}
}

// The certification of 49 CFR 172.204(a)(1) stands once, over the signature and not among the
// description lines; where no rule here gives words, they are said to be the form's.
func TestCertification(t *testing.T) {
	rb := exportstest.Rules(t, "2026-11-25")
	const words = "This is to certify that the above-named materials are properly classified, described, packaged, marked and labeled, and are in proper condition for transportation according to the applicable regulations of the Department of Transportation."
	for _, c := range []struct {
		route triage.Route
		want  int
	}{{triage.USHighway, 1}, {triage.USVessel, 1}, {triage.ADRRoad, 0}} {
		x := shipment(rb, c.route, closed(t, rb, c.route, "JEHF", []map[string]string{with("signs", "dented")}), closed(t, rb, c.route, "KE42", []map[string]string{with("signs", "leaking")}))
		over, said, forms := false, 0, 0
		for _, b := range New(x).Sheets[4].Blocks {
			switch b := b.(type) {
			case Heading:
				over = b == "To sign"
			case Para:
				if string(b) == words && over {
					said++
				}
				if strings.Contains(string(b), "carrier's form") {
					forms++
				}
			case *Table:
				if strings.Contains(fmt.Sprint(b.Rows), words) {
					t.Errorf("%v: the certification stands among the description lines", c.route)
				}
			}
		}
		if said != c.want || forms != 1-c.want {
			t.Errorf("%v: certification %d times, the form's words named %d times, want %d and %d", c.route, said, forms, c.want, 1-c.want)
		}
	}
}

// The marks of every way in force that is open to some cell here stand on the list, each
// with its words, its size and its source as in the rule.
func TestMarksByWay(t *testing.T) {
	rb := exportstest.Rules(t, "2026-11-25")
	seen := map[string]bool{}
	for _, route := range []triage.Route{triage.USHighway, triage.USRail, triage.USVessel, triage.AirPassenger, triage.AirCargo, triage.Sea, triage.ADRRoad} {
		for _, r := range everyKind() {
			c, _ := cell(t, rb, "JEHCF7", r)
			ways := c.V.Routes[route].Open
			if w := c.V.Routes[route].Way; w != nil && c.V.Routes[route].Class <= triage.RouteCritical {
				ways = append([]*triage.Way{w}, ways...)
			}
			for _, w := range ways {
				p := Package{Tag: "JEHF", Outer: "drum", Level: "pg1", Closed: true, Cells: []Cell{c}, Ways: []*triage.Way{w}, UN: c.V.UN()}
				for _, d := range c.V.Owed(w.Duties, route.String()) {
					switch {
					case d.Kind != "mark" && d.Kind != "label":
					case d.Overpack:
						p.Overpack = append(p.Overpack, d)
					default:
						p.Marks = append(p.Marks, d)
					}
				}
				seen[w.ID] = true
				checkMarks(t, shipment(rb, route, p), w, append(slices.Clone(p.Marks), p.Overpack...))
			}
		}
	}
	for _, id := range []string{"us-small-ion", "us-ground-ion", "us-recycling-small-ion", "us-recycling-ground-ion", "us-damaged", "us-small-metal", "sea-damaged", "adr-damaged", "adr-small-ion"} {
		if !seen[id] {
			t.Errorf("no case goes by %s (got %d ways)", id, len(seen))
		}
	}
}

// checkMarks looks for each mark in the blocks of the sheet.
func checkMarks(t *testing.T, x *Shipment, w *triage.Way, owed []triage.DutyDoc) {
	t.Helper()
	var said []string
	ticks := 0
	var walk func(list []Block)
	walk = func(list []Block) {
		for _, b := range list {
			switch b := b.(type) {
			case Together:
				walk(b)
			case Para:
				said = append(said, string(b))
			case *Table:
				for _, r := range b.Rows {
					said = append(said, strings.Join(r, " | "))
					ticks += strings.Count(strings.Join(r, ""), NotTicked)
				}
			}
		}
	}
	walk(New(x).Sheets[3].Blocks)
	for _, d := range owed {
		all := append([]string{d.Text, d.Source, d.Words}, d.AnyOf...)
		if d.LetterMM != "" {
			all = append(all, d.LetterMM+" mm")
		}
		if !slices.ContainsFunc(said, func(line string) bool {
			return !slices.ContainsFunc(all, func(part string) bool { return !strings.Contains(line, part) })
		}) {
			t.Errorf("%s: the list lacks %q of %q", w.ID, all, said)
		}
	}
	if want := len(x.Packages[0].Marks); ticks != want {
		t.Errorf("%s: %d boxes to tick for %d marks", w.ID, ticks, want)
	}
}

// everyKind are readings that between them open most ways.
func everyKind() (list []map[string]string) {
	for _, fit := range []string{"loose", "installed", "packed-with"} {
		for _, chem := range []string{"li-ion", "li-metal"} {
			for _, purpose := range []string{"recycle", "reuse"} {
				for _, size := range []string{"3000", "12000", "40000"} {
					for _, tested := range []string{"yes", "no"} {
						for _, signs := range []string{"none", "dented"} {
							list = append(list, with("fit", fit, "chemistry", chem, "purpose", purpose, "rated_mah", size, "type_tested", tested, "signs", signs, "lithium_g", "0.5"))
						}
					}
				}
			}
		}
	}
	return list
}

// Nothing says that it can go where a check is open or a cell is kept.
func TestNeverCanGo(t *testing.T) {
	rb := exportstest.Rules(t, "2026-11-25")
	good := func() Package { return closed(t, rb, triage.USHighway, "JEHF", []map[string]string{whole}) }
	clear := shipment(rb, triage.USHighway, good())
	packageCanGo := regexp.MustCompile(`ion\s+CAN GO`)
	if got := sheet(t, clear, 1); len(clear.Draft()) > 0 || !strings.Contains(got, "* CAN GO") || !packageCanGo.MatchString(got) {
		t.Fatalf("nothing is open and it is %q:\n%s", clear.Draft(), got)
	}
	for name, change := range map[string]func(*Shipment){
		"open":          func(x *Shipment) { x.Packages[0].Closed = false },
		"an open check": func(x *Shipment) { x.Packages[0].Missing = []string{"the gross mass is not known"} },
		"broken":        func(x *Shipment) { x.Packages[0].Broken = []string{"31 kg gross"} },
		"a cell kept":   func(x *Shipment) { x.Packages[0].Cells[0].Keeps = "closed" },
		"one reading off": func(x *Shipment) {
			x.Packages[0].Cells[0].Keeps, x.Packages[0].Cells[0].Lacks = "not known: rating", "watt-hour rating"
		},
		"nothing packed": func(x *Shipment) { x.Packages = nil },
		"no telephone":   func(x *Shipment) { x.Open = []string{"no emergency telephone"} },
	} {
		x := shipment(rb, triage.USHighway, good())
		change(x)
		got := sheet(t, x, 1)
		if strings.Contains(got, "* CAN GO") || !strings.Contains(got, "* NOT YET") || !strings.HasPrefix(New(x).Stand, "DRAFT") {
			t.Errorf("%s: stands as %q:\n%s", name, New(x).Stand, got)
		}
		if name == "no telephone" || name == "nothing packed" {
			continue
		}
		if packageCanGo.MatchString(got) {
			t.Errorf("%s: the package can go:\n%s", name, got)
		}
		if p := &x.Packages[0]; p.stays() && !strings.Contains(sheet(t, x, 5), "No description line: as it stands it cannot go") {
			t.Errorf("%s: the transport paper says\n%s", name, sheet(t, x, 5))
		}
	}
	low := strings.ToLower(text(t, clear))
	for _, word := range []string{" safe ", " safe.", " ok ", "dead", "lawful"} {
		if strings.Contains(low, word) {
			t.Errorf("the papers say %q", word)
		}
	}
}

// What reacts, and what is liable to and has no way, is not offered: one sheet.
func TestDoNotOffer(t *testing.T) {
	rb := exportstest.Rules(t, "2026-11-25")
	for name, c := range map[string]struct {
		reading map[string]string
		steps   bool
	}{
		"smoking": {with("signs", "smoking"), true},
		"liable":  {with("signs", "hissing", "quiet_h", "30"), false},
	} {
		x := shipment(rb, triage.USHighway, closed(t, rb, triage.USHighway, "JEHF", []map[string]string{whole}), closed(t, rb, triage.USHighway, "7T3P", []map[string]string{c.reading}))
		d := New(x)
		got := flat(text(t, x))
		if !d.Refused || len(d.Sheets) != 1 || !strings.Contains(got, "DO NOT OFFER THIS SHIPMENT") || !strings.Contains(got, "Invented authority") {
			t.Errorf("%s: %d sheets:\n%s", name, len(d.Sheets), got)
		}
		if strings.Contains(got, "AWAY Everyone") != c.steps || strings.Contains(got, "UN3480,") || strings.Contains(got, "CAN GO") {
			t.Errorf("%s: %s", name, got)
		}
	}
}

// With the approval of the authority in hand a cell that is liable to react has a way;
// what it rests on stands beside it (special provision 376, last paragraphs).
func TestApprovalInHand(t *testing.T) {
	rb := exportstest.Rules(t, "2026-11-25")
	liable := []map[string]string{with("signs", "hissing", "quiet_h", "30")}
	for _, c := range []struct {
		inHand  []string
		refused bool
	}{{nil, true}, {[]string{"sea-critical-authority"}, false}} {
		p := closed(t, rb, triage.Sea, "JEHF", liable, c.inHand...)
		if w := p.Cells[0].V.Routes[triage.Sea].Way; w != nil && w.Approval != nil {
			p.Cells[0].Approval = w.Approval.Name
		}
		x := shipment(rb, triage.Sea, p)
		d := New(x)
		if d.Refused != c.refused {
			t.Errorf("with %v in hand: refused %v, kept by %q", c.inHand, d.Refused, p.Cells[0].Keeps)
		}
		if !d.Refused && !strings.Contains(flat(sheet(t, x, 1)), "on the approval in hand") {
			t.Errorf("the approval is not named:\n%s", sheet(t, x, 1))
		}
	}
}

// A shipped rule that makes a cell damaged or worse has its ground here.
func TestGroundsAreComplete(t *testing.T) {
	rb := exportstest.Rules(t, "2026-11-25")
	list, err := rb.Explained("")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, e := range list {
		r := rb.RuleByID(e.ID)
		if r == nil || e.Kind != "rule" {
			continue
		}
		if _, condition := r.Outcome(); condition >= triage.Damaged {
			if n++; grounds[e.ID] == "" {
				t.Errorf("rule %s has no ground", e.ID)
			}
		}
	}
	if n < 20 {
		t.Errorf("only %d rules make a cell damaged or worse", n)
	}
}

// "none" is said only where each cell was looked at.
func TestNoneNeedsALook(t *testing.T) {
	rb := exportstest.Rules(t, "2026-11-25")
	blind := with()
	delete(blind, "signs")
	for _, c := range []struct {
		name      string
		readings  []map[string]string
		want, not string
	}{
		{"all looked at", []map[string]string{whole, whole}, "none seen on 2 cells", NotKnown},
		{"one not looked at", []map[string]string{whole, blind}, "not known of 1: " + triage.SpacedTag(tagOf("JEHF", 1)), "none seen"},
		{"one wet", []map[string]string{whole, with("signs", "wet")}, "1: " + triage.SpacedTag(tagOf("JEHF", 1)), "none seen"},
	} {
		x := shipment(rb, triage.USHighway, closed(t, rb, triage.USHighway, "JEHF", c.readings))
		got := field(x.acceptance().Blocks, "Wet, or was in water").Value
		if !strings.Contains(got, c.want) || strings.Contains(got, c.not) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// field finds a field of a form, nil for none.
func field(list []Block, label string) *Field {
	for _, b := range list {
		if f, ok := b.(Form); ok {
			for i := range f {
				if f[i].Label == label {
					return &f[i]
				}
			}
		}
	}
	return nil
}
