//go:build linux || darwin || freebsd || netbsd || openbsd

package app

import (
	"errors"
	"os"
	"syscall"

	"golang.org/x/sys/unix"
)

// hold holds a file or a folder for this process: flock, which the system lets go of
// when the process ends, however it ends.
func hold(path string) (free func(), how grip) {
	f, err := os.OpenFile(path, os.O_RDONLY|syscall.O_NOFOLLOW|syscall.O_NONBLOCK, 0)
	if err != nil {
		return func() {}, gripLost
	}
	return gripOf(f, path)
}

// holdOpen holds a file that is being written, by the descriptor that writes it: on a
// share (SMB) a lock keeps everybody else from reading and writing, another descriptor of
// its owner too (flock(2), "CIFS details"). It is held after the file is closed.
func holdOpen(f *os.File) (free func(), how grip) {
	fd, err := unix.FcntlInt(f.Fd(), unix.F_DUPFD_CLOEXEC, 0)
	if err != nil {
		return func() {}, gripNone
	}
	return gripOf(os.NewFile(uintptr(fd), f.Name()), f.Name())
}

// gripOf holds what is open and stands under a name.
func gripOf(f *os.File, path string) (free func(), how grip) {
	none := func() {}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		f.Close()
		if errors.Is(err, syscall.EWOULDBLOCK) {
			return none, gripLost
		}
		return none, gripNone // a disk that knows no locks
	}
	mine, err := f.Stat()
	there, err2 := os.Lstat(path)
	if err != nil || err2 != nil || !os.SameFile(mine, there) { // it was taken away before it was held
		f.Close()
		return none, gripLost
	}
	return func() { f.Close() }, gripped
}

// noRoom reports whether a write failed for want of room.
func noRoom(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) || errors.Is(err, syscall.EFBIG)
}

// inUse reports whether a file could not be replaced since somebody has it open, which
// stops nobody here.
func inUse(error) bool { return false }
