package logbook

import (
	"errors"
	"testing"

	"pouchward/triage"
)

// An entry is held against the tree as it is shown: bytes that were edited are told, and
// so they are with their own hash written anew.
func TestAsRecorded(t *testing.T) {
	path, _, _, _ := closedLog(t, 40)
	check := func(n int64) error {
		t.Helper()
		l, err := OpenReader(path, testOptions())
		if err != nil {
			t.Fatal(err)
		}
		defer l.Close()
		e, err := l.Entry(n)
		if err != nil {
			t.Fatal(err)
		}
		return l.AsRecorded(e, must(l.Tree()))
	}
	for n := int64(1); n <= 41; n++ {
		if err := check(n); err != nil {
			t.Errorf("entry %d of a log that verifies: %v", n, err)
		}
	}
	db := raw(t, path)
	edit := func(sql string, args ...any) {
		t.Helper()
		if _, err := db.Exec(sql, args...); err != nil {
			t.Fatal(err)
		}
	}
	edit(dropGuards)
	edit(`UPDATE entries SET bytes = CAST(replace(CAST(bytes AS TEXT), 'isolate', 'retire') AS BLOB) WHERE n = 11`)
	var damage *DamageError
	if err := check(11); !errors.As(err, &damage) || damage.Number != 11 || !IsDamage(err) {
		t.Errorf("edited: %v", err)
	}
	var b []byte
	if err := db.QueryRow("SELECT bytes FROM entries WHERE n = 11").Scan(&b); err != nil {
		t.Fatal(err)
	}
	leaf := leafHash(b)
	edit(`UPDATE entries SET hashes = CAST(? || substr(hashes, 33) AS BLOB) WHERE n = 11`, leaf[:])
	if err := check(11); !errors.As(err, &damage) || damage.Number != 11 {
		t.Errorf("edited with its hash: %v", err)
	}
	if err := check(20); err != nil {
		t.Errorf("an entry that nobody touched: %v", err)
	}
}

func TestKnownTags(t *testing.T) {
	l, _ := newLog(t)
	fill(t, l, 3)
	first, third := must(l.Entry(2)).Tags[0], must(l.Entry(4)).Tags[0]
	later := triage.IssueTag(triage.CellTag, 9)
	known, err := l.Known([]string{first, later, third, first})
	if err != nil || len(known) != 2 || !known[first] || !known[third] {
		t.Errorf("%v, %v", known, err)
	}
	if known, err := l.Known(nil); err != nil || len(known) != 0 {
		t.Errorf("of none: %v, %v", known, err)
	}
}
