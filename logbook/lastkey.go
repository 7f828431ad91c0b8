package logbook

import "fmt"

// lastKeyRecord returns the last record that names a key of the log: n is its
// number.
//
// A view says which it is. In a file of schema 1, which has none, it goes back
// from the end over the entries that name no tag, as NewKey and
// Create give a record of a key none. The view of tags says which those are, so
// that of a long log it reads the small table and a few entries: a million take
// about half a second, and 2 to 10 s when every entry is looked into. What is
// found is read from the entry itself; that the view is whole, Verify checks.
func lastKeyRecord(q queryer) (n int64, body KeyBody, err error) {
	if q.QueryRow("SELECT n FROM latest WHERE topic = 'log-key' AND about = ''").Scan(&n) == nil {
		return keyRecord(q, n)
	}
	size, err := lastNumber(q)
	if err != nil {
		return 0, body, err
	}
	tagged, err := taggedEntries(q, size)
	if err != nil {
		return 0, body, err
	}
	for n = size; n > 0; n-- {
		if tagged[n/64]>>(n%64)&1 == 1 {
			continue
		}
		e, err := readEntry(q, n)
		if err != nil {
			return 0, body, err
		}
		if e.Kind == "record" && e.Body.member("subject") == "log-key" {
			return keyRecord(q, n)
		}
	}
	return 0, body, &DamageError{1, "it names no key of the log, nor does one after it"}
}

func keyRecord(q queryer, n int64) (_ int64, body KeyBody, err error) {
	e, err := readEntry(q, n)
	if err != nil {
		return 0, body, err
	}
	if e.Kind != "record" || e.Body.member("subject") != "log-key" {
		return 0, body, &DamageError{n, "the views say that it names a key of the log, its bytes do not: run pouchward log verify, then log rebuild"}
	}
	if err := e.Body.Decode(&body); err != nil {
		return 0, body, &DamageError{n, "its key cannot be read: " + err.Error()}
	}
	return n, body, nil
}

// taggedEntries returns a bit for each entry up to size: set where it names a
// tag.
func taggedEntries(q queryer, size int64) ([]uint64, error) {
	rows, err := q.Query("SELECT n FROM tag_entries")
	if err != nil {
		return nil, fmt.Errorf("looking for the key of the log: %w", err)
	}
	defer rows.Close()
	set := make([]uint64, size/64+1)
	for rows.Next() {
		var n int64
		if err := rows.Scan(&n); err != nil {
			return nil, fmt.Errorf("looking for the key of the log: %w", err)
		}
		if n > 0 && n <= size { // another process may have written since
			set[n/64] |= 1 << (n % 64)
		}
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("looking for the key of the log: %w", err)
	}
	return set, nil
}
