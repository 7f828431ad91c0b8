package logbook

import (
	"database/sql"
	"encoding/json"
	"fmt"

	"pouchward/triage"
)

// Scanning: a long log read a page at a time, its bytes as they stand. Nothing is
// parsed, so what is damaged is passed on like the rest, and nothing is kept. No
// statement is open while fn runs: fn may read the log too.

// pageRows is how many entries are read at once.
const pageRows = 256

// A RawEntry is an entry as the file has it.
type RawEntry struct {
	Number int64
	Bytes  []byte

	from queryer // it was read from
}

// Parse reads the entry.
func (r *RawEntry) Parse() (*Entry, error) {
	_, sound := r.from.(soundTx)
	e := new(Entry)
	err := e.read(&scanner{data: r.Bytes, trusted: sound})
	if err == nil && e.Number != r.Number {
		err = fmt.Errorf("its bytes say that it is entry %d", e.Number)
	}
	if err != nil {
		return nil, &DamageError{r.Number, err.Error()}
	}
	return e, nil
}

// Scan calls fn for the entries from first to last that are there, in order.
func (l *Log) Scan(first, last int64, fn func(RawEntry) error) error {
	for first <= last {
		page, err := l.rawPage("SELECT n, bytes FROM entries WHERE n BETWEEN ? AND ? ORDER BY n", first, min(last, first+pageRows-1))
		if err != nil {
			return err
		}
		for _, r := range page {
			if err := fn(r); err != nil {
				return err
			}
		}
		first += pageRows
	}
	return nil
}

// Pick calls fn for the entries of a list of numbers that are there, in order.
func (l *Log) Pick(numbers []int64, fn func(RawEntry) error) error {
	for len(numbers) > 0 {
		n := min(len(numbers), pageRows)
		list, err := json.Marshal(numbers[:n])
		if err != nil {
			return err
		}
		numbers = numbers[n:]
		page, err := l.rawPage("SELECT n, bytes FROM entries WHERE n IN (SELECT value FROM json_each(?)) ORDER BY n", string(list))
		if err != nil {
			return err
		}
		for _, r := range page {
			if err := fn(r); err != nil {
				return err
			}
		}
	}
	return nil
}

func (l *Log) rawPage(query string, args ...any) (page []RawEntry, err error) {
	rows, err := l.q.Query(query, args...)
	if err != nil {
		return nil, fmt.Errorf("reading the log: %w", err)
	}
	if page, err = rawRows(rows, l.q); err != nil {
		return nil, fmt.Errorf("reading the log: %w", err)
	}
	return page, nil
}

// tagsAtOnce is of how many tags the histories are read at once.
const tagsAtOnce = 64

// TagHistories calls fn for each tag of a kind that an entry up to last names, in
// the order in which tags are issued, with those entries in order. Which entries
// name a tag is found by the views, as History finds them.
func (l *Log) TagHistories(kind triage.TagKind, last int64, fn func(tag string, list []RawEntry) error) error {
	from := triage.TagKey(triage.IssueTag(kind, 0))
	for end := from + triage.TagCount(kind); ; {
		keys, err := l.keysFrom(from, end)
		if err != nil || len(keys) == 0 {
			return err
		}
		from = keys[len(keys)-1] + 1
		lists, err := l.entriesOf(keys, last)
		if err != nil {
			return err
		}
		for i, key := range keys {
			if len(lists[i]) == 0 {
				continue
			}
			if err := fn(triage.TagOfKey(key), lists[i]); err != nil {
				return err
			}
		}
	}
}

func (l *Log) keysFrom(from, end int64) (keys []int64, err error) {
	rows, err := l.q.Query("SELECT key FROM tags WHERE key >= ? AND key < ? ORDER BY key LIMIT ?", from, end, tagsAtOnce)
	if err != nil {
		return nil, l.stockError(err)
	}
	defer rows.Close()
	for rows.Next() {
		var key int64
		if err := rows.Scan(&key); err != nil {
			return nil, l.stockError(err)
		}
		if key < 0 || key >= triage.TagKeys() {
			return nil, fmt.Errorf("%d is the key of no tag: run pouchward log verify, then log rebuild", key)
		}
		keys = append(keys, key)
	}
	return keys, l.stockError(rows.Err())
}

// entriesOf reads the entries of each key, one that several name once.
func (l *Log) entriesOf(keys []int64, last int64) ([][]RawEntry, error) {
	rows, err := l.q.Query("SELECT t.key, e.n, e.bytes FROM tag_entries t JOIN entries e ON e.n = t.n WHERE t.key BETWEEN ? AND ? AND t.n <= ? ORDER BY t.key, t.n",
		keys[0], keys[len(keys)-1], last)
	if err != nil {
		return nil, l.stockError(err)
	}
	defer rows.Close()
	lists := make([][]RawEntry, len(keys))
	var kept arena
	for i := 0; rows.Next(); {
		var key int64
		var b sql.RawBytes
		r := RawEntry{from: l.q}
		if err := rows.Scan(&key, &r.Number, &b); err != nil {
			return nil, l.stockError(err)
		}
		r.Bytes = kept.keep(b)
		for i < len(keys) && keys[i] < key {
			i++
		}
		if i == len(keys) || keys[i] != key {
			continue // the views name a tag that they do not list: verify says so
		}
		lists[i] = append(lists[i], r)
	}
	return lists, l.stockError(rows.Err())
}

// Topic returns what an entry is about where the last word on a thing counts: a
// topic (inspection, incident, shipment, or the subject of a record) and which of
// its things; blank for other entries.
func (e *Entry) Topic() (topic, about string, err error) {
	switch e.Kind {
	case "inspection", "incident", "shipment", "record":
	default:
		if e.sound {
			return "", "", nil // what else its body says was found to be in order
		}
	}
	x, err := e.readSaid()
	if err != nil {
		return "", "", err
	}
	return x.topic, x.about, nil
}
