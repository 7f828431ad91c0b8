package app

import (
	"fmt"
	"io"
	"io/fs"
	"os"

	"pouchward/cmd/internal/intake"
)

// openSheet opens a sheet by name, "-" being stdin. asked are the mappings that
// a person gave, house those of the house file; progress, when not nil, counts
// the bytes read. Closing the sheet closes the file.
func openSheet(name string, stdin io.Reader, sheet string, asked, house map[string]string, progress io.Writer) (*intake.Sheet, error) {
	mapping := intake.NewMapping(asked, house)
	if name == "-" {
		src := stdin
		if progress != nil {
			src = io.TeeReader(src, progress)
		}
		return intake.Open("standard input", src, sheet, mapping)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("opening the sheet: %w", err)
	}
	var src io.Reader = f
	if progress != nil {
		src = &countedFile{f, progress}
	}
	s, err := intake.Open(name, src, sheet, mapping)
	if err != nil {
		f.Close()
		return nil, err
	}
	s.OnClose(f.Close)
	return s, nil
}

// countedFile counts what is read of a file in order.
type countedFile struct {
	f     *os.File
	count io.Writer
}

func (c *countedFile) Read(p []byte) (int, error) {
	n, err := c.f.Read(p)
	_, _ = c.count.Write(p[:n]) // a progress bar that fails is no fault of the sheet
	return n, err
}

func (c *countedFile) ReadAt(p []byte, off int64) (int, error) { return c.f.ReadAt(p, off) }

func (c *countedFile) Stat() (fs.FileInfo, error) { return c.f.Stat() }
