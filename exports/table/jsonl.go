package table

import (
	"bufio"
	"io"

	"pouchward/exports"
	"pouchward/logbook"
)

// noteKey is the key of the note in JSON Lines.
const noteKey = "notice"

// JSONL writes a table as one JSON object a line, with every key in every line in
// the order of the columns; what is not known is null. note is as in CSV.
func JSONL(w io.Writer, t *Table, note string) error { return Write(t, NewJSONL(w, t, note)) }

// NewJSONL is JSONL for Write.
func NewJSONL(w io.Writer, t *Table, note string) *Writer {
	out := bufio.NewWriterSize(w, bufferBytes)
	var keys [][]byte
	for i := range t.Columns {
		open := byte(',')
		if i == 0 {
			open = '{'
		}
		keys = append(keys, append(logbook.AppendString([]byte{open}, t.Columns[i].Name), ':'))
	}
	if note != "" {
		head := append(logbook.AppendString([]byte{'{'}, noteKey), ':')
		keys[0] = append(append(logbook.AppendString(head, exports.CleanText(note)), ','), keys[0][1:]...)
	}
	var line []byte
	return &Writer{out, func(row []Value) error {
		line = line[:0]
		for i := range row {
			line = appendJSON(append(line, keys[i]...), t.Columns[i].Type, &row[i])
		}
		_, err := out.Write(append(line, '}', '\n'))
		return err
	}}
}

func appendJSON(b []byte, kind Type, v *Value) []byte {
	switch {
	case !v.known:
		return append(b, "null"...)
	case kind == Text:
		return logbook.AppendString(b, exports.CleanText(v.text))
	case kind == Date || kind == Time:
		return append(v.append(append(b, '"'), kind), '"')
	case kind == YesNo && v.num == 0:
		return append(b, "false"...)
	case kind == YesNo:
		return append(b, "true"...)
	}
	return v.append(b, kind)
}
