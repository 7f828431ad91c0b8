package report

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/plot/vg"

	"pouchward/exports"
	"pouchward/exports/chart"
	"pouchward/exports/exportstest"
	"pouchward/exports/pdf"
	"pouchward/triage"
	"pouchward/triage/review"
)

// odd is what a shop may have written: long, German, Greek, with what steers a
// terminal or a page, and with what the face does not have.
const odd = "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft Εργαστήριο επισκευής ≤ <b>&amp; \x1b[2J 電池"

// invented is a report of an invented shop with so many findings of one check.
func invented(t *testing.T, findings int, site, notice string) *Report {
	t.Helper()
	rb := exportstest.Rules(t, "2026-11-25")
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.FixedZone("", -6*3600))
	on := triage.DateOf(now)
	s := &review.Snapshot{Site: site, Country: "US", Now: now, From: on - 365, To: on, Rules: rb, Verified: true, Entries: review.Numbers{First: 1, Last: 9, Count: 9, Root: strings.Repeat("ab", 32)}}
	for n := range 12 {
		at := now.AddDate(0, 0, -30*n)
		s.Cells = append(s.Cells, review.Cell{Tag: triage.IssueTag(triage.CellTag, int64(n)), Steps: []review.Step{{Source: review.Source{Entry: int64(n) + 1, Happened: at, Entered: at}, Kind: "assessment",
			Now: review.State{Is: review.Here, Handling: triage.Isolate, Condition: triage.Damaged, Waste: triage.CasingIntact, MicroWh: 15_400_000, Start: triage.DateOf(at), StartBy: "pulled_on", Place: odd}}}})
	}
	r := review.Run(s, "a seed")
	r.Findings = nil
	check := rb.Checks()[0]
	for n := range findings {
		f := review.Finding{Check: check, Subject: odd, Entries: []int64{int64(n) + 1}, Since: now.AddDate(0, 0, -n), Text: fmt.Sprintf("matter %d of %s", n, odd)}
		if n%3 == 1 {
			f.Until = now
		}
		if n%3 == 2 {
			f.Signed = &review.SignOff{Source: review.Source{Who: "MK", Entry: 8, Happened: now}, Reason: odd}
		}
		r.Findings = append(r.Findings, f)
	}
	rows := make([][]string, 300)
	for i := range rows {
		rows[i] = []string{"F2 XE9R", odd, fmt.Sprint(i)}
	}
	stock := exports.StockRow{Tag: "F2XE9R", Place: odd, Container: "JEHF", What: "steel tin", Handling: "isolate", Condition: "damaged", Cells: 12, Wh: 184.8, Unweighed: 12, Oldest: "2025-12-30"}
	return &Report{Site: site, On: on, AsOf: now, Period: "all entries", Paper: pdf.Papers[0], Notice: notice, Names: "as typed", Rulebook: rb.Digest, Entries: 9, Line: "9 abababababababababab", Review: r,
		Stock: &exports.StockReport{On: on.String(), Rows: []exports.StockRow{stock}, Total: stock}, Days: review.StockSeries(s), Ages: review.AgesOf(s),
		Records: []Records{{Title: odd, Columns: []pdf.Column{{Head: "Tag", Width: 20}, {Head: "What"}, {Head: "n", Width: 12, Right: true}}, Rows: rows, All: 1000, Table: "shipments"}, {Title: "Training"}},
		Checks:  []Check{{"how", odd, odd}, {"how", "", strings.Repeat("x", 300)}}}
}

// What is drawn stays on its page, whatever a shop wrote, and above the foot.
func TestNothingLeavesThePage(t *testing.T) {
	for _, notice := range []string{"", "DAMAGED LOG: " + odd} {
		r := invented(t, 40, odd, notice)
		for range 12 { // more than the first page holds
			r.Wrong = append(r.Wrong, odd)
		}
		d, err := draw(r)
		if err != nil {
			t.Fatal(err)
		}
		if len(d.Pages) < 10 {
			t.Errorf("%d pages: the test shows too little", len(d.Pages))
		}
		for i, p := range d.Pages {
			for _, w := range p.Words {
				if right := w.X + pdf.Width(w.Text, w.Style); w.X < 10 || right > p.W-10 || w.Y > p.H-20 || w.Y < 10 {
					t.Errorf("page %d: %q from %.1f to %.1f at %.1f of %.0f x %.0f mm", i+1, w.Text, w.X, right, w.Y, p.W, p.H)
				}
			}
			for _, s := range p.Shapes {
				for _, path := range s.Paths {
					for _, at := range path {
						if at.X < 0 || at.X > p.W || at.Y < 0 || at.Y > p.H {
							t.Fatalf("page %d: a picture leaves it at %.1f, %.1f", i+1, at.X, at.Y)
						}
					}
				}
			}
		}
	}
}

// Wherever on a page a heading falls, it stands clear of what is under it.
func TestNoWordsOverOthers(t *testing.T) {
	for room := 5.0; room < 260; room += 5 {
		doc := &pdf.Doc{Title: "t", On: 20000}
		p := &page{Flow: doc.Flow(pdf.Papers[0]), doc: doc}
		if room < 255 { // the last stands at the head of the page itself
			p.Y = p.Flow.Paper.H - room
		}
		p.severity("MAJOR: act this week")
		p.Para("A title that goes on under it", pdf.Style{Points: 11, Bold: true})
		p.section("A section")
		p.Para("words", small)
		if err := doc.Overlap(); err != nil {
			t.Errorf("%g mm of room: %v", room, err)
		}
	}
}

