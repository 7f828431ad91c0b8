//go:build !windows

package cli

import "os"

// escapes reports whether a terminal reads escape sequences.
func escapes(*os.File) bool { return true }
