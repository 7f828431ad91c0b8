package app

import (
	"fmt"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
)

// A Scan is what was read off a code, or off a tape by eye.
type Scan struct {
	Tag  string
	Kind triage.TagKind
	Says string // that the text was mended and how, "" where it was not
}

// ReadScan reads a tag that was scanned or typed. One smudged symbol (? or _) is
// restored, and what a scanner makes of figures on a keyboard with another layout
// is undone; either is said. A text that does not hold is never guessed at: the
// error names the tags in the shop that are near it.
func ReadScan(l *logbook.Log, text string) (s Scan, err error) {
	text = strings.TrimSpace(text)
	if tag, ok := triage.UnshiftTag(text); ok {
		s.Tag, s.Says = tag, fmt.Sprintf("Read as %s: the scanner is set for another keyboard than this machine.", triage.SpacedTag(tag))
	} else if s.Tag, err = findTag(l, text); err != nil {
		return Scan{}, err
	} else if strings.ContainsAny(text, "?_") {
		s.Says = fmt.Sprintf("Restored to %s, if the other symbols were read rightly.", triage.SpacedTag(s.Tag))
	}
	s.Kind, _ = triage.TagNumber(s.Tag)
	return s, nil
}

// ReadCellScan is ReadScan where only the tag of a cell will do.
func ReadCellScan(l *logbook.Log, text string) (Scan, error) {
	s, err := ReadScan(l, text)
	if err == nil && s.Kind != triage.CellTag {
		err = Usage("%s is the tag of a %s, not of a cell", triage.SpacedTag(s.Tag), s.Kind)
	}
	return s, err
}
