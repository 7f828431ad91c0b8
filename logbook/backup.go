package logbook

import (
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// A Copied says what a backup holds besides the entries.
type Copied struct {
	Files int   // attachments copied
	Bytes int64 // of them
	Left  []Problem
}

// Backup writes the log as it is now into a new file, and the files that its
// entries name into the folder of that one. They appear whole or not at all, the
// folder first, and replace nothing. The key is not in it.
//
// Attachments are copied and never linked: a link would be damaged along with
// the file. One that is missing, or not what its entry says, stops no backup of
// the rest; it is left out and stands in Left.
func (l *Log) Backup(name string) (*Copied, error) {
	c, err := l.backup(name)
	if err != nil {
		return nil, fmt.Errorf("backing up the log: %w", writeError(err))
	}
	return c, nil
}

func (l *Log) backup(name string) (*Copied, error) {
	for _, n := range []string{name, FilesDir(name)} {
		if _, err := os.Lstat(n); err == nil {
			return nil, fmt.Errorf("%s is there already", n)
		}
	}
	dir, err := os.MkdirTemp(filepath.Dir(name), ".pouchward-backup-*")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	temp := filepath.Join(dir, "log")
	if l.tx != nil {
		return nil, errSnapshot
	}
	// VACUUM INTO reads one state of the log while others write; copying the
	// file by hand would miss the WAL, and would drop SQLite's locks.
	if _, err := l.db.Exec("VACUUM INTO ?", temp); err != nil {
		return nil, err
	}
	c, err := copyFiles(temp, FilesDir(l.path))
	if err != nil {
		return nil, err
	}
	f, err := os.OpenFile(temp, os.O_RDWR, 0)
	if err != nil {
		return nil, err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return nil, err
	}
	return c, place(temp, name)
}

// place gives a finished backup its name, its folder first: a log never appears
// without its files.
func place(temp, name string) (err error) {
	if _, none := os.Lstat(FilesDir(temp)); none == nil {
		if err := os.Rename(FilesDir(temp), FilesDir(name)); err != nil {
			return err
		}
		defer func() {
			if err != nil {
				os.RemoveAll(FilesDir(name))
			}
		}()
	}
	// A link, unlike a renaming, never replaces; not every file system has links.
	if err := os.Link(temp, name); err != nil {
		if _, there := os.Lstat(name); there == nil {
			return fmt.Errorf("%s is there already", name)
		}
		if err := os.Rename(temp, name); err != nil {
			return err
		}
	}
	syncDir(filepath.Dir(name))
	return nil
}

// copyFiles copies the files that a copied log names out of the folder of the
// original into that of the copy.
func copyFiles(log, from string) (*Copied, error) {
	db, err := openDB(log, readOnly, 0)
	if err != nil {
		return nil, err
	}
	defer db.Close()
	c, told := &Copied{}, map[string]string{} // by name, what is wrong with a file
	err = eachAttachment(db, func(n int64, a *Attachment, err error) error {
		stored := a.Stored()
		if err == nil && stored == "" {
			err = fmt.Errorf("the type %.80q, or the SHA-256 %.80q, is not known to this program", a.MediaType, a.SHA256)
		}
		if err != nil {
			c.Left = append(c.Left, Problem{Entry: n, File: true, Text: fmt.Sprintf("what it says of its attachment cannot be read: %v", err)})
			return nil
		}
		what, seen := told[stored]
		if !seen {
			if err := makeFilesDir(FilesDir(log)); err != nil {
				return err
			}
			if what, err = copyKept(filepath.Join(FilesDir(log), stored), filepath.Join(from, stored), a); err != nil {
				return err
			}
			if told[stored] = what; what == "" {
				c.Files, c.Bytes = c.Files+1, c.Bytes+a.Size
			}
		}
		if what != "" {
			c.Left = append(c.Left, Problem{Entry: n, File: true, Text: fmt.Sprintf("its attachment %s %s", stored, what)})
		}
		return nil
	})
	if len(told) > 0 {
		syncDir(FilesDir(log))
	}
	return c, err
}

// eachAttachment calls fn for every entry about a file, in order, and with the
// error for one that cannot be read: a damaged entry stops no backup.
func eachAttachment(q queryer, fn func(n int64, a *Attachment, err error) error) error {
	// An entry spells the words in one way only, so that the search misses none;
	// AttachmentOf drops what it finds besides.
	const query = "SELECT n, bytes FROM entries WHERE n > ? AND instr(bytes, CAST('\"subject\":\"attachment\"' AS BLOB)) > 0 ORDER BY n LIMIT 1"
	for n := int64(0); ; {
		var data []byte
		if err := q.QueryRow(query, n).Scan(&n, &data); errors.Is(err, sql.ErrNoRows) {
			return nil
		} else if err != nil {
			return err
		}
		var a Attachment
		e, err := ParseEntry(data)
		ok := true
		if err == nil {
			a, ok, err = AttachmentOf(e)
		}
		if ok {
			if err := fn(n, &a, err); err != nil {
				return err
			}
		}
	}
}

// copyKept copies one kept file, and says in words what is wrong with it, in
// which case there is no copy. The error is for a copy that could not be
// written.
func copyKept(to, from string, a *Attachment) (what string, err error) {
	src, what, err := openKept(from, a.Size)
	if errors.Is(err, fs.ErrNotExist) {
		return "is missing", nil
	}
	if err != nil || what != "" {
		if what == "" {
			what = fmt.Sprintf("cannot be read: %v", err)
		}
		return what, nil
	}
	defer src.Close()
	dst, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return "", err
	}
	defer dst.Close()
	sum := sha256.New()
	if _, err := io.Copy(io.MultiWriter(dst, sum), io.LimitReader(src, MaxFileBytes+1)); err != nil {
		var failed *fs.PathError
		if errors.As(err, &failed) && failed.Op == "read" {
			return fmt.Sprintf("cannot be read: %v", err), os.Remove(to)
		}
		return "", err
	}
	if hex.EncodeToString(sum.Sum(nil)) != a.SHA256 {
		return "has another content than its name says", os.Remove(to)
	}
	info, err := src.Stat()
	if err != nil {
		return "", err
	}
	return "", errors.Join(dst.Chmod(info.Mode()&0o444), dst.Sync(), dst.Close())
}
