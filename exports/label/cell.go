package label

import (
	"fmt"
	"io"
	"strings"

	"pouchward/exports"
	"pouchward/exports/pdf"
	"pouchward/triage"
)

// A Cell is the label of one cell. It goes on the bag or tin, never on the pouch.
type Cell struct {
	Tag, Word, Verb string
	Class           triage.Handling
	Facts           []Fact
	Look            string // when to look again, blank: nothing is owed
	AsOf            string
}

// Stock of a cell's label in mm, upright, and the margin on it.
const (
	cellW, cellH = 62.0, 100.0
	edge         = 2.5
)

// The grid for looks that are written by hand: its columns with their widths in mm,
// and how high its rows are. A row takes a hand; 5.5 mm is common
// practice for a form.
var gridColumns = []struct {
	name string
	wide float64
}{{"look at", 17}, {"°C cell", 10.5}, {"°C room", 11.5}, {"worse?", 10}, {"who", 8}}

const (
	gridRow  = 5.5
	gridHead = 4.2
	textRows = 4 // in plain text
)

// Piece draws the label, 62 x 100 mm.
func (c *Cell) Piece() (*pdf.Page, error) {
	p := &pdf.Page{W: cellW, H: cellH}
	w := cellW - 2*edge
	y := drawBand(p, edge, edge, w, c.Word, c.Verb, c.Class) + 0.5
	wide := drawCode(p, cellW-edge+quiet*codeModule, y, c.Tag)
	drawTag(p, edge, y+2.6, w-wide+quiet*codeModule, tagCap, c.Tag)
	y += wide - quiet*codeModule + 0.8
	foot := drawFoot(p, edge, cellH-edge, w, c.AsOf)
	// Rows to write on give way before a reason does.
	for _, try := range []struct{ rows, parts int }{{4, 3}, {3, 2}, {2, 1}, {0, 0}} {
		room := foot - y
		if try.rows > 0 {
			room -= gridHead + float64(try.rows)*gridRow + 1
		}
		if end, ok := drawFacts(p, edge, y, w, room, c.Facts, try.parts); ok {
			drawGrid(p, edge, end+1, foot, c.Look)
			return p, nil
		}
	}
	return nil, fmt.Errorf("label of %s: what it must say does not fit on it", triage.SpacedTag(c.Tag))
}

// drawGrid fills what is left with rows to write looks in; the first has when the
// next one is owed.
func drawGrid(p *pdf.Page, x, y, bottom float64, look string) {
	rows := int((bottom - y - gridHead) / gridRow)
	if rows < 1 {
		return
	}
	high := (bottom - y - gridHead) / float64(rows)
	s := capStyle(handCap, false)
	at, end := x, y+gridHead+float64(rows)*high
	for _, c := range gridColumns {
		fit, _ := pdf.FitLine(c.name, c.wide-0.6, capStyle(handCap, true), 4.5)
		p.Block(at+0.4, y+0.5, []string{c.name}, fit)
		p.Line(at, y, at, end, 0.2)
		at += c.wide
	}
	p.Line(at, y, at, end, 0.2)
	p.Line(x, y, at, y, 0.4)
	for i := range rows + 1 {
		line := y + gridHead + float64(i)*high
		p.Line(x, line, at, line, 0.2)
	}
	if look != "" {
		fit, lines, _ := pdf.Fit(look, gridColumns[0].wide-0.8, high, s, s.Points)
		p.Block(x+0.4, y+gridHead+0.4, lines, fit)
	}
}

// signs draw the rule line of a class in plain text.
var signs = [...]string{"=", "=", "=-", "#", "!"}

// Text writes the label in plain characters, with the same lines to write on.
func (c *Cell) Text(w io.Writer) error {
	var b strings.Builder
	sign := strings.Repeat(signs[c.Class], textWidth/len(signs[c.Class]))
	fmt.Fprintf(&b, "%s\n", sign)
	for _, l := range exports.Wrap(c.Word+"  "+c.Verb, textWidth) {
		fmt.Fprintln(&b, l)
	}
	fmt.Fprintf(&b, "%s\ntag       %s\n", sign, triage.SpacedTag(c.Tag))
	textFacts(&b, c.Facts)
	grid := "+------------+-------+-------+----+------+\n"
	b.WriteString(grid + "|look at     |°C cell|°C room|wrs?|who   |\n" + grid)
	look := c.Look
	for range textRows {
		fmt.Fprintf(&b, "|%-12.12s|       |       |    |      |\n%s", look, grid)
		look = ""
	}
	textFoot(&b, c.AsOf)
	_, err := io.WriteString(w, b.String())
	return err
}
