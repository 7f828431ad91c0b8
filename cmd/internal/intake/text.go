package intake

import (
	"bytes"
	"errors"
	"fmt"
	"unicode/utf8"
)

var (
	errUTF16  = errors.New("the file is UTF-16; save it as CSV in UTF-8")
	errNoText = errors.New("not a text file; save the sheet as CSV in UTF-8")
	errOldEnd = errors.New("its lines end in a carriage return alone, as very old programs write them; save it as CSV in UTF-8 once more")
)

// CheckText refuses a file that is no text in UTF-8 with lines that end as lines do
// (LF or CR LF), with what to do about it. A sheet of readings is looked at so at its
// beginning, and each of its rows for what comes later; a list that is taken whole or
// not at all is looked at as a whole.
func CheckText(data []byte) error {
	if err := checkHead(data); err != nil {
		return err
	}
	if !utf8.Valid(data) {
		line, rest := 1, data
		for len(rest) > 0 {
			text, more, _ := bytes.Cut(rest, []byte("\n"))
			if !utf8.Valid(text) {
				break
			}
			line, rest = line+1, more
		}
		return fmt.Errorf("line %d is not UTF-8; save it as CSV in UTF-8", line)
	}
	if i := bareReturn(data); i >= 0 {
		return fmt.Errorf("line %d: a carriage return stands alone, so two lines may be in one; save it as CSV in UTF-8 once more", 1+bytes.Count(data[:i], []byte("\n")))
	}
	return nil
}

// checkHead looks at the first bytes of a CSV file.
func checkHead(head []byte) error {
	switch {
	case bytes.HasPrefix(head, []byte{0xFF, 0xFE}), bytes.HasPrefix(head, []byte{0xFE, 0xFF}):
		return errUTF16
	case bytes.IndexByte(head, 0) >= 0:
		return errNoText
	}
	if i := bareReturn(head); i >= 0 && bytes.IndexByte(head[:i], '\n') < 0 {
		return errOldEnd
	}
	return nil
}

// bareReturn returns where a CR stands without the LF behind it, -1 for nowhere. One
// at the very end may have its LF still to come.
func bareReturn(p []byte) int {
	for from := 0; ; {
		i := bytes.IndexByte(p[from:], '\r')
		if i < 0 || from+i == len(p)-1 {
			return -1
		}
		if from += i; p[from+1] != '\n' {
			return from
		}
		from++
	}
}
