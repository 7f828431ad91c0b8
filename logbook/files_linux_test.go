package logbook

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"pouchward/triage"
)

// A file and a folder that another user may only read: it verifies, and an
// entry is refused in words. Run as root the child becomes nobody.
func TestReadOnlyFile(t *testing.T) {
	if os.Getuid() != 0 {
		t.Skip("needs root to become another user")
	}
	dir, err := os.MkdirTemp("/tmp", "pouchward-ro-*") // t.TempDir is closed to others
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(dir)
	l, _ := newLog(t)
	fill(t, l, 29)
	a, _ := attach(t, l, "an invented paper")
	l.Close()
	path := filepath.Join(dir, "shop.db")
	copyFile(t, l.Path(), path)
	if err := os.CopyFS(FilesDir(path), os.DirFS(FilesDir(l.Path()))); err != nil {
		t.Fatal(err)
	}
	stored := filepath.Join(FilesDir(path), a.Stored())
	exe := filepath.Join(dir, "child")
	copyFile(t, os.Args[0], exe)
	for name, mode := range map[string]os.FileMode{dir: 0o555, path: 0o444, exe: 0o555, FilesDir(path): 0o555, stored: 0o444} {
		if err := os.Chmod(name, mode); err != nil {
			t.Fatal(err)
		}
	}
	cmd := child("verify", path)
	cmd.Path, cmd.Dir = exe, dir
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	out, err := cmd.CombinedOutput()
	text := string(out)
	if err != nil || !strings.Contains(text, "verified true size 31") || !strings.Contains(text, "may not be written by this user; nothing was recorded") {
		t.Errorf("%s, %v", text, err)
	}
	mustVerify(t, path, VerifyOptions{})
}

// A file system of 300 kB fills up for real.
func TestFileSystemFull(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=300k"); err != nil {
		t.Skipf("no file system can be mounted here: %v", err)
	}
	defer func() {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Error(err)
		}
	}()
	l, key, err := Create(filepath.Join(dir, "shop.db"), "full", testOptions())
	if err != nil {
		t.Fatal(err)
	}
	acked := 0
	for acked < 5000 {
		var tag string
		if err = l.Write(func(tx *Tx) (err error) {
			if tag, err = tx.IssueTag(triage.CellTag); err == nil {
				_, err = tx.Append(assessed(t, tag, "hold", true))
			}
			return err
		}); err != nil {
			break
		}
		acked++
	}
	if err == nil || !strings.Contains(err.Error(), "nothing was recorded") || acked == 0 {
		t.Fatalf("%d acknowledged, then %v", acked, err)
	}
	t.Logf("%d acknowledged, then: %v", acked, err)
	size := must(l.Size())
	if size != int64(acked)+1 {
		t.Errorf("%d entries for %d acknowledged", size, acked)
	}
	cp := must(l.Checkpoint(size, key))
	l.Close()
	away := filepath.Join(t.TempDir(), "moved.db") // to a disk with room
	copyFile(t, l.Path(), away)
	if _, err := os.Stat(l.Path() + "-wal"); err == nil {
		copyFile(t, l.Path()+"-wal", away+"-wal")
	}
	moved, err := Open(away, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	fill(t, moved, 1)
	moved.Close()
	if r := mustVerify(t, away, VerifyOptions{Checkpoints: []*Checkpoint{cp}}); r.Tree.Size != size+1 {
		t.Errorf("%d entries", r.Tree.Size)
	}
}

// A copy that fills the file system is no copy, and its entry is not written.
func TestAttachToFullFileSystem(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=1m"); err != nil {
		t.Skipf("no file system can be mounted here: %v", err)
	}
	defer func() {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Error(err)
		}
	}()
	l, _, err := Create(filepath.Join(dir, "shop.db"), "full", testOptions())
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	small, _ := attach(t, l, "a small paper")
	big := writeFile(t, "big.jpg", "\xFF\xD8\xFF"+strings.Repeat("x", 1_100_000))
	if _, err := l.KeepFile(big); err == nil || !strings.Contains(err.Error(), "no space left on device; nothing was recorded") {
		t.Fatalf("%v", err)
	}
	if names := filesOf(t, l.Path()); len(names) != 1 || names[0] != small.Stored() {
		t.Errorf("left behind: %v", names)
	}
	mustVerify(t, l.Path(), VerifyOptions{})
	// A backup whose last file does not fit is none.
	var st syscall.Statfs_t
	info, err := os.Stat(l.Path())
	if err := errors.Join(err, syscall.Statfs(dir, &st)); err != nil {
		t.Fatal(err)
	}
	paper, _ := attach(t, l, strings.Repeat("x", int(st.Bavail)*int(st.Bsize)-2*int(info.Size())))
	if _, err := l.Backup(filepath.Join(dir, "copy.db")); err == nil || !strings.Contains(err.Error(), "no space left on device") {
		t.Errorf("a backup with %s: %v", paper.Stored(), err)
	}
	if list, err := os.ReadDir(dir); err != nil || len(list) != 5 { // log, -wal, -shm, key, files
		t.Errorf("left behind: %v, %v", list, err)
	}
}
