package app

import (
	"fmt"
	"strings"

	"pouchward/cmd/internal/intake"
	"pouchward/triage"
)

// sheetTags knows the tags of the rows gone by, and where each stood. Its size is
// bounded, so that memory does not grow with the sheet: our own tags have a number, of
// all others the first mostOtherTags are kept.
type sheetTags struct {
	names  []string         // of the sheets
	ours   []place          // by the tag's key
	others map[string]place // by the tag as written
}

// A place is where a row stands; the zero place is nowhere.
type place struct {
	line  uint32
	sheet uint16 // index of its name
}

// mostOtherTags is how many tags that are none of ours are kept: a shop's shelf many
// times over, in a few megabytes.
const mostOtherTags = 50_000

// longestOtherTag is the length in bytes of a tag that is still kept.
const longestOtherTag = 64

func newSheetTags() *sheetTags {
	return &sheetTags{ours: make([]place, triage.TagKeys()), others: map[string]place{}}
}

// mark says of each row of a batch whose tag an earlier row bears that it does. Two rows
// of one cell may answer otherwise, and neither knows what the other saw.
func (s *sheetTags) mark(b *batch) {
	column := tagColumn(b.sheet)
	if column < 0 {
		return
	}
	if n := len(s.names); n == 0 || s.names[n-1] != b.sheet.Name {
		s.names = append(s.names, b.sheet.Name)
	}
	for i := range b.n {
		row := &b.rows[i]
		before := s.take(row.Cells[column], place{uint32(row.Line), uint16(len(s.names) - 1)})
		if before != (place{}) {
			row.Refused = append(row.Refused, intake.Refusal{Column: -1, Reason: fmt.Sprintf(
				"the tag stands in %s line %d too: one cell in two rows, each judged without the other; go by the worse", s.names[before.sheet], before.line)})
		}
	}
}

// take notes that the row at here bears a tag, and returns which row had it first.
func (s *sheetTags) take(text string, here place) (before place) {
	text = strings.TrimSpace(text)
	if text == "" || len(text) > longestOtherTag {
		return place{}
	}
	if tag, _, ok := triage.HeldTag(text); ok {
		at := &s.ours[triage.TagKey(tag)]
		if before = *at; before == (place{}) {
			*at = here
		}
		return before
	}
	before, known := s.others[text]
	if !known && len(s.others) < mostOtherTags {
		s.others[strings.Clone(text)] = here
	}
	return before
}
