package logbook

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// raw opens a file as a stranger would.
func raw(t testing.TB, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+path)
	if err != nil {
		t.Fatal(err)
	}
	db.SetMaxOpenConns(1)
	t.Cleanup(func() { db.Close() })
	return db
}

// rawEntries reads what stands in a file by other means than the verifier.
func rawEntries(path string) (map[int64]string, error) {
	db, err := sql.Open("sqlite", "file:"+path)
	if err != nil {
		return nil, err
	}
	defer db.Close()
	rows, err := db.Query("SELECT n, CAST(bytes AS BLOB) FROM entries")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	m := map[int64]string{}
	for rows.Next() {
		var n int64
		var b []byte
		if err := rows.Scan(&n, &b); err != nil {
			return m, err
		}
		m[n] = string(b)
	}
	return m, rows.Err()
}

// firstChanged returns the first entry that differs, 0 when none does.
func firstChanged(before, after map[int64]string) int64 {
	all := maps.Clone(before)
	maps.Copy(all, after)
	for _, n := range slices.Sorted(maps.Keys(all)) {
		if b, ok := after[n]; !ok || before[n] != b {
			return n
		}
	}
	return 0
}

// closedLog makes a log of n entries and more, closes it, and returns its
// checkpoint and entries.
func closedLog(t *testing.T, n int) (path string, cp *Checkpoint, key Key, entries map[int64]string) {
	t.Helper()
	l, key := newLog(t)
	fill(t, l, n)
	tree, err := l.Tree()
	if err != nil {
		t.Fatal(err)
	}
	if cp, err = l.Checkpoint(tree.Size, key); err != nil {
		t.Fatal(err)
	}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	if entries, err = rawEntries(l.Path()); err != nil || len(entries) != n+1 {
		t.Fatalf("%d entries, %v", len(entries), err)
	}
	return l.Path(), cp, key, entries
}

// Single bytes are changed at random offsets of a real file. Whenever an entry
// reads differently, or cannot be read, the verifier says so, and names the
// first. POUCHWARD_FLIPS sets how many.
func TestFlippedBytes(t *testing.T) {
	flips := envInt(t, "POUCHWARD_FLIPS", 400)
	if testing.Short() {
		flips = min(flips, 60)
	}
	path, cp, key, before := closedLog(t, 150)
	whole := readFile(t, path)
	bad := filepath.Join(t.TempDir(), "bad.db")
	altered, unreadable, elsewhere, silent := 0, 0, 0, 0
	for range flips {
		at, x := rand.IntN(len(whole)), byte(1+rand.IntN(255))
		data := bytes.Clone(whole)
		data[at] ^= x
		for _, end := range []string{"", "-wal", "-shm"} {
			os.Remove(bad + end)
		}
		if err := os.WriteFile(bad, data, 0o600); err != nil {
			t.Fatal(err)
		}
		r, err := Verify(bad, VerifyOptions{Checkpoints: []*Checkpoint{cp}, Keys: []string{key.Public}})
		reported := err != nil || !r.Verified()
		after, readErr := rawEntries(bad)
		switch first := firstChanged(before, after); {
		case first > 0 && !reported:
			t.Fatalf("byte %d ^ %#x changed entry %d, and the log verifies", at, x, first)
		case readErr != nil && !reported:
			t.Fatalf("byte %d ^ %#x: %v, and the log verifies", at, x, readErr)
		case readErr != nil:
			unreadable++
		case first > 0:
			altered++
			// Where SQLite refuses a page, the plain reading beside takes garbage
			// for a row: the two may then differ in which entry comes first.
			if err == nil && r.FirstBad != first && !strings.Contains(fmt.Sprint(r.Problems), "cannot be read from here on") {
				t.Errorf("byte %d ^ %#x: the first bad entry is %d, named is %d: %+v", at, x, first, r.FirstBad, r.Problems)
			}
		case reported:
			elsewhere++
		default:
			silent++
		}
	}
	t.Logf("%d flips in %d bytes: %d altered an entry, %d made the file unreadable, %d were elsewhere and reported, %d were without effect on any entry",
		flips, len(whole), altered, unreadable, elsewhere, silent)
	if altered < flips/4 {
		t.Error("too few flips altered an entry: the test shows little")
	}
}

// dropGuards takes away what refuses, as somebody with a database tool would.
const dropGuards = "DROP TRIGGER entries_no_update; DROP TRIGGER entries_no_delete; DROP TRIGGER entries_in_turn;"

