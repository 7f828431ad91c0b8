package label

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"

	"pouchward/exports"
	"pouchward/exports/pdf"
	"pouchward/triage"
)

// A Mark is words that a rule wants on a package, with the least height of their
// letters, and what the rules in force say of it.
type Mark struct {
	Words  string       `json:"words"`
	Least  triage.Micro `json:"letter_mm"` // least height
	Says   []string     `json:"says"`      // each duty with its source, once
	Routes []string     `json:"routes"`
}

// UsualMM is the height at which a mark is drawn unless another is asked: rules that
// take 6 mm want 12 mm on a package over 30 kg, so it does for both.
const UsualMM = 12

// printMargin is what letters are drawn higher than asked: a printer that shrinks by
// a hundredth still gives the height. Common practice.
const printMargin = 1.02

// Marks lists the words for packages whose letters have a least height, by the rules
// in force. Words that belong into a bought mark or label have none, and are not
// among them.
func Marks(rb *triage.Rulebook) ([]Mark, error) {
	rules, err := rb.Explained("")
	if err != nil {
		return nil, err
	}
	var list []Mark
	for _, e := range rules {
		for _, d := range e.Duties {
			if d.Kind != "mark" || d.LetterMM == "" {
				continue
			}
			least, err := triage.ParseQuantity(d.LetterMM, "mm", false)
			if err != nil {
				return nil, fmt.Errorf("rule %s: letter height %q: %w", e.ID, d.LetterMM, err)
			}
			for _, words := range append([]string{d.Words}, d.AnyOf...) {
				if words != "" {
					list = addMark(list, words, least, d.Text+" ["+d.Source+"]", e.Routes)
				}
			}
		}
	}
	slices.SortFunc(list, func(a, b Mark) int { return strings.Compare(a.Words, b.Words) })
	return list, nil
}

func addMark(list []Mark, words string, least triage.Micro, says string, routes []string) []Mark {
	i := slices.IndexFunc(list, func(m Mark) bool { return m.Words == words })
	if i < 0 {
		list = append(list, Mark{Words: words, Least: least})
		i = len(list) - 1
	}
	m := &list[i]
	m.Least = max(m.Least, least) // where rules differ, the stricter
	if !slices.Contains(m.Says, says) {
		m.Says = append(m.Says, says)
	}
	for _, r := range routes {
		if !slices.Contains(m.Routes, r) {
			m.Routes = append(m.Routes, r)
		}
	}
	return list
}

// FindMark finds a mark by its words: as they stand, else whatever the case and the
// signs between the letters.
func FindMark(list []Mark, words string) (*Mark, error) {
	var found []*Mark
	var names []string
	for i := range list {
		if list[i].Words == words {
			return &list[i], nil
		}
		if bare(list[i].Words) == bare(words) {
			found = append(found, &list[i])
		}
		names = append(names, list[i].Words)
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		if near := triage.Nearest(words, names); near != "" {
			return nil, fmt.Errorf("no rule in force gives these words a letter height; did you mean %q?", near)
		}
		return nil, errors.New("no rule in force gives these words a letter height: pouchward label --marks lists those that have one; the lithium battery mark and class 9 labels are bought printed")
	}
	return nil, fmt.Errorf("may be %q or %q: write it exactly", found[0].Words, found[1].Words)
}

// bare keeps letters and digits, in small letters.
func bare(s string) string {
	return strings.Map(func(r rune) rune {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			return -1
		}
		return unicode.ToLower(r)
	}, s)
}

// notes stand on each sheet of marks, outside of the mark.
const measureNote = "Print at 100 %, not fitted to the page. This line must measure 100 mm; if it does not, the letters are not as high as they should be: do not use the sheet."

const boughtNote = "Words only. The lithium battery mark and the class 9 label are not printed here: buy them. Check against current rules and your authority; this is not legal advice."

// The sheet of a mark in mm: the margin around it, the room between its words and
// the cutting marks, and what the notes take below.
const (
	around    = 12.0
	markPad   = 6.0
	markNotes = 42.0
)

// markLeading brings lines of large letters closer together.
const markLeading = 0.9

