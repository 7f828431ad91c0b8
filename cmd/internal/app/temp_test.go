package app

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// What a writer that is gone left is taken away; what one holds, and what bears another
// name, stays.
func TestSweep(t *testing.T) {
	dir := t.TempDir()
	if _, how := hold(dir); how == gripNone {
		t.Skip("nothing can be held here")
	}
	gone := []string{".a.csv.pouchward-123", ".b.pouchward-4294967295"}
	kept := []string{".a.csv.123", ".pouchward-123", ".a.pouchward-x", "a.pouchward-123", ".c.old.77"}
	for _, name := range append(slices.Clone(gone), kept...) {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	folder, away := filepath.Join(dir, ".d-csv.pouchward-9"), t.TempDir()
	if err := errors.Join(os.MkdirAll(filepath.Join(folder, "csv"), 0o700), os.WriteFile(filepath.Join(folder, "csv", "x"), nil, 0o600),
		os.Symlink(away, filepath.Join(dir, ".e.pouchward-9")), os.WriteFile(filepath.Join(away, "theirs"), nil, 0o600)); err != nil {
		t.Fatal(err)
	}
	kept = append(kept, ".e.pouchward-9")
	f, free, err := tempFile(dir, "held.csv")
	if err != nil {
		t.Fatal(err)
	}
	path, freeFolder, err := tempFolder(dir, "held")
	if err != nil {
		t.Fatal(err)
	}
	kept = append(kept, filepath.Base(f.Name()), filepath.Base(path))
	for _, name := range kept[len(kept)-2:] {
		if !tempName.MatchString(name) {
			t.Errorf("%s is not known as a temporary name", name)
		}
	}
	sweep(dir)
	slices.Sort(kept)
	if got := namesIn(t, dir); !slices.Equal(got, kept) {
		t.Errorf("after a sweep: %v\nwant %v", got, kept)
	}
	if got := namesIn(t, away); len(got) != 1 {
		t.Errorf("behind the link: %v", got)
	}
	f.Close()
	free()
	freeFolder()
	sweep(dir)
	if got := namesIn(t, dir); len(got) != len(kept)-2 {
		t.Errorf("after their writers let go: %v", got)
	}
}

// Many writers in one folder take nothing away from one another.
func TestWritersTogether(t *testing.T) {
	dir := t.TempDir()
	errs := make(chan error)
	for i := range 8 {
		go func() {
			var err error
			for range 20 {
				err = errors.Join(err, WriteWhole(filepath.Join(dir, string(rune('a'+i))), func(w io.Writer) error {
					_, err := io.WriteString(w, "whole")
					return err
				}), WriteFolder(filepath.Join(dir, string(rune('A'+i))), true, func(string) error { return nil }))
			}
			errs <- err
		}()
	}
	for range 8 {
		if err := <-errs; err != nil {
			t.Error(err)
		}
	}
	if got := namesIn(t, dir); len(got) != 16 {
		t.Errorf("%v", got)
	}
}

// A name as long as a file system takes can still be written.
func TestLongName(t *testing.T) {
	name := filepath.Join(t.TempDir(), strings.Repeat("é", 125)+".csv") // 254 bytes
	if err := WriteWhole(name, func(io.Writer) error { return nil }); err != nil {
		t.Fatal(err)
	}
}
