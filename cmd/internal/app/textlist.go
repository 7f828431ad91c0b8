package app

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"pouchward/cmd/internal/intake"
)

// A textList is a small CSV file with known columns: a recall list, a consignee's
// receipt. Unlike a sheet of readings it is taken whole or not at all.
type textList struct {
	at   map[string]int // where each column stands
	rows []listRow
}

// A listRow is one row and the line of the file on which it begins.
type listRow struct {
	line  int
	cells []string
}

// readList reads a list in UTF-8, separated by comma or semicolon. columns are
// those that it may have, in any order.
func readList(data []byte, columns []string) (*textList, error) {
	if err := intake.CheckText(data); err != nil {
		return nil, err
	}
	data = bytes.TrimPrefix(data, []byte("\uFEFF"))
	r := csv.NewReader(bytes.NewReader(data))
	if header, _, _ := bytes.Cut(data, []byte("\n")); bytes.IndexByte(header, ';') >= 0 && bytes.IndexByte(header, ',') < 0 {
		r.Comma = ';' // as spreadsheets write it where a comma is the decimal mark
	}
	r.TrimLeadingSpace = true
	l := &textList{at: map[string]int{}}
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		line, _ := r.FieldPos(0)
		l.rows = append(l.rows, listRow{line, cells})
	}
	if len(l.rows) < 2 {
		return nil, fmt.Errorf("it has no lines under its header (%s)", strings.Join(columns, ", "))
	}
	for i, h := range l.rows[0].cells {
		h = strings.ToLower(strings.TrimSpace(h))
		if !slices.Contains(columns, h) {
			return nil, fmt.Errorf("column %d is %q; use %s", i+1, h, strings.Join(columns, ", "))
		}
		if l.has(h) {
			return nil, fmt.Errorf("column %s stands there twice; keep one", h)
		}
		l.at[h] = i
	}
	l.rows = l.rows[1:]
	return l, nil
}

func (l *textList) has(column string) bool { _, ok := l.at[column]; return ok }

// cell returns what stands in a column, blank where the list has none of that name.
func (l *textList) cell(row *listRow, column string) string {
	if i, ok := l.at[column]; ok {
		return strings.TrimSpace(row.cells[i])
	}
	return ""
}
