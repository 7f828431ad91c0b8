package logbook

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"pouchward/triage"
)

// All data in these tests is invented.

// clock is a machine's clock that goes one second a look.
type clock struct{ at time.Time }

func (c *clock) now() time.Time { c.at = c.at.Add(time.Second); return c.at }

func testOptions() Options {
	c := &clock{time.Date(2026, 11, 25, 14, 0, 0, 0, time.FixedZone("", -6*3600))}
	return Options{Now: c.now, Zone: "America/Chicago", Busy: 5 * time.Second}
}

func newLog(t testing.TB) (*Log, Key) {
	t.Helper()
	l, key, err := Create(filepath.Join(t.TempDir(), "shop.db"), "test bench", testOptions())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l, key
}

func body(t testing.TB, text string) Body {
	t.Helper()
	b, err := ParseBody([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// assessed is a small assessment.
func assessed(t testing.TB, tag, handling string, issued bool) Draft {
	t.Helper()
	return Draft{Kind: "assessment", Who: "Invented Name", Bench: "bench 1", Tags: []string{tag}, Rulebook: "00ff",
		Body: body(t, fmt.Sprintf(`{"handling":%q,"condition":"damaged","issued":%v,"readings":{"ocv_v":{"typed":"3780mV","value":"3.78"}}}`, handling, issued))}
}

// fill appends n assessments with issued tags in one write.
func fill(t testing.TB, l *Log, n int) {
	t.Helper()
	err := l.Write(func(tx *Tx) error {
		for i := range n {
			tag, err := tx.IssueTag(triage.CellTag)
			if err != nil {
				return err
			}
			if _, err := tx.Append(assessed(t, tag, []string{"isolate", "retire", "hold"}[i%3], true)); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// mustVerify runs the verifier, which every test ends with.
func mustVerify(t testing.TB, path string, opt VerifyOptions) *Report {
	t.Helper()
	r, err := Verify(path, opt)
	if err != nil {
		t.Fatal(err)
	}
	if !r.Verified() {
		t.Fatalf("does not verify: %+v", r.Problems)
	}
	return r
}

func TestWriteReadVerify(t *testing.T) {
	l, key := newLog(t)
	fill(t, l, 300)
	hand := triage.IssueTag(triage.CellTag, 5000)
	for i := range 40 {
		if _, err := l.Append(assessed(t, hand, []string{"isolate", "hold"}[i%2], false)); err != nil {
			t.Fatal(err)
		}
		mid, err := l.Tree()
		if err != nil {
			t.Fatal(err)
		}
		if edgeTree, err := l.edge.tree(); err != nil || edgeTree != mid {
			t.Fatalf("the edge says %v, the stored hashes %v (%v)", edgeTree, mid, err)
		}
	}
	cp, err := l.Checkpoint(341, key)
	if err != nil {
		t.Fatal(err)
	}
	r := mustVerify(t, l.Path(), VerifyOptions{Checkpoints: []*Checkpoint{cp}, Keys: []string{key.Public}})
	if r.Tree != cp.Tree || r.Covered != 341 || len(r.Keys) != 1 {
		t.Errorf("report %+v, checkpoint %+v", r, cp.Tree)
	}
	list, err := l.History(hand)
	if err != nil || len(list) != 40 || list[39].Number != 341 {
		t.Fatalf("history has %d entries, %v", len(list), err)
	}
	s, ok, err := l.Tag(hand)
	if want := (TagState{hand, 302, 341, 40, 341, "hold", "damaged"}); err != nil || !ok || s != want {
		t.Errorf("tag state %+v, %v; want %+v", s, err, want)
	}
	if n, err := l.Rebuild(); err != nil || n != 341 {
		t.Fatalf("rebuilt from %d entries, %v", n, err)
	}
	mustVerify(t, l.Path(), VerifyOptions{})
}

func TestKeyFileIsPrivate(t *testing.T) {
	l, key := newLog(t)
	info, err := os.Stat(KeyFile(l.Path()))
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Fatalf("key file %v, %v", info, err)
	}
	got, err := LoadKey(KeyFile(l.Path()))
	if err != nil || got != key {
		t.Fatalf("loaded another key: %v", err)
	}
	if err := os.Chmod(KeyFile(l.Path()), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := LoadKey(KeyFile(l.Path())); err == nil {
		t.Error("a key that others can read was taken")
	}
}

func readFile(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func copyFile(t testing.TB, from, to string) {
	t.Helper()
	if err := os.WriteFile(to, readFile(t, from), 0o600); err != nil {
		t.Fatal(err)
	}
}
