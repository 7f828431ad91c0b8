// Package report is what an inspector is handed: a report on paper (PDF), and the
// page that opens a folder of exports in a browser (HTML). Both are made from one
// Report, and say the same.
//
// Order: what was found, the worst first; what was in order, and of how much; what a
// log cannot show; then the figures. Nothing is graded or scored. What is not known
// is said to be, and what had no room is counted and told where it stands. Every page
// has the site, the day, the rulebook and its number; where the log does not verify,
// every page says that first.
//
// Pictures are drawn as lines and areas, never as pixels, so that the same report
// gives the same bytes.
package report

import (
	"fmt"
	"io"
	"time"

	"pouchward/exports"
	"pouchward/exports/pdf"
	"pouchward/triage"
	"pouchward/triage/review"
)

// A Report is what is told. Texts are as printed but for control characters, which
// the writers clean.
type Report struct {
	Site   string
	On     triage.Date // judged for
	AsOf   time.Time   // the moment for which everything is told, on the clock of the shop
	Period string
	Paper  pdf.Paper
	Notice string   // what must be known of the whole, blank: nothing
	Wrong  []string // what does not verify, line by line
	Beside string   // how many files beside the log are not as it says, blank: none
	Names  string   // how people are named
	House  string   // what is not known for want of a house file, blank: there is one

	Besides []string // those files, line by line

	Rulebook string // its digest
	Entries  int64
	Began    time.Time // when the first was made
	Line     string    // the paper line
	Keys     []string

	Review *review.Report
	Stock  *exports.StockReport // by place, container and class; nil: it cannot be read
	Days   []review.StockDay    // nil: the pictures are not drawn
	Ages   *review.Ages

	Records []Records
	Checks  []Check
}

// Records is a short table: the last rows of one of the export's tables.
type Records struct {
	Title   string
	Columns []pdf.Column
	Rows    [][]string
	All     int64  // rows that there are
	Table   string // where all stand
}

// A Check is one step by which a stranger checks the log.
type Check struct{ Part, Name, Text string }

// mostRows is how many rows of a table are printed, mostFindings how many findings of
// one check. The rest is counted, and stands in the tables of the export.
const (
	mostRows     = 200
	mostFindings = 20
)

// The styles of the report.
var (
	title   = pdf.Style{Points: 22, Bold: true}
	heading = pdf.Style{Points: 14, Bold: true}
	strong  = pdf.Style{Points: 10, Bold: true}
	plain   = pdf.Style{Points: 9.5}
	small   = pdf.Style{Points: 8.5}
	fine    = pdf.Style{Points: 7.5}
)

// A page is a report under way.
type page struct {
	*pdf.Flow
	*Report
	doc      *pdf.Doc
	contents []entry
}

// An entry is a line of the contents.
type entry struct {
	title string
	page  int
}

// PDF writes the report on paper.
func PDF(w io.Writer, r *Report) error {
	doc, err := draw(r)
	if err != nil {
		return err
	}
	return doc.Write(w)
}

func draw(r *Report) (*pdf.Doc, error) {
	doc := &pdf.Doc{Title: "Report from the log of " + r.Site + ", " + r.On.String(), On: r.On, Head: r.head,
		Foot: fmt.Sprintf("%s. Report for %s, rulebook %.12s. %s", r.Site, r.On, r.Rulebook, triage.LocalFirst)}
	p := &page{Flow: doc.Flow(r.Paper), Report: r, doc: doc}
	on, at := p.cover()
	p.findings()
	p.clean()
	p.unseen()
	p.stock()
	p.ledger()
	if err := p.pictures(); err != nil {
		return nil, err
	}
	p.records()
	p.sample()
	p.checks()
	p.fillContents(on, at)
	return doc, nil
}

// head writes the notice, where there is one, in white on black over a page.
func (r *Report) head(f *pdf.Flow) {
	if r.Notice == "" {
		return
	}
	const pad = 1.5
	style := pdf.Style{Points: 10, Bold: true, White: true}
	lines := pdf.Wrap(r.Notice, f.Width()-2*pad, style)
	high := float64(len(lines)) * pdf.Leading(style)
	f.Page.Area(f.Left(), f.Y, f.Width(), high+2*pad)
	f.Page.Block(f.Left()+pad, f.Y+pad, lines, style)
	f.Y += high + 2*pad + 3
}

// section begins a section; the first line of it stays with its heading.
func (p *page) section(name string) {
	p.Need(40)
	p.Space(5)
	p.contents = append(p.contents, entry{name, len(p.doc.Pages)})
	p.Para(fmt.Sprintf("%d  %s", len(p.contents), name), heading)
	p.Page.Area(p.Left(), p.Y+0.6, p.Width(), 0.7)
	p.Space(3.5)
}

// table draws a table without what has no room, which is counted under it.
func (p *page) table(columns []pdf.Column, rows [][]string, all int64, where string) {
	if len(rows) > mostRows {
		rows = rows[:mostRows]
	}
	p.Table(&pdf.Table{Columns: columns, Rows: rows, Style: small})
	if more := all - int64(len(rows)); more > 0 {
		p.Space(1)
		p.Para(fmt.Sprintf("%d more rows stand in the table %s of the workbook and the CSV (pouchward export).", more, where), small)
	}
}
