package app

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"
)

// WriteWhole makes a file appear whole or not at all: write fills a temporary
// file beside it, which takes the name only after it is on disk. The file there
// before stays untouched when write fails.
func WriteWhole(name string, write func(io.Writer) error) (err error) {
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return fmt.Errorf("writing %s: it is a folder; name a file", name)
	}
	dir, base := filepath.Split(name)
	f, free, err := tempFile(filepath.Clean(dir+"."), base)
	if err != nil {
		return fmt.Errorf("creating %s: %w", name, roomy(err))
	}
	defer free()
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if err := write(f); err != nil {
		return roomy(err)
	}
	if err := errors.Join(f.Chmod(0o644), f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("writing %s: %w", name, roomy(err))
	}
	if err := Rename(f.Name(), name); err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	return nil
}

// errRoom is what to do about a full disk.
var errRoom = errors.New("make room there, or write to another disk")

// roomy says it, once.
func roomy(err error) error {
	if noRoom(err) && !errors.Is(err, errRoom) {
		return fmt.Errorf("%w; %w", err, errRoom)
	}
	return err
}

// The patience of Rename.
const (
	renameTries = 10
	renameWait  = 20 * time.Millisecond
)

// Rename renames over what has the name. Where a system lets nobody replace a file that
// is open (Windows), it waits for the moment that a reader takes, and then says so.
func Rename(from, to string) error {
	for try := 1; ; try++ {
		err := os.Rename(from, to)
		if !inUse(err) {
			return err
		}
		if try == renameTries {
			return fmt.Errorf("%w; is it open in another program? Close it there, or name another", err)
		}
		time.Sleep(renameWait)
	}
}
