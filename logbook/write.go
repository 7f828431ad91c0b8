package logbook

import (
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"sync/atomic"
	"time"

	"golang.org/x/mod/sumdb/tlog"

	"pouchward/triage"
)

// A Receipt says how an entry was written.
type Receipt struct {
	Number  int64
	Leaf    tlog.Hash
	Entered time.Time
	Clock   string // not blank when the machine's clock stood back
}

// A Tx is a write to the log that has not been acknowledged. It is used by one
// goroutine at a time.
type Tx struct {
	log  *Log
	tx   *sql.Tx
	edge edge
	last last
	rows rowWriter
	fill *chunk // rows not yet handed over
	buf  []byte
	said said
	next map[triage.TagKind]*issuer

	// A long write has SQLite work beside the hashing, a chunk at a time.
	toWrite, written chan *chunk
	failed           error // of the writing goroutine; read once it has ended
	ended            chan struct{}
	stopped          atomic.Bool
}

// chunksAhead is how many chunks wait for SQLite at most.
const chunksAhead = 3

// handOver gives a full chunk to the writing goroutine and takes an empty one.
func (t *Tx) handOver() error {
	if t.toWrite == nil {
		t.toWrite, t.written, t.ended = make(chan *chunk, chunksAhead), make(chan *chunk, chunksAhead+1), make(chan struct{})
		for range chunksAhead {
			t.written <- new(chunk)
		}
		go func() {
			defer close(t.ended)
			for c := range t.toWrite {
				if t.failed == nil {
					if t.failed = t.rows.write(c); t.failed != nil {
						t.stopped.Store(true)
					}
				}
				t.written <- c
			}
		}()
	}
	t.toWrite <- t.fill
	t.fill = <-t.written
	if t.stopped.Load() {
		return t.drain()
	}
	return nil
}

// drain waits until all that was handed over is written, and ends the writing
// goroutine.
func (t *Tx) drain() error {
	if t.toWrite != nil {
		close(t.toWrite)
		<-t.ended
		t.toWrite = nil
	}
	return t.failed
}

// Flush hands every entry appended so far to the file, where History of the same
// write finds it. It makes nothing durable.
func (t *Tx) Flush() error {
	if err := t.drain(); err != nil {
		return err
	}
	return t.rows.write(t.fill)
}

// Next returns the number that the next entry takes.
func (t *Tx) Next() int64 { return t.edge.size + 1 }

// finish writes what is left.
func (t *Tx) finish() error {
	if err := t.drain(); err != nil {
		return err
	}
	err := t.rows.write(t.fill)
	if closed := t.rows.finish(); err == nil {
		err = closed // else each statement says the same again
	}
	return err
}

// Write runs fn and makes its entries durable, all or none. They count as
// written when Write returns nil, and not before.
func (l *Log) Write(fn func(*Tx) error) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	tx, err := l.newTx()
	if err != nil {
		return fmt.Errorf("writing to the log: %w", writeError(err))
	}
	defer tx.Rollback()
	t, err := l.begin(tx)
	if err != nil {
		return fmt.Errorf("writing to the log: %w", writeError(err))
	}
	if err := fn(t); err != nil {
		_ = t.drain() // the write is given up
		return writeError(err)
	}
	if err := t.finish(); err != nil {
		return fmt.Errorf("writing to the log: %w", writeError(err))
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("writing to the log: %w", writeError(err))
	}
	l.edge, l.last = t.edge, t.last
	return nil
}

// begin brings the edge up to date: another process may have written since.
func (l *Log) begin(tx *sql.Tx) (*Tx, error) {
	size, err := lastNumber(tx)
	if err != nil {
		return nil, err
	}
	leaf := tlog.Hash{}
	if size > 0 {
		if leaf, err = storedHash(tx, 0, size-1); err != nil {
			return nil, err
		}
	}
	if size != l.edge.size || leaf != l.edge.last {
		if err := l.load(tx, size); err != nil {
			return nil, err
		}
	}
	t := &Tx{log: l, tx: tx, edge: l.edge, last: l.last, next: map[triage.TagKind]*issuer{}}
	t.rows.tx, t.fill = tx, new(chunk)
	return t, nil
}

