package logbook

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"golang.org/x/mod/sumdb/note"
)

// A Key signs checkpoints. Public is what others check them with.
type Key struct {
	Public string
	secret string
}

// KeyFile returns the name of the key file of a log.
func KeyFile(log string) string { return log + ".key" }

// KeyBody is the body of a record that names a key of the log.
type KeyBody struct {
	Subject    string `json:"subject"` // log-key
	Key        string `json:"key"`
	Why        string `json:"why"`
	Checkpoint string `json:"checkpoint,omitempty"` // of all entries before, signed by the old key
	OldLost    bool   `json:"old_key_lost,omitempty"`
}

const keyFileHead = `# Signing key of a Pouchward log. Whoever can read it can sign checkpoints of that log.
# Losing it loses no entry: pouchward log checkpoint --new-key makes another.
# Public half: %s
%s
`

// newKey makes a key file, which must not be there yet. A blank name is a new
// log's: a random one, so that no two logs are taken for each other.
func newKey(file, name string) (Key, error) {
	if name == "" {
		var b [8]byte
		_, _ = rand.Read(b[:]) // never fails, see crypto/rand
		name = "pouchward-log/" + hex.EncodeToString(b[:])
	}
	secret, public, err := note.GenerateKey(rand.Reader, name)
	if err != nil {
		return Key{}, fmt.Errorf("making a key: %w", err)
	}
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return Key{}, fmt.Errorf("making a key: %s is there already; it may be the key of a log that was moved, so it is not replaced", file)
	}
	if err != nil {
		return Key{}, fmt.Errorf("making a key: %w", err)
	}
	_, err = fmt.Fprintf(f, keyFileHead, public, secret)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		os.Remove(file)
		return Key{}, fmt.Errorf("making a key: %w", err)
	}
	return Key{public, secret}, nil
}

// LoadKey reads a key file. One that others may read is refused.
func LoadKey(file string) (Key, error) {
	info, err := os.Stat(file)
	if errors.Is(err, fs.ErrNotExist) {
		return Key{}, fmt.Errorf("the signing key %s is not there: restore it, or pouchward log checkpoint --new-key makes another and says so in the log", file)
	}
	if err != nil {
		return Key{}, fmt.Errorf("reading the signing key: %w", err)
	}
	if runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return Key{}, fmt.Errorf("the signing key %s can be read by others (mode %04o): chmod 600 it", file, info.Mode().Perm())
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return Key{}, fmt.Errorf("reading the signing key: %w", err)
	}
	for line := range strings.SplitSeq(string(bytes.TrimSpace(data)), "\n") {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		public, err := publicOf(line)
		if err != nil {
			return Key{}, fmt.Errorf("reading the signing key %s: %w", file, err)
		}
		return Key{public, line}, nil
	}
	return Key{}, fmt.Errorf("reading the signing key: %s holds none", file)
}

// publicOf returns the public half of a signing key of package note, whose last
// part is base64 of an algorithm byte and an Ed25519 seed.
func publicOf(secret string) (string, error) {
	signer, err := note.NewSigner(secret)
	if err != nil {
		return "", err
	}
	parts := strings.SplitN(secret, "+", 5)
	seed, err := base64.StdEncoding.DecodeString(parts[len(parts)-1])
	if err != nil || len(seed) != 1+ed25519.SeedSize {
		return "", errors.New("it is not an Ed25519 key")
	}
	public, ok := ed25519.NewKeyFromSeed(seed[1:]).Public().(ed25519.PublicKey)
	if !ok {
		return "", errors.New("it is not an Ed25519 key")
	}
	return note.NewEd25519VerifierKey(signer.Name(), public)
}

// NewKey replaces the key file and writes an entry that names the new key: with
// a checkpoint of all before it, signed by the old key, where that is there; the
// old file stays beside the new one as LOG.key.old-N. Without it the entry says
// that it was lost.
func (l *Log) NewKey(d Draft, why string) (Key, Receipt, error) {
	file := KeyFile(l.path)
	old, oldErr := LoadKey(file)
	if oldErr != nil {
		if _, err := os.Lstat(file); err == nil {
			return Key{}, Receipt{}, oldErr // there, but not to be read: nothing was lost yet
		}
	}
	first, err := l.Entry(1)
	if err != nil {
		return Key{}, Receipt{}, err
	}
	var named KeyBody
	if err := first.Body.Decode(&named); err != nil {
		return Key{}, Receipt{}, &DamageError{1, err.Error()}
	}
	name, _, _ := strings.Cut(named.Key, "+")
	made := file + ".new"
	key, err := newKey(made, name)
	if err != nil {
		return Key{}, Receipt{}, err
	}
	var r Receipt
	err = l.Write(func(t *Tx) error {
		body := KeyBody{Subject: "log-key", Key: key.Public, Why: why, OldLost: oldErr != nil}
		if oldErr == nil {
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
		d.Kind = "record"
		var err error
		if d.Body, err = MakeBody(body); err != nil {
			return err
		}
		r, err = t.Append(d)
		return err
	})
	if err != nil {
		os.Remove(made)
		return Key{}, r, err
	}
	if oldErr == nil {
		if err := os.Rename(file, fmt.Sprintf("%s.old-%d", file, r.Number)); err != nil {
			return key, r, fmt.Errorf("the entry is written, but the new key is still named %s: %w", made, err)
		}
	}
	if err := os.Rename(made, file); err != nil {
		return key, r, fmt.Errorf("the entry is written, but the new key is still named %s: %w", made, err)
	}
	syncDir(filepath.Dir(file))
	return key, r, nil
}
