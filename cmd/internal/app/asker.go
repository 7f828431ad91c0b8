package app

import (
	"bufio"
	"fmt"
	"io"
	"strings"
)

// An asker puts plain questions, one a line.
type asker struct {
	lines *bufio.Scanner
	out   io.Writer
	heard int // lines typed, blank ones too
}

func newAsker(in io.Reader, out io.Writer) *asker {
	return &asker{lines: bufio.NewScanner(in), out: out}
}

// ask puts a question until accept has no complaint about the answer; ok is
// false at the end of the input.
func (a *asker) ask(question string, accept func(text string) (complaint string)) (ok bool, err error) {
	for {
		fmt.Fprint(a.out, question+": ")
		if !a.lines.Scan() {
			return false, a.lines.Err()
		}
		a.heard++
		complaint := accept(strings.TrimSpace(a.lines.Text()))
		if complaint == "" {
			return true, nil
		}
		fmt.Fprintf(a.out, "  %s\n", complaint)
	}
}
