package logbook

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// names returns what lies beside a log, SQLite's own files apart.
func names(t *testing.T, log string) string {
	t.Helper()
	list, err := filepath.Glob(log + ".*")
	if err != nil {
		t.Fatal(err)
	}
	for i := range list {
		list[i] = strings.TrimPrefix(list[i], log)
	}
	return strings.Join(list, " ")
}

func rename(t *testing.T, from, to string) {
	t.Helper()
	if err := os.Rename(from, to); err != nil {
		t.Fatal(err)
	}
}

// refused wants an error that says each of a list.
func refused(t *testing.T, err error, says ...string) {
	t.Helper()
	for _, s := range says {
		if err == nil || !strings.Contains(err.Error(), s) {
			t.Errorf("%v; want %q", err, s)
		}
	}
}

// Only the key that the log names last signs or is renewed.
func TestForeignKey(t *testing.T) {
	l, first := newLog(t)
	fill(t, l, 3)
	second, r, err := l.NewKey(Draft{}, "invented reason")
	if err != nil {
		t.Fatal(err)
	}
	fill(t, l, 3)
	file := KeyFile(l.Path())
	if key, err := l.SigningKey(); err != nil || key != second {
		t.Fatalf("the key in force is not taken: %v", err)
	}
	other, foreign := newLog(t)
	before := must(l.Tree())
	for _, row := range []struct {
		name, from string
		key        Key
	}{
		{"of another log", KeyFile(other.Path()), foreign},
		{"an older one of this log", fmt.Sprintf("%s.old-%d", file, r.Number), first},
	} {
		t.Run(row.name, func(t *testing.T) {
			kept := readFile(t, file)
			copyFile(t, row.from, file)
			_, err := l.SigningKey()
			refused(t, err, row.key.Public, second.Public, file, "entry 5 names", "--new-key")
			_, _, err = l.NewKey(Draft{}, "invented reason")
			refused(t, err, row.key.Public, second.Public, file)
			if after := must(l.Tree()); after != before {
				t.Error("a renewal with a key that is not the log's was recorded")
			}
			if got, want := names(t, l.Path()), ".key .key.old-5"; got != want {
				t.Errorf("files %s, want %s", got, want)
			}
			// What the message says to do, when the right key is lost.
			if row.key == first {
				rename(t, file, file+".moved")
				third, _, err := l.NewKey(Draft{}, "the key file was overwritten")
				if err != nil {
					t.Fatal(err)
				}
				if key, err := l.SigningKey(); err != nil || key != third {
					t.Errorf("%v", err)
				}
				mustVerify(t, l.Path(), VerifyOptions{})
				return
			}
			if err := os.WriteFile(file, kept, 0o600); err != nil {
				t.Fatal(err)
			}
		})
	}
}

// A renewal may be cut off after each of its steps.
func TestRenewalCutOff(t *testing.T) {
	for _, row := range []struct {
		name string
		cut  func(t *testing.T, l *Log, file string) Key // returns the key in force then
		left string                                      // beside the log once it is finished
	}{
		{"after the entry", func(t *testing.T, l *Log, _ string) Key {
			key, _, err := l.nameKey(Draft{}, "invented reason")
			if err != nil {
				t.Fatal(err)
			}
			return key
		}, ".key .key.old-5"},
		{"after the old key was kept", func(t *testing.T, l *Log, file string) Key {
			key, _, err := l.nameKey(Draft{}, "invented reason")
			if err = errors.Join(err, os.Link(file, file+".old-5")); err != nil {
				t.Fatal(err)
			}
			return key
		}, ".key .key.old-5"},
		{"after the old key was moved, without links", func(t *testing.T, l *Log, file string) Key {
			key, _, err := l.nameKey(Draft{}, "invented reason")
			if err != nil {
				t.Fatal(err)
			}
			rename(t, file, file+".old-5")
			return key
		}, ".key .key.old-5"},
		{"after the entry that says that the old key was lost", func(t *testing.T, l *Log, file string) Key {
			if err := os.Remove(file); err != nil {
				t.Fatal(err)
			}
			key, _, err := l.nameKey(Draft{}, "invented reason")
			if err != nil {
				t.Fatal(err)
			}
			return key
		}, ".key"},
		{"not at all", func(t *testing.T, l *Log, _ string) Key {
			key, _, err := l.NewKey(Draft{}, "invented reason")
			if err != nil {
				t.Fatal(err)
			}
			return key
		}, ".key .key.old-5"},
	} {
		for _, next := range []string{"sign", "renew"} {
			t.Run(row.name+", then "+next, func(t *testing.T) {
				l, _ := newLog(t)
				fill(t, l, 3)
				file := KeyFile(l.Path())
				want := row.cut(t, l, file)
				left, size := row.left, int64(5)
				if next == "renew" {
					fresh, r, err := l.NewKey(Draft{}, "once more")
					if err != nil || r.Number != 6 {
						t.Fatalf("entry %d, %v", r.Number, err)
					}
					if kept, err := LoadKey(file + ".old-6"); err != nil || kept != want {
						t.Errorf("the key cut off is not kept: %v", err)
					}
					want, left, size = fresh, left+" .key.old-6", 6
				}
				reader, err := OpenReader(l.Path(), testOptions())
				if err != nil {
					t.Fatal(err)
				}
				defer reader.Close()
				key, err := reader.SigningKey()
				if err != nil || key != want {
					t.Fatalf("the key named last is not taken: %v", err)
				}
				if got := names(t, l.Path()); got != left {
					t.Errorf("files %s, want %s", got, left)
				}
				cp := must(reader.Checkpoint(size, key))
				mustVerify(t, l.Path(), VerifyOptions{Checkpoints: []*Checkpoint{cp}, Keys: []string{want.Public}})
			})
		}
	}
}

