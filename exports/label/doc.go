// Package label draws what a shop sticks on and hangs up: labels of cells and
// containers, strips of tags, the words that a rule wants on a package at their true
// size, the wall sheet and the day sheet; each in PDF, and in plain text but for the
// words on a package, whose size is the point of them.
//
// Letters. Common practice: a letter is read at 200 times its height (some use 150).
// A word that is acted on at arm's length, 70 cm, is therefore 3.5 mm high at the
// least; the tag is 7 mm where it fits, which even the stricter rule reads at 1 m.
// The rest is read in the hand, 35 cm: 1.75 mm at the least. A letter is measured as
// a capital. Nothing is made smaller than that, and nothing is cut off: what does not
// fit is counted on the label, and the log has it.
//
// A shop label is black and white, square-cornered, without red hatching, diamond or
// UN number, and says that it is no transport mark. The lithium battery mark and the
// class 9 label are not drawn here: buy them printed, their colours and drawing are
// fixed.
//
// Codes are QR of the bare tag, correction level M, in modules of half a millimetre
// (ISO/IEC 18004; the size is common practice for a camera at arm's length), with
// the tag in letters beside them.
package label

import (
	"fmt"
	"io"
	"strings"

	"rsc.io/qr"

	"pouchward/exports/pdf"
	"pouchward/triage"
)

// Heights of capitals in mm; see the package comment for where they come from.
const (
	armCap  = 3.5  // acted on at 70 cm
	handCap = 1.75 // read in the hand
	tagCap  = 7.0
)

// NotMark stands on every shop label.
const NotMark = "SHOP LABEL, NOT A TRANSPORT MARK"

// A Label is drawn on one piece of label stock, or in plain text.
type Label interface {
	// Piece draws the label on a piece of its own size. It fails where what the
	// label must say has no room on it.
	Piece() (*pdf.Page, error)
	// Size returns its width and height in mm.
	Size() (w, h float64)
	// Text writes it in plain characters.
	Text(w io.Writer) error
}

// A Fact is one line of a label. A Must line is never left out; the parts of the
// others may be, from the end, and are then counted. Where not even one part of each
// has room, the others go and the label says so.
type Fact struct {
	Name  string
	Parts []string
	Must  bool
	Loud  bool // bold
}

// text joins the first n parts, and counts the rest.
func (f *Fact) text(n int) string {
	switch {
	case f.Must || n >= len(f.Parts):
		return strings.Join(f.Parts, "; ")
	case n == 0:
		return ""
	}
	rest := fmt.Sprintf("+%d in the log", len(f.Parts)-n)
	return strings.Join(append(f.Parts[:n:n], rest), "; ")
}

// capStyle is the style whose capitals are so many mm high.
func capStyle(mm float64, bold bool) pdf.Style {
	return pdf.Style{Points: pdf.PointsOf(mm, bold), Bold: bold}
}

// drawFacts draws facts into a box, each name in bold with its text run in: with as
// few parts left out as possible, but n of each at the least, and then as large as
// they fit, from 2.4 mm down. It returns where they end, and false, with nothing
// drawn, when they do not fit.
func drawFacts(p *pdf.Page, x, y, w, h float64, facts []Fact, least int) (float64, bool) {
	most := 1
	for i := range facts {
		most = max(most, len(facts[i].Parts))
	}
	for n := most; n >= least; n-- {
		if n == 0 {
			facts = append(facts[:len(facts):len(facts)], Fact{Name: "MORE", Parts: []string{"in the log"}, Must: true})
		}
		for mm := 2.4; mm > handCap-0.01; mm -= 0.05 {
			q := &pdf.Page{W: p.W, H: p.H}
			end := y
			for i := range facts {
				end = runIn(q, x, end, w, &facts[i], n, capStyle(max(mm, handCap), false))
			}
			if end <= y+h {
				p.Paste(q, 0, 0)
				return end, true
			}
		}
	}
	return y, false
}

// runIn draws one fact and returns where it ends.
func runIn(p *pdf.Page, x, y, w float64, f *Fact, n int, s pdf.Style) float64 {
	text := f.text(n)
	if text == "" {
		return y
	}
	bold := s
	bold.Bold = true
	if f.Loud {
		s = bold
	}
	in := pdf.Width(f.Name+"  ", bold)
	p.Block(x, y, []string{f.Name}, bold)
	words, first := strings.Fields(pdf.Printable(text)), ""
	for len(words) > 0 {
		longer := strings.TrimSpace(first + " " + words[0])
		if pdf.Width(longer, s) > w-in {
			break
		}
		first, words = longer, words[1:]
	}
	p.Block(x+in, y, []string{first}, s)
	return p.Block(x, y+pdf.Leading(s), pdf.Wrap(strings.Join(words, " "), w, s), s)
}

