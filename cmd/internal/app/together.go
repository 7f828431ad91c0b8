package app

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// A together is new files that appear together or not at all. Each is filled under
// another name beside its own; place gives all of them their names and never
// replaces a file. Drop takes away what did not get that far.
type together struct {
	files  []batchFile
	free   []func() // let go of the temporary files
	placed int      // this many have their names
	kept   bool
}

type batchFile struct{ temp, name string }

// add fills a file.
func (b *together) add(name string, write func(io.Writer) error) error {
	f, free, err := tempFile(filepath.Dir(name), filepath.Base(name))
	if err != nil {
		return fmt.Errorf("creating %s: %w", name, roomy(err))
	}
	b.free = append(b.free, free)
	b.adopt(f.Name(), name)
	if err := errors.Join(write(f), f.Chmod(0o644), f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("writing %s: %w", name, roomy(err))
	}
	return nil
}

// adopt takes a file that is filled already.
func (b *together) adopt(temp, name string) { b.files = append(b.files, batchFile{temp, name}) }

// place gives the files their names.
func (b *together) place() error {
	for _, f := range b.files {
		// A link, unlike a renaming, never replaces; not every file system has links.
		if err := os.Link(f.temp, f.name); err != nil {
			if taken(f.name) {
				return fmt.Errorf("writing %s: it is there already", f.name)
			}
			if err := os.Rename(f.temp, f.name); err != nil {
				return fmt.Errorf("writing %s: %w", f.name, err)
			}
		}
		b.placed++
	}
	b.kept = true
	for _, f := range b.files {
		if d, err := os.Open(filepath.Dir(f.name)); err == nil {
			_ = d.Sync() // not every system syncs a folder; the files themselves are on disk
			d.Close()
		}
	}
	return nil
}

// drop removes the temporary files, and unless all were placed those that were.
func (b *together) drop() {
	for i, f := range b.files {
		os.Remove(f.temp)
		if i < b.placed && !b.kept {
			os.Remove(f.name)
		}
	}
	for _, free := range b.free {
		free()
	}
	b.free = nil
}
