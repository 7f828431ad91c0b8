package exports

import (
	"fmt"
	"io"
	"strings"

	"pouchward/triage"
)

// A TagSheet is a block of cell tags to print and cut: two copies of each, one
// for the cell's bag or tin, one for the repair ticket.
type TagSheet struct {
	Site string   // blank when not answered
	Tags []string // as issued
	Head []string // what the tags are
	Note []string // on every tag: what it is not
}

// NewTagSheet gathers the sheet. A tag on a package might be taken for a mark
// that a regulation asks for, so each says that it is none.
func NewTagSheet(site string, tags []string) *TagSheet {
	s := &TagSheet{Site: Clean(site), Tags: tags, Note: []string{"shop tag,", "no transport mark"}}
	title := "CELL TAGS"
	if s.Site != "" {
		title += " of " + s.Site
	}
	s.Head = []string{
		fmt.Sprintf("%s: %d, two copies of each.", title, len(tags)),
		"Cut along the marks. One copy on the bag or tin of the cell, never on a bare pouch; its twin on the repair ticket. A tag is used once.",
		"These are shop tags. They are not transport marks and take the place of none.",
	}
	return s
}

// Two copies of two tags stand side by side: 4 x 18 characters and the marks
// between them are 77 columns.
const (
	tagWidth   = 18
	tagAbreast = 2
)

// Text draws the sheet, 77 columns wide, five lines a row.
func (s *TagSheet) Text(w io.Writer) error {
	var b strings.Builder
	for _, h := range s.Head {
		for _, l := range Wrap(h, 77) {
			fmt.Fprintln(&b, l)
		}
	}
	fmt.Fprintln(&b)
	cut := func(n int) {
		fmt.Fprintln(&b, strings.Repeat("+"+strings.Repeat(" -", tagWidth/2), n)+"+")
	}
	for i := 0; i < len(s.Tags); i += tagAbreast {
		row := s.Tags[i:min(i+tagAbreast, len(s.Tags))]
		if i == 0 {
			cut(2 * len(row))
		}
		line := ""
		for _, t := range row {
			line += strings.Repeat("|"+centred(triage.SpacedTag(t), tagWidth), 2)
		}
		fmt.Fprintln(&b, line+"|")
		for _, n := range s.Note {
			fmt.Fprintln(&b, strings.Repeat("|"+centred(n, tagWidth), 2*len(row))+"|")
		}
		cut(2 * len(row))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// centred pads text to a width on both sides.
func centred(text string, width int) string {
	left := max(0, (width-len(text))/2)
	return fmt.Sprintf("%*s%-*s", left, "", width-left, text)
}
