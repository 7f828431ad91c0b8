package logbook

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// A renewal has four steps, and may be cut off after each: LOG.key.new is made;
// the entry that names it is written; the old key is kept as LOG.key.old-N;
// LOG.key.new is renamed LOG.key. The entry decides. Until it is written the old
// key is the log's; from then on the new one is, and whoever next needs the key
// does the steps that are left.

// madeFile returns the name of a new key until it is in place.
func madeFile(file string) string { return file + ".new" }

// SigningKey returns the key that the log names last, which alone may sign for
// it, and finishes a renewal that was cut off. A key file that holds another key
// is refused.
func (l *Log) SigningKey() (Key, error) {
	file := KeyFile(l.path)
	key, n, at, err := findKey(l.q, file)
	if err == nil && at == file {
		return key, nil
	}
	// Looked at again under the lock of a writer: another process may have been
	// in the midst of a renewal, and only one may finish it.
	w, openErr := Open(l.path, l.opt)
	switch {
	case openErr == nil:
		key, err = w.settle()
		return key, errors.Join(err, w.Close())
	case err == nil:
		err = fmt.Errorf("entry %d names the key in %s, which must first be renamed %s: %w", n, at, file, openErr)
	}
	return Key{}, err
}

// findKey looks for the key that the log names last, in entry n, and says in
// which file it lies: the key file, or beside it after a renewal that was cut
// off.
func findKey(q queryer, file string) (key Key, n int64, at string, err error) {
	n, named, err := lastKeyRecord(q)
	if err != nil {
		return Key{}, 0, "", fmt.Errorf("looking for the key that the log names: %w", err)
	}
	key, err = LoadKey(file)
	if err == nil && key.Public == named.Key {
		return key, n, file, nil
	}
	made, madeErr := LoadKey(madeFile(file))
	if madeErr == nil && made.Public == named.Key {
		return made, n, madeFile(file), nil
	}
	switch {
	case madeErr != nil && !errors.Is(madeErr, errNoKey):
		return Key{}, n, "", fmt.Errorf("%s may hold the key that the log names last (entry %d), and cannot be used: %w; mend that, or move it away if it is not", madeFile(file), n, madeErr)
	case err == nil:
		err = fmt.Errorf("the signing key %s is not the one that the log names last: the file holds %s, entry %d names %.200s; "+
			"put the key of entry %d there, or, if that is lost, move %s away and run pouchward log checkpoint --new-key, which says so in the log",
			file, key.Public, n, named.Key, n, file)
	}
	if madeErr == nil {
		err = fmt.Errorf("%w (%s holds %s, which is not the one either)", err, madeFile(file), made.Public)
	}
	return Key{}, n, "", err
}

// settle finishes a renewal that was cut off, and returns the log's key.
func (l *Log) settle() (key Key, err error) {
	err = l.Write(func(t *Tx) error {
		key, _, err = settleKey(t.tx, KeyFile(l.path))
		return err
	})
	return key, err
}

// settleKey is settle within a write, which keeps other processes out.
func settleKey(q queryer, file string) (Key, int64, error) {
	key, n, at, err := findKey(q, file)
	if err == nil && at != file {
		if err = putInPlace(file, n); err != nil {
			return Key{}, n, fmt.Errorf("entry %d names the key in %s, which is not yet renamed %s: %w", n, at, file, err)
		}
	}
	return key, n, err
}

// putInPlace does the last two steps of the renewal of entry n. No key is ever
// replaced by another without being kept.
func putInPlace(file string, n int64) error {
	kept := fmt.Sprintf("%s.old-%d", file, n)
	// A link never replaces, and leaves the key file there until the new one is.
	err := os.Link(file, kept)
	switch {
	case err == nil || errors.Is(err, fs.ErrNotExist):
	case errors.Is(err, fs.ErrExist):
		if same, err := sameBytes(file, kept); err != nil {
			return err
		} else if !same {
			return fmt.Errorf("%s is there already and is not a copy of %s: move it away and try again", kept, file)
		}
	default: // not every file system has links
		if _, err := os.Lstat(kept); err == nil {
			return fmt.Errorf("%s is there already: move it away and try again", kept)
		}
		if err := os.Rename(file, kept); err != nil {
			return err
		}
	}
	if err := os.Rename(madeFile(file), file); err != nil {
		return err
	}
	syncDir(filepath.Dir(file))
	return nil
}

func sameBytes(a, b string) (bool, error) {
	x, err := os.ReadFile(a)
	if err != nil {
		return false, err
	}
	y, err := os.ReadFile(b)
	return bytes.Equal(x, y), err
}

// NewKey replaces the key file and writes an entry that names the new key: with
// a checkpoint of all before it, signed by the old key, where that is there; the
// old file stays beside the new one as LOG.key.old-N. Without it the entry says
// that it was lost. A key file that holds another key than the log's is refused:
// an entry that it signed would never verify.
func (l *Log) NewKey(d Draft, why string) (Key, Receipt, error) {
	key, r, err := l.nameKey(d, why)
	if err != nil {
		return Key{}, r, err
	}
	if _, err := l.settle(); err != nil {
		return key, r, fmt.Errorf("the entry is written: %w", err)
	}
	return key, r, nil
}

// nameKey does the first two steps.
func (l *Log) nameKey(d Draft, why string) (key Key, r Receipt, err error) {
	file := KeyFile(l.path)
	appended := false
	err = l.Write(func(t *Tx) error {
		old, n, err := settleKey(t.tx, file)
		lost := errors.Is(err, errNoKey)
		if err != nil && !lost {
			return err
		}
		if key, err = makeNext(t.tx, file, n); err != nil {
			return err
		}
		body := KeyBody{Subject: "log-key", Key: key.Public, Why: why, OldLost: lost}
		if !lost {
			tree, err := t.edge.tree()
			if err != nil {
				return err
			}
			cp, err := signTree(tree, old, l.opt.Now())
			if err != nil {
				return err
			}
			body.Checkpoint = string(cp.Text)
		}
		d.Kind, d.Tags = "record", nil // lastKeyRecord finds it among those without a tag
		if d.Body, err = MakeBody(body); err != nil {
			return err
		}
		r, err = t.Append(d)
		appended = err == nil
		return err
	})
	switch {
	case err == nil:
		return key, r, nil
	case appended: // a disk that fails while it commits may yet hold the entry
		err = fmt.Errorf("%w (the new key is kept in %s, lest the log name it after all: pouchward log checkpoint then takes it; otherwise move it away before the next --new-key)", err, madeFile(file))
	case key.Public != "":
		os.Remove(madeFile(file))
	}
	return Key{}, r, err
}

// makeNext makes the key that follows the one of entry n, under the name that
// the log has had since entry 1.
func makeNext(q queryer, file string, n int64) (Key, error) {
	made := madeFile(file)
	if _, err := os.Lstat(made); err == nil {
		return Key{}, fmt.Errorf("making a new key: %s is there already and is not the key that the log names last, in entry %d (that one belongs in %s): "+
			"a renewal was cut off before it was recorded, or the log is an older copy; move %s away, do not delete it, and try again", made, n, file, made)
	}
	first, err := readEntry(q, 1)
	if err != nil {
		return Key{}, err
	}
	var named KeyBody
	if err := first.Body.Decode(&named); err != nil {
		return Key{}, &DamageError{1, err.Error()}
	}
	name, _, _ := strings.Cut(named.Key, "+")
	return newKey(made, name)
}