// guards puts them back, so that the schema tells nothing.
func guards() string {
	var b strings.Builder
	for _, part := range strings.SplitAfter(scripts[0], "END;") {
		if i := strings.Index(part, "CREATE TRIGGER"); i >= 0 {
			b.WriteString(part[i:] + "\n")
		}
	}
	return b.String()
}

func TestTamperBySQL(t *testing.T) {
	path, cp, key, _ := closedLog(t, 40)
	for _, row := range []struct {
		name, sql string
		first     int64 // 0: no single entry can be named
		says      string
	}{
		{"edited", `UPDATE entries SET bytes = CAST(replace(CAST(bytes AS TEXT), 'isolate', 'retire') AS BLOB) WHERE n = 11`, 11, "do not have the hash"},
		{"edited, leaf too", `UPDATE entries SET hashes = (SELECT hashes FROM entries WHERE n = 13), bytes = (SELECT bytes FROM entries WHERE n = 13) WHERE n = 11`, 11, "says that it is entry 13|say that it is entry 13"},
		{"deleted", `DELETE FROM entries WHERE n = 17`, 17, "is missing"},
		{"first deleted", `DELETE FROM entries WHERE n = 1`, 1, "is missing"},
		{"several deleted", `DELETE FROM entries WHERE n BETWEEN 5 AND 9`, 5, "entries 5 to 9 are missing"},
		{"deleted and closed up", `DELETE FROM entries WHERE n = 17; UPDATE entries SET n = n - 1 WHERE n > 17`, 17, ""},
		{"tail cut off", `DELETE FROM entries WHERE n > 30; DELETE FROM tag_entries WHERE n > 30; DELETE FROM tags WHERE first > 30`, 31, "its tail is cut off"},
		{"all cut off", `DELETE FROM entries`, 1, "its tail is cut off"},
		{"exchanged", `UPDATE entries SET n = 100 WHERE n = 6; UPDATE entries SET n = 6 WHERE n = 20; UPDATE entries SET n = 20 WHERE n = 100`, 6, ""},
		{"replaced", `INSERT OR REPLACE INTO entries SELECT 8, hashes, bytes FROM entries WHERE n = 12`, 8, ""},
		{"one slipped in at the end", `INSERT INTO entries SELECT 42, hashes, bytes FROM entries WHERE n = 41`, 42, ""},
		{"number nought", `INSERT INTO entries SELECT 0, hashes, bytes FROM entries WHERE n = 41`, 0, "an entry numbered 0 stands where entry 1 is wanted"},
		{"hashes edited", `UPDATE entries SET hashes = zeroblob(length(hashes)) WHERE n = 16`, 16, ""},
		{"inner hash edited", `UPDATE entries SET hashes = CAST(substr(hashes,1,32) || zeroblob(32) AS BLOB) WHERE n = 6`, 6, "tree hashes"},
		{"views edited", `UPDATE tags SET handling = 'sound' WHERE first = 9`, 0, "view tags is not what the entries say"},
		{"view row removed", `DELETE FROM tag_entries WHERE n = 9`, 0, "view tag_entries"},
		{"view row exchanged", `UPDATE tag_entries SET n = 10 WHERE n = 9`, 0, "view tag_entries"},
		{"tag forgotten", `DELETE FROM tags WHERE first = 9`, 0, "view tags"},
		{"issued set back", `UPDATE issued SET next = 3`, 0, "view issued"},
		{"stock bettered", `UPDATE here SET handling = 'sound', condition = 'undamaged' WHERE n = 9`, 0, "view here is not what the entries say"},
		{"stock forgotten", `DELETE FROM here WHERE n = 9`, 0, "view here"},
		{"stock of an older entry", `UPDATE here SET n = 8 WHERE n = 9`, 0, "view here"},
		{"stock that no entry names", `INSERT INTO here SELECT 0, n, handling, condition, size, waste, count, uwh, mg, ml, start, start_by, since, looked, look_in, place, held_in, what, made_safe, lapses, lapsed_handling, lapsed_condition FROM here WHERE n = 9`, 0, "view here"},
		{"last of a subject", `UPDATE latest SET n = 3`, 0, "view latest"},
		{"last of a subject that is none", `INSERT INTO latest VALUES ('training', 'MK', 3)`, 0, "view latest"},
		{"part that no entry names", `INSERT INTO part_entries VALUES ('XP3850', 3)`, 0, "view part_entries"},
		{"table added", `CREATE TABLE more (x)`, 0, "stands in the file and not in the schema"},
		{"a tag that no entry names", `DELETE FROM tags WHERE first = 9; INSERT INTO tags SELECT 0, '222222', 0, 0, 0, 0, '', ''`, 0, "view tags"},
		{"trigger with a name like SQLite's own", `CREATE TRIGGER sqlitexstat BEFORE INSERT ON entries BEGIN SELECT raise(ignore); END`, 0, "stands in the file and not in the schema"},
		{"script of the schema forgotten", `DELETE FROM migrations WHERE version = 2`, 0, "no longer says that schema script 2 made it"},
		{"digest of the schema", `UPDATE migrations SET digest = 'x'`, 0, "made by another build"},
	} {
		t.Run(row.name, func(t *testing.T) {
			bad := filepath.Join(t.TempDir(), "bad.db")
			copyFile(t, path, bad)
			db := raw(t, bad)
			if _, err := db.Exec(dropGuards + row.sql + ";" + guards()); err != nil {
				t.Fatal(err)
			}
			db.Close()
			r, err := Verify(bad, VerifyOptions{Checkpoints: []*Checkpoint{cp}, Keys: []string{key.Public}})
			if err != nil {
				t.Fatal(err)
			}
			text := fmt.Sprint(r.Problems)
			if r.Verified() || r.FirstBad != row.first || !slices.ContainsFunc(strings.Split(row.says, "|"), func(s string) bool { return strings.Contains(text, s) }) {
				t.Errorf("first bad %d, want %d; %s, want %q", r.FirstBad, row.first, text, row.says)
			}
		})
	}
	t.Run("triggers dropped", func(t *testing.T) {
		bad := filepath.Join(t.TempDir(), "bad.db")
		copyFile(t, path, bad)
		if _, err := raw(t, bad).Exec(dropGuards); err != nil {
			t.Fatal(err)
		}
		if r, err := Verify(bad, VerifyOptions{}); err != nil || len(r.Problems) != 3 {
			t.Errorf("%+v, %v", r, err)
		}
	})
}