// What has no room is counted, never dropped.
func TestWhatHasNoRoomIsCounted(t *testing.T) {
	d, err := draw(invented(t, 45, "Invented shop", ""))
	if err != nil {
		t.Fatal(err)
	}
	text := ""
	for _, p := range d.Pages {
		for _, w := range p.Words {
			text += w.Text + " "
		}
	}
	for _, want := range []string{"25 more of these stand in the table findings", "800 more rows stand in the table shipments", "None on record.", "OPEN since", "Answered by MK", "of what"} {
		if !strings.Contains(text, want) {
			t.Errorf("the report does not say %q", want)
		}
	}
	if n := strings.Count(strings.ToLower(text), "matter "); n != mostFindings {
		t.Errorf("%d findings are printed, want %d", n, mostFindings)
	}
	for _, bad := range []string{" safe.", " OK", "dead"} {
		if strings.Contains(text, bad) {
			t.Errorf("the report says %q", bad)
		}
	}
}

// A file beside the log that is gone is told first, and the log still verifies.
func TestFilesBesideTheLog(t *testing.T) {
	r := invented(t, 1, "Invented shop", "")
	r.Beside, r.Besides = "2 of 9 attached files missing or changed, the first: Entry 4: it is missing", []string{"Entry 4: it is missing", "Entry 7: other <bytes>"}
	var out, page bytes.Buffer
	if err := errors.Join(PDF(&out, r), Index(&page, &Pack{Report: r})); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"The log verifies: every entry, hash, key and view", r.Beside, "<p>Entry 7: other &lt;bytes&gt;</p>"} {
		if !strings.Contains(page.String(), want) {
			t.Errorf("the index does not say %q", want)
		}
	}
	first := strings.Join(strings.Fields(pagesOf(t, out.Bytes())[0]), " ")
	if !strings.Contains(first, "FILES BESIDE IT DO NOT") || !strings.Contains(first, r.Beside) || strings.Contains(first, "attached file was read") {
		t.Errorf("the first page says %s", first)
	}
}

// A log that cannot be read shows no empty shop, and no picture.
func TestDamagedReport(t *testing.T) {
	r := invented(t, 1, "Invented shop", "DAMAGED LOG: does not verify")
	r.Stock, r.Days, r.Ages, r.Wrong = nil, nil, nil, []string{"Entry 4: other bytes"}
	var out, page bytes.Buffer
	if err := PDF(&out, r); err != nil {
		t.Fatal(err)
	}
	if err := Index(&page, &Pack{Report: r}); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"DAMAGED LOG", "THE LOG DOES NOT VERIFY", "Entry 4: other bytes", "Cannot be read"} {
		if !strings.Contains(page.String(), want) {
			t.Errorf("the index does not say %q", want)
		}
	}
	for i, text := range pagesOf(t, out.Bytes()) {
		if !strings.Contains(text, "DAMAGED LOG: does not verify") || !strings.Contains(text, triage.LocalFirst) {
			t.Errorf("page %d does not say that the log is damaged, or that local codes come first", i+1)
		}
	}
}

// pagesOf is the text of each page of a PDF, as another program reads it.
func pagesOf(t *testing.T, file []byte) []string {
	t.Helper()
	poppler := exportstest.Poppler(t, "pdftotext")
	name := filepath.Join(t.TempDir(), "r.pdf")
	if err := os.WriteFile(name, file, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(poppler, "-layout", name, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	pages := strings.Split(strings.TrimSuffix(string(out), "\f"), "\f")
	if len(pages) < 3 {
		t.Fatalf("%d pages", len(pages))
	}
	return pages
}

// Every page has the site, its number of how many, the rulebook and the day.
func TestEveryPage(t *testing.T) {
	r := invented(t, 30, "Εργαστήριο Köln", "")
	var out bytes.Buffer
	if err := PDF(&out, r); err != nil {
		t.Fatal(err)
	}
	pages := pagesOf(t, out.Bytes())
	for i, text := range pages {
		for _, want := range []string{"Εργαστήριο Köln", fmt.Sprintf("page %d of %d", i+1, len(pages)), r.Rulebook[:12], "2026-11-25", triage.LocalFirst} {
			if !strings.Contains(text, want) {
				t.Errorf("page %d does not say %q", i+1, want)
			}
		}
	}
}

func TestSameBytes(t *testing.T) {
	var a, b bytes.Buffer
	for _, to := range []*bytes.Buffer{&a, &b} {
		if err := PDF(to, invented(t, 5, odd, "")); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("the same report gives other bytes")
	}
}

// A picture says on paper what it says as SVG, and its areas come in their colours.
func TestPicturesOnPaper(t *testing.T) {
	r := invented(t, 1, "Invented shop", "")
	for _, of := range chart.Measures[:2] {
		x, err := chart.StockPicture(r.Review.Snapshot, r.Days, of)
		if err != nil {
			t.Fatal(err)
		}
		page := &pdf.Page{W: 297, H: 210}
		x.Draw(&canvas{page: page, left: 10, floor: 200, scale: 0.35, weight: vg.Points(1)})
		var svg bytes.Buffer
		if err := x.Write(&svg, "svg"); err != nil {
			t.Fatal(err)
		}
		if len(page.Words) != strings.Count(svg.String(), "<text") || len(page.Words) < 10 {
			t.Errorf("%s: %d words on paper, %d in the SVG", of, len(page.Words), strings.Count(svg.String(), "<text"))
		}
		tinted := 0
		for _, s := range page.Shapes {
			if s.Fill && s.Ink != [3]uint8{} && s.Ink != [3]uint8{255, 255, 255} {
				tinted++
			}
		}
		if tinted == 0 {
			t.Errorf("%s: no area has a colour", of)
		}
	}
}
