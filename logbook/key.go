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
	key := Key{public, secret}
	return key, writeKey(file, keyFileHead, key)
}

// writeKey makes the file of a key, which must not be there yet; head is a form
// of the public and the secret half.
func writeKey(file, head string, key Key) error {
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("making a key: %s is there already; it may be the key of a log that was moved, so it is not replaced", file)
	}
	if err != nil {
		return fmt.Errorf("making a key: %w", err)
	}
	_, err = fmt.Fprintf(f, head, key.Public, key.secret)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		os.Remove(file)
		return fmt.Errorf("making a key: %w", err)
	}
	syncDir(filepath.Dir(file)) // on disk before an entry names it
	return nil
}

// errNoKey ends what is said of a key file that is not there.
var errNoKey = errors.New("restore it, or pouchward log checkpoint --new-key makes another and says so in the log")

// mendKey ends what is said of a key file that is there and holds no key. It is not
// errNoKey: such a file is not taken for a key that is lost.
const mendKey = "move that file away and restore the right one from where a copy is kept; without a copy, pouchward log checkpoint --new-key then makes another and says so in the log"

// LoadKey reads a key file. One that others may read is refused. Whether it is
// the key of a log, only the log can say: see Log.SigningKey.
func LoadKey(file string) (Key, error) {
	info, err := os.Stat(file)
	if errors.Is(err, fs.ErrNotExist) {
		if _, err := os.Lstat(file); err == nil { // on a stick that is not in, say: nothing is lost yet
			return Key{}, fmt.Errorf("the signing key %s is a link to a file that is not there: bring that file back, or remove the link if the key is lost", file)
		}
		return Key{}, fmt.Errorf("the signing key %s is not there: %w", file, errNoKey)
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
			return Key{}, fmt.Errorf("the signing key %s holds a line that is no key as pouchward log init writes one: %s", file, mendKey)
		}
		return Key{public, line}, nil
	}
	return Key{}, fmt.Errorf("the signing key %s holds no key: %s", file, mendKey)
}

// CheckPublicKey refuses what is not the public half of a key, as log init
// prints it.
func CheckPublicKey(public string) error {
	if _, err := note.NewVerifier(public); err != nil {
		return fmt.Errorf("%.80q is not a public key as log init prints it, such as pouchward-log/3f9a0c11d2e4b587+033de0ae+AWU...: copy the whole line", public)
	}
	return nil
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
