package logbook

import (
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"
)

// A Checkpoint is a signed statement of the log's size and root.
type Checkpoint struct {
	Tree
	Log  string // the name of the log, which is the name of its keys
	Time string
	Text []byte // the signed note
}

// Checkpoint signs the tree of the first size entries.
func (l *Log) Checkpoint(size int64, key Key) (*Checkpoint, error) {
	tree, err := l.TreeAt(size)
	if err != nil {
		return nil, fmt.Errorf("making a checkpoint: %w", err)
	}
	return signTree(tree, key, l.opt.Now())
}

func signTree(tree Tree, key Key, now time.Time) (*Checkpoint, error) {
	signer, err := note.NewSigner(key.secret)
	if err != nil {
		return nil, fmt.Errorf("making a checkpoint: the key: %w", err)
	}
	at := now.UTC().Format(timeForm)
	text, err := note.Sign(&note.Note{Text: fmt.Sprintf("%s\n%d\n%s\n%s\n", signer.Name(), tree.Size, tree.Root, at)}, signer)
	if err != nil {
		return nil, fmt.Errorf("making a checkpoint: %w", err)
	}
	return &Checkpoint{tree, signer.Name(), at, text}, nil
}

// ParseCheckpoint reads a checkpoint without judging its signature: see Signed.
func ParseCheckpoint(text []byte) (*Checkpoint, error) {
	text = bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n")) // what mail makes of it
	_, err := note.Open(text, note.VerifierList())
	var unverified *note.UnverifiedNoteError
	if !errors.As(err, &unverified) {
		return nil, fmt.Errorf("reading a checkpoint: it is not a signed note; give the file as log checkpoint wrote it, or the paper line with --paper")
	}
	lines := strings.Split(unverified.Note.Text, "\n")
	if len(lines) != 5 {
		return nil, errors.New("reading a checkpoint: want name, size, root and time, one a line")
	}
	c := &Checkpoint{Log: lines[0], Time: lines[3], Text: text}
	if c.Size, err = strconv.ParseInt(lines[1], 10, 64); err != nil || c.Size < 0 {
		return nil, fmt.Errorf("reading a checkpoint: %.40q is not a size", lines[1])
	}
	if c.Root, err = tlog.ParseHash(lines[2]); err != nil {
		return nil, fmt.Errorf("reading a checkpoint: %.60q is not a root hash", lines[2])
	}
	return c, nil
}

// Signed returns which of the keys signed the checkpoint, and an error when
// none did or a signature is false.
func (c *Checkpoint) Signed(keys []string) (string, error) {
	for _, k := range keys {
		v, err := note.NewVerifier(k)
		if err != nil {
			return "", fmt.Errorf("the key %.60q: %w", k, err)
		}
		_, err = note.Open(c.Text, note.VerifierList(v))
		if err == nil {
			return k, nil
		}
		var unverified *note.UnverifiedNoteError
		if !errors.As(err, &unverified) {
			return "", fmt.Errorf("the checkpoint of size %d: its signature is false", c.Size)
		}
	}
	return "", fmt.Errorf("the checkpoint of size %d of %s is signed by none of the keys given or named in the log", c.Size, c.Log)
}

// A Paper is a paper line: a size and the first digits of the root.
type Paper struct {
	Size   int64
	Digits string
}

// ParsePaper reads a paper line; spaces among the digits are dropped.
func ParsePaper(s string) (Paper, error) {
	f := strings.Fields(strings.ToLower(s))
	if len(f) >= 2 {
		digits := strings.Join(f[1:], "")
		n, err := strconv.ParseInt(f[0], 10, 64)
		_, hexErr := hex.DecodeString(digits)
		if err == nil && n >= 0 && hexErr == nil && len(digits) == paperDigits {
			return Paper{n, digits}, nil
		}
	}
	return Paper{}, fmt.Errorf("paper line %.60q: want the size and %d hex digits, such as 60 9cd0ff9eb8bf534c6e1d", s, paperDigits)
}

func (p Paper) matches(t Tree) bool { return t.Paper() == fmt.Sprintf("%d %s", p.Size, p.Digits) }
