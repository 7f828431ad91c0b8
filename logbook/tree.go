package logbook

import (
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"math/bits"

	"golang.org/x/mod/sumdb/tlog"
)

// A Tree is the size of the log and its root hash.
type Tree struct {
	Size int64     `json:"size"`
	Root tlog.Hash `json:"root"`
}

// paperDigits is how many hex digits of the root stand on paper: 80 bits.
const paperDigits = 20

// Paper returns the line to write into a day book.
func (t Tree) Paper() string {
	return fmt.Sprintf("%d %s", t.Size, hex.EncodeToString(t.Root[:])[:paperDigits])
}

// An edge holds the roots of the complete subtrees that a log of some size is
// made of: all that is needed to append to it and to compute its root.
type edge struct {
	size  int64
	level [64]tlog.Hash // [l] is the root of the subtree of 1<<l entries, where size has bit l
	last  tlog.Hash     // the leaf of the last entry
}

// ReadHashes implements tlog.HashReader for the hashes that tlog asks for when
// it appends to a tree of this size or computes its root.
func (e *edge) ReadHashes(indexes []int64) ([]tlog.Hash, error) {
	out := make([]tlog.Hash, len(indexes))
	for i, x := range indexes {
		l, k := tlog.SplitStoredHashIndex(x)
		if e.size>>l&1 == 0 || k != e.size>>l-1 {
			return nil, fmt.Errorf("hash %d of level %d does not stand at the edge of %d entries", k, l, e.size)
		}
		out[i] = e.level[l]
	}
	return out, nil
}

// add appends a leaf and returns the hashes to be stored with it.
func (e *edge) add(data []byte) ([]tlog.Hash, error) {
	hashes, err := tlog.StoredHashes(e.size, data, e)
	if err != nil {
		return nil, err
	}
	e.size++
	e.last = hashes[0]
	e.level[len(hashes)-1] = hashes[len(hashes)-1]
	return hashes, nil
}

func (e *edge) tree() (Tree, error) {
	root, err := tlog.TreeHash(e.size, e)
	return Tree{e.size, root}, err
}

// queryer is a connection or a transaction.
type queryer interface {
	QueryRow(query string, args ...any) *sql.Row
	Query(query string, args ...any) (*sql.Rows, error)
}

// loadEdge reads the edge of a log of some size from its stored hashes.
func loadEdge(q queryer, size int64) (edge, error) {
	e := edge{size: size}
	if size == 0 {
		return e, nil
	}
	for l := range bits.Len64(uint64(size)) {
		if size>>l&1 == 0 {
			continue
		}
		h, err := storedHash(q, l, size>>l-1)
		if err != nil {
			return e, err
		}
		e.level[l] = h
	}
	var err error
	e.last, err = storedHash(q, 0, size-1)
	return e, err
}

// storedHash reads the root of the k-th subtree of a level: it stands with the
// entry that completed it.
func storedHash(q queryer, level int, k int64) (h tlog.Hash, err error) {
	n := (k + 1) << level
	var b []byte
	err = q.QueryRow("SELECT substr(hashes, ?, 32) FROM entries WHERE n = ?", level*tlog.HashSize+1, n).Scan(&b)
	if errors.Is(err, sql.ErrNoRows) {
		return h, &DamageError{n, "the entry is missing"}
	}
	if err == nil && len(b) != tlog.HashSize {
		return h, &DamageError{n, "its stored hashes are cut"}
	}
	if err != nil {
		return h, fmt.Errorf("reading the hashes of entry %d: %w", n, err)
	}
	return tlog.Hash(b), nil
}

// hashReader reads stored hashes for proofs.
func hashReader(q queryer) tlog.HashReader {
	return tlog.HashReaderFunc(func(indexes []int64) ([]tlog.Hash, error) {
		out := make([]tlog.Hash, len(indexes))
		for i, x := range indexes {
			var err error
			level, k := tlog.SplitStoredHashIndex(x)
			if out[i], err = storedHash(q, level, k); err != nil {
				return nil, err
			}
		}
		return out, nil
	})
}

// TreeAt returns the tree of the first size entries.
func (l *Log) TreeAt(size int64) (Tree, error) {
	root, err := tlog.TreeHash(size, hashReader(l.q))
	return Tree{size, root}, err
}

// Tree returns the tree as it is now.
func (l *Log) Tree() (Tree, error) {
	size, err := lastNumber(l.q)
	if err != nil {
		return Tree{}, err
	}
	return l.TreeAt(size)
}

func lastNumber(q queryer) (n int64, err error) {
	if err = q.QueryRow("SELECT coalesce(max(n), 0) FROM entries").Scan(&n); err != nil {
		err = fmt.Errorf("reading the size of the log: %w", err)
	}
	return n, err
}
