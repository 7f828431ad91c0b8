package logbook

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Two logs made with one known key, one clock and the same entries are one tree
// under one signature; the key file says that it is no secret.
func TestCreateKnown(t *testing.T) {
	k := KnownKey{Name: "pouchward-demo/test"}
	copy(k.Seed[:], "thirty-two bytes that all may see")
	var roots, keys []string
	for range 2 {
		path := filepath.Join(t.TempDir(), "shop.db")
		l, key, err := CreateKnown(path, "invented", k, testOptions())
		if err != nil {
			t.Fatal(err)
		}
		cp, err := l.Checkpoint(1, key)
		if err != nil {
			t.Fatal(err)
		}
		e, err := l.Entry(1)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(e.Bytes), "no secret") {
			t.Errorf("entry 1 does not say that the key is no secret: %s", e.Bytes)
		}
		file, err := os.ReadFile(KeyFile(path))
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(file), "anybody can have it") {
			t.Errorf("the key file does not say that anybody can have it: %s", file)
		}
		roots, keys = append(roots, cp.Paper()), append(keys, string(file))
		if err := l.Close(); err != nil {
			t.Fatal(err)
		}
		if r, err := Verify(path, VerifyOptions{Keys: []string{key.Public}}); err != nil || !r.Verified() {
			t.Errorf("the log does not verify: %v, %+v", err, r)
		}
	}
	if roots[0] != roots[1] {
		t.Errorf("roots %s and %s: want one", roots[0], roots[1])
	}
	if keys[0] != keys[1] {
		t.Errorf("key files differ:\n%s\n%s", keys[0], keys[1])
	}
}

// A known key never takes the place of a log or a key that is there.
func TestCreateKnownReplacesNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	if err := os.WriteFile(KeyFile(path), []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, _, err := CreateKnown(path, "invented", KnownKey{Name: "pouchward-demo/test"}, testOptions()); err == nil {
		t.Error("a key that was there: no error")
	}
	if data, err := os.ReadFile(KeyFile(path)); err != nil || string(data) != "mine" {
		t.Errorf("the key that was there now reads %q, %v", data, err)
	}
}
