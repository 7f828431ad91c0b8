package app

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"time"
	"unicode/utf8"
)

// What is being written stands under a hidden name beside the one that it will take:
// .NAME.pouchward-NUMBER, a file or a folder, held by a lock of the system for as long
// as its writer lives. A writer that was killed leaves it behind; the next one that
// writes into that folder takes away what bears such a name and is held by nobody. Where
// the system or the disk has no such locks, only what is a day old is taken away.

var tempName = regexp.MustCompile(`^\..+\.pouchward-[0-9]{1,10}$`)

// tempPattern is the form of such a name. A long name is cut: file systems take 255
// bytes.
func tempPattern(base string) string {
	if len(base) > 200 {
		base = base[:200]
		for !utf8.ValidString(base) {
			base = base[:len(base)-1]
		}
	}
	return "." + strings.ReplaceAll(base, "*", "_") + ".pouchward-*"
}

// leftAfter is the age at which what nobody can hold counts as left.
const leftAfter = 24 * time.Hour

// The answers of hold.
type grip int

const (
	gripped  grip = iota // by the caller, until it lets go
	gripLost             // by another, or it is not there any more
	gripNone             // nothing can be held here
)

// tempFile makes a file to be filled for a name in a folder. free lets it go, after it
// took its name or was removed.
func tempFile(dir, base string) (f *os.File, free func(), err error) {
	sweep(dir)
	free, err = tempTry(func() (func(), grip, error) {
		if f, err = os.CreateTemp(dir, tempPattern(base)); err != nil {
			return nil, gripLost, err
		}
		free, how := holdOpen(f)
		if how == gripLost {
			f.Close()
		}
		return free, how, nil
	})
	return f, free, err
}

// tempFolder is tempFile of a folder.
func tempFolder(dir, base string) (path string, free func(), err error) {
	sweep(dir)
	free, err = tempTry(func() (func(), grip, error) {
		if path, err = os.MkdirTemp(dir, tempPattern(base)); err != nil {
			return nil, gripLost, err
		}
		free, how := hold(path)
		return free, how, nil
	})
	return path, free, err
}

// tempTry makes and holds. A sweep of another process may come between the two: then
// another is made.
func tempTry(make func() (free func(), how grip, err error)) (free func(), err error) {
	for range 100 {
		free, how, err := make()
		if err != nil {
			return nil, err
		}
		if how != gripLost {
			return free, nil
		}
	}
	return nil, fmt.Errorf("what is written in this folder is taken away at once by another process")
}

// sweep takes away what writers that are gone left in a folder. It is no fault where it
// cannot.
func sweep(dir string) {
	list, err := os.ReadDir(dir)
	if err != nil {
		return
	}
	for _, d := range list {
		if !tempName.MatchString(d.Name()) || !d.IsDir() && !d.Type().IsRegular() {
			continue
		}
		path := filepath.Join(dir, d.Name())
		free, how := hold(path)
		info, err := d.Info()
		if how == gripped || how == gripNone && err == nil && time.Since(info.ModTime()) > leftAfter {
			_ = os.RemoveAll(path) // the next writer tries again
		}
		free()
	}
}
