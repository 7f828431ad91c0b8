package logbook

import (
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"time"

	"golang.org/x/mod/sumdb/tlog"
)

// A Log is an open log. It may be used by several goroutines.
type Log struct {
	path string
	db   *sql.DB
	q    queryer // what is read goes through it: db, or tx
	tx   *sql.Tx // of a snapshot, else nil
	opt  Options
	seen string // how the files stood that are read without locks, blank where locks are kept

	mu   sync.Mutex // held while a write transaction runs; guards what follows
	edge edge
	last last
}

// last is what an entry must know of the ones before it.
type last struct {
	entered time.Time // the latest time of entry so far
	site    string
}

// Options say how a log is used. The zero value is right but for Now.
type Options struct {
	Now  func() time.Time // the machine's clock; its location is the shop's zone
	Zone string           // the zone's name, blank when not known
	Busy time.Duration    // how long to wait for another writer, 0 for half a minute
}

func (o *Options) busy() time.Duration {
	if o.Busy == 0 {
		return defaultBusy
	}
	return o.Busy
}

// A DamageError says which entry is not as it must be.
type DamageError struct {
	Number int64
	Reason string
}

// Error implements error.
func (e *DamageError) Error() string { return fmt.Sprintf("entry %d: %s", e.Number, e.Reason) }

// Open opens a log for reading and writing. It brings an older schema up to
// date, checks the file when it was not closed, and checks that the last entry
// has the hash that is stored with it. A log without any entry is refused.
func Open(path string, opt Options) (*Log, error) {
	if err := checkUnclean(path); err != nil {
		return nil, fmt.Errorf("opening the log %s: %w", path, err)
	}
	db, version, err := openFile(path, readWrite, opt.busy())
	if err != nil {
		return nil, err
	}
	l := &Log{path: path, db: db, q: db, opt: opt}
	if err := l.ready(version); err != nil {
		db.Close()
		return nil, fmt.Errorf("opening the log %s: %w", path, writeError(err))
	}
	if l.edge.size == 0 {
		db.Close()
		return nil, fmt.Errorf("opening the log %s: %w", path, errEmptied)
	}
	return l, nil
}

// errEmptied refuses to begin a log anew in a file that was emptied: what is made by
// Create holds the record of its key before anybody opens it.
var errEmptied = errors.New("it holds no entry, and a log begins with the record of its key: somebody emptied it by other means; keep it as it is, and restore a backup beside it")

func (l *Log) ready(version int) error {
	var mode string
	if err := l.db.QueryRow("PRAGMA journal_mode").Scan(&mode); err != nil {
		return err
	}
	if mode != "wal" {
		if err := l.db.QueryRow("PRAGMA journal_mode(WAL)").Scan(&mode); err != nil {
			return err
		}
	}
	if err := migrate(l.db, version); err != nil {
		return err
	}
	size, err := lastNumber(l.db)
	if err != nil {
		return err
	}
	return l.load(l.db, size)
}

// OpenReader opens a log for reading only: Write fails. It works where the file
// and its folder cannot be written.
func OpenReader(path string, opt Options) (*Log, error) {
	seen := standing(path)
	db, _, how, err := openReading(path, opt.busy())
	if err != nil {
		return nil, err
	}
	if how == readOnly {
		seen = ""
	}
	return &Log{path: path, db: db, q: db, opt: opt, seen: seen}, nil
}

// MovedOn reports whether a log that is read without locks, as its place allows nothing
// else, is written by somebody who may: what is read of it from then on is old, or of two
// states. It must be opened anew.
func (l *Log) MovedOn() bool { return l.seen != "" && l.seen != standing(l.path) }

// standing tells one state of the files of a log from another.
func standing(path string) (text string) {
	for _, end := range []string{"", "-wal", "-shm"} {
		if info, err := os.Stat(path + end); err == nil {
			text += fmt.Sprint(info.Size(), info.ModTime().UnixNano(), " ")
		} else {
			text += "none "
		}
	}
	return text
}

// openReading opens a file for reading, where nothing can be put beside it too.
// SQLite then reads the file alone, with the WAL that a process left which did not
// close it. While the file is open somewhere its LOG-shm stands beside it: where that
// cannot be used either, the file is not read, as it may change meanwhile. Nor is one
// that somebody holds for himself, who keeps no LOG-shm: both ways look at no lock.
func openReading(path string, busy time.Duration) (*sql.DB, int, access, error) {
	db, version, err := openFile(path, readOnly, busy)
	if err == nil || errors.Is(err, ErrNoLog) || IsBusy(err) {
		return db, version, readOnly, err
	}
	how := frozen
	info, walErr := os.Stat(path + "-wal")
	if walErr == nil && info.Size() > 0 || walErr != nil && !errors.Is(walErr, fs.ErrNotExist) {
		how = leftWAL
		if _, shmErr := os.Lstat(path + "-shm"); !errors.Is(shmErr, fs.ErrNotExist) {
			return nil, 0, how, err
		}
	}
	if db, version, otherErr := openFile(path, how, busy); otherErr == nil {
		return db, version, how, nil
	}
	return nil, 0, how, err
}

