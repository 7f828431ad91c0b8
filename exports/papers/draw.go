package papers

import (
	"io"
	"strings"

	"pouchward/exports/pdf"
)

// How the parts of a page are set.
var (
	titleStyle   = pdf.Style{Points: 15, Bold: true}
	standStyle   = pdf.Style{Points: 9, Bold: true}
	headingStyle = pdf.Style{Points: 11, Bold: true}
	bodyStyle    = pdf.Style{Points: 9}
	tableStyle   = pdf.Style{Points: 8.5}
	stepStyle    = pdf.Style{Points: 13}
	wordStyle    = pdf.Style{Points: 15, Bold: true}
)

// The measures of a page in mm.
const (
	labelMM    = 50.0
	stepMM     = 28.0
	lineMM     = 7.0 // from one line that is written on to the next
	leastLine  = 60.0
	charMM     = 2.15 // a column of so many letters
	handMM     = 8.0  // a row that is written in
	notePad    = 2.5
	noteWeight = 0.7
)

// A drawer draws blocks down a flow.
type drawer struct{ *pdf.Flow }

// Write writes the document as PDF.
func (x *Document) Write(w io.Writer, paper pdf.Paper) error {
	return x.pages(paper).Write(w)
}

// pages lays the document out.
func (x *Document) pages(paper pdf.Paper) *pdf.Doc {
	doc := &pdf.Doc{Title: "Shipment " + x.Tag, On: x.On, Foot: strings.Join(x.Foot, " ")}
	title := x.Sheets[0].Title
	doc.Head = func(f *pdf.Flow) { x.head(f, title) }
	d := &drawer{doc.Flow(paper)}
	for i := range x.Sheets {
		if title = x.Sheets[i].Title; i > 0 {
			d.Break()
		}
		for _, b := range x.Sheets[i].Blocks {
			b.draw(d)
		}
	}
	return doc
}

// head draws the head of a page: the sheet, the shipment, and how it stands.
func (x *Document) head(f *pdf.Flow, title string) {
	tag := "SHIPMENT " + x.Tag
	right := pdf.Width(tag, titleStyle)
	s, _ := pdf.FitLine(title, f.Width()-right-6, titleStyle, 9)
	f.Page.Block(f.Left(), f.Y, []string{title}, s)
	f.Page.Block(f.Left()+f.Width()-right, f.Y, []string{tag}, titleStyle)
	f.Y += pdf.Leading(titleStyle) + 0.5
	f.Y = f.Page.Block(f.Left(), f.Y, pdf.Wrap(x.Stand, f.Width(), standStyle), standStyle) + 1
	f.Page.Line(f.Left(), f.Y, f.Left()+f.Width(), f.Y, 0.5)
	f.Y += 3
}

func (h Heading) draw(d *drawer) {
	d.Space(2)
	d.Need(pdf.Leading(headingStyle) + 12) // never alone at the foot of a page
	d.Para(string(h), headingStyle)
	d.Space(0.8)
}

// draw lays the blocks out on paper of their own first, to see how high they are.
func (g Together) draw(d *drawer) {
	trial := &pdf.Doc{Foot: d.Doc.Foot}
	t := &drawer{trial.Flow(d.Paper)}
	from := t.Y
	for _, b := range g {
		b.draw(t)
	}
	if len(trial.Pages) == 1 {
		d.Need(t.Y - from)
	}
	for _, b := range g {
		b.draw(d)
	}
}

func (p Para) draw(d *drawer) {
	d.Para(string(p), bodyStyle)
	d.Space(1.2)
}

func (n Notice) draw(d *drawer) {
	w := d.Width() - 2*notePad
	word, text := pdf.Wrap(n.Word, w, wordStyle), pdf.Wrap(n.Text, w, bodyStyle)
	h := 2*notePad + float64(len(word))*pdf.Leading(wordStyle) + float64(len(text))*pdf.Leading(bodyStyle)
	if h > d.Room() {
		d.Break()
	}
	if h > d.Room() { // longer than a page: no frame goes round it
		d.Para(n.Word, wordStyle)
		d.Para(n.Text, bodyStyle)
		return
	}
	d.Page.Box(d.Left(), d.Y, d.Width(), h, noteWeight)
	y := d.Page.Block(d.Left()+notePad, d.Y+notePad, word, wordStyle)
	d.Page.Block(d.Left()+notePad, y, text, bodyStyle)
	d.Y += h
	d.Space(3)
}

func (f Form) draw(d *drawer) {
	for _, x := range f {
		write := x.Value == "" || x.Write
		labels := pdf.Wrap(x.Label, labelMM-2, bodyStyle)
		values := pdf.Wrap(x.Value, d.Width()-labelMM, bodyStyle)
		lines := max(len(labels), len(values))
		d.Need(float64(min(lines, 12))*pdf.Leading(bodyStyle) + 2)
		if write {
			d.Need(lineMM)
			d.Y += 1.5
		}
		x.write(d, labels, values, write)
	}
	d.Space(1.5)
}

func (s Steps) draw(d *drawer) {
	for _, x := range s {
		d.Indented(stepMM, x.Label, x.Value, stepStyle)
		d.Space(1)
	}
	d.Space(1)
}

// write draws one field, line by line.
func (x *Field) write(d *drawer, labels, values []string, write bool) {
	step := pdf.Leading(bodyStyle)
	at := d.Left() + labelMM
	for i := range max(len(labels), len(values)) {
		d.Need(step)
		if i < len(labels) {
			d.Page.Block(d.Left(), d.Y, labels[i:i+1], bodyStyle)
		}
		if i < len(values) {
			d.Page.Block(at, d.Y, values[i:i+1], bodyStyle)
		}
		d.Y += step
	}
	if write {
		from := at
		if n := len(values); n > 0 {
			from += pdf.Width(values[n-1], bodyStyle) + 2
		}
		y := d.Y - 0.6
		if from > d.Left()+d.Width()-leastLine {
			d.Need(lineMM)
			from, y = at, d.Y+lineMM-2.5
			d.Y += lineMM - 1.5
		} else if n := max(1, len(labels)); n > len(values) && len(values) > 0 {
			y -= float64(n-len(values)) * step
		}
		d.Page.Line(from, y, d.Left()+d.Width(), y, 0.2)
	}
	d.Y += 0.5
}

func (x *Table) draw(d *drawer) {
	t := &pdf.Table{Rows: x.Rows, Style: tableStyle}
	if x.High {
		t.Least = handMM
	}
	for _, c := range x.Columns {
		t.Columns = append(t.Columns, pdf.Column{Head: c.Head, Width: float64(c.Chars)*charMM + min(float64(c.Chars), 1)*2, Right: c.Right})
	}
	d.Space(1)
	d.Table(t)
	d.Space(2.5)
}