// Append adds an entry. Its number is certain only once Write has returned nil.
func (t *Tx) Append(d Draft) (Receipt, error) {
	e := Entry{Draft: d, Number: t.edge.size + 1, Entered: t.log.opt.Now()}
	e.Zone = zoneText(e.Entered, t.log.opt.Zone)
	e.Entered = e.Entered.Truncate(time.Millisecond).UTC()
	if e.Site == "" {
		e.Site = t.last.site
	}
	if e.Happened.IsZero() {
		e.Happened = e.Entered
	}
	e.Clock = clockBack(t.last.entered, e.Entered)
	if e.Body.raw == nil {
		return Receipt{}, fmt.Errorf("an entry of kind %s has no body", e.Kind)
	}
	var err error
	if e.Body, err = e.Body.withNow(d.Now); err != nil {
		return Receipt{}, err
	}
	if err := e.check(); err != nil {
		return Receipt{}, err
	}
	if err := t.said.read(&e); err != nil {
		return Receipt{}, err
	}
	if err := t.given(&e); err != nil {
		return Receipt{}, err
	}
	t.buf = appendEntry(t.buf[:0], &e)
	if len(t.buf) > maxEntryBytes {
		return Receipt{}, fmt.Errorf("an entry of %d bytes is longer than %d", len(t.buf), maxEntryBytes)
	}
	hashes, err := t.edge.add(t.buf)
	if err != nil {
		return Receipt{}, err
	}
	t.fill.put(e.Number, hashes, t.buf)
	t.fill.derive(&e, &t.said)
	t.rows.note(&e, &t.said)
	if t.fill.full() {
		if err := t.handOver(); err != nil {
			return Receipt{}, fmt.Errorf("writing entry %d: %w", e.Number, writeError(err))
		}
	}
	if e.Number == 1 {
		t.last.site = e.Site
	}
	if e.Clock == "" {
		t.last.entered = e.Entered
	}
	return Receipt{e.Number, hashes[0], e.Entered, e.Clock}, nil
}

// Append writes one entry; it is durable when Append returns nil.
func (l *Log) Append(d Draft) (r Receipt, err error) {
	err = l.Write(func(t *Tx) (err error) {
		r, err = t.Append(d)
		return err
	})
	return r, err
}

// zoneText is the offset from UTC and the zone's name.
func zoneText(at time.Time, name string) string {
	text := at.Format("-07:00")
	if name != "" {
		text += " " + name
	}
	return text
}

// issuer hands out tags: every number from next up to, not with, stop is free.
type issuer struct {
	next, stop int64
	runs       [][2]int64 // what was handed out in this write, as ranges
}

// handedOut reports whether a number was issued in this write.
func (i *issuer) handedOut(number int64) bool {
	return slices.ContainsFunc(i.runs, func(r [2]int64) bool { return number >= r[0] && number < r[1] })
}

// ErrTagsUsedUp says that a site has used every tag of a kind.
var ErrTagsUsedUp = errors.New("every tag of this kind has been used")

// IssueTag returns a tag that no entry of the log has named. It stays issued
// when the entries written with it are; their bodies say "issued":true.
func (t *Tx) IssueTag(kind triage.TagKind) (string, error) {
	i := t.next[kind]
	if i == nil {
		next, err := readIssued(t.tx, kind)
		if err != nil {
			return "", err
		}
		i = &issuer{next: next, stop: next}
		t.next[kind] = i
	}
	if i.next == i.stop {
		if err := t.findFree(kind, i); err != nil {
			return "", err
		}
		i.runs = append(i.runs, [2]int64{i.next, i.next})
	}
	tag := triage.IssueTag(kind, i.next)
	i.next++
	i.runs[len(i.runs)-1][1] = i.next
	return tag, nil
}

// findFree moves an issuer past the tags that were given by hand.
func (t *Tx) findFree(kind triage.TagKind, i *issuer) error {
	// Rows on their way may name tags: wait for them.
	if err := t.Flush(); err != nil {
		return err
	}
	count := triage.TagCount(kind)
	base := triage.TagKey(triage.IssueTag(kind, 0))
	for i.next < count {
		var used sql.NullInt64
		err := t.tx.QueryRow("SELECT min(key) FROM tags WHERE key >= ? AND key < ?", base+i.next, base+count).Scan(&used)
		if err != nil {
			return fmt.Errorf("looking for a free tag: %w", err)
		}
		i.stop = count
		if used.Valid {
			i.stop = used.Int64 - base
		}
		if i.stop > i.next {
			return nil
		}
		i.next++
	}
	return fmt.Errorf("issuing a %s tag: %w", kind, ErrTagsUsedUp)
}

// given keeps issued tags and tags given by hand apart within one write: a tag
// from a printed block may be on the tape of a cell that the log has not seen.
func (t *Tx) given(d *Entry) error {
	if len(t.next) == 0 || t.said.issued {
		return nil
	}
	for _, tag := range d.Tags {
		kind, number := triage.TagNumber(tag)
		i := t.next[kind]
		switch {
		case i == nil:
		case i.handedOut(number) && d.Kind == "assessment":
			return fmt.Errorf("tag %s was issued to another cell in this same run: write the tag of the row that has none, and try again", triage.SpacedTag(tag))
		case number >= i.next && number < i.stop:
			i.stop = number
		}
	}
	return nil
}