// load reads what appending after entry size needs, and checks that entry.
func (l *Log) load(q queryer, size int64) error {
	e, err := loadEdge(q, size)
	if err != nil {
		return err
	}
	var lst last
	if size > 0 {
		var bytes []byte
		if err := q.QueryRow("SELECT bytes FROM entries WHERE n = ?", size).Scan(&bytes); err != nil {
			return fmt.Errorf("reading entry %d: %w", size, err)
		}
		if tlog.RecordHash(bytes) != e.last {
			return &DamageError{size, "its bytes do not have the stored hash; nothing is appended to a damaged log (pouchward log verify tells more)"}
		}
		entry, err := ParseEntry(bytes)
		if err != nil {
			return &DamageError{size, err.Error()}
		}
		if lst.entered, err = latest(entry); err != nil {
			return &DamageError{size, err.Error()}
		}
		first, err := readEntry(q, 1)
		if err != nil {
			return err
		}
		lst.site = first.Site
	}
	l.edge, l.last = e, lst
	return nil
}

// latest returns the latest time of entry up to and with e: e's own, or, when
// the clock stood back, the one that it stood back from.
func latest(e *Entry) (time.Time, error) {
	if e.Clock == "" {
		return e.Entered, nil
	}
	var seconds float64
	if _, err := fmt.Sscanf(e.Clock, "-%f s", &seconds); err != nil {
		return time.Time{}, fmt.Errorf("clock %q is not of the form \"-1.500 s\"", e.Clock)
	}
	return e.Entered.Add(time.Duration(seconds*1000+0.5) * time.Millisecond), nil
}

// clockBack returns the mark of an entry made at now when another was already
// made at before.
func clockBack(before, now time.Time) string {
	if back := before.Sub(now).Milliseconds(); back > 0 {
		return fmt.Sprintf("-%d.%03d s", back/1000, back%1000)
	}
	return ""
}

// CanWrite reports why nothing can be recorded here (IsReadOnly). A file that may only be
// read can be opened for writing, and a write begun, where all that SQLite needs stands
// beside it; only a statement that would write is refused. That another process is
// writing is no reason.
func (l *Log) CanWrite() error {
	err := l.Write(func(t *Tx) error {
		_, err := t.tx.Exec("DELETE FROM issued WHERE 0")
		return errors.Join(err, errNothing)
	})
	if IsReadOnly(err) {
		return err
	}
	return nil
}

var errNothing = errors.New("nothing is written")

// Path returns the name of the file.
func (l *Log) Path() string { return l.path }

// Create makes a log whose first entry names its key. Log and key appear whole
// or not at all, and neither replaces a file that is there.
func Create(path, site string, opt Options) (*Log, Key, error) {
	return createWith(path, site, "first key of a new log", opt, func(file string) (Key, error) { return newKey(file, "") })
}

func createWith(path, site, why string, opt Options, makeKey func(file string) (Key, error)) (_ *Log, _ Key, err error) {
	if _, err := os.Lstat(path); err == nil {
		return nil, Key{}, fmt.Errorf("making a log: %s is there already; a log is never replaced", path)
	}
	key, err := makeKey(KeyFile(path))
	if err != nil {
		return nil, Key{}, err
	}
	temp, err := os.MkdirTemp(filepath.Dir(path), ".pouchward-init-*")
	if err != nil {
		os.Remove(KeyFile(path))
		return nil, Key{}, fmt.Errorf("making a log: %w", err)
	}
	defer os.RemoveAll(temp)
	defer func() {
		if err != nil {
			os.Remove(KeyFile(path))
		}
	}()
	made := filepath.Join(temp, "log")
	if err := build(made, site, why, key, opt); err != nil {
		return nil, Key{}, fmt.Errorf("making a log: %w", writeError(err))
	}
	// A link, unlike a renaming, never replaces; not every file system has links.
	if err := os.Link(made, path); err != nil {
		if _, there := os.Lstat(path); there == nil {
			return nil, Key{}, fmt.Errorf("making a log: %s is there already", path)
		}
		if err := os.Rename(made, path); err != nil {
			return nil, Key{}, fmt.Errorf("making a log: %w", err)
		}
	}
	syncDir(filepath.Dir(path))
	l, err := Open(path, opt)
	return l, key, err
}

func build(path, site, why string, key Key, opt Options) error {
	db, err := openDB(path, create, 0)
	if err != nil {
		return err
	}
	l := &Log{path: path, db: db, q: db, opt: opt}
	defer db.Close()
	if _, err := db.Exec(fmt.Sprintf("PRAGMA application_id = %d", applicationID)); err != nil {
		return err
	}
	if err := l.ready(0); err != nil {
		return err
	}
	body, err := MakeBody(KeyBody{Subject: "log-key", Key: key.Public, Why: why})
	if err != nil {
		return err
	}
	if _, err := l.Append(Draft{Kind: "record", Site: site, Body: body}); err != nil {
		return err
	}
	return db.Close()
}

// syncDir makes a new name in a folder durable, where the system can.
func syncDir(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync() // not every system syncs a folder; the file itself is on disk
		d.Close()
	}
}
