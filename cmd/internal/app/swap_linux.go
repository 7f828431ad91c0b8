package app

import "golang.org/x/sys/unix"

// swap exchanges two names in one step, where the disk can; false is that nothing
// happened.
func swap(a, b string) bool {
	return unix.Renameat2(unix.AT_FDCWD, a, unix.AT_FDCWD, b, unix.RENAME_EXCHANGE) == nil
}
