package cli

import (
	"os"

	"golang.org/x/sys/windows"
)

// escapes has a console read escape sequences, and reports whether it does: an older
// one would print them.
func escapes(f *os.File) bool {
	console := windows.Handle(f.Fd())
	var mode uint32
	if err := windows.GetConsoleMode(console, &mode); err != nil {
		return false
	}
	return windows.SetConsoleMode(console, mode|windows.ENABLE_VIRTUAL_TERMINAL_PROCESSING) == nil
}
