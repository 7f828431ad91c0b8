package logbook

import (
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"golang.org/x/mod/sumdb/tlog"
)

// A proof is text that can be checked without the log:
//
//	pouchward proof of an entry, format 1
//	key pouchward-log/3f9a0c11d2e4b587+033de0ae+AWU...
//	entry 7
//	{"v":1,"n":7,...}
//	path 6
//	<hash in hex, one a line>
//	<blank line>
//	<checkpoint>
//
// proves that the entry is in the tree of the checkpoint, and
//
//	pouchward proof of growth, format 1
//	key ...
//	from 40
//	<root of the first 40 entries in hex>
//	path 5
//	<hashes>
//	<blank line>
//	<checkpoint>
//
// that the tree of the checkpoint only added to the one of 40 entries. The
// hashes are those of RFC 6962, sections 2.1.1 and 2.1.2. The key is a
// convenience: who checks compares it with one kept elsewhere.
const (
	entryProofHead  = "pouchward proof of an entry, format 1"
	growthProofHead = "pouchward proof of growth, format 1"
)

// ProveEntry writes a proof that the log of a checkpoint holds entry n.
func (l *Log) ProveEntry(w io.Writer, n int64, cp *Checkpoint, key Key) error {
	var data []byte
	e, err := l.Entry(n)
	if err != nil {
		return fmt.Errorf("proving entry %d: %w", n, err)
	}
	data = e.Bytes
	if n > cp.Size {
		return fmt.Errorf("proving entry %d: the checkpoint covers %d entries", n, cp.Size)
	}
	path, err := tlog.ProveRecord(cp.Size, n-1, hashReader(l.q))
	if err != nil {
		return fmt.Errorf("proving entry %d: %w", n, err)
	}
	if err := tlog.CheckRecord(path, cp.Size, cp.Root, n-1, tlog.RecordHash(data)); err != nil {
		return fmt.Errorf("proving entry %d: the log is damaged (pouchward log verify tells more): %w", n, err)
	}
	return writeProof(w, fmt.Sprintf("%s\nkey %s\nentry %d\n%s\n", entryProofHead, key.Public, n, data), path, cp)
}

// ProveGrowth writes a proof that the log of cp only added to an older tree.
func (l *Log) ProveGrowth(w io.Writer, older Tree, cp *Checkpoint, key Key) error {
	if older.Size < 1 || older.Size > cp.Size {
		return fmt.Errorf("proving growth: the older size %d is not from 1 to %d; a log that is shorter than a checkpoint has lost its tail", older.Size, cp.Size)
	}
	path, err := tlog.ProveTree(cp.Size, older.Size, hashReader(l.q))
	if err != nil {
		return fmt.Errorf("proving growth: %w", err)
	}
	if err := tlog.CheckTree(path, cp.Size, cp.Root, older.Size, older.Root); err != nil {
		return fmt.Errorf("proving growth: the log is not a continuation of the checkpoint of size %d: %w", older.Size, err)
	}
	return writeProof(w, fmt.Sprintf("%s\nkey %s\nfrom %d\n%s\n", growthProofHead, key.Public, older.Size, hex.EncodeToString(older.Root[:])), path, cp)
}

func writeProof(w io.Writer, head string, path []tlog.Hash, cp *Checkpoint) error {
	b := []byte(head)
	b = fmt.Appendf(b, "path %d\n", len(path))
	for _, h := range path {
		b = append(hex.AppendEncode(b, h[:]), '\n')
	}
	b = append(append(b, '\n'), cp.Text...)
	_, err := w.Write(b)
	return err
}

// A Proven is what a proof shows.
type Proven struct {
	Entry      *Entry // nil in a proof of growth
	Leaf       tlog.Hash
	From       Tree // the older tree of a proof of growth
	Checkpoint *Checkpoint
	Key        string // the key that signed the checkpoint
	KeyGiven   bool   // it was given by the one who checks, not by the proof
}

// maxProofBytes bounds a proof: an entry and 64 hashes.
const maxProofBytes = maxEntryBytes + 1<<16

// CheckProof checks a proof by itself. keys are those that the one who checks
// trusts; without any, the key named in the proof is used.
func CheckProof(text []byte, keys []string) (*Proven, error) {
	p, err := checkProof(text, keys)
	if err != nil {
		return nil, fmt.Errorf("the proof does not hold: %w", err)
	}
	return p, nil
}

func checkProof(text []byte, keys []string) (*Proven, error) {
	if len(text) > maxProofBytes {
		return nil, errors.New("it is longer than any")
	}
	text = bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n"))
	head, note, found := bytes.Cut(text, []byte("\n\n"))
	lines := strings.Split(string(head), "\n")
	if !found || len(lines) < 5 || lines[0] != entryProofHead && lines[0] != growthProofHead {
		return nil, errors.New("the file is not a proof as log prove writes it")
	}
	cp, err := ParseCheckpoint(note)
	if err != nil {
		return nil, err
	}
	p := &Proven{Checkpoint: cp, KeyGiven: len(keys) > 0}
	if !p.KeyGiven {
		keys = []string{strings.TrimPrefix(lines[1], "key ")}
	}
	if p.Key, err = cp.Signed(keys); err != nil {
		return nil, err
	}
	var path []tlog.Hash
	for _, line := range lines[5:] {
		b, err := hex.DecodeString(line)
		if err != nil || len(b) != tlog.HashSize {
			return nil, fmt.Errorf("%.70q is not a hash", line)
		}
		path = append(path, tlog.Hash(b))
	}
	if lines[4] != "path "+strconv.Itoa(len(path)) {
		return nil, fmt.Errorf("%q, but %d hashes follow", lines[4], len(path))
	}
	if lines[0] == growthProofHead {
		return p, p.checkGrowth(lines, path)
	}
	return p, p.checkEntry(lines, path)
}

func (p *Proven) checkEntry(lines []string, path []tlog.Hash) error {
	n, err := numberAfter(lines[2], "entry ")
	if err != nil {
		return err
	}
	if p.Entry, err = ParseEntry([]byte(lines[3])); err != nil {
		return err
	}
	if p.Entry.Number != n {
		return fmt.Errorf("it is said to be entry %d and is entry %d", n, p.Entry.Number)
	}
	p.Leaf = tlog.RecordHash(p.Entry.Bytes)
	if n > p.Checkpoint.Size {
		return fmt.Errorf("entry %d is not among the %d of the checkpoint", n, p.Checkpoint.Size)
	}
	return tlog.CheckRecord(path, p.Checkpoint.Size, p.Checkpoint.Root, n-1, p.Leaf)
}

func (p *Proven) checkGrowth(lines []string, path []tlog.Hash) error {
	var err error
	if p.From.Size, err = numberAfter(lines[2], "from "); err != nil {
		return err
	}
	b, err := hex.DecodeString(lines[3])
	if err != nil || len(b) != tlog.HashSize {
		return fmt.Errorf("%.70q is not a root", lines[3])
	}
	p.From.Root = tlog.Hash(b)
	if p.From.Size > p.Checkpoint.Size {
		return fmt.Errorf("it grows from %d to %d", p.From.Size, p.Checkpoint.Size)
	}
	return tlog.CheckTree(path, p.Checkpoint.Size, p.Checkpoint.Root, p.From.Size, p.From.Root)
}

func numberAfter(line, word string) (int64, error) {
	rest, ok := strings.CutPrefix(line, word)
	n, err := strconv.ParseInt(rest, 10, 64)
	if !ok || err != nil || n < 1 {
		return 0, fmt.Errorf("%.60q: want %q and a number", line, word)
	}
	return n, nil
}
