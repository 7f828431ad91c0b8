package app

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// An Attach says which file belongs to what.
type Attach struct {
	To   string // a tag, or the number of an entry
	File string
	What string // one of AttachWords; blank: a photo when it is an image, else a paper
	Note string
}

// AttachWords are what a file may be.
var AttachWords = []string{"photo", "certificate", "paper"}

// An Attached is what became of it.
type Attached struct {
	logbook.Attachment
	Path    string // where the file is kept
	Tags    []string
	Receipt logbook.Receipt
	Notes   []string
}

// Attach keeps a file beside the log and writes the entry that holds its
// SHA-256.
func (r *Recording) Attach(act Act, x Attach) (*Attached, error) {
	if x.What != "" && !slices.Contains(AttachWords, x.What) {
		return nil, Usage("--what %q is none of %s", x.What, strings.Join(AttachWords, ", "))
	}
	out := &Attached{}
	entry, err := r.attachTo(out, x.To)
	if err != nil {
		return nil, err
	}
	// Whatever refuses the entry must do so before the file is copied.
	d, err := r.draft(nil, act, "record", struct{}{}, out.Tags...)
	if err != nil {
		return nil, err
	}
	a, err := r.log.KeepFile(x.File)
	if err != nil {
		return nil, err
	}
	a.Name, a.What, a.Note, a.OfEntry = givenName(x.File), x.What, x.Note, entry
	if a.What == "" {
		a.What = "paper"
		if strings.HasPrefix(a.MediaType, "image/") {
			a.What = "photo"
		}
	}
	if d.Body, err = logbook.MakeBody(a); err != nil {
		return nil, err
	}
	out.Attachment, out.Path = a, filepath.Join(logbook.FilesDir(r.log.Path()), a.Stored())
	if out.Receipt, err = r.log.Append(d); err != nil {
		return nil, fmt.Errorf("not recorded: %w", err)
	}
	return out, nil
}

// maxNameBytes bounds the name of a file in its entry.
const maxNameBytes = 200

// givenName is the name of a file as it was given, without its folders and
// without what could steer a terminal. A name too long loses its middle: the
// ending says what made the file.
func givenName(path string) string {
	name := exports.Clean(strings.ToValidUTF8(filepath.Base(path), "\uFFFD"))
	if len(name) <= maxNameBytes {
		return name
	}
	head, tail := name[:maxNameBytes-60], name[len(name)-50:]
	for !utf8.ValidString(head) {
		head = head[:len(head)-1]
	}
	for !utf8.ValidString(tail) {
		tail = tail[1:]
	}
	return head + "..." + tail
}

// attachTo finds what a file is to belong to. Digits alone are the number of an
// entry, unless they are a tag as well; 0 is no tag symbol, so that a number
// that begins with one is an entry for certain.
func (r *Recording) attachTo(out *Attached, to string) (entry int64, err error) {
	n, notNumber := strconv.ParseInt(to, 10, 64)
	tag, notTag := ReadTag(to)
	byTag, byEntry := false, false
	var e *logbook.Entry
	if notTag == nil {
		if _, byTag, err = r.log.Tag(tag); err != nil {
			return 0, err
		}
	}
	if notNumber == nil && n > 0 {
		if e, err = r.log.Entry(n); err == nil {
			byEntry = true
		} else if !errors.Is(err, logbook.ErrNoEntry) {
			return 0, err
		}
	}
	switch {
	case byTag && byEntry:
		return 0, Usage("%s is the number of an entry and a tag on record: write 0%s for the entry, %s-%s for the tag", to, to, tag[:2], tag[2:])
	case byEntry:
		out.Tags = e.Tags
		return n, nil
	case byTag:
		return 0, r.attachToTag(out, tag)
	case notNumber == nil && notTag == nil:
		return 0, Usage("%s is neither the number of an entry nor a tag on record", to)
	case notNumber == nil:
		return 0, Usage("the log has no entry %s", to)
	case notTag == nil:
		return 0, Usage("no entry of the log names tag %s: record it first (pouchward assess --tag %s --record, or pouchward container add)", triage.SpacedTag(tag), tag)
	}
	return 0, notTag
}

func (r *Recording) attachToTag(out *Attached, tag string) error {
	if kind, _ := triage.TagNumber(tag); kind == triage.CellTag {
		name, err := nameOf(r.log, tag)
		if err != nil {
			return err
		}
		if name != tag {
			out.Notes = append(out.Notes, fmt.Sprintf("%s is another tag of %s.", triage.SpacedTag(tag), triage.SpacedTag(name)))
		}
		tag = name
	}
	out.Tags = []string{tag}
	return nil
}

// AttachedFile returns what an entry says of a file and where it is kept; there
// is false when it is not. ok is false for an entry about no file.
func AttachedFile(p LogPlace, e *logbook.Entry) (a logbook.Attachment, path string, there, ok bool) {
	a, ok, err := logbook.AttachmentOf(e)
	stored := a.Stored()
	if !ok || err != nil || stored == "" {
		return a, "", false, false // its body is shown as it is
	}
	path = filepath.Join(logbook.FilesDir(p.Path), stored)
	info, err := os.Lstat(path)
	return a, path, err == nil && info.Mode().IsRegular() && info.Size() == a.Size, true
}
