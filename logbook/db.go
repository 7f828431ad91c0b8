package logbook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

const (
	// applicationID marks the file as a log: "pwlg".
	applicationID = 0x70776c67
	// minSQLite is the oldest SQLite that the log is written with: 3.51.3 mends
	// a race of WAL resets (sqlite.org, release notes).
	minSQLite = "3.51.3"
	// defaultBusy is how long a write waits for another process. A sheet being
	// recorded holds the log for as long as it is sorted.
	defaultBusy = 30 * time.Second
)

// access is how a file is opened.
type access int

const (
	readWrite access = iota
	readOnly
	frozen  // read-only, in a place where SQLite can put nothing beside it
	leftWAL // the same with a WAL that nobody closed
	create
	alone // exclusively, to learn whether anyone else has the file open
)

// lockless is SQLite's way to open files without locks (sqlite.org/vfs.html).
var lockless = map[bool]string{false: "unix-none", true: "win32-none"}[runtime.GOOS == "windows"]

// openDB opens a file with the rules that every connection to a log keeps. The
// pragmas stand in the DSN: one run on a connection would reach that one alone.
// None of them changes a file, so a foreign one is left as it was.
func openDB(path string, a access, busy time.Duration) (*sql.DB, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	slashed := filepath.ToSlash(abs)
	if !strings.HasPrefix(slashed, "/") {
		slashed = "/" + slashed // C:/... in a file: URI
	}
	mode := map[access]string{readWrite: "rw", readOnly: "ro", frozen: "ro", leftWAL: "ro", create: "rwc", alone: "rw"}[a]
	q := url.Values{"mode": {mode}, "_txlock": {"immediate"}, "_pragma": {
		fmt.Sprintf("busy_timeout(%d)", busy.Milliseconds()),
		"trusted_schema(OFF)", "cell_size_check(ON)", "foreign_keys(ON)", "synchronous(FULL)", "cache_size(-16000)",
	}}
	switch a {
	case frozen:
		q.Set("immutable", "1")
		q.Set("_txlock", "deferred")
	case leftWAL:
		// The index of the WAL is then kept in memory (sqlite.org/wal.html, section 8);
		// without locks, since the lock that this mode takes needs a file to be written.
		q["_pragma"] = exclusive(q["_pragma"])
		q.Set("vfs", lockless)
		q.Set("_txlock", "deferred")
	case readOnly:
		q.Set("_txlock", "deferred") // query_only would refuse VACUUM INTO; mode=ro is enough
	case alone:
		q["_pragma"] = exclusive(q["_pragma"])
	}
	u := url.URL{Scheme: "file", Path: slashed, RawQuery: q.Encode()}
	db, err := sql.Open("sqlite", u.String())
	if err != nil {
		return nil, err
	}
	// One connection: the edge of the tree belongs to it, and SQLite has one
	// writer anyhow.
	db.SetMaxOpenConns(1)
	var version string
	if err := db.QueryRow("SELECT sqlite_version()").Scan(&version); err != nil {
		db.Close()
		return nil, err
	}
	if older(version, minSQLite) {
		db.Close()
		return nil, fmt.Errorf("this program was built with SQLite %s; the log needs %s or newer", version, minSQLite)
	}
	return db, nil
}

// exclusive has a connection hold the file for itself from its first look at it on.
// cache_size, which the driver would run before that, reads the file: the mode then
// comes too late, and a reader would share the WAL with everybody.
func exclusive(pragmas []string) []string {
	return append(slices.DeleteFunc(pragmas, func(s string) bool { return strings.HasPrefix(s, "cache_size") }), "locking_mode(EXCLUSIVE)")
}

func older(a, b string) bool {
	var x, y [3]int
	fmt.Sscanf(a, "%d.%d.%d", &x[0], &x[1], &x[2])
	fmt.Sscanf(b, "%d.%d.%d", &y[0], &y[1], &y[2])
	for i := range x {
		if x[i] != y[i] {
			return x[i] < y[i]
		}
	}
	return false
}

// ErrNoLog says that there is no log under the name.
var ErrNoLog = errors.New("there is no log")

