// Package pdf lays out pages in millimetres and writes them as PDF, black on
// white, with an embedded face for Latin, Greek and Cyrillic.
//
// A page is a list of marks: words on a base line, lines, and areas. Nothing is
// written until Doc.Write, so that "page n of m" and a check of the whole drawing
// need no second pass, and the same marks give the same bytes. The dates in the
// file are the day that the document is for, never the clock.
//
// Text never runs out of its box. It is cleaned, broken at its blanks, a word that
// is too long inside, and made smaller down to a floor that the caller states;
// what does not fit then is told to the caller, who says so on the page. A
// character that the face does not have (Chinese, say) is drawn as an empty box.
//
// Sizes: a letter is as high as a capital H unless said otherwise. Words are in
// points, 72 to 25.4 mm; everything else is in millimetres, from the upper left
// corner.
//
// It stands apart from exports because its fonts are large; they are read when the
// first text is measured, so a command that draws nothing does not pay for them.
package pdf

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"pouchward/exports"
	"pouchward/triage"
)

// mmPerPoint is the size of a point.
const mmPerPoint = 25.4 / 72

// A Style is how words are set.
type Style struct {
	Points float64
	Bold   bool
	White  bool // on a black area
}

// A Doc is a document under way.
type Doc struct {
	Title string
	On    triage.Date // the day it is for
	// Foot stands at the foot of every page of a flow, beside "page n of m". It is
	// set before the first.
	Foot  string
	Pages []*Page
	// Head draws what stands at the head of every page of a flow, nil for nothing.
	// It is set before the first.
	Head func(*Flow)
}

// A Page is one page, W by H mm.
type Page struct {
	W, H  float64
	Words []Words
	Areas []Area
	Lines []Line
	Codes []Code
	// Shapes are drawn first, in their order.
	Shapes []Shape

	foot bool // gets the foot of the document
}

// Words stand on a base line.
type Words struct {
	X, Y float64 // left end, base line
	Text string
	Style
}

// An Area is a filled rectangle.
type Area struct {
	X, Y, W, H float64
	White      bool
}

// A Line is a stroke; Dash is the length of its dashes, 0 for none.
type Line struct{ X1, Y1, X2, Y2, Weight, Dash float64 }

// A Code is the modules of a bar code, filled as one path so that no hair line
// shows between them.
type Code struct {
	X, Y, Module float64
	Dark         [][]bool // rows of columns
}

// Page adds a page of a size.
func (d *Doc) Page(w, h float64) *Page {
	p := &Page{W: w, H: h}
	d.Pages = append(d.Pages, p)
	return p
}

// Put writes words on a base line.
func (p *Page) Put(x, y float64, text string, s Style) {
	p.Words = append(p.Words, Words{x, y, Printable(text), s})
}

// Area fills a rectangle.
func (p *Page) Area(x, y, w, h float64) { p.Areas = append(p.Areas, Area{x, y, w, h, false}) }

// Line draws a line.
func (p *Page) Line(x1, y1, x2, y2, weight float64) {
	p.Lines = append(p.Lines, Line{x1, y1, x2, y2, weight, 0})
}

// Dashed draws a line of dashes, to cut along.
func (p *Page) Dashed(x1, y1, x2, y2 float64) {
	p.Lines = append(p.Lines, Line{x1, y1, x2, y2, 0.2, 1.5})
}

// Box draws the outline of a rectangle.
func (p *Page) Box(x, y, w, h, weight float64) {
	p.Line(x, y, x+w, y, weight)
	p.Line(x, y+h, x+w, y+h, weight)
	p.Line(x, y, x, y+h, weight)
	p.Line(x+w, y, x+w, y+h, weight)
}

// Code draws a bar code.
func (p *Page) Code(x, y, module float64, dark [][]bool) {
	p.Codes = append(p.Codes, Code{x, y, module, dark})
}

// Paste draws all marks of another page with its corner at a point.
func (p *Page) Paste(q *Page, x, y float64) {
	for _, m := range q.Words {
		m.X, m.Y = m.X+x, m.Y+y
		p.Words = append(p.Words, m)
	}
	for _, m := range q.Areas {
		m.X, m.Y = m.X+x, m.Y+y
		p.Areas = append(p.Areas, m)
	}
	for _, m := range q.Lines {
		m.X1, m.X2, m.Y1, m.Y2 = m.X1+x, m.X2+x, m.Y1+y, m.Y2+y
		p.Lines = append(p.Lines, m)
	}
	for _, m := range q.Codes {
		m.X, m.Y = m.X+x, m.Y+y
		p.Codes = append(p.Codes, m)
	}
	for _, m := range q.Shapes {
		p.Shapes = append(p.Shapes, m.moved(x, y))
	}
}

