package app

import (
	"bufio"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"pouchward/exports"
)

// A fileSum is the SHA-256 of a file of a pack, in hex.
type fileSum struct{ name, sum string }

func sumFile(path string) (sum string, size int64, err error) {
	f, err := os.Open(path)
	if err != nil {
		return "", 0, err
	}
	defer f.Close()
	h := sha256.New()
	size, err = io.Copy(h, f)
	return hex.EncodeToString(h.Sum(nil)), size, err
}

// writeSums writes sums by name. A notice is a comment, which the tool passes over.
func writeSums(w io.Writer, sums []fileSum, notice string) error {
	sums = slices.Clone(sums)
	slices.SortFunc(sums, func(a, b fileSum) int { return cmp.Compare(a.name, b.name) })
	var b strings.Builder
	if notice != "" {
		fmt.Fprintf(&b, "# %s\n", exports.Clean(notice))
	}
	for _, s := range sums {
		fmt.Fprintf(&b, "%s  %s\n", s.sum, s.name)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// ownPack refuses to replace a folder that is no pack, or in which something stands
// that its sums do not name: somebody put it there.
func ownPack(dir string) error {
	f, err := os.Open(filepath.Join(dir, sumsName))
	if err != nil {
		return Usage("%s is no pack of an export (it has no %s): name another folder (--out)", dir, sumsName)
	}
	defer f.Close()
	named := map[string]bool{sumsName: true}
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		if _, name, ok := strings.Cut(lines.Text(), "  "); ok {
			named[name] = true
		}
	}
	if err := lines.Err(); err != nil {
		return fmt.Errorf("replacing %s: %w", dir, err)
	}
	return filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err == nil && !named[filepath.ToSlash(name)] {
			err = Usage("%s holds %s, which no export wrote: name another folder (--out)", dir, name)
		}
		return err
	})
}
