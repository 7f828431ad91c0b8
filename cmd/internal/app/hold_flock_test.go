//go:build linux || darwin || freebsd || netbsd || openbsd

package app

import (
	"os"
	"syscall"
	"testing"
)

// A file that is being written is held by the descriptor that writes it, until it is let
// go: on a share a lock of another one would refuse every write.
func TestHeldByItsWriter(t *testing.T) {
	f, free, err := tempFile(t.TempDir(), "a.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer free()
	other, err := os.Open(f.Name())
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	const try = syscall.LOCK_EX | syscall.LOCK_NB
	if err := syscall.Flock(int(other.Fd()), try); err == syscall.ENOLCK || err == syscall.ENOTSUP {
		t.Skip("nothing can be held here")
	} else if err != syscall.EWOULDBLOCK {
		t.Errorf("held by another too: %v", err)
	}
	if err := syscall.Flock(int(f.Fd()), try); err != nil {
		t.Errorf("the writer does not hold it: %v", err)
	}
	f.Close()
	if err := syscall.Flock(int(other.Fd()), try); err != syscall.EWOULDBLOCK {
		t.Errorf("not held any more once it is closed: %v", err)
	}
	free()
	if err := syscall.Flock(int(other.Fd()), try); err != nil {
		t.Errorf("held after it was let go: %v", err)
	}
}