// footStyle is how the foot is set, numberRoom what "page n of m" takes of its
// width, in mm.
var footStyle = Style{Points: 7.5}

const numberRoom = 30

// footLines are the lines of the foot of a page of a width.
func (d *Doc) footLines(width float64) []string {
	return Wrap(d.Foot, width-2*margin-numberRoom, footStyle)
}

// footHeight is what the foot takes, its rule and the room above it included.
func (d *Doc) footHeight(width float64) float64 {
	return 4 + float64(max(1, len(d.footLines(width))))*Leading(footStyle)
}

// Write writes the document. The same document gives the same bytes.
func (d *Doc) Write(w io.Writer) error {
	f := fpdf.New("P", "mm", "A4", "")
	f.SetCatalogSort(true)
	at := d.On.In(time.UTC)
	f.SetCreationDate(at)
	f.SetModificationDate(at)
	f.SetTitle(exports.Clean(d.Title), true)
	f.SetProducer("pouchward", true)
	f.SetMargins(0, 0, 0)
	f.SetAutoPageBreak(false, 0)
	f.AddUTF8FontFromBytes("face", "", regularTTF())
	f.AddUTF8FontFromBytes("face", "B", boldTTF())
	for i, p := range d.Pages {
		if p.foot {
			p = d.withFoot(p, i+1)
		}
		f.AddPageFormat("P", fpdf.SizeType{Wd: p.W, Ht: p.H})
		p.draw(f)
	}
	var buf bytes.Buffer
	if err := f.Output(&buf); err != nil {
		return fmt.Errorf("drawing the PDF: %w", err)
	}
	_, err := w.Write(buf.Bytes())
	return err
}

// withFoot returns a page with its foot.
func (d *Doc) withFoot(p *Page, n int) *Page {
	q := *p
	q.Lines, q.Words = slices.Clone(p.Lines), slices.Clone(p.Words)
	right, top := p.W-margin, p.H-margin-d.footHeight(p.W)+2
	q.Line(margin, top, right, top, 0.2)
	number := fmt.Sprintf("page %d of %d", n, len(d.Pages))
	q.Put(right-Width(number, footStyle), top+1+baseline(footStyle), number, footStyle)
	q.Block(margin, top+1, d.footLines(p.W), footStyle)
	return &q
}

// draw puts the marks of a page on the PDF's page.
func (p *Page) draw(f *fpdf.Fpdf) {
	for i := range p.Shapes {
		p.Shapes[i].draw(f)
	}
	f.SetFillColor(0, 0, 0)
	f.SetDrawColor(0, 0, 0)
	for _, a := range p.Areas {
		if a.White {
			f.SetFillColor(255, 255, 255)
		}
		f.Rect(a.X, a.Y, a.W, a.H, "F")
		f.SetFillColor(0, 0, 0)
	}
	for _, l := range p.Lines {
		f.SetLineWidth(l.Weight)
		if l.Dash > 0 {
			f.SetDashPattern([]float64{l.Dash, l.Dash}, 0)
		}
		f.Line(l.X1, l.Y1, l.X2, l.Y2)
		if l.Dash > 0 {
			f.SetDashPattern(nil, 0)
		}
	}
	for _, c := range p.Codes {
		c.draw(f)
	}
	for _, t := range p.Words {
		style, grey := "", 0
		if t.Bold {
			style = "B"
		}
		if t.White {
			grey = 255
		}
		f.SetFont("face", style, t.Points)
		f.SetTextColor(grey, grey, grey)
		f.Text(t.X, t.Y, t.Text)
	}
}

// draw fills the dark modules as one path, each run of a row at once.
func (c *Code) draw(f *fpdf.Fpdf) {
	for y, row := range c.Dark {
		for x := 0; x < len(row); x++ {
			from := x
			for x < len(row) && row[x] {
				x++
			}
			if x == from {
				continue
			}
			left, right := c.X+float64(from)*c.Module, c.X+float64(x)*c.Module
			top, foot := c.Y+float64(y)*c.Module, c.Y+float64(y+1)*c.Module
			f.MoveTo(left, top)
			f.LineTo(right, top)
			f.LineTo(right, foot)
			f.LineTo(left, foot)
			f.ClosePath()
		}
	}
	f.DrawPath("F")
}
