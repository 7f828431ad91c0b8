package logbook

import (
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"pouchward/triage"
)

// A viewWriter keeps the views in step with the entries, many rows a statement.
type viewWriter struct {
	tx     *sql.Tx
	links  []any // key, n of tag_entries
	tags   []any // rows of tags
	rows   int
	stmts  map[int][2]*sql.Stmt // by number of rows
	issued [triage.CellTag + 1]int64
}

// viewRows is how many rows go into one statement.
const viewRows = 50

const (
	linkHead = "INSERT INTO tag_entries (key, n) VALUES "
	tagHead  = "INSERT INTO tags (key, tag, first, last, entries, assessed, handling, condition) VALUES "
	tagTail  = ` ON CONFLICT (key) DO UPDATE SET last = excluded.last, entries = entries + 1,
		assessed = CASE WHEN excluded.assessed > 0 THEN excluded.assessed ELSE assessed END,
		handling = CASE WHEN excluded.assessed > 0 THEN excluded.handling ELSE handling END,
		condition = CASE WHEN excluded.assessed > 0 THEN excluded.condition ELSE condition END`
)

// add derives the rows of one entry.
func (w *viewWriter) add(e *Entry) error {
	if len(e.Tags) == 0 {
		return nil
	}
	assessed, handling, condition := int64(0), "", ""
	if e.Kind == "assessment" {
		assessed, handling, condition = e.Number, e.Body.member("handling"), e.Body.member("condition")
	}
	issued := e.Body.member("issued") == "true"
	for _, tag := range e.Tags {
		key := triage.TagKey(tag)
		w.links = append(w.links, key, e.Number)
		w.tags = append(w.tags, key, tag, e.Number, e.Number, 1, assessed, handling, condition)
		if w.rows++; w.rows == viewRows {
			if err := w.flush(); err != nil {
				return err
			}
		}
		if issued {
			kind, number := triage.TagNumber(tag)
			w.issued[kind] = max(w.issued[kind], number+1)
		}
	}
	return nil
}

func (w *viewWriter) flush() error {
	for kind, next := range w.issued {
		if next > 0 {
			if _, err := w.tx.Exec("INSERT INTO issued (kind, next) VALUES (?, ?) ON CONFLICT (kind) DO UPDATE SET next = max(next, excluded.next)",
				triage.TagKind(kind).String(), next); err != nil {
				return err
			}
			w.issued[kind] = 0
		}
	}
	if w.rows == 0 {
		return nil
	}
	s, ok := w.stmts[w.rows]
	if !ok {
		var err error
		if s[0], err = w.tx.Prepare(linkHead + "(?,?)" + strings.Repeat(",(?,?)", w.rows-1)); err != nil {
			return err
		}
		if s[1], err = w.tx.Prepare(tagHead + "(?,?,?,?,?,?,?,?)" + strings.Repeat(",(?,?,?,?,?,?,?,?)", w.rows-1) + tagTail); err != nil {
			return err
		}
		if w.stmts == nil {
			w.stmts = map[int][2]*sql.Stmt{}
		}
		w.stmts[w.rows] = s
	}
	if _, err := s[0].Exec(w.links...); err != nil {
		return err
	}
	if _, err := s[1].Exec(w.tags...); err != nil {
		return err
	}
	w.links, w.tags, w.rows = w.links[:0], w.tags[:0], 0
	return nil
}

// readIssued returns the number to issue the next tag from. 0, which would be
// all one symbol and looks like a slip, is not issued.
func readIssued(q queryer, kind triage.TagKind) (int64, error) {
	next := int64(1)
	err := q.QueryRow("SELECT next FROM issued WHERE kind = ?", kind.String()).Scan(&next)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return 0, fmt.Errorf("reading which tags were issued: %w", err)
	}
	return next, nil
}

// Rebuild derives the views again from the entries, in one transaction, and
// returns how many entries it read. The entries themselves are not touched.
func (l *Log) Rebuild() (n int64, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	tx, err := l.db.Begin()
	if err != nil {
		return 0, fmt.Errorf("rebuilding the views: %w", writeError(err))
	}
	defer tx.Rollback()
	for _, table := range []string{"tag_entries", "tags", "issued"} {
		if _, err := tx.Exec("DELETE FROM " + table); err != nil {
			return 0, fmt.Errorf("rebuilding the views: %w", writeError(err))
		}
	}
	w := viewWriter{tx: tx}
	// A page at a time: a cursor must not stay open over the writes.
	const page = 1000
	for {
		list, err := readPage(tx, "WHERE n > ? ORDER BY n LIMIT ?", n, page)
		if err != nil {
			return 0, fmt.Errorf("rebuilding the views: %w", err)
		}
		for _, e := range list {
			if err := w.add(e); err != nil {
				return 0, fmt.Errorf("rebuilding the views: %w", writeError(err))
			}
			n = e.Number
		}
		if len(list) < page {
			break
		}
	}
	if err := w.flush(); err != nil {
		return 0, fmt.Errorf("rebuilding the views: %w", writeError(err))
	}
	if err := tx.Commit(); err != nil {
		return 0, fmt.Errorf("rebuilding the views: %w", writeError(err))
	}
	return n, nil
}
