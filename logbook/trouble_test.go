package logbook

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

// What a bench meets: each is a clear error or a right log.

func TestForeignFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "other.db")
	db := raw(t, path)
	if _, err := db.Exec("CREATE TABLE theirs (x); INSERT INTO theirs VALUES (1)"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	text := filepath.Join(dir, "notes.txt")
	empty := filepath.Join(dir, "empty.db")
	if err := errors.Join(os.WriteFile(text, bytes.Repeat([]byte("notes "), 2000), 0o600), os.WriteFile(empty, nil, 0o600)); err != nil {
		t.Fatal(err)
	}
	for name, says := range map[string]string{path: "not a log of this program", text: "is not a log", empty: "is empty", dir: "is not a file",
		filepath.Join(dir, "none.db"): "pouchward log init"} {
		before, _ := os.ReadFile(name)
		_, err := Open(name, testOptions())
		_, err2 := Verify(name, VerifyOptions{Busy: time.Second})
		if err == nil || err2 == nil || !strings.Contains(err.Error(), says) || !strings.Contains(err2.Error(), says) {
			t.Errorf("%s: %v; %v; want %q", name, err, err2, says)
		}
		if after, _ := os.ReadFile(name); !bytes.Equal(before, after) {
			t.Errorf("%s was changed", name)
		}
	}
	names, err := os.ReadDir(dir)
	if err != nil || len(names) != 3 {
		t.Errorf("files were left behind: %v, %v", names, err)
	}
	if _, _, err := Create(path, "s", testOptions()); err == nil || !strings.Contains(err.Error(), "never replaced") {
		t.Errorf("a foreign file was replaced: %v", err)
	}
}

// Nothing is written into a log that somebody emptied: it would be a log without a key.
func TestEmptiedLog(t *testing.T) {
	path, _, _, _ := closedLog(t, 3)
	if _, err := raw(t, path).Exec(dropGuards + "DELETE FROM entries"); err != nil {
		t.Fatal(err)
	}
	if l, err := Open(path, testOptions()); err == nil || !errors.Is(err, errEmptied) {
		t.Errorf("opened: %v %v", l, err)
	}
	if r, err := Verify(path, VerifyOptions{}); err != nil || r.Sound() {
		t.Errorf("%+v %v", r, err)
	}
}

