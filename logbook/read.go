package logbook

import (
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"pouchward/triage"
)

// readPage reads entries; where is the rest of the query.
func readPage(q queryer, where string, args ...any) ([]*Entry, error) {
	rows, err := q.Query("SELECT n, bytes FROM entries "+where, args...)
	if err != nil {
		return nil, fmt.Errorf("reading the log: %w", err)
	}
	page, err := rawRows(rows, q)
	if err != nil {
		return nil, fmt.Errorf("reading the log: %w", err)
	}
	var list []*Entry
	for i := range page {
		e, err := page[i].Parse()
		if err != nil {
			return nil, err
		}
		list = append(list, e)
	}
	return list, nil
}

// ErrNoEntry says that the log has no such entry.
var ErrNoEntry = errors.New("the log has no such entry")

func readEntry(q queryer, n int64) (*Entry, error) {
	list, err := readPage(q, "WHERE n = ?", n)
	if err != nil {
		return nil, err
	}
	if len(list) == 0 {
		return nil, fmt.Errorf("entry %d: %w", n, ErrNoEntry)
	}
	return list[0], nil
}

// Entry returns one entry.
func (l *Log) Entry(n int64) (*Entry, error) { return readEntry(l.q, n) }

// Size returns how many entries the log has.
func (l *Log) Size() (int64, error) { return lastNumber(l.q) }

// Entries calls fn for the entries from first to last, in order.
func (l *Log) Entries(first, last int64, fn func(*Entry) error) error {
	const page = 256
	for first <= last {
		list, err := readPage(l.q, "WHERE n BETWEEN ? AND ? ORDER BY n", first, min(last, first+page-1))
		if err != nil {
			return err
		}
		for _, e := range list {
			if err := fn(e); err != nil {
				return err
			}
		}
		first += page
	}
	return nil
}

// Salvage is Entries of a log that may be damaged: it goes on past an entry that is
// missing or cannot be read, and tells lost of it.
func (l *Log) Salvage(first, last int64, fn func(*Entry), lost func(n int64, err error)) {
	const page = 256
	for ; first <= last; first += page {
		to := min(last, first+page-1)
		if list, err := readPage(l.q, "WHERE n BETWEEN ? AND ? ORDER BY n", first, to); err == nil && int64(len(list)) == to-first+1 {
			for _, e := range list {
				fn(e)
			}
			continue
		}
		for n := first; n <= to; n++ {
			if e, err := readEntry(l.q, n); err != nil {
				lost(n, err)
			} else {
				fn(e)
			}
		}
	}
}

// History returns the entries that name a tag, oldest first. The entries are
// found by a view; that the view is whole, Verify checks.
func (l *Log) History(tag string) ([]*Entry, error) { return history(l.q, tag) }

// History returns the entries that named a tag before this write.
func (t *Tx) History(tag string) ([]*Entry, error) { return history(t.tx, tag) }

func history(q queryer, tag string) ([]*Entry, error) {
	list, err := readPage(q, "WHERE n IN (SELECT n FROM tag_entries WHERE key = ?) ORDER BY n", triage.TagKey(tag))
	if err != nil {
		return nil, err
	}
	for _, e := range list {
		if !slices.Contains(e.Tags, tag) {
			return nil, &DamageError{e.Number, "the views say that it names " + tag + ", its bytes do not: run pouchward log verify, then log rebuild"}
		}
	}
	return list, nil
}

// A TagState is what the log knows by a tag.
type TagState struct {
	Tag         string
	First, Last int64 // entries
	Entries     int64
	Assessed    int64 // the last assessment, 0 for none
	Handling    string
	Condition   string
}

// Tag returns what the log knows by a tag; ok is false when no entry names it.
func (l *Log) Tag(tag string) (s TagState, ok bool, err error) { return tagState(l.q, tag) }

func tagState(q queryer, tag string) (s TagState, ok bool, err error) {
	err = q.QueryRow("SELECT tag, first, last, entries, assessed, handling, condition FROM tags WHERE key = ?", triage.TagKey(tag)).
		Scan(&s.Tag, &s.First, &s.Last, &s.Entries, &s.Assessed, &s.Handling, &s.Condition)
	if errors.Is(err, sql.ErrNoRows) {
		return s, false, nil
	}
	if err != nil {
		return s, false, fmt.Errorf("looking up tag %s: %w", tag, err)
	}
	return s, true, nil
}
