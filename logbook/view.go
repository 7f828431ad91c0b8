package logbook

import (
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"

	"golang.org/x/mod/sumdb/tlog"

	"pouchward/triage"
)

// chunkRows is how many rows go into one statement: at fifty the cost of the
// statement itself is spread thin enough.
const chunkRows = 50

const (
	entryHead = "INSERT INTO entries (n, hashes, bytes) VALUES "
	linkHead  = "INSERT INTO tag_entries (key, n) VALUES "
	tagHead   = "INSERT INTO tags (key, tag, first, last, entries, assessed, handling, condition) VALUES "
	tagTail   = ` ON CONFLICT (key) DO UPDATE SET last = excluded.last, entries = entries + 1,
		assessed = CASE WHEN excluded.assessed > 0 THEN excluded.assessed ELSE assessed END,
		handling = CASE WHEN excluded.assessed > 0 THEN excluded.handling ELSE handling END,
		condition = CASE WHEN excluded.assessed > 0 THEN excluded.condition ELSE condition END`
	hereHead = "INSERT OR REPLACE INTO here (key, n, handling, condition, size, waste, count, uwh, mg, ml, start, start_by, since, looked, look_in, place, held_in, what, made_safe, lapses, lapsed_handling, lapsed_condition) VALUES "
	hereRow  = "(?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)"
	hereCols = 22

	latestHead = "INSERT OR REPLACE INTO latest (topic, about, n) VALUES "
	partHead   = "INSERT OR REPLACE INTO part_entries (part, n) VALUES "
)

// A chunk is rows on their way into the tables.
type chunk struct {
	entries []any // n, hashes, bytes of entries, which lie in arena
	links   []any // key, n of tag_entries
	tags    []any // rows of tags
	here    []any // rows of here
	left    []left
	latest  []any // rows of latest
	parts   []any // rows of part_entries
	arena   []byte
}

// left is a tag that is in the shop no more, after so many rows of here.
type left struct {
	after int
	key   int64
}

func (c *chunk) full() bool {
	return len(c.entries) >= 3*chunkRows || len(c.links) >= 2*chunkRows || len(c.here) >= hereCols*chunkRows
}

// put adds the row of an entry.
func (c *chunk) put(n int64, hashes []tlog.Hash, data []byte) {
	from := len(c.arena)
	for i := range hashes {
		c.arena = append(c.arena, hashes[i][:]...)
	}
	mid := len(c.arena)
	c.arena = append(c.arena, data...)
	// A later append may move the arena; what was cut from the old one stays.
	c.entries = append(c.entries, n, c.arena[from:mid:mid], c.arena[mid:len(c.arena):len(c.arena)])
}

// derive adds the rows of the views of an entry.
func (c *chunk) derive(e *Entry, x *said) {
	assessed := int64(0)
	if e.Kind == "assessment" {
		assessed = e.Number
	}
	for _, tag := range e.Tags {
		key := triage.TagKey(tag)
		c.links = append(c.links, key, e.Number)
		c.tags = append(c.tags, key, tag, e.Number, e.Number, 1, assessed, x.handling, x.condition)
	}
	for i := range x.now {
		c.state(&x.now[i], e.Number)
	}
	if x.topic != "" {
		c.latest = append(c.latest, x.topic, x.about, e.Number)
	}
	if x.part != "" {
		c.parts = append(c.parts, x.part, e.Number)
	}
}

func (c *chunk) state(s *State, n int64) {
	key := triage.TagKey(s.Tag)
	if s.Is != Here {
		c.left = append(c.left, left{len(c.here) / hereCols, key})
		return
	}
	in := int64(-1)
	if s.In != "" {
		in = triage.TagKey(s.In)
	}
	c.here = append(c.here, key, n, s.Handling, s.Condition, s.Size, s.Waste, s.Count, s.MicroWh, s.MilliGram, s.MilliLitr,
		s.Start, s.StartBy, timeText(s.Since), timeText(s.Looked), s.LookIn, s.Place, in, s.What, s.MadeSafe,
		s.Lapses, s.LapsedHandling, s.LapsedCondition)
}

// timeText spells a time as entries do, blank where there is none.
func timeText(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(timeForm)
}

// A rowWriter puts chunks into the tables of one transaction.
type rowWriter struct {
	tx     *sql.Tx
	stmts  map[string]*sql.Stmt
	issued [triage.CellTag + 1]int64
}

