package logbook

import (
	"crypto/sha256"

	"golang.org/x/mod/sumdb/tlog"
)

// The verifier's own tree, written from RFC 6962 section 2.1 and not from the
// package that the writer uses, so that a mistake in one shows in the other.

type hash = [sha256.Size]byte

// leafHash is the hash of a leaf: SHA-256(0x00 || data).
func leafHash(data []byte) (h hash) {
	s := sha256.New()
	s.Write([]byte{0x00})
	s.Write(data)
	s.Sum(h[:0])
	return h
}

// nodeHash is the hash of a node: SHA-256(0x01 || left || right).
func nodeHash(left, right hash) hash {
	var b [1 + 2*sha256.Size]byte
	b[0] = 0x01
	copy(b[1:], left[:])
	copy(b[1+sha256.Size:], right[:])
	return sha256.Sum256(b[:])
}

// merkle is a tree that grows by leaves. It keeps the roots of its complete
// subtrees, largest first.
type merkle struct {
	size   int64
	peaks  []hash
	unsure bool // an entry was missing: nothing is known of the root any more
	buf    []hash
}

// add appends a leaf and returns the hashes that it completes: its own, then
// those of each subtree that ends with it.
func (m *merkle) add(leaf hash) []hash {
	m.buf = append(m.buf[:0], leaf)
	m.peaks = append(m.peaks, leaf)
	m.size++
	for s := m.size; s > 0 && s&1 == 0; s >>= 1 {
		if n := len(m.peaks); n >= 2 {
			m.peaks = append(m.peaks[:n-2], nodeHash(m.peaks[n-2], m.peaks[n-1]))
		}
		m.buf = append(m.buf, m.peaks[len(m.peaks)-1])
	}
	return m.buf
}

// root is the hash of the whole tree; of no entries, the hash of nothing.
func (m *merkle) root() tlog.Hash {
	if len(m.peaks) == 0 {
		return sha256.Sum256(nil)
	}
	h := m.peaks[len(m.peaks)-1]
	for i := len(m.peaks) - 2; i >= 0; i-- {
		h = nodeHash(m.peaks[i], h)
	}
	return h
}

func joined(b []byte, hashes []hash) []byte {
	for i := range hashes {
		b = append(b, hashes[i][:]...)
	}
	return b
}
