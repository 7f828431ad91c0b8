package logbook

import (
	"database/sql"
	"errors"
)

// OpenVerified opens a log for reading and verifies it, as Verify does, in one
// transaction that the Log goes on reading in: what is read of it is of the very
// state that the report is about, whatever others write meanwhile. Nothing can be
// written through it. While it is open the WAL of a log that others write grows.
//
// The Log is there also where the log does not verify; the error is Verify's.
func OpenVerified(path string, opt Options, how VerifyOptions) (*Log, *Report, error) {
	how.Busy = opt.busy()
	v, err := newVerifier(path, &how)
	if err != nil {
		return nil, nil, err
	}
	v.log()
	v.files(FilesDir(path))
	l := &Log{path: path, db: v.db, q: v.tx, opt: opt, tx: v.tx}
	if v.report.Sound() {
		l.q = soundTx{v.tx}
	}
	return l, v.report, nil
}

// errSnapshot refuses what a snapshot cannot do.
var errSnapshot = errors.New("this log was opened to be read as it was at one moment: open it anew")

// newTx begins a write.
func (l *Log) newTx() (*sql.Tx, error) {
	if l.tx != nil {
		return nil, errSnapshot
	}
	return l.db.Begin()
}

// Close closes the log.
func (l *Log) Close() error {
	if l.tx != nil {
		_ = l.tx.Rollback() // it only read
	}
	return l.db.Close()
}

// A soundTx is a transaction in which every entry was verified: the bytes that are
// read in it were gone over already.
type soundTx struct{ *sql.Tx }

// An arena is memory that bytes of entries are copied into, many at once. What keeps
// one of them keeps those that lie with it.
type arena []byte

const mostArena = 64 << 10

// keep copies bytes.
func (a *arena) keep(b []byte) []byte {
	if cap(*a)-len(*a) < len(b) {
		*a = make([]byte, 0, max(len(b), min(2*cap(*a)+2*len(b), mostArena))) // what was cut from the old one stays
	}
	from := len(*a)
	*a = append(*a, b...)
	return (*a)[from:len(*a):len(*a)]
}

// rawRows reads rows of a number and bytes.
func rawRows(rows *sql.Rows, from queryer) (page []RawEntry, err error) {
	defer rows.Close()
	var kept arena
	for rows.Next() {
		r := RawEntry{from: from}
		var b sql.RawBytes
		if err := rows.Scan(&r.Number, &b); err != nil {
			return nil, err
		}
		r.Bytes = kept.keep(b)
		page = append(page, r)
	}
	return page, rows.Err()
}