// codeModule is the size of a module, and quiet how many stay white around a code.
const (
	codeModule = 0.5
	quiet      = 4
)

// codeOf is the code of a tag by rows, dark or not.
func codeOf(tag string) [][]bool {
	code, err := qr.Encode(tag, qr.M)
	if err != nil {
		panic("label: no code for " + tag + ": " + err.Error()) // a tag has 6 symbols at most
	}
	dark := make([][]bool, code.Size)
	for y := range dark {
		for x := range code.Size {
			dark[y] = append(dark[y], code.Black(x, y))
		}
	}
	return dark
}

// drawCode draws the code of a tag with its right upper corner at a point, and
// returns how wide it is with its quiet zone.
func drawCode(p *pdf.Page, right, top float64, tag string) float64 {
	dark := codeOf(tag)
	wide := float64(len(dark)+2*quiet) * codeModule
	p.Code(right-wide+quiet*codeModule, top+quiet*codeModule, codeModule, dark)
	return wide
}

// drawTag writes a tag as large as it fits, up to so many mm, with its upper edge at
// y, underlined so that it is not read upside down. It returns where it ends.
func drawTag(p *pdf.Page, x, y, w, most float64, tag string) float64 {
	s, _ := pdf.FitLine(triage.SpacedTag(tag), w, capStyle(most, true), capStyle(armCap, true).Points)
	p.Put(x, y+pdf.Capital(s), triage.SpacedTag(tag), s)
	y += pdf.Capital(s) + 1.2
	p.Line(x, y, x+pdf.Width(triage.SpacedTag(tag), s), y, 0.5)
	return y
}

// drawBand draws the word of strength and the verb of a class, and returns where the
// band ends. Its shape tells the class without its words: white on black for what
// hurts, a heavy frame for hold, a line for the rest.
func drawBand(p *pdf.Page, x, y, w float64, word, verb string, class triage.Handling) float64 {
	big, small, _ := strings.Cut(verb, ": ")
	const pad = 2
	at := y + pad
	q := &pdf.Page{}
	white := class >= triage.Isolate
	put := func(text string, most float64) {
		if text == "" {
			return
		}
		s, lines := bandLines(text, w-2*pad, most)
		s.White = white
		for _, l := range lines {
			at += pdf.Capital(s)
			q.Put(x+pad, at, l, s)
			at += pad
		}
	}
	put(word, armCap)
	put(big, 6)
	put(small, armCap)
	switch {
	case white:
		p.Area(x, y, w, at-y)
		if class == triage.Emergency {
			p.Areas = append(p.Areas, pdf.Area{X: x + 0.8, Y: y + 0.7, W: w - 1.6, H: 0.4, White: true}, pdf.Area{X: x + 0.8, Y: at - 1.1, W: w - 1.6, H: 0.4, White: true})
		}
	case class == triage.Hold:
		p.Box(x+0.6, y+0.6, w-1.2, at-y-1.2, 1.2)
	default:
		p.Line(x, at, x+w, at, 0.5)
	}
	p.Paste(q, 0, 0)
	return at
}

// bandLines sets words on one line, as large as they fit down to what is read at
// arm's length; words that are too long for that take two lines.
func bandLines(text string, w, most float64) (pdf.Style, []string) {
	floor := capStyle(armCap, true).Points
	if s, ok := pdf.FitLine(text, w, capStyle(most, true), floor); ok {
		return s, []string{text}
	}
	s, lines, _ := pdf.Fit(text, w, 1000, capStyle(armCap, true), floor)
	return s, lines
}

// drawFoot writes the foot of a label upwards from its lower edge: what it is as of,
// and that it is no transport mark. It returns where the foot begins.
func drawFoot(p *pdf.Page, x, bottom, w float64, asOf string) float64 {
	s := capStyle(handCap, false)
	lines := append(pdf.Wrap(asOf, w, s), pdf.Wrap(triage.LocalFirst, w, s)...)
	bold := capStyle(handCap, true)
	mark := pdf.Wrap(NotMark, w, bold)
	y := bottom - float64(len(lines))*pdf.Leading(s) - float64(len(mark))*pdf.Leading(bold)
	p.Block(x, p.Block(x, y, lines, s), mark, bold)
	p.Line(x, y-0.3, x+w, y-0.3, 0.25)
	return y - 0.8
}
