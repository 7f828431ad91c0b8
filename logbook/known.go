package logbook

import (
	"crypto/ed25519"
	"encoding/base64"
	"fmt"
	"strings"

	"golang.org/x/mod/sumdb/note"
)

// A KnownKey is a signing key that is no secret: whoever has its seed has it. It
// is for an invented log, whose bytes are to be the same whenever it is made; a
// signature with it says nothing.
type KnownKey struct {
	Name string // of the log, in the place of a random one
	Seed [ed25519.SeedSize]byte
}

const knownKeyHead = `# Signing key of an INVENTED log. It is derived from a seed that stands in the program:
# anybody can have it, and a signature with it shows nothing. Never use it for a shop's log.
# Public half: %s
%s
`

// CreateKnown is Create with a key that is no secret. The first entry says so.
func CreateKnown(path, site string, k KnownKey, opt Options) (*Log, Key, error) {
	return createWith(path, site, "key of an invented log: it is no secret", opt, func(file string) (Key, error) {
		key, err := k.key()
		if err != nil {
			return key, fmt.Errorf("making a key: %w", err)
		}
		return key, writeKey(file, knownKeyHead, key)
	})
}

// key spells the key as package note does: the algorithm's byte, which is 1 for
// Ed25519, before the seed, and the hash that the public half has too.
func (k *KnownKey) key() (Key, error) {
	public, ok := ed25519.NewKeyFromSeed(k.Seed[:]).Public().(ed25519.PublicKey)
	if !ok {
		return Key{}, fmt.Errorf("the seed makes no Ed25519 key")
	}
	verifier, err := note.NewEd25519VerifierKey(k.Name, public)
	if err != nil {
		return Key{}, err
	}
	hash := strings.SplitN(verifier, "+", 3)[1]
	secret := strings.Join([]string{"PRIVATE", "KEY", k.Name, hash, base64.StdEncoding.EncodeToString(append([]byte{1}, k.Seed[:]...))}, "+")
	if named, err := publicOf(secret); err != nil || named != verifier {
		return Key{}, fmt.Errorf("the key of %s does not read back: %w", k.Name, err)
	}
	return Key{verifier, secret}, nil
}
