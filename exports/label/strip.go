package label

import (
	"fmt"
	"io"
	"strings"

	"pouchward/exports/pdf"
	"pouchward/triage"
)

// A Strip is one piece of a strip of tags that were reserved before a cell had them.
type Strip struct {
	Tag  string
	Copy int // 1 for the bag or tin, 2 for the repair ticket
}

// NewStrip makes the two pieces of each tag of a block, one after the other.
func NewStrip(tags []string) (list []Label) {
	for _, t := range tags {
		for n := range 2 {
			list = append(list, &Strip{t, n + 1})
		}
	}
	return list
}

const stripW, stripH = 62.0, 20.0

// copyWords say where a piece goes.
var copyWords = [...]string{"bag or tin, not the bare pouch", "repair ticket"}

// Piece draws one piece, 62 x 20 mm.
func (s *Strip) Piece() (*pdf.Page, error) {
	p := &pdf.Page{W: stripW, H: stripH}
	wide := drawCode(p, stripW-edge+quiet*codeModule, edge-quiet*codeModule, s.Tag)
	w := stripW - 2*edge - wide + quiet*codeModule
	y := drawTag(p, edge, edge, w, tagCap, s.Tag) + 0.6
	small := capStyle(handCap, false)
	lines := append(pdf.Wrap(s.what(), w, small), pdf.Wrap("shop tag, no transport mark", w, small)...)
	p.Block(edge, y, lines, small)
	return p, nil
}

func (s *Strip) what() string { return copyWords[s.Copy-1] }

// Text writes one piece in plain characters.
func (s *Strip) Text(w io.Writer) error {
	_, err := fmt.Fprintf(w, "%s\n%s: %s\nshop tag, no transport mark\n", strings.Repeat("-", textWidth), triage.SpacedTag(s.Tag), s.what())
	return err
}
