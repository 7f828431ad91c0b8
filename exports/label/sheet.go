package label

import (
	"fmt"
	"io"

	"pouchward/exports/pdf"
	"pouchward/triage"
)

// Write draws labels as PDF: each on a page of its own size where paper has no name,
// for a label printer, else as many on a sheet of paper as it takes, with lines to
// cut along.
func Write(w io.Writer, labels []Label, paper pdf.Paper, on triage.Date, title string) error {
	d := &pdf.Doc{Title: title, On: on}
	Draw(d, labels, paper)
	return d.Write(w)
}

// Draw adds labels to a document.
func Draw(d *pdf.Doc, labels []Label, paper pdf.Paper) {
	if paper.Name == "" {
		for _, l := range labels {
			d.Pages = append(d.Pages, l.Piece())
		}
		return
	}
	const around = 10
	var page *pdf.Page
	x, y, high := 0.0, 0.0, 0.0
	for _, l := range labels {
		q := l.Piece()
		if page != nil && x+q.W > paper.W-around+1e-9 {
			x, y = around, y+high
			high = 0
		}
		if page == nil || y+max(q.H, high) > paper.H-around+1e-9 {
			page = d.Page(paper.W, paper.H)
			x, y, high = around, around, 0
		}
		page.Paste(q, x, y)
		page.Dashed(x, y, x+q.W, y)
		page.Dashed(x, y+q.H, x+q.W, y+q.H)
		page.Dashed(x, y, x, y+q.H)
		page.Dashed(x+q.W, y, x+q.W, y+q.H)
		x, high = x+q.W, max(high, q.H)
	}
}

// Sizes says in words what a set of labels is printed on.
func Sizes(labels []Label, paper pdf.Paper) string {
	if paper.Name != "" {
		return fmt.Sprintf("%s paper, cut along the dashes", paper.Name)
	}
	q := labels[0].Piece()
	for _, l := range labels {
		if o := l.Piece(); o.W != q.W || o.H != q.H {
			return "each on a page of its own size"
		}
	}
	return fmt.Sprintf("%.0f x %.0f mm", q.W, q.H)
}
