package logbook

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// An Attachment is what an entry says of a file kept beside the log: the body of
// a record with the subject "attachment".
type Attachment struct {
	Subject   string `json:"subject"` // "attachment"
	SHA256    string `json:"sha256"`  // of the file's bytes, small hex
	Size      int64  `json:"size"`    // bytes
	MediaType string `json:"media_type"`
	Name      string `json:"name"` // the file's name as it was given, without folders
	What      string `json:"what"` // photo, certificate, paper
	OfEntry   int64  `json:"of_entry,omitempty"`
	Note      string `json:"note,omitempty"`
}

// Stored returns the name under which the file is kept, blank when the entry
// names no sum, or no type that this program knows. The sum is looked at, so
// that no entry leads out of the folder.
func (a *Attachment) Stored() string {
	sum, err := hex.DecodeString(a.SHA256)
	ending := endingOf(a.MediaType)
	if err != nil || len(sum) != sha256.Size || hex.EncodeToString(sum) != a.SHA256 || ending == "" {
		return ""
	}
	return a.SHA256 + "." + ending
}

// AttachmentOf returns what an entry says of a file; ok is false for an entry
// about none.
func AttachmentOf(e *Entry) (a Attachment, ok bool, err error) {
	if e.Kind != "record" || e.Body.member("subject") != "attachment" {
		return a, false, nil
	}
	if err := e.Body.Decode(&a); err != nil {
		return a, true, fmt.Errorf("entry %d: %w", e.Number, err)
	}
	return a, true, nil
}

// FilesDir returns the folder of the files that the entries of a log name.
func FilesDir(path string) string { return path + ".files" }

// MaxFileBytes bounds a file that is attached: 50 MB.
const MaxFileBytes = 50_000_000

// KeepFile copies a file beside the log and returns what the entry about it must
// say, but for what a person knows. The copy is on disk, under the name that its
// content gives it, when KeepFile returns: only then may an entry name it. A file
// kept already is not copied again.
func (l *Log) KeepFile(name string) (Attachment, error) {
	// Asked before it is opened: opening a pipe waits for somebody to fill it.
	info, err := os.Stat(name)
	switch {
	case err != nil:
		return Attachment{}, fmt.Errorf("attaching a file: %w", err)
	case info.IsDir():
		return Attachment{}, fmt.Errorf("attaching %s: it is a folder; attach the files in it one at a time", name)
	case !info.Mode().IsRegular():
		return Attachment{}, fmt.Errorf("attaching %s: it is not a file", name)
	}
	f, err := os.Open(name)
	if err != nil {
		return Attachment{}, fmt.Errorf("attaching a file: %w", err)
	}
	defer f.Close()
	mode := fs.FileMode(0o400)
	if log, err := os.Stat(l.path); err == nil {
		mode |= log.Mode() & 0o444 // whoever may read the log may verify it
	}
	a, err := keep(FilesDir(l.path), mode, f)
	if err != nil {
		return Attachment{}, fmt.Errorf("attaching %s: %w; nothing was recorded", name, err)
	}
	return a, nil
}

// keep copies what src yields into the folder, whole or not at all. Nobody has a
// reason to write to the copy again, so its mode lets nobody.
func keep(dir string, mode fs.FileMode, src io.Reader) (a Attachment, err error) {
	if err := makeFilesDir(dir); err != nil {
		return a, err
	}
	temp, err := os.CreateTemp(dir, ".attaching-*")
	if err != nil {
		return a, err
	}
	defer os.Remove(temp.Name()) // gone already when it took its name
	defer temp.Close()
	sum, sniff := sha256.New(), new(sniffer)
	a.Size, err = io.Copy(io.MultiWriter(temp, sum, sniff), io.LimitReader(src, MaxFileBytes+1))
	a.Subject, a.SHA256, a.MediaType = "attachment", hex.EncodeToString(sum.Sum(nil)), sniff.mediaType()
	switch {
	case err != nil:
		return a, err
	case a.Size == 0:
		return a, errors.New("it is empty")
	case a.Size > MaxFileBytes:
		return a, fmt.Errorf("it is larger than %d MB; make it smaller, or keep it elsewhere and note where", MaxFileBytes/1_000_000)
	case a.MediaType == "":
		return a, fmt.Errorf("by its content it is none of %s", MediaWords())
	}
	return a, settle(temp, mode, filepath.Join(dir, a.Stored()), &a)
}

// makeFilesDir makes the folder where it is not there yet.
func makeFilesDir(dir string) error {
	err := os.Mkdir(dir, 0o777) // less what the user's mask takes away
	if err == nil {
		syncDir(filepath.Dir(dir))
		return nil
	}
	info, statErr := os.Lstat(dir)
	if errors.Is(err, fs.ErrExist) && statErr == nil && info.IsDir() {
		return nil
	}
	if statErr == nil {
		return fmt.Errorf("%s, where the log keeps files, is not a folder", dir)
	}
	return err
}

// settle gives a copy its name once it is on disk.
func settle(temp *os.File, mode fs.FileMode, stored string, a *Attachment) error {
	switch what, err := compareKept(stored, a); {
	case err == nil && what == "":
		return nil // attached before
	case err == nil:
		return fmt.Errorf("%s is there already and %s: move it away, keep it, and see what pouchward log verify says; then attach again", stored, what)
	case !errors.Is(err, fs.ErrNotExist):
		return err
	}
	if err := errors.Join(temp.Chmod(mode), temp.Sync(), temp.Close()); err != nil {
		return err
	}
	if err := os.Rename(temp.Name(), stored); err != nil {
		return err
	}
	syncDir(filepath.Dir(stored))
	return nil
}

// compareKept says in words how a kept file differs from what an entry says of
// it, blank for not at all.
func compareKept(stored string, a *Attachment) (string, error) {
	f, what, err := openKept(stored, a.Size)
	if err != nil || what != "" {
		return what, err
	}
	defer f.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return "", err
	}
	if hex.EncodeToString(sum.Sum(nil)) != a.SHA256 {
		return "has another content than its name says", nil
	}
	return "", nil
}

// openKept opens a kept file, or says in words why it cannot be the one.
func openKept(stored string, size int64) (*os.File, string, error) {
	info, err := os.Lstat(stored)
	switch {
	case err != nil:
		return nil, "", err
	case !info.Mode().IsRegular():
		return nil, "is not a file", nil
	case info.Size() != size:
		return nil, fmt.Sprintf("has %d bytes for %d", info.Size(), size), nil
	}
	f, err := os.Open(stored)
	return f, "", err
}
