package papers

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pouchward/exports/exportstest"
	"pouchward/exports/pdf"
	"pouchward/triage"
)

// poppler runs pdftotext on a document.
func poppler(t *testing.T, d *Document, paper pdf.Paper, args ...string) string {
	t.Helper()
	path := exportstest.Poppler(t, "pdftotext")
	var buf bytes.Buffer
	if err := d.Write(&buf, paper); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "papers.pdf")
	if err := os.WriteFile(name, buf.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(path, append(args, name, "-")...).Output()
	if err != nil {
		t.Fatalf("pdftotext: %v", err)
	}
	return string(out)
}

// longOne is a word that no column holds, with German and Greek letters.
const longOne = "GefahrstoffsicherheitsschrankübergabeprotokollstraßenΕργαστήριοεπισκευήςμπαταριών"

// mixed is a shipment with much in it. Invented.
func mixed(t *testing.T) *Shipment {
	rb := exportstest.Rules(t, "2026-11-25")
	x := shipment(rb, triage.USHighway, closed(t, rb, triage.USHighway, "JEHF", slices.Repeat([]map[string]string{whole, with("device", "Gerät Ä Ω", "part", "PX-1 größer")}, 35)),
		closed(t, rb, triage.USHighway, "7T3P", []map[string]string{with("signs", "dented;wet")}), closed(t, rb, triage.USHighway, "RCJ4", []map[string]string{with("signs", "swollen")}))
	x.Site, x.Consignee = "Müller & Söhne / Εργαστήριο (invented)", "Wiederverwertung Ödland, Δοκιμή (invented)"
	x.Notices = []string{"the rules of an instrument are known until 2026-12-31 only"}
	return x
}

// words are the words of a text, each once, without what is drawn in one form and
// written in the other: boxes, lines, page numbers.
func words(s string) map[string]bool {
	m := map[string]bool{}
	s = regexp.MustCompile(`page \d+ of \d+`).ReplaceAllString(s, " ")
	for _, w := range strings.Fields(strings.ReplaceAll(s, "[ ]", " ")) {
		if w = strings.Trim(w, "_*=□"); strings.Trim(w, "-") != "" {
			m[w] = true
		}
	}
	return m
}

// The two forms hold the same words.
func TestSameWords(t *testing.T) {
	d := New(mixed(t))
	var b strings.Builder
	if err := d.Text(&b); err != nil {
		t.Fatal(err)
	}
	// A word that a column breaks in one form is whole in the other: so joined.
	joined := func(s string) string { return strings.Join(strings.Fields(s), "") }
	asText, asPDF := b.String(), poppler(t, d, pdf.Papers[0], "-raw")
	a, p := words(asText), words(asPDF)
	if len(a) < 400 {
		t.Fatalf("only %d words", len(a))
	}
	for w := range a {
		if !p[w] && !strings.Contains(joined(asPDF), w) {
			t.Errorf("%q stands in the text alone", w)
		}
	}
	cells := joined(cellsOf(d))
	for w := range p {
		if !a[w] && !strings.Contains(joined(asText), w) && !strings.Contains(cells, w) {
			t.Errorf("%q stands in the PDF alone", w)
		}
	}
}

// cellsOf are all cells of all tables.
func cellsOf(d *Document) string {
	var b strings.Builder
	var walk func(list []Block)
	walk = func(list []Block) {
		for _, x := range list {
			switch x := x.(type) {
			case Together:
				walk(x)
			case *Table:
				for _, c := range x.Columns {
					b.WriteString(c.Head + "\n")
				}
				for _, r := range x.Rows {
					b.WriteString(strings.Join(r, "\n") + "\n")
				}
			}
		}
	}
	for i := range d.Sheets {
		walk(d.Sheets[i].Blocks)
	}
	return b.String()
}

// Long names, German and Greek letters survive, and nothing leaves its page.
func TestNothingIsClipped(t *testing.T) {
	x := mixed(t)
	x.Site, x.Consignee, x.PhoneBy = longOne, longOne+" und "+longOne, longOne
	x.Packages[0].Outer, x.Packages[0].UNMark = longOne, longOne
	x.Packages[0].PackedBy, x.Packages[0].Tag = longOne, "JEHF"
	x.Handover = &Handover{At: "2026-11-25 16:40 -06:00", Carrier: longOne, By: longOne, Ref: longOne, Until: "2026-12-31", Accepts: []string{"undamaged", "damaged", "recalled"}}
	x.Packages[1].Broken = []string{strings.Repeat(longOne+" ", 30)}
	c, _ := cell(t, exportstest.Rules(t, "2026-11-25"), "C3R9C2", with("device", longOne, "part", longOne))
	x.Packages[1].Cells = append(x.Packages[1].Cells, c)
	d := New(x)
	for _, paper := range pdf.Papers {
		boxes := poppler(t, d, paper, "-bbox")
		n := 0
		for _, m := range regexp.MustCompile(`<word xMin="([^"]+)" yMin="([^"]+)" xMax="([^"]+)" yMax="([^"]+)">`).FindAllStringSubmatch(boxes, -1) {
			var at [4]float64
			for i := range at {
				at[i], _ = strconv.ParseFloat(m[i+1], 64)
			}
			const mm = 72 / 25.4
			if n++; at[0] < 14.5*mm || at[1] < 10*mm || at[2] > (paper.W-14.5)*mm || at[3] > (paper.H-10)*mm {
				t.Errorf("%s: words at %v leave the margins", paper.Name, at)
			}
		}
		if n < 1000 {
			t.Errorf("%s: only %d words were found", paper.Name, n)
		}
		raw := strings.Join(strings.Fields(poppler(t, d, paper, "-raw")), "")
		if got := strings.Count(raw, longOne); got < 10 {
			t.Errorf("%s: the long name stands whole %d times", paper.Name, got)
		}
		if err := d.pages(paper).Overlap(); err != nil {
			t.Errorf("%s: %v", paper.Name, err)
		}
	}
}