func TestNewerSchema(t *testing.T) {
	path, _, _, _ := closedLog(t, 3)
	db := raw(t, path)
	if _, err := db.Exec("PRAGMA user_version = 99"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	before := readFile(t, path)
	if _, err := Open(path, testOptions()); err == nil || !strings.Contains(err.Error(), "schema 99 and this program knows up to") {
		t.Errorf("%v", err)
	}
	if !bytes.Equal(before, readFile(t, path)) {
		t.Error("the file was changed")
	}
}

func TestOldSQLiteIsRefused(t *testing.T) {
	for _, row := range []struct {
		a, b string
		want bool
	}{{"3.51.2", minSQLite, true}, {"3.51.3", minSQLite, false}, {"3.9.9", minSQLite, true}, {"4.0.0", minSQLite, false}, {"3.54.1", minSQLite, false}} {
		if got := older(row.a, row.b); got != row.want {
			t.Errorf("older(%s, %s) = %v", row.a, row.b, got)
		}
	}
}

func TestLockedFile(t *testing.T) {
	l, _ := newLog(t)
	l.Close()
	opt := testOptions()
	opt.Busy = 100 * time.Millisecond
	l, err := Open(l.Path(), opt)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	other := raw(t, l.Path())
	conn, err := other.Conn(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := conn.ExecContext(context.Background(), "BEGIN IMMEDIATE"); err != nil {
		t.Fatal(err)
	}
	d := assessed(t, "F2XE9R", "isolate", false)
	if _, err := l.Append(d); err == nil || !strings.Contains(err.Error(), "another process holds the log; nothing was recorded") {
		t.Errorf("%v", err)
	}
	if _, err := l.Entry(1); err != nil {
		t.Errorf("reading waits for a writer: %v", err)
	}
	if _, err := conn.ExecContext(context.Background(), "ROLLBACK"); err != nil {
		t.Fatal(err)
	}
	if r, err := l.Append(d); err != nil || r.Number != 2 {
		t.Errorf("%+v, %v", r, err)
	}
	mustVerify(t, l.Path(), VerifyOptions{})
}

// SQLite is told that the file may have no more pages, as on a full disk: the
// write fails as a whole, and the next succeeds.
func TestDiskFull(t *testing.T) {
	l, _ := newLog(t)
	fill(t, l, 5)
	before := must(l.Tree())
	if _, err := l.db.Exec("PRAGMA max_page_count = 1"); err != nil { // no lower than it is
		t.Fatal(err)
	}
	err := l.Write(func(tx *Tx) error {
		for range 500 {
			tag, err := tx.IssueTag(triage.CellTag)
			if err != nil {
				return err
			}
			if _, err := tx.Append(assessed(t, tag, "hold", true)); err != nil {
				return err
			}
		}
		return nil
	})
	if err == nil || !strings.Contains(err.Error(), "the disk is full; nothing was recorded") {
		t.Fatalf("%v", err)
	}
	if after := must(l.Tree()); after != before {
		t.Errorf("the log went from %v to %v", before, after)
	}
	if _, err := l.db.Exec("PRAGMA max_page_count = 1000000"); err != nil {
		t.Fatal(err)
	}
	fill(t, l, 500)
	if r := mustVerify(t, l.Path(), VerifyOptions{}); r.Tree.Size != 506 {
		t.Errorf("%d entries", r.Tree.Size)
	}
}

// A clock that steps back is taken, said, and never sorts an entry elsewhere.
func TestClockBackwards(t *testing.T) {
	l, _ := newLog(t)
	at := time.Date(2026, 11, 26, 15, 0, 0, 0, time.UTC)
	l.opt.Now = func() time.Time { return at }
	var clocks []string
	for _, step := range []time.Duration{0, -time.Hour, 10 * time.Minute, time.Hour, -time.Millisecond, 0, time.Millisecond} {
		at = at.Add(step)
		r, err := l.Append(assessed(t, "F2XE9R", "isolate", false))
		if err != nil {
			t.Fatal(err)
		}
		clocks = append(clocks, r.Clock)
		// Opened anew the log knows the same.
		other, err := Open(l.Path(), l.opt)
		if err != nil {
			t.Fatal(err)
		}
		if !other.last.entered.Equal(l.last.entered) {
			t.Errorf("the latest time is %v, after opening %v", l.last.entered, other.last.entered)
		}
		other.Close()
	}
	if want := "|-3600.000 s|-3000.000 s||-0.001 s|-0.001 s|"; strings.Join(clocks, "|") != want {
		t.Errorf("clock marks %q, want %q", strings.Join(clocks, "|"), want)
	}
	if r := mustVerify(t, l.Path(), VerifyOptions{}); r.ClockBack != 4 {
		t.Errorf("%d entries while the clock stood back", r.ClockBack)
	}
	e, err := l.Entry(3)
	if err != nil || e.Entered.Format(timeForm) != "2026-11-26T14:00:00.000Z" {
		t.Errorf("the time of the clock was not kept: %v, %v", e.Entered, err)
	}
}

// Two logs open on one file in one process write in turn.
func TestTwoWritersInTurn(t *testing.T) {
	a, _ := newLog(t)
	b, err := Open(a.Path(), testOptions())
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	for range 20 {
		fill(t, a, 3)
		fill(t, b, 2)
	}
	if r := mustVerify(t, a.Path(), VerifyOptions{}); r.Tree.Size != 101 {
		t.Errorf("%d entries", r.Tree.Size)
	}
}

// A write that fails leaves nothing, and the edge as it was.
func TestFailedWrite(t *testing.T) {
	l, _ := newLog(t)
	fill(t, l, 3)
	sorry := errors.New("changed my mind")
	err := l.Write(func(tx *Tx) error {
		if _, err := tx.Append(assessed(t, "F2XE9R", "isolate", false)); err != nil {
			return err
		}
		return sorry
	})
	if !errors.Is(err, sorry) {
		t.Fatal(err)
	}
	for name, d := range map[string]Draft{
		"no kind":      {Kind: "joke", Body: body(t, `{}`)},
		"no body":      {Kind: "move"},
		"bad tag":      {Kind: "move", Tags: []string{"F2XE9T"}, Body: body(t, `{}`)},
		"spaced tag":   {Kind: "move", Tags: []string{"F2 XE9R"}, Body: body(t, `{}`)},
		"tag twice":    {Kind: "move", Tags: []string{"F2XE9R", "F2XE9R"}, Body: body(t, `{}`)},
		"no subject":   {Kind: "record", Body: body(t, `{}`)},
		"not UTF-8":    {Kind: "move", Who: "\xff", Body: body(t, `{}`)},
		"year 12345":   {Kind: "move", Happened: time.Date(12345, 1, 1, 0, 0, 0, 0, time.UTC), Body: body(t, `{}`)},
		"endless name": {Kind: "move", Who: strings.Repeat("x", 500), Body: body(t, `{}`)},
	} {
		if _, err := l.Append(d); err == nil {
			t.Errorf("%s was taken", name)
		}
	}
	fill(t, l, 1)
	if r := mustVerify(t, l.Path(), VerifyOptions{}); r.Tree.Size != 5 {
		t.Errorf("%d entries", r.Tree.Size)
	}
}

// A text too long for an entry is named, with its limit.
func TestTooLongText(t *testing.T) {
	l, _ := newLog(t)
	long := strings.Repeat("é", 201)
	for name, d := range map[string]Draft{"site": {Site: long}, "bench": {Bench: long}, "who": {Who: long}, "rulebook": {Rulebook: long}} {
		d.Kind, d.Body = "move", body(t, `{}`)
		if _, err := l.Append(d); err == nil || !strings.Contains(err.Error(), name+" is 402 bytes long; an entry takes at most 400") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := l.Append(Draft{Kind: "move", Bench: "\xff", Body: body(t, `{}`)}); err == nil || err.Error() != `bench "\xff" is not UTF-8` {
		t.Errorf("%v", err)
	}
	if _, err := l.Append(Draft{Kind: "move", Who: long[2:], Body: body(t, `{}`)}); err != nil {
		t.Errorf("400 bytes: %v", err)
	}
}

// Issued tags pass over those given by hand, before and within one write.
func TestIssueTag(t *testing.T) {
	l, _ := newLog(t)
	at := func(n int64) string { return triage.IssueTag(triage.CellTag, n) }
	if _, err := l.Append(assessed(t, at(2), "hold", false)); err != nil {
		t.Fatal(err)
	}
	var got []string
	err := l.Write(func(tx *Tx) error {
		for i := range 4 {
			tag, err := tx.IssueTag(triage.CellTag)
			if err != nil {
				return err
			}
			if _, err := tx.Append(assessed(t, tag, "hold", true)); err != nil {
				return err
			}
			if got = append(got, tag); i == 1 { // a cell that has the tag to come on its tape
				if _, err := tx.Append(assessed(t, at(4), "hold", false)); err != nil {
					return err
				}
			}
		}
		if _, err := tx.Append(assessed(t, got[0], "hold", false)); err == nil {
			t.Error("a tag issued in this write was given to another row")
		}
		return nil
	})
	if want := strings.Join([]string{at(1), at(3), at(5), at(6)}, " "); err != nil || strings.Join(got, " ") != want {
		t.Errorf("issued %v, want %s; %v", got, want, err)
	}
	fill(t, l, 1)
	if _, ok, err := l.Tag(at(7)); !ok || err != nil {
		t.Errorf("the next write did not go on: %v", err)
	}
	mustVerify(t, l.Path(), VerifyOptions{})
}

// A file that was not closed is checked when it is opened again.
func TestUncleanClose(t *testing.T) {
	l, _ := newLog(t)
	fill(t, l, 100)
	dir := t.TempDir()
	path := filepath.Join(dir, "left.db")
	copyFile(t, l.Path(), path) // as a machine that lost its power leaves it
	copyFile(t, l.Path()+"-wal", path+"-wal")
	again, err := Open(path, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	if size, err := again.Size(); err != nil || size != 101 {
		t.Errorf("%d entries, %v", size, err)
	}
	// Somebody has it open now: opening it once more is no unclean close, and nobody
	// reads the whole file for it.
	if db, err := openDB(path, alone, 0); !IsBusy(err) {
		t.Errorf("held beside another: %v %v", db, err)
	}
	if err := checkUnclean(path); err != nil {
		t.Errorf("checked while in use: %v", err)
	}
	again.Close()
	mustVerify(t, path, VerifyOptions{})

	// Damage in a page of the views, which opening would not read.
	fill(t, l, 100)
	l.Close()
	data := readFile(t, l.Path())
	db := raw(t, l.Path())
	var page int
	if err := db.QueryRow("SELECT rootpage FROM sqlite_schema WHERE name = 'tag_entries'").Scan(&page); err != nil {
		t.Fatal(err)
	}
	db.Close()
	copy(data[(page-1)*4096:], bytes.Repeat([]byte{0xee}, 64))
	if err := errors.Join(os.WriteFile(path, data, 0o600), os.WriteFile(path+"-wal", bytes.Repeat([]byte{0}, 100), 0o600)); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(path, testOptions()); err == nil || !strings.Contains(err.Error(), "not closed and is damaged") {
		t.Errorf("%v", err)
	}
}

// A backup is a log that verifies, appears whole, and replaces nothing.
func TestBackup(t *testing.T) {
	l, key := newLog(t)
	fill(t, l, 50)
	cp := must(l.Checkpoint(51, key))
	name := filepath.Join(t.TempDir(), "copy.db")
	if _, err := l.Backup(name); err != nil {
		t.Fatal(err)
	}
	mustVerify(t, name, VerifyOptions{Checkpoints: []*Checkpoint{cp}})
	if _, err := l.Backup(name); err == nil {
		t.Error("a file was replaced")
	}
	if _, err := l.Backup(filepath.Join(t.TempDir(), "none", "copy.db")); err == nil {
		t.Error("a backup into a folder that is not there succeeded")
	}
	names, err := os.ReadDir(filepath.Dir(name))
	if err != nil || len(names) != 1 {
		t.Errorf("left behind: %v, %v", names, err)
	}
}