// Cut off before its entry, a renewal leaves a key that nothing names: the old
// one goes on signing, and the next renewal says what to move away.
func TestRenewalCutOffBeforeEntry(t *testing.T) {
	l, key := newLog(t)
	fill(t, l, 3)
	file := KeyFile(l.Path())
	stray, err := makeNext(l.db, file, 1)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := l.SigningKey(); err != nil || got != key {
		t.Errorf("the key in force no longer signs: %v", err)
	}
	_, _, err = l.NewKey(Draft{}, "invented reason")
	refused(t, err, file+".new is there already", "belongs in "+file+")", "move "+file+".new away")
	if got, err := LoadKey(file + ".new"); err != nil || got != stray {
		t.Errorf("the key that nothing names was touched: %v", err)
	}
	if size := must(l.Size()); size != 4 {
		t.Errorf("%d entries", size)
	}
	rename(t, file+".new", file+".moved")
	if _, r, err := l.NewKey(Draft{}, "invented reason"); err != nil || r.Number != 5 {
		t.Errorf("a renewal is still refused: %v", err)
	}
	mustVerify(t, l.Path(), VerifyOptions{})
}

// With LOG.key lost as well, a key that nothing names is not taken for the log's.
func TestStrayKeyAlone(t *testing.T) {
	l, _ := newLog(t)
	file := KeyFile(l.Path())
	stray, err := makeNext(l.db, file, 1)
	if err = errors.Join(err, os.Remove(file)); err != nil {
		t.Fatal(err)
	}
	_, err = l.SigningKey()
	refused(t, err, file+" is not there", stray.Public)
	_, _, err = l.NewKey(Draft{}, "lost")
	refused(t, err, file+".new is there already")
	// One that cannot be read may be the log's: it is not said to be lost.
	if err := os.Chmod(file+".new", 0o644); err != nil {
		t.Fatal(err)
	}
	_, err = l.SigningKey()
	refused(t, err, file+".new may hold the key", "chmod 600")
	_, _, err = l.NewKey(Draft{}, "lost")
	refused(t, err, file+".new may hold the key", "chmod 600")
	if size := must(l.Size()); size != 1 {
		t.Errorf("%d entries", size)
	}
}

// Renewals and signatures at the same time, each over a handle of its own, as by
// several processes: none is refused, and no key is lost.
func TestRenewTogether(t *testing.T) {
	l, _ := newLog(t)
	const hands, rounds = 3, 6
	var g sync.WaitGroup
	opt := testOptions()
	opt.Now, opt.Busy = time.Now, time.Minute // a clock of tests is for one goroutine
	var renewing atomic.Int64
	renewing.Store(hands)
	for hand := range 2 * hands {
		g.Go(func() {
			other, err := Open(l.Path(), opt)
			if err != nil {
				t.Error(err)
				return
			}
			defer other.Close()
			if hand%2 == 0 {
				defer renewing.Add(-1)
				for range rounds {
					if _, _, err := other.NewKey(Draft{}, "invented reason"); err != nil {
						t.Error(err)
					}
				}
				return
			}
			for renewing.Load() > 0 && !t.Failed() {
				if _, err := other.SigningKey(); err != nil {
					t.Error(err)
				}
			}
		})
	}
	g.Wait()
	r := mustVerify(t, l.Path(), VerifyOptions{})
	key, err := l.SigningKey()
	if err != nil || len(r.Keys) != 1+hands*rounds || key.Public != r.Keys[len(r.Keys)-1] {
		t.Fatalf("%d keys, the last is not in force: %v", len(r.Keys), err)
	}
	for i, public := range r.Keys[:len(r.Keys)-1] {
		if kept, err := LoadKey(fmt.Sprintf("%s.old-%d", KeyFile(l.Path()), i+2)); err != nil || kept.Public != public {
			t.Errorf("the key before entry %d is not kept: %v", i+2, err)
		}
	}
}

