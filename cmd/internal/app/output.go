package app

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// WriteWhole makes a file appear whole or not at all: write fills a temporary
// file beside it, which takes the name only after it is on disk. The file there
// before stays untouched when write fails.
func WriteWhole(name string, write func(io.Writer) error) (err error) {
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return fmt.Errorf("writing %s: it is a folder; name a file", name)
	}
	dir, base := filepath.Split(name)
	f, err := os.CreateTemp(filepath.Clean(dir+"."), "."+base+".*")
	if err != nil {
		return fmt.Errorf("creating %s: %w", name, err)
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if err := write(f); err != nil {
		return err
	}
	if err := f.Chmod(0o644); err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	if err := f.Sync(); err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	if err := os.Rename(f.Name(), name); err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	return nil
}
