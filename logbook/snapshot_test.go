package logbook

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

// What is read of a verified log is of the state that was verified, and reads as it
// does for anybody else, although less of it is gone over.
func TestOpenVerified(t *testing.T) {
	l, _ := newLog(t)
	fill(t, l, 2*portionRows+10)
	size := must(l.Size())
	var told []*Entry
	var states []State
	s, r, err := OpenVerified(l.Path(), testOptions(), VerifyOptions{Entry: func(e *Entry) {
		now, err := e.Now()
		if err != nil || len(now) != 1 && e.Number > 1 {
			t.Errorf("entry %d: %d states: %v", e.Number, len(now), err)
		}
		states = append(states, now...)
		kept := *e
		kept.Bytes, kept.Body = bytes.Clone(e.Bytes), Body{bytes.Clone(e.Body.raw)}
		told = append(told, &kept)
	}})
	if err != nil || !r.Verified() || r.Tree.Size != size || int64(len(told)) != size {
		t.Fatalf("%d entries told of %d: %+v %v", len(told), size, r, err)
	}
	defer s.Close()
	fill(t, l, 3) // somebody goes on writing
	if got := must(s.Size()); got != size {
		t.Errorf("the snapshot grew from %d to %d", size, got)
	}
	if cells := len(hereOf(t, s)); int64(cells) != size-1 || len(hereOf(t, l)) != cells+3 {
		t.Errorf("%d cells in the snapshot of %d entries", cells, size)
	}
	if must(s.Tree()) != r.Tree {
		t.Error("the tree is another than the one verified")
	}
	n := 0
	err = s.Scan(1, size+3, func(raw RawEntry) error {
		got := must(raw.Parse())
		want := must(ParseEntry(bytes.Clone(raw.Bytes)))
		for _, other := range []*Entry{must(l.Entry(raw.Number)), must(s.Entry(raw.Number)), told[n], got} {
			if !sameEntry(other, want) {
				t.Fatalf("entry %d reads as %+v, want %+v", raw.Number, other, want)
			}
		}
		now := must(got.Now())
		if raw.Number > 1 && (len(now) != 1 || now[0] != states[n-1]) {
			t.Errorf("entry %d: %+v", raw.Number, now)
		}
		n++
		return nil
	})
	if err != nil || int64(n) != size {
		t.Errorf("%d entries read of %d: %v", n, size, err)
	}
	if _, ok := s.q.(soundTx); !ok {
		t.Error("a log that verifies is gone over again")
	}
}

func hereOf(t *testing.T, l *Log) (tags []string) {
	t.Helper()
	if err := l.Everything(func(h *Held) error { tags = append(tags, h.Tag); return nil }); err != nil {
		t.Fatal(err)
	}
	return tags
}

func sameEntry(a, b *Entry) bool {
	return a.Number == b.Number && a.Kind == b.Kind && a.Site == b.Site && a.Bench == b.Bench && a.Who == b.Who && a.Happened.Equal(b.Happened) && a.Entered.Equal(b.Entered) &&
		a.Zone == b.Zone && a.Clock == b.Clock && a.Rulebook == b.Rulebook && slices.Equal(a.Tags, b.Tags) && bytes.Equal(a.Bytes, b.Bytes) && bytes.Equal(a.Body.raw, b.Body.raw)
}

func TestSnapshotCannotWrite(t *testing.T) {
	l, _ := newLog(t)
	s, _, err := OpenVerified(l.Path(), testOptions(), VerifyOptions{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	_, rebuildErr := s.Rebuild()
	_, backupErr := s.Backup(filepath.Join(t.TempDir(), "copy.db"))
	for _, err := range []error{s.Write(func(*Tx) error { return nil }), rebuildErr, backupErr} {
		if !errors.Is(err, errSnapshot) {
			t.Errorf("%v", err)
		}
	}
}

// A log that does not verify is gone over in full; a missing file beside it is no
// fault of the log itself.
func TestSnapshotOfDamage(t *testing.T) {
	l, _ := newLog(t)
	a, _ := attach(t, l, "\xFF\xD8\xFF invented")
	fill(t, l, 5)
	path := l.Path()
	if err := errors.Join(l.Close(), os.Remove(filepath.Join(FilesDir(path), a.Stored()))); err != nil {
		t.Fatal(err)
	}
	s, r, err := OpenVerified(path, testOptions(), VerifyOptions{})
	if err != nil || r.Verified() || !r.Sound() {
		t.Fatalf("%+v %v", r, err)
	}
	s.Close()
	if _, err := raw(t, path).Exec(dropGuards + `UPDATE entries SET bytes = CAST(replace(CAST(bytes AS TEXT), '"handling":', '"handling": ') AS BLOB) WHERE n = 4`); err != nil {
		t.Fatal(err)
	}
	told := 0
	s, r, err = OpenVerified(path, testOptions(), VerifyOptions{Most: 1, Entry: func(*Entry) { told++ }})
	if err != nil || r.Sound() || r.FirstBad != 2 && r.FirstBad != 4 || told != 0 {
		t.Fatalf("%d told: %+v %v", told, r, err)
	}
	defer s.Close()
	var damage *DamageError
	if _, err := s.Entry(4); !errors.As(err, &damage) || damage.Number != 4 {
		t.Errorf("a changed entry was read: %v", err)
	}
}

// Of entries that say numbers of their own, nobody is told: who gathers by number would
// be made to make room for all numbers that there are.
func TestToldByNumber(t *testing.T) {
	for name, tamper := range map[string]string{
		"bytes": `UPDATE entries SET bytes = CAST(replace(CAST(bytes AS TEXT), '"n":4,', '"n":9223372036854775807,') AS BLOB) WHERE n = 4`,
		"row":   `UPDATE entries SET n = 9223372036854775806, bytes = CAST(replace(CAST(bytes AS TEXT), '"n":6,', '"n":9223372036854775806,') AS BLOB) WHERE n = 6`,
	} {
		l, _ := newLog(t)
		fill(t, l, 5)
		if _, err := raw(t, l.Path()).Exec(dropGuards + tamper + ";" + guards()); err != nil {
			t.Fatal(err)
		}
		var told []int64
		s, r, err := OpenVerified(l.Path(), testOptions(), VerifyOptions{Entry: func(e *Entry) { told = append(told, e.Number) }})
		if err != nil || r.Sound() {
			t.Fatalf("%s: %+v %v", name, r, err)
		}
		s.Close()
		if len(told) < 3 {
			t.Errorf("%s: told of %d, want those before the damage", name, told)
		}
		for i, n := range told {
			if n != int64(i+1) {
				t.Errorf("%s: told of %d", name, told)
			}
		}
	}
}
