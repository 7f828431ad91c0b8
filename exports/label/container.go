package label

import (
	"fmt"
	"io"
	"strings"

	"pouchward/exports"
	"pouchward/exports/pdf"
	"pouchward/triage"
)

// A Container is the label of a tin, bin or cabinet: the waste words of the country
// and the day on which accumulation began, to be read by an inspector.
type Container struct {
	Tag, What  string
	Word, Verb string
	Class      triage.Handling
	Empty      bool
	Words      []string // of the waste law; several are to be ticked
	Source     string   // of the words
	Start      string   // earliest date, blank: a line to write on
	DateNote   string   // what the day is, or which one to write
	Facts      []Fact
	AsOf       string
}

// Stock of a container's label in mm: that of a cell, turned.
const boxW, boxH = 100.0, 62.0

// tickBox is drawn before words of which one is to be chosen.
const tickBox = "□"

// waste are the words as they are drawn: boxes to tick where there are several, a
// line to write on where there is none.
func (c *Container) waste() []string {
	switch len(c.Words) {
	case 0:
		return []string{"WASTE WORDS ______________________"}
	case 1:
		return c.Words
	}
	var list []string
	for _, w := range c.Words {
		list = append(list, tickBox+" "+w)
	}
	return list
}

func (c *Container) start() string {
	if c.Start == "" {
		return "SINCE ____-__-__"
	}
	return "SINCE " + c.Start
}

// Piece draws the label, 100 x 62 mm.
func (c *Container) Piece() (*pdf.Page, error) {
	p := &pdf.Page{W: boxW, H: boxH}
	w := boxW - 2*edge
	wide := drawCode(p, boxW-edge+quiet*codeModule, edge-quiet*codeModule, c.Tag)
	tag := drawTag(p, edge, edge, 38, 8.5, c.Tag)
	what, lines, _ := pdf.Fit(c.What, w-wide-40, 10, capStyle(armCap, false), capStyle(handCap, false).Points)
	p.Block(edge+40, edge, lines, what)
	y := max(tag, edge+wide-2*quiet*codeModule) + 1.5
	for _, words := range c.waste() {
		s, lines, _ := pdf.Fit(words, w, 8.1, capStyle(4.6, true), capStyle(handCap, true).Points)
		if len(c.Words) > 1 {
			s, lines, _ = pdf.Fit(words, w, 4.5, capStyle(2.6, true), capStyle(handCap, true).Points)
		}
		y = p.Block(edge, y, lines, s)
	}
	y += 0.8
	since := capStyle(4.6, true)
	p.Put(edge, y+5, c.start(), since)
	left := edge + pdf.Width(c.start(), since) + 2
	note := capStyle(handCap, false)
	p.Block(left, y-0.3, pdf.Wrap(c.DateNote, boxW-edge-left, note), note)
	y += 6.6
	if c.Class >= triage.Hold && !c.Empty {
		y = drawStrip(p, edge, y, w, c.Word+"  "+c.Verb, c.Class) + 0.8
	}
	foot := drawFoot(p, edge, boxH-edge, w, c.AsOf)
	if _, ok := drawFacts(p, edge, y, w, foot-y, c.Facts, 0); !ok {
		return nil, fmt.Errorf("label of %s: what it must say does not fit on it", triage.SpacedTag(c.Tag))
	}
	return p, nil
}

// drawStrip is a band of one line.
func drawStrip(p *pdf.Page, x, y, w float64, text string, class triage.Handling) float64 {
	s, _ := pdf.FitLine(text, w-3, capStyle(3.8, true), capStyle(armCap, true).Points)
	high := pdf.Capital(s) + 2.4
	if class >= triage.Isolate {
		p.Area(x, y, w, high)
		s.White = true
	} else {
		p.Box(x+0.4, y+0.4, w-0.8, high-0.8, 0.8)
	}
	p.Put(x+1.5, y+1.2+pdf.Capital(s), text, s)
	return y + high
}

// Text writes the label in plain characters.
func (c *Container) Text(w io.Writer) error {
	var b strings.Builder
	rule(&b, "=")
	fmt.Fprintf(&b, "tag       %s\n", triage.SpacedTag(c.Tag))
	textFacts(&b, []Fact{{Name: "WHAT", Parts: []string{c.What}}})
	for _, words := range c.waste() {
		words = strings.Replace(words, tickBox, "[ ]", 1)
		for _, l := range breakWide(exports.Wrap(words, textWidth), textWidth) {
			fmt.Fprintln(&b, exports.Clean(l))
		}
	}
	fmt.Fprintln(&b, c.start())
	textFacts(&b, []Fact{{Name: "DATE", Parts: []string{c.DateNote}}})
	if c.Class >= triage.Hold && !c.Empty {
		fmt.Fprintln(&b, c.Word+"  "+c.Verb)
	}
	textFacts(&b, c.Facts)
	textFoot(&b, c.AsOf)
	_, err := io.WriteString(w, b.String())
	return err
}
