package table

import (
	"bufio"
	"io"
	"strconv"
	"strings"
	"time"

	"pouchward/exports"
	"pouchward/triage"
)

// byteOrderMark opens a CSV file: without it one much-used spreadsheet program
// reads UTF-8 as the code page of the machine, and Greek and German come out
// wrong. Programs read the JSON Lines, which have none (RFC 8259, section 8.1).
const byteOrderMark = "\ufeff"

// bufferBytes is how much of a file is written at once.
const bufferBytes = 256 << 10

// CSV writes a table as RFC 4180 has it: UTF-8 with a byte order mark, CRLF, a
// line of headings, quotes where they must be. Text that begins like a formula,
// or reads like a number in powers of ten, has an apostrophe before it. note, when
// not blank, is a column of its own at the beginning that says the same in every
// row: a file torn from its folder still carries it.
func CSV(w io.Writer, t *Table, note string) error { return Write(t, NewCSV(w, t, note)) }

// NewCSV is CSV for Write.
func NewCSV(w io.Writer, t *Table, note string) *Writer {
	out := bufio.NewWriterSize(w, bufferBytes)
	line := []byte(byteOrderMark)
	if note != "" {
		line = append(appendText(line, noteHead), ',')
		note = string(append(appendText(nil, note), ','))
	}
	for i := range t.Columns {
		if i > 0 {
			line = append(line, ',')
		}
		line = appendText(line, t.Columns[i].Head())
	}
	_, _ = out.Write(append(line, '\r', '\n')) // an error stays for the next write
	return &Writer{out, func(row []Value) error {
		line = append(line[:0], note...)
		for i := range row {
			if i > 0 {
				line = append(line, ',')
			}
			line = appendCSV(line, t.Columns[i].Type, &row[i])
		}
		_, err := out.Write(append(line, '\r', '\n'))
		return err
	}}
}

// noteHead is the heading of the note.
const noteHead = "NOTICE"

func appendCSV(b []byte, kind Type, v *Value) []byte {
	if kind == Text && v.known {
		return appendText(b, v.text)
	}
	return v.append(b, kind)
}

// append appends a value that is no text in the one spelling that both CSV and
// JSON Lines have; blank is nothing.
func (v *Value) append(b []byte, kind Type) []byte {
	if !v.known {
		return b
	}
	switch kind {
	case Whole:
		return strconv.AppendInt(b, v.num, 10)
	case Decimal:
		return triage.Micro(v.num).Append(b)
	case Date:
		return append(b, triage.Date(v.num).String()...)
	case Time:
		// RFC 3339 with the offset: on the night on which clocks go back a time
		// without one is two times.
		return v.at.Truncate(time.Second).AppendFormat(b, time.RFC3339)
	case YesNo:
		return append(b, yesNoWords[v.num]...)
	}
	return append(b, v.text...)
}

var yesNoWords = [...]string{"no", "yes"}

// appendText appends a cell of text, cleaned and quoted where it must be.
func appendText(b []byte, s string) []byte {
	s = exports.CleanCell(s)
	if !strings.ContainsAny(s, ",\"\n\r ") {
		return append(b, s...)
	}
	b = append(b, '"')
	for i := range len(s) {
		if s[i] == '"' {
			b = append(b, '"')
		}
		b = append(b, s[i])
	}
	return append(b, '"')
}
