package logbook

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// An attached is what the verifier keeps in mind of one attachment: which file
// must be there, and what it must be.
type attached struct {
	entry  int64
	size   int64
	sum    hash
	ending string // one of the few of mediaTypes
}

func (a *attached) file() string { return hex.EncodeToString(a.sum[:]) + "." + a.ending }

// attachment notes the file that an entry names.
func (v *verifier) attachment(n int64, e *Entry) {
	var b Attachment
	a := attached{entry: n}
	err := e.Body.Decode(&b)
	if err == nil {
		var sum []byte
		// Another spelling of the sum would be another name of the file.
		if sum, err = hex.DecodeString(b.SHA256); len(sum) != len(a.sum) || b.SHA256 != strings.ToLower(b.SHA256) {
			err = fmt.Errorf("%.80q is no SHA-256", b.SHA256)
		}
		copy(a.sum[:], sum)
	}
	a.size, a.ending = b.Size, endingOf(b.MediaType)
	switch {
	case err != nil:
	case a.ending == "":
		err = fmt.Errorf("the type %.80q is not known to this program: use a newer one", b.MediaType)
	case a.size <= 0 || a.size > MaxFileBytes:
		err = fmt.Errorf("the size %d is none of a file that is kept", a.size)
	}
	if err != nil {
		v.report.add(n, "what it says of its attachment cannot be read: %v", err)
		return
	}
	v.attached = append(v.attached, a)
}

// files checks every file that an entry names: that it is there, with the size
// and the content that the entry says. It runs when the log itself has been let
// go, since reading many photos takes a while.
func (v *verifier) files(dir string) {
	if len(v.attached) == 0 {
		v.unnamed(dir)
		return
	}
	list := v.attached
	slices.SortFunc(list, func(a, b attached) int {
		return cmp.Or(bytes.Compare(a.sum[:], b.sum[:]), cmp.Compare(a.ending, b.ending), cmp.Compare(a.entry, b.entry))
	})
	var total, done int64
	for i := range list {
		total += list[i].size
	}
	var bad []Problem
	var size int64
	var what string
	for i := range list {
		a := &list[i]
		if i == 0 || a.sum != list[i-1].sum || a.ending != list[i-1].ending {
			size, what = checkFile(filepath.Join(dir, a.file()), a.sum)
		}
		switch {
		case what != "":
			bad = append(bad, Problem{Entry: a.entry, File: true, Text: fmt.Sprintf("its attachment %s %s", a.file(), what)})
		case size != a.size:
			bad = append(bad, Problem{Entry: a.entry, File: true, Text: fmt.Sprintf("it says that its attachment %s has %d bytes; the file has %d", a.file(), a.size, size)})
		}
		if done += a.size; v.opt.Files != nil {
			v.opt.Files(done, total)
		}
	}
	slices.SortFunc(bad, func(a, b Problem) int { return cmp.Compare(a.Entry, b.Entry) })
	for _, p := range bad {
		v.report.put(p)
	}
	v.report.Files = len(list)
	switch info, err := os.Lstat(dir); {
	case errors.Is(err, fs.ErrNotExist):
		v.report.Notes = append(v.report.Notes, fmt.Sprintf("the folder %s is not there: it belongs to the log, and log backup copies it", filepath.Base(dir)))
	case err == nil && !info.IsDir():
		v.report.Notes = append(v.report.Notes, fmt.Sprintf("%s is no folder itself: what stands there now was read", filepath.Base(dir)))
	}
	v.unnamed(dir)
}

// checkFile returns the size of a file, and says in words what is wrong with it,
// blank for nothing.
func checkFile(path string, want hash) (size int64, what string) {
	// A link could lead to a file that changes, or to one that is there today
	// only; the file itself must stand here.
	switch info, err := os.Lstat(path); {
	case errors.Is(err, fs.ErrNotExist):
		return 0, "is missing"
	case err != nil:
		return 0, fmt.Sprintf("cannot be read: %v", err)
	case info.Mode()&fs.ModeSymlink != 0:
		return 0, "is a link to another place, not the file itself"
	case !info.Mode().IsRegular():
		return 0, "is not a file"
	}
	f, err := os.Open(path)
	if err != nil {
		return 0, fmt.Sprintf("cannot be read: %v", err)
	}
	defer f.Close()
	sum := sha256.New()
	// A file grown without end must not hold the verifier.
	if size, err = io.Copy(sum, io.LimitReader(f, MaxFileBytes+1)); err != nil {
		return size, fmt.Sprintf("cannot be read: %v", err)
	}
	if hash(sum.Sum(nil)) != want {
		return size, fmt.Sprintf("is not the file that was attached: its %d bytes have another SHA-256", size)
	}
	return size, ""
}

// unnamed notes files that no entry names: a copy that was cut off, one whose
// entry was never written, or one attached this moment. They do no harm.
func (v *verifier) unnamed(dir string) {
	d, err := os.Open(dir)
	if err != nil {
		if !errors.Is(err, fs.ErrNotExist) {
			v.report.Notes = append(v.report.Notes, fmt.Sprintf("the folder of the files cannot be read: %v", err))
		}
		return
	}
	defer d.Close()
	count, example := 0, ""
	for err == nil {
		var names []string
		names, err = d.Readdirnames(256) // a portion at a time: memory does not grow
		for _, name := range names {
			if !v.isNamed(name) {
				if count++; example == "" || name < example {
					example = name
				}
			}
		}
	}
	if err != io.EOF {
		v.report.Notes = append(v.report.Notes, fmt.Sprintf("the folder of the files cannot be read: %v", err))
	}
	if count > 0 {
		v.report.Notes = append(v.report.Notes, fmt.Sprintf("no entry names %d of the files in %s (%s): a copy that was cut off, or put there by other means; the log does not need it",
			count, filepath.Base(dir), example))
	}
}

// isNamed reports whether an entry names a file; the list is sorted.
func (v *verifier) isNamed(name string) bool {
	text, ending, _ := strings.Cut(name, ".")
	raw, err := hex.DecodeString(text)
	if err != nil || len(raw) != len(hash{}) {
		return false
	}
	_, found := slices.BinarySearchFunc(v.attached, attached{sum: hash(raw), ending: ending}, func(a, b attached) int {
		return cmp.Or(bytes.Compare(a.sum[:], b.sum[:]), cmp.Compare(a.ending, b.ending))
	})
	return found && text == strings.ToLower(text)
}
