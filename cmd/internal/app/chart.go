package app

import (
	"fmt"
	"slices"

	"pouchward/triage"
	"pouchward/triage/review"
)

// Charted reads what a chart is drawn from: the log up to the end of a day, as a review
// reads it, but not verified. A log of which an entry cannot be read is refused: what is
// drawn would lack something and not show it.
func Charted(shop *Shop, p LogPlace, ask ReviewAsk) (*review.Snapshot, error) {
	ask.Unjudged = true
	r, err := newReviewReader(shop, p, &ask)
	if err != nil {
		return nil, err
	}
	if err := r.read(p, &ask); err != nil {
		return nil, err
	}
	if list := r.s.Troubles; len(list) > 0 {
		return nil, unreadable(list[0])
	}
	return r.s, nil
}

func unreadable(x review.Trouble) error {
	return &ExitError{ExitLog, fmt.Errorf("the log cannot be read as a whole (entry %d: %s), so nothing is drawn from it: pouchward log verify tells all", x.Entry, x.Text)}
}

// ChartedCell finds a cell by any of its tags.
func ChartedCell(s *review.Snapshot, typed string) (*review.Cell, error) {
	tag, err := ReadTag(typed)
	if err != nil {
		return nil, err
	}
	if tag, err = cellTag(tag); err != nil {
		return nil, Usage("%v: a chart is of one cell", err)
	}
	for i := range s.Cells {
		if c := &s.Cells[i]; c.Tag == tag || slices.Contains(c.Aliases, tag) {
			return c, nil
		}
	}
	return nil, Usage("nothing is recorded of %s by %s: is the tag read rightly? (pouchward log list)", triage.SpacedTag(tag), s.To)
}
