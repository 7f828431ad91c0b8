//go:build !(linux || darwin || freebsd || netbsd || openbsd)

package app

import (
	"errors"
	"os"
	"syscall"
)

// hold holds nothing: Windows lets nobody remove what is open, and opening a folder to
// hold it would keep it from taking its name.
func hold(path string) (free func(), how grip) {
	if _, err := os.Lstat(path); err != nil {
		return func() {}, gripLost
	}
	return func() {}, gripNone
}

// holdOpen is hold of a file that is being written.
func holdOpen(f *os.File) (free func(), how grip) { return hold(f.Name()) }

// The errors of Windows (learn.microsoft.com, System Error Codes 0-499).
const (
	errAccessDenied = syscall.Errno(5)
	errSharing      = syscall.Errno(32)
	errHandleFull   = syscall.Errno(39)
	errDiskFull     = syscall.Errno(112)
)

// noRoom reports whether a write failed for want of room.
func noRoom(err error) bool { return errors.Is(err, errDiskFull) || errors.Is(err, errHandleFull) }

// inUse reports whether a file could not be replaced since somebody has it open: a
// spreadsheet program, or another request that reads it for a moment.
func inUse(err error) bool { return errors.Is(err, errSharing) || errors.Is(err, errAccessDenied) }