func (w *rowWriter) write(c *chunk) error {
	err := w.insert(entryHead, "(?,?,?)", "", 3, c.entries)
	if err == nil {
		err = w.insert(linkHead, "(?,?)", "", 2, c.links)
	}
	if err == nil {
		err = w.insert(tagHead, "(?,?,?,?,?,?,?,?)", tagTail, 8, c.tags)
	}
	if err == nil {
		err = w.states(c)
	}
	if err == nil {
		err = w.insert(latestHead, "(?,?,?)", "", 3, c.latest)
	}
	if err == nil {
		err = w.insert(partHead, "(?,?)", "", 2, c.parts)
	}
	*c = chunk{entries: c.entries[:0], links: c.links[:0], tags: c.tags[:0], here: c.here[:0], left: c.left[:0],
		latest: c.latest[:0], parts: c.parts[:0], arena: c.arena[:0]}
	return err
}

// states writes the rows of here and takes out the tags that left, in the order
// in which the entries said so.
func (w *rowWriter) states(c *chunk) error {
	from := 0
	for _, l := range c.left {
		if err := w.insert(hereHead, hereRow, "", hereCols, c.here[from*hereCols:l.after*hereCols]); err != nil {
			return err
		}
		if _, err := w.tx.Exec("DELETE FROM here WHERE key = ?", l.key); err != nil {
			return err
		}
		from = l.after
	}
	return w.insert(hereHead, hereRow, "", hereCols, c.here[from*hereCols:])
}

// insert runs one statement for as many rows as a chunk has, at most chunkRows
// at a time: an entry with many tags has many rows.
func (w *rowWriter) insert(head, row, tail string, width int, args []any) error {
	for len(args) > 0 {
		rows := min(len(args)/width, chunkRows)
		q := head + row
		if rows > 1 {
			q += strings.Repeat(","+row, rows-1)
		}
		s, err := w.prepare(q+tail, rows)
		if err == nil {
			var done sql.Result
			if done, err = s.Exec(args[:rows*width]...); err == nil {
				// A trigger that somebody added can swallow rows without an error.
				if n, _ := done.RowsAffected(); n != int64(rows) {
					err = fmt.Errorf("the file took %d of %d rows: somebody opened it by other means; run pouchward log verify", n, rows)
				}
			}
			if rows != chunkRows {
				s.Close()
			}
		}
		if err != nil {
			return err
		}
		args = args[rows*width:]
	}
	return nil
}

// prepare keeps the statements of full chunks only.
func (w *rowWriter) prepare(q string, rows int) (*sql.Stmt, error) {
	if s := w.stmts[q]; s != nil {
		return s, nil
	}
	s, err := w.tx.Prepare(q)
	if err == nil && rows == chunkRows {
		if w.stmts == nil {
			w.stmts = map[string]*sql.Stmt{}
		}
		w.stmts[q] = s
	}
	return s, err
}

// note remembers which tags an entry says were issued.
func (w *rowWriter) note(e *Entry, x *said) {
	if !x.issued {
		return
	}
	for _, tag := range e.Tags {
		kind, number := triage.TagNumber(tag)
		w.issued[kind] = max(w.issued[kind], number+1)
	}
}

// finish writes what is kept once a write.
func (w *rowWriter) finish() error {
	for kind, next := range w.issued {
		if next == 0 {
			continue
		}
		if _, err := w.tx.Exec("INSERT INTO issued (kind, next) VALUES (?, ?) ON CONFLICT (kind) DO UPDATE SET next = max(next, excluded.next)",
			triage.TagKind(kind).String(), next); err != nil {
			return err
		}
	}
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
	tx, err := l.newTx()
	if err != nil {
		return 0, fmt.Errorf("rebuilding the views: %w", writeError(err))
	}
	defer tx.Rollback()
	if n, err = rebuild(tx); err == nil {
		err = tx.Commit()
	}
	if err != nil {
		return 0, fmt.Errorf("rebuilding the views: %w", writeError(err))
	}
	return n, nil
}

// rebuild derives every view within a transaction.
func rebuild(tx *sql.Tx) (n int64, err error) {
	for _, table := range []string{"tag_entries", "tags", "issued", "here", "latest", "part_entries"} {
		if _, err := tx.Exec("DELETE FROM " + table); err != nil {
			return 0, err
		}
	}
	w := rowWriter{tx: tx}
	var c chunk
	var x said
	// A page at a time: a cursor must not stay open over the writes.
	const page = 1000
	for {
		list, err := readPage(tx, "WHERE n > ? ORDER BY n LIMIT ?", n, page)
		if err != nil {
			return 0, err
		}
		for _, e := range list {
			if err := x.read(e); err != nil {
				return 0, &DamageError{e.Number, err.Error()}
			}
			c.derive(e, &x)
			w.note(e, &x)
			if n = e.Number; c.full() {
				if err := w.write(&c); err != nil {
					return 0, err
				}
			}
		}
		if len(list) < page {
			break
		}
	}
	return n, errors.Join(w.write(&c), w.finish())
}