// layMark breaks words into lines on paper, at a blank and behind a dash, never
// inside a word, and returns how high they are between the cutting marks.
func layMark(paper pdf.Paper, words string, s pdf.Style) (lines []string, high float64, err error) {
	breakable := strings.ReplaceAll(words, "—", "— ")
	lines = pdf.Wrap(breakable, paper.W-2*around-2*markPad, s)
	high = float64(len(lines))*markLeading*pdf.Leading(s) + 2*markPad
	switch {
	case len(strings.Fields(strings.Join(lines, " "))) != len(strings.Fields(breakable)):
		return nil, 0, errors.New("is too wide")
	case high > paper.H-2*around-markNotes:
		return nil, 0, errors.New("is too high")
	}
	return lines, high, nil
}

// DrawMark adds a page with the words at their true size, each letter and digit at
// least so many mm high, the small ones too: that is the stricter reading of
// "characters" and "letters".
func DrawMark(d *pdf.Doc, paper pdf.Paper, m *Mark, mm float64, foot string) error {
	s := pdf.Style{Points: pdf.PointsLeast(m.Words, mm*printMargin, true), Bold: true}
	turned := paper.Landscape()
	lines, high, err := layMark(turned, m.Words, s)
	if err != nil {
		turned = paper
		lines, high, err = layMark(turned, m.Words, s)
	}
	if err != nil {
		return fmt.Errorf("%q with letters of %g mm %w on %s paper: ask for smaller letters, or larger paper", m.Words, mm, err, paper.Name)
	}
	paper = turned
	p := d.Page(paper.W, paper.H)
	y := around + markPad
	for _, l := range lines {
		p.Block(around+markPad, y, []string{l}, s)
		y += markLeading * pdf.Leading(s)
	}
	corners(p, around, around, paper.W-2*around, high)
	y = around + high + 8
	p.Line(around, y, around+100, y, 0.3)
	for x := 0.0; x <= 100; x += 10 {
		p.Line(around+x, y-1.5, around+x, y+1.5, 0.3)
	}
	note := capStyle(2.2, false)
	end := p.Block(around+105, y-4, pdf.Wrap(measureNote, paper.W-2*around-105, note), note)
	facts := []Fact{
		{Name: "LETTERS", Parts: []string{fmt.Sprintf("%g mm here, the smallest included; the rules ask for at least %s mm, and may ask for more on a heavier package: read on", mm, m.Least)}, Must: true},
		{Name: "ASKED BY", Parts: m.Says},
		{Name: "ROUTES", Parts: []string{strings.Join(m.Routes, ", ")}},
		{Name: "NOTE", Parts: []string{boughtNote}, Must: true},
	}
	y = max(y+2, end) + 2
	end = drawFoot2(p, around, paper.H-around, paper.W-2*around, foot)
	if _, ok := drawFacts(p, around, y, paper.W-2*around, end-y-1, facts, 0); !ok {
		return fmt.Errorf("%q with letters of %g mm leaves no room for its notes on %s paper: ask for smaller letters, or larger paper", m.Words, mm, paper.Name)
	}
	return nil
}

// corners draws where to cut: short strokes, so that no frame is taken for a part of
// the mark.
func corners(p *pdf.Page, x, y, w, h float64) {
	for _, at := range [][2]float64{{x, y}, {x + w, y}, {x, y + h}, {x + w, y + h}} {
		p.Line(at[0]-3, at[1], at[0]+3, at[1], 0.2)
		p.Line(at[0], at[1]-3, at[0], at[1]+3, 0.2)
	}
}

// drawFoot2 writes the foot of a sheet upwards from its lower edge and returns where
// it begins.
func drawFoot2(p *pdf.Page, x, bottom, w float64, text string) float64 {
	s := capStyle(handCap, false)
	lines := pdf.Wrap(text, w, s)
	y := bottom - float64(len(lines))*pdf.Leading(s)
	p.Line(x, y-0.5, x+w, y-0.5, 0.2)
	p.Block(x, y, lines, s)
	return y - 1
}

// ListMarks writes the marks that can be drawn.
func ListMarks(w io.Writer, list []Mark) error {
	var b strings.Builder
	for i := range list {
		m := &list[i]
		fmt.Fprintf(&b, "%s\n", exports.Clean(m.Words))
		text := fmt.Sprintf("letters at least %s mm; %s", m.Least, strings.Join(m.Routes, ", "))
		for _, l := range exports.Wrap(text, 74) {
			fmt.Fprintf(&b, "      %s\n", l)
		}
	}
	for _, l := range exports.Wrap(boughtNote, 80) {
		fmt.Fprintln(&b, l)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
