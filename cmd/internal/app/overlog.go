package app

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// A reading that is judged and not recorded is judged over what the log knows of its
// tag all the same: what was seen of a cell does not go away because nobody writes.
// The log is only read.

// AssessOver is Assess over what the log of a place knows of the tag given, as
// Recording.Judge does. It is Assess alone where there is no log, the tag is none of
// ours, or the log does not know it; and for a cell that reacts, whose card waits for
// no file. With an error the log is there and could not be asked: the verdict is of the
// reading alone.
func AssessOver(p LogPlace, shop *Shop, given []Given) (*Assessment, error) {
	a := Assess(shop, given)
	tag, ok := cellTagOf(a.Verdict.Tag)
	if !ok || a.Verdict.Handling == triage.Emergency {
		return a, nil
	}
	var cell *Cell
	err := ReadLog(p, func(l *logbook.Log) (err error) {
		cell, err = readCell(l, tag)
		return err
	})
	switch {
	case errors.Is(err, logbook.ErrNoLog):
		return a, nil
	case err != nil:
		return a, notAsked(p, "tag "+triage.SpacedTag(tag), err)
	case namedBy(cell.Entries) == 0:
		return a, nil
	}
	given = slices.Clone(joined(given))
	for i := range given {
		if given[i].Field == triage.Tag {
			given[i].Text = cell.Tag
		}
	}
	return assess(shop, given, cell, p.Now()), nil
}

// OverLog returns the last entry about the cell that an assessment was judged over, 0
// where it was judged by the reading alone.
func (a *Assessment) OverLog() int64 { return a.seen }

// cellTagOf returns the tag of a cell as it is stored, where a text is one that holds.
func cellTagOf(text string) (tag string, ok bool) {
	tag, kind, ok := triage.HeldTag(text)
	return tag, ok && kind == triage.CellTag
}

// notAsked is that the log is there and could not be asked about something: the exit
// code tells a damaged one from another.
func notAsked(p LogPlace, what string, err error) error {
	err = fmt.Errorf("the log could not be asked about %s, so what it knows is not in the verdict: %w (pouchward log verify --log %s)", what, err, p.Path)
	if logbook.IsDamage(err) {
		return &ExitError{ExitLog, err}
	}
	return err
}

// sheetLog is the log of a sheet that is sorted and not recorded. It is opened for the
// first row with a tag of ours, and asked once a batch which tags it knows; of those
// alone the entries are read, so that nothing grows with sheet or log.
type sheetLog struct {
	place LogPlace
	at    time.Time

	mu     sync.Mutex // one goroutine at a time reads the log
	log    *logbook.Log
	opened bool
	err    error // the first
}

// known returns the tags of a batch that the log knows. Where it cannot be asked, all
// tags of ours are: before says so of each row.
func (s *sheetLog) known(b *batch) map[string]bool {
	column := tagColumn(b.sheet)
	if column < 0 {
		return nil
	}
	var tags []string
	for i := range b.n {
		if tag, ok := cellTagOf(b.rows[i].Cells[column]); ok {
			tags = append(tags, tag)
		}
	}
	if len(tags) == 0 {
		return nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.opened {
		s.opened = true
		var err error
		if s.log, err = logbook.OpenReader(s.place.Path, s.place.Options); !errors.Is(err, logbook.ErrNoLog) {
			s.err = err
		}
	}
	if s.log != nil {
		known, err := s.log.Known(tags)
		if err == nil {
			return known
		}
		s.fail(err)
	}
	if s.err == nil {
		return nil // there is no log
	}
	all := map[string]bool{}
	for _, tag := range tags {
		all[tag] = true
	}
	return all
}

func (s *sheetLog) fail(err error) {
	if s.err == nil {
		s.err = err
	}
}

// before returns what the log knows of the cell of a row, nil for nothing, or why it
// could not be asked, which the row then says.
func (s *sheetLog) before(b *batch, i int, known map[string]bool, reading *triage.Reading) (cell *Cell, refused string) {
	tag, ok := cellTagOf(reading[triage.Tag].Text)
	if !ok || !known[tag] {
		return nil, ""
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	err := s.err
	if s.log != nil {
		if cell, err = readCell(s.log, tag); err == nil {
			reading[triage.Tag].Text = cell.Tag
			return cell, ""
		}
		s.fail(err)
	}
	return nil, fmt.Sprintf("%s line %d: the log could not be asked about tag %s: judged by this row alone: %v", b.sheet.Name, b.rows[i].Line,
		triage.SpacedTag(tag), strings.ReplaceAll(err.Error(), "\n", "; "))
}

// close closes the log and returns why it could not be asked, nil where it could.
func (s *sheetLog) close() error {
	if s.log != nil {
		s.log.Close() // it only read
	}
	if s.err == nil {
		return nil
	}
	return notAsked(s.place, "the tags of the sheet", s.err)
}