// openFile opens a log that must be there and must be ours.
func openFile(path string, a access, busy time.Duration) (*sql.DB, int, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, 0, fmt.Errorf("%w at %s: pouchward log init makes one (--log FILE names another)", ErrNoLog, path)
	case err != nil:
		return nil, 0, fmt.Errorf("opening the log: %w", err)
	case !info.Mode().IsRegular():
		return nil, 0, fmt.Errorf("opening the log: %s is not a file", path)
	case info.Size() == 0:
		return nil, 0, fmt.Errorf("opening the log: %s is empty; if nothing was ever in it, remove it and run pouchward log init, otherwise restore a backup", path)
	}
	db, err := openDB(path, a, busy)
	if err != nil {
		return nil, 0, openError(path, err)
	}
	version, err := identify(db)
	if err != nil {
		db.Close()
		return nil, 0, openError(path, err)
	}
	return db, version, nil
}

// identify refuses files that are not logs or are of a newer schema.
func identify(db *sql.DB) (version int, err error) {
	var id int
	if err := db.QueryRow("PRAGMA application_id").Scan(&id); err != nil {
		return 0, err
	}
	if id != applicationID {
		return 0, errors.New("it is a database, but not a log of this program; nothing was changed in it")
	}
	if err := db.QueryRow("PRAGMA user_version").Scan(&version); err != nil {
		return 0, err
	}
	if version < 1 {
		return 0, fmt.Errorf("it says that it has schema %d: somebody opened it by other means; nothing was changed in it", version)
	}
	if version > len(scripts) {
		return 0, fmt.Errorf("it has schema %d and this program knows up to %d: use a newer pouchward; nothing was changed in it", version, len(scripts))
	}
	return version, nil
}

// openError says in words why a file did not open.
func openError(path string, err error) error {
	switch code(err) {
	case sqlite3.SQLITE_NOTADB:
		return fmt.Errorf("opening the log: %s is not a log; nothing was changed in it", path)
	case sqlite3.SQLITE_CORRUPT:
		return fmt.Errorf("opening the log: %s is damaged (%w); keep it as it is, and restore a backup beside it", path, err)
	}
	return fmt.Errorf("opening the log %s: %w", path, writeError(err))
}

// code returns the primary SQLite result code of an error, 0 for another one.
func code(err error) int {
	var e *sqlite.Error
	if errors.As(err, &e) {
		return e.Code() & 0xff
	}
	return 0
}

// IsBusy reports whether an error came from another process that holds the log:
// the same write may go through a moment later.
func IsBusy(err error) bool {
	c := code(err)
	return c == sqlite3.SQLITE_BUSY || c == sqlite3.SQLITE_LOCKED
}

// IsReadOnly reports whether an error came from a log that may not be written here,
// by rights or because its medium is for reading only. It may still be read.
func IsReadOnly(err error) bool {
	switch code(err) {
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM:
		return true
	}
	return false
}

// writeError says what to do about the errors that a bench meets.
func writeError(err error) error {
	switch code(err) {
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return fmt.Errorf("another process holds the log; nothing was recorded, try again: %w", err)
	case sqlite3.SQLITE_FULL:
		return fmt.Errorf("the disk is full; nothing was recorded, make room and try again: %w", err)
	case sqlite3.SQLITE_IOERR:
		return fmt.Errorf("the disk refused to write (full, or failing?); nothing was recorded: %w", err)
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM:
		return fmt.Errorf("the log, or its folder, may not be written by this user; nothing was recorded; it can be read, verified and exported, and pouchward log backup copies it to where it can be written: %w", err)
	}
	return err
}

// checkUnclean runs SQLite's quick check when the last process to have the file
// open did not close it: a WAL is left and nobody else is there.
func checkUnclean(path string) error {
	if info, err := os.Stat(path + "-wal"); err != nil || info.Size() == 0 {
		return nil
	}
	db, err := openDB(path, alone, 0)
	if err != nil {
		return nil // somebody has it open, or the open that follows will say why not
	}
	defer db.Close()
	conn, err := db.Conn(context.Background())
	if err != nil {
		return nil
	}
	defer conn.Close()
	var n int64
	if err := conn.QueryRowContext(context.Background(), "SELECT count(*) FROM sqlite_schema").Scan(&n); err != nil {
		if c := code(err); c == sqlite3.SQLITE_BUSY || c == sqlite3.SQLITE_LOCKED {
			return nil
		}
		return openError(path, err)
	}
	return quickCheck(conn)
}

func quickCheck(conn *sql.Conn) error {
	var text string
	if err := conn.QueryRowContext(context.Background(), "PRAGMA quick_check(1)").Scan(&text); err != nil {
		return fmt.Errorf("checking the file after it was not closed: %w", err)
	}
	if text != "ok" {
		return fmt.Errorf("the file was not closed and is damaged (%s): keep it as it is, and restore a backup beside it", text)
	}
	return nil
}
