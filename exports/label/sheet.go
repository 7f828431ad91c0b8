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
	if err := Draw(d, labels, paper); err != nil {
		return err
	}
	return d.Write(w)
}

// Draw adds labels to a document.
func Draw(d *pdf.Doc, labels []Label, paper pdf.Paper) error {
	const around = 10
	var page *pdf.Page
	x, y, high := 0.0, 0.0, 0.0
	for _, l := range labels {
		q, err := l.Piece()
		if err != nil {
			return err
		}
		if paper.Name == "" {
			d.Pages = append(d.Pages, q)
			continue
		}
		if page != nil && x+q.W > paper.W-around+1e-9 {
			x, y, high = around, y+high, 0
		}
		if page == nil || y+q.H > paper.H-around+1e-9 {
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
	return nil
}

// Size returns what a piece measures, in mm.
func (c *Cell) Size() (w, h float64)      { return cellW, cellH }
func (c *Container) Size() (w, h float64) { return boxW, boxH }
func (s *Strip) Size() (w, h float64)     { return stripW, stripH }

// Sizes says in words what a set of labels is printed on.
func Sizes(labels []Label, paper pdf.Paper) string {
	if paper.Name != "" {
		return paper.Name + " paper, cut along the dashes"
	}
	w, h := labels[0].Size()
	for _, l := range labels {
		if ow, oh := l.Size(); ow != w || oh != h {
			return "each on a page of its own size"
		}
	}
	return fmt.Sprintf("%.0f x %.0f mm", w, h)
}