// Where nothing can be renamed, the error says what is left to do.
func TestRenewalCutOffReadOnly(t *testing.T) {
	l, _ := newLog(t)
	if _, _, err := l.nameKey(Draft{}, "invented reason"); err != nil {
		t.Fatal(err)
	}
	file := KeyFile(l.Path())
	reader, err := OpenReader(l.Path(), testOptions())
	if err != nil {
		t.Fatal(err)
	}
	defer reader.Close()
	l.Close()
	// As a schema that this program must not write to, which root obeys too.
	if _, err := raw(t, l.Path()).Exec("PRAGMA user_version = 99"); err != nil {
		t.Fatal(err)
	}
	_, err = reader.SigningKey()
	refused(t, err, "entry 2 names the key in "+file+".new, which must first be renamed "+file)
}

// A kept key is never replaced by another.
func TestKeptKeyStays(t *testing.T) {
	l, _ := newLog(t)
	file := KeyFile(l.Path())
	if err := os.WriteFile(file+".old-2", []byte("somebody's"), 0o600); err != nil {
		t.Fatal(err)
	}
	key, _, err := l.NewKey(Draft{}, "invented reason")
	refused(t, err, "the entry is written", file+".old-2 is there already")
	_, err = l.SigningKey()
	refused(t, err, file+".old-2 is there already")
	if got := string(readFile(t, file+".old-2")); got != "somebody's" {
		t.Errorf("it now holds %q", got)
	}
	rename(t, file+".old-2", file+".moved")
	if got, err := l.SigningKey(); err != nil || got != key {
		t.Errorf("%v", err)
	}
}

// A write that fails keeps no key that could not have been named, and keeps one
// that a failing disk may yet name.
func TestRenewalFails(t *testing.T) {
	l, key := newLog(t)
	file := KeyFile(l.Path())
	_, _, err := l.NewKey(Draft{Who: strings.Repeat("x", 401)}, "invented reason")
	refused(t, err, "who is 401 bytes long")
	if got := names(t, l.Path()); got != ".key" {
		t.Errorf("files %s", got)
	}
	if _, err := l.db.Exec("PRAGMA max_page_count = 1"); err != nil { // no lower than it is
		t.Fatal(err)
	}
	_, _, err = l.NewKey(Draft{}, strings.Repeat("invented reason ", 2000))
	refused(t, err, "the disk is full", file+".new")
	if got := names(t, l.Path()); got != ".key .key.new" {
		t.Errorf("files %s", got)
	}
	if got, err := l.SigningKey(); err != nil || got != key {
		t.Errorf("the key in force no longer signs: %v", err)
	}
}

// A link to a key on a stick that is not in is no lost key.
func TestKeyBehindLink(t *testing.T) {
	l, _ := newLog(t)
	file := KeyFile(l.Path())
	away := filepath.Join(t.TempDir(), "stick.key")
	rename(t, file, away)
	if err := os.Symlink(away, file); err != nil {
		t.Skip("no links here")
	}
	if _, err := l.SigningKey(); err != nil {
		t.Fatal(err)
	}
	rename(t, away, away+".out")
	_, _, err := l.NewKey(Draft{}, "lost")
	refused(t, err, "is a link to a file that is not there")
	if _, err := os.Lstat(file + ".new"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a key was made: %v", err)
	}
}

// The last record of a key is found wherever it stands, among entries without a
// tag too.
func TestLastKeyRecord(t *testing.T) {
	l, want := newLog(t)
	at := int64(1)
	for i := range 4 {
		fill(t, l, 63) // the bits of a word, and one over
		if _, err := l.Append(Draft{Kind: "record", Body: body(t, `{"subject":"training","key":"log-key"}`)}); err != nil {
			t.Fatal(err)
		}
		if n, named, err := lastKeyRecord(l.db); err != nil || n != at || named.Key != want.Public {
			t.Errorf("round %d: entry %d names %s, %v; want entry %d, %s", i, n, named.Key, err, at, want.Public)
		}
		var r Receipt
		var err error
		if want, r, err = l.NewKey(Draft{Tags: []string{"F2XE9R"}}, "invented reason"); err != nil {
			t.Fatal(err)
		}
		at = r.Number
	}
	mustVerify(t, l.Path(), VerifyOptions{})
}