// A log written anew as a whole holds in itself; only what was kept elsewhere
// contradicts it, and an older checkpoint that holds narrows the place.
func TestRewritten(t *testing.T) {
	l, key := newLog(t)
	fill(t, l, 60)
	at20, at61 := must(l.Checkpoint(20, key)), must(l.Checkpoint(61, key))
	l.Close()
	db := raw(t, l.Path())
	if _, err := db.Exec(dropGuards); err != nil {
		t.Fatal(err)
	}
	var e edge
	for n := int64(1); n <= 61; n++ {
		var data []byte
		if err := db.QueryRow("SELECT bytes FROM entries WHERE n = ?", n).Scan(&data); err != nil {
			t.Fatal(err)
		}
		if n == 33 {
			data = bytes.Replace(data, []byte("3780mV"), []byte("3880mV"), 1)
		}
		hashes, err := e.add(data)
		if err != nil {
			t.Fatal(err)
		}
		var row []byte
		for _, h := range hashes {
			row = append(row, h[:]...)
		}
		if _, err := db.Exec("UPDATE entries SET bytes = ?, hashes = ? WHERE n = ?", data, row, n); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := db.Exec(guards()); err != nil {
		t.Fatal(err)
	}
	db.Close()
	if r := mustVerify(t, l.Path(), VerifyOptions{}); !strings.Contains(fmt.Sprint(r.Notes), "no checkpoint from elsewhere") {
		t.Errorf("the report does not say what it cannot show: %v", r.Notes)
	}
	r, err := Verify(l.Path(), VerifyOptions{Checkpoints: []*Checkpoint{at20, at61}})
	if text := fmt.Sprint(r.Problems); err != nil || r.Verified() || r.Covered != 20 || !strings.Contains(text, "the first bad one is from 21 to 61") {
		t.Errorf("%s, %v", text, err)
	}
	paper, err := ParsePaper(at61.Paper())
	if err != nil {
		t.Fatal(err)
	}
	if r, err := Verify(l.Path(), VerifyOptions{Papers: []Paper{paper}}); err != nil || r.Verified() {
		t.Errorf("a paper line does not tell: %v", err)
	}
}

// A checkpoint with a false signature, or of another log, tells nothing.
func TestFalseCheckpoints(t *testing.T) {
	path, cp, _, _ := closedLog(t, 10)
	_, other, otherKey, _ := closedLog(t, 10)
	forged, err := ParseCheckpoint(bytes.Replace(cp.Text, []byte("\n11\n"), []byte("\n10\n"), 1))
	if err != nil {
		t.Fatal(err)
	}
	for name, row := range map[string]struct {
		opt  VerifyOptions
		says string
	}{
		"forged":        {VerifyOptions{Checkpoints: []*Checkpoint{forged}}, "signature is false"},
		"another log's": {VerifyOptions{Checkpoints: []*Checkpoint{other}}, "signed by none of the keys"},
		"its key too":   {VerifyOptions{Checkpoints: []*Checkpoint{other}, Keys: []string{otherKey.Public}}, "does not fit"},
	} {
		r, err := Verify(path, row.opt)
		if err != nil || r.Verified() || !strings.Contains(fmt.Sprint(r.Problems), row.says) {
			t.Errorf("%s: %+v, %v; want %q", name, r, err, row.says)
		}
	}
}

// A new key must be signed in by the old one, or say that it was lost.
func TestKeyChain(t *testing.T) {
	l, old := newLog(t)
	fill(t, l, 5)
	fresh, r, err := l.NewKey(Draft{Who: "Invented Name"}, "invented reason")
	if err != nil || r.Number != 7 || fresh == old {
		t.Fatal(err)
	}
	if loaded, err := LoadKey(KeyFile(l.Path())); err != nil || loaded != fresh {
		t.Fatalf("the new key is not in place: %v", err)
	}
	mustVerify(t, l.Path(), VerifyOptions{Checkpoints: []*Checkpoint{must(l.Checkpoint(7, fresh)), must(l.Checkpoint(6, old))}})
	if err := os.Remove(KeyFile(l.Path())); err != nil {
		t.Fatal(err)
	}
	if _, _, err := l.NewKey(Draft{}, "the key file was lost"); err != nil {
		t.Fatal(err)
	}
	if rep := mustVerify(t, l.Path(), VerifyOptions{}); !strings.Contains(fmt.Sprint(rep.Notes), "entry 8 names a new key and says that the old one was lost") {
		t.Errorf("notes %v", rep.Notes)
	}
	// A key that nobody signed in.
	b := must(MakeBody(KeyBody{Subject: "log-key", Key: old.Public, Checkpoint: string(must(l.Checkpoint(8, old)).Text)}))
	if _, err := l.Append(Draft{Kind: "record", Body: b}); err != nil {
		t.Fatal(err)
	}
	if rep, err := Verify(l.Path(), VerifyOptions{}); err != nil || rep.FirstBad != 9 {
		t.Errorf("%+v, %v", rep, err)
	}
}

// A key given is compared with those that the log names, with a checkpoint and
// without one.
func TestGivenKeys(t *testing.T) {
	l, first := newLog(t)
	_, other := newLog(t)
	cp := must(l.Checkpoint(1, first))
	second, _, err := l.NewKey(Draft{}, "invented reason")
	if err != nil {
		t.Fatal(err)
	}
	const alone = "a key without a checkpoint that it signed shows nothing"
	for _, row := range []struct {
		name     string
		opt      VerifyOptions
		verified bool
		says     string
		alone    bool
	}{
		{"none", VerifyOptions{}, true, "no checkpoint from elsewhere", false},
		{"the last", VerifyOptions{Keys: []string{second.Public}}, true, "the key given is the one that the log names last, in entry 2", true},
		{"an older one", VerifyOptions{Keys: []string{first.Public}}, true, "named by entry 1 and was replaced by entry 2: " + second.Public, true},
		{"an older one with its checkpoint", VerifyOptions{Keys: []string{first.Public}, Checkpoints: []*Checkpoint{cp}}, true, "was replaced by entry 2", false},
		{"of another log", VerifyOptions{Keys: []string{other.Public}}, false, other.Public + ", is named by no entry", false},
		{"of another log beside the last", VerifyOptions{Keys: []string{second.Public, other.Public}}, false, other.Public + ", is named by no entry", true},
		{"no key at all", VerifyOptions{Keys: []string{"x"}}, false, "is named by no entry", false},
	} {
		r, err := Verify(l.Path(), row.opt)
		if err != nil {
			t.Fatal(err)
		}
		said := fmt.Sprint(r.Problems, r.Notes)
		if r.Verified() != row.verified || !strings.Contains(said, row.says) || strings.Contains(said, alone) != row.alone {
			t.Errorf("%s: verified %v, %s; want %v, %q", row.name, r.Verified(), said, row.verified, row.says)
		}
	}
}

// Nothing but the next entry can be put into the table.
func TestTriggersRefuse(t *testing.T) {
	path, _, _, before := closedLog(t, 5)
	db := raw(t, path)
	for _, q := range []string{
		"UPDATE entries SET bytes = x'00' WHERE n = 3",
		"UPDATE entries SET n = 99 WHERE n = 3",
		"DELETE FROM entries WHERE n = 6",
		"INSERT OR REPLACE INTO entries VALUES (3, x'00', x'00')",
		"REPLACE INTO entries VALUES (6, x'00', x'00')",
		"INSERT OR IGNORE INTO entries VALUES (8, x'00', x'00')",
		"INSERT INTO entries VALUES (NULL, x'00', x'00')",
		"INSERT INTO entries (hashes, bytes) VALUES (x'00', x'00')",
		"INSERT INTO entries VALUES (0, x'00', x'00')",
		"INSERT INTO entries VALUES (3, x'00', x'00') ON CONFLICT (n) DO UPDATE SET bytes = x'00'",
		"UPDATE OR REPLACE entries SET n = 4 WHERE n = 3",
		"INSERT INTO entries VALUES (7, 'text', x'00')", // STRICT
	} {
		if _, err := db.Exec(q); err == nil {
			t.Errorf("%s was done", q)
		}
	}
	db.Close()
	after, err := rawEntries(path)
	if err != nil || firstChanged(before, after) != 0 {
		t.Errorf("changed: %v", err)
	}
}

// A log whose last entry is damaged takes no other.
func TestNothingOnDamage(t *testing.T) {
	path, _, _, _ := closedLog(t, 5)
	db := raw(t, path)
	if _, err := db.Exec(dropGuards + "UPDATE entries SET bytes = x'7b7d' WHERE n = 6"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	var damage *DamageError
	if _, err := Open(path, testOptions()); !errors.As(err, &damage) || damage.Number != 6 {
		t.Errorf("opened: %v", err)
	}
}

// A trigger that swallows rows must not let a write be acknowledged.
func TestSwallowedRows(t *testing.T) {
	path, _, _, _ := closedLog(t, 3)
	if _, err := raw(t, path).Exec("CREATE TRIGGER x BEFORE INSERT ON entries BEGIN SELECT raise(ignore); END"); err != nil {
		t.Fatal(err)
	}
	l, err := Open(path, Options{Now: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	err = l.Write(func(tx *Tx) error {
		body, err := ParseBody([]byte(`{"handling":"isolate"}`))
		if err != nil {
			return err
		}
		_, err = tx.Append(Draft{Kind: "assessment", Body: body})
		return err
	})
	if err == nil || !strings.Contains(err.Error(), "took 0 of 1 rows") {
		t.Errorf("acknowledged: %v", err)
	}
}

// A log emptied of its entries, and one of an impossible schema, are told.
func TestEmptiedAndMisnumbered(t *testing.T) {
	path, _, _, _ := closedLog(t, 3)
	empty := filepath.Join(t.TempDir(), "empty.db")
	copyFile(t, path, empty)
	if _, err := raw(t, empty).Exec(dropGuards + "DELETE FROM entries; DELETE FROM tags; DELETE FROM tag_entries; DELETE FROM issued;" + guards()); err != nil {
		t.Fatal(err)
	}
	if r, err := Verify(empty, VerifyOptions{}); err != nil || r.Verified() || !strings.Contains(fmt.Sprint(r.Problems), "holds no entry") {
		t.Errorf("%+v, %v", r, err)
	}
	for _, version := range []string{"-1", "0"} {
		bad := filepath.Join(t.TempDir(), "bad.db")
		copyFile(t, path, bad)
		if _, err := raw(t, bad).Exec("PRAGMA user_version = " + version); err != nil {
			t.Fatal(err)
		}
		if _, err := Open(bad, Options{Now: time.Now}); err == nil || !strings.Contains(err.Error(), "schema "+version) {
			t.Errorf("schema %s opened: %v", version, err)
		}
	}
}
