package app

import (
	"archive/zip"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"pouchward/exports/report"
	"pouchward/logbook"
)

// attached copies the files that entries of the period name, where that was asked for.
func (p *packer) attached() error {
	if !p.ask.WithFiles {
		if p.report.Files > 0 {
			p.pack.Left = append(p.pack.Left, fmt.Sprintf("the files that %d entries name (--with-files)", p.report.Files))
		}
		return nil
	}
	p.pack.Attached = []report.Attached{}
	copied := map[string]bool{}
	return p.each(func(entry *logbook.Entry) error {
		a, ok, err := logbook.AttachmentOf(entry)
		if err != nil && p.damage == "" || !ok {
			return err
		}
		x := report.Attached{Name: a.Name, What: a.What, Entry: entry.Number, File: "files/" + a.Stored()}
		if a.Stored() == "" {
			x.File, x.Wrong = "", "the entry names no file that this program knows"
		} else if !copied[x.File] {
			if err := p.copyAttached(x.File, &a); err != nil {
				x.File, x.Wrong = "", err.Error()
			}
		}
		if x.File != "" {
			copied[x.File] = true
		}
		p.pack.Attached = append(p.pack.Attached, x)
		return nil
	}, "record")
}

// errOther says that a file is not the one that its entry names.
var errOther = errors.New("its bytes are not those that the entry names")

// copyAttached copies one file, and only one whose bytes are as its entry says.
func (p *packer) copyAttached(name string, a *logbook.Attachment) error {
	from, err := os.Open(filepath.Join(logbook.FilesDir(p.place.Path), a.Stored()))
	if err != nil {
		return err
	}
	defer from.Close()
	to := filepath.Join(p.dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		return err
	}
	if err := WriteWhole(to, func(w io.Writer) error { _, err := io.Copy(w, from); return err }); err != nil {
		return err
	}
	if sum, _, err := sumFile(to); err != nil || sum != a.SHA256 {
		return errors.Join(cmp.Or(err, errOther), os.Remove(to))
	}
	return p.note(name, "")
}

// zipFolder writes the files of a folder into a zip, in the order of their names, all
// of one date.
func zipFolder(w io.Writer, dir, under string, on time.Time) error {
	z := zip.NewWriter(w)
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		head := &zip.FileHeader{Name: under + filepath.ToSlash(name), Method: zip.Deflate, Modified: on}
		head.SetMode(0o644)
		to, err := z.CreateHeader(head)
		if err != nil {
			return err
		}
		from, err := os.Open(path)
		if err != nil {
			return err
		}
		defer from.Close()
		_, err = io.Copy(to, from)
		return err
	})
	return errors.Join(err, z.Close())
}
