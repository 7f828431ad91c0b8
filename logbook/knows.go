package logbook

import (
	"encoding/json"
	"errors"
	"fmt"

	sqlite3 "modernc.org/sqlite/lib"

	"pouchward/triage"
)

// Known returns which of some tags, each of which holds, any entry names: one look at
// the log for all of them.
func (l *Log) Known(tags []string) (map[string]bool, error) {
	known := map[string]bool{}
	if len(tags) == 0 {
		return known, nil
	}
	keys, byKey := make([]int64, len(tags)), make(map[int64]string, len(tags))
	for i, t := range tags {
		keys[i] = triage.TagKey(t)
		byKey[keys[i]] = t
	}
	list, err := json.Marshal(keys)
	if err != nil {
		return nil, err
	}
	rows, err := l.q.Query("SELECT value FROM json_each(?) WHERE EXISTS (SELECT 1 FROM tag_entries WHERE key = value)", string(list))
	if err != nil {
		return nil, fmt.Errorf("looking up tags: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		var key int64
		if err := rows.Scan(&key); err != nil {
			return nil, fmt.Errorf("looking up tags: %w", err)
		}
		known[byKey[key]] = true
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("looking up tags: %w", err)
	}
	return known, nil
}

// IsDamage reports whether an error came from a log whose file or entries are not as
// they must be.
func IsDamage(err error) bool {
	var e *DamageError
	return errors.As(err, &e) || code(err) == sqlite3.SQLITE_CORRUPT || code(err) == sqlite3.SQLITE_NOTADB
}
