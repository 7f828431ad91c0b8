package intake

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"pouchward/exports"
	"pouchward/triage"
)

// maxColumns bounds a header: a sheet of readings has some tens.
const maxColumns = 1000

// records reads the rows of one kind of file as cells. The first row names the
// columns.
type records interface {
	// next reads the next row into row, or returns io.EOF, and that only when
	// the file was read to its end and found whole. The slices may be reused by
	// the next call, the strings not.
	next(row *rawRow) error
}

// A Sheet reads rows and knows what each column is.
type Sheet struct {
	Name    string
	Columns []Column
	passing []int // indices of the columns that pass through to the output
	src     records
	raw     rawRow
	closers []func() error
}

// A Column is one column of a sheet.
type Column struct {
	Name  string
	Field triage.FieldID
	Kind  ColumnKind
}

// ColumnKind says what is done with a column.
type ColumnKind uint8

// The column kinds.
const (
	FieldColumn  ColumnKind = iota // read as a field
	PassColumn                     // x_...: passes through
	OutputColumn                   // the program's own: dropped
)

// A Mapping gives the field for columns and keys that have names of their own.
type Mapping map[string]Target

// A Target is the field that a column stands for. With Maybe set the column need
// not be there: a house file maps what its sheets usually have.
type Target struct {
	Field string
	Maybe bool
}

// NewMapping joins the mappings that a person asked for and those of the house,
// which give way.
func NewMapping(asked, house map[string]string) Mapping {
	m := Mapping{}
	for from, to := range house {
		m[strings.ToLower(strings.TrimSpace(from))] = Target{to, true}
	}
	for from, to := range asked {
		m[strings.ToLower(strings.TrimSpace(from))] = Target{to, false}
	}
	return m
}

// OnClose has f called when the sheet is closed.
func (s *Sheet) OnClose(f func() error) { s.closers = append(s.closers, f) }

// newSheet reads the header from the first row of src.
func newSheet(name string, src records, mapping Mapping) (*Sheet, error) {
	s := &Sheet{Name: name, src: src}
	err := src.next(&s.raw)
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("reading %s: the file is empty; its first line must name the columns (pouchward sort --template prints one)", name)
	}
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	if err := s.header(s.raw.cells, s.raw.line, mapping); err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	return s, nil
}

// Close frees what the sheet holds: temporary files of a workbook.
func (s *Sheet) Close() error {
	var errs []error
	if c, ok := s.src.(io.Closer); ok {
		errs = append(errs, c.Close())
	}
	for _, c := range s.closers {
		errs = append(errs, c())
	}
	return errors.Join(errs...)
}

func (s *Sheet) header(names []string, line int, mapping Mapping) error {
	if len(names) > maxColumns {
		return fmt.Errorf("line %d has %d columns; a sheet of readings has at most %d", line, len(names), maxColumns)
	}
	var errs []error
	unused := Mapping{}
	for from, to := range mapping {
		unused[strings.ToLower(strings.TrimSpace(from))] = to
	}
	seen := map[triage.FieldID]string{}
	for i, raw := range names {
		c, err := column(raw, unused)
		if err != nil {
			errs = append(errs, fmt.Errorf("line %d, column %d: %w", line, i+1, err))
		} else if c.Kind == FieldColumn {
			if before, ok := seen[c.Field]; ok {
				errs = append(errs, fmt.Errorf("line %d, column %d: %q and %q are both %s; keep one", line, i+1, before, c.Name, triage.Fields[c.Field].Name))
			}
			seen[c.Field] = c.Name
		}
		if c.Kind != OutputColumn {
			s.passing = append(s.passing, i)
		}
		s.Columns = append(s.Columns, c)
	}
	for from, to := range unused {
		if to.Maybe {
			continue
		}
		errs = append(errs, fmt.Errorf("--map names column %q, which the file does not have", from))
	}
	if len(errs) == 0 && len(seen) == 0 {
		errs = append(errs, fmt.Errorf("line %d names no field of a reading (pouchward fields lists them)", line))
	}
	slices.SortFunc(errs, func(a, b error) int { return strings.Compare(a.Error(), b.Error()) })
	return errors.Join(errs...)
}

// fieldName returns the field that a column's or key's name stands for: what the
// mapping says, else the name in lower case with spaces and dashes underlined.
func fieldName(name string, mapping Mapping) (target string, mapped bool) {
	key := strings.ToLower(strings.TrimSpace(name))
	if to, ok := mapping[key]; ok {
		return to.Field, true
	}
	return strings.NewReplacer(" ", "_", "-", "_").Replace(key), false
}

// column finds out what a column is. A mapping that is used is removed.
func column(raw string, mapping Mapping) (Column, error) {
	name := strings.TrimSpace(raw)
	if !utf8.ValidString(name) {
		return Column{}, fmt.Errorf("%q is not UTF-8; save the sheet as CSV in UTF-8", name)
	}
	c := Column{Name: name}
	target, mapped := fieldName(name, mapping)
	if mapped {
		delete(mapping, strings.ToLower(name))
	}
	if f, ok := triage.FieldByName(target); ok {
		c.Field = f
		return c, nil
	}
	switch {
	case mapped:
		return c, fmt.Errorf("--map sends %q to %q, which is no field%s", name, target, didYouMean(target))
	case strings.HasPrefix(target, "x_"):
		c.Kind = PassColumn
		return c, nil
	case slices.Contains(exports.OutputColumns, target):
		c.Kind = OutputColumn
		return c, nil
	case name == "":
		return c, errors.New("has no name; name it, or call it x_something to pass it through")
	}
	return c, fmt.Errorf("%q is no field%s (--map %q names another field; x_%s passes it through)",
		name, didYouMean(target), name+"=FIELD", target)
}

func didYouMean(word string) string {
	if near := triage.Nearest(word, triage.FieldNames()); near != "" {
		return ", did you mean " + near + "?"
	}
	return ""
}

// Passing returns the names of the columns that pass through to the output.
func (s *Sheet) Passing() []string {
	names := make([]string, len(s.passing))
	for i, c := range s.passing {
		names[i] = s.Columns[c].Name
	}
	return names
}

// Pass returns the cells of a row that pass through, in column order.
func (s *Sheet) Pass(dst []string, row *Row) []string {
	for _, c := range s.passing {
		dst = append(dst, row.Cells[c])
	}
	return dst
}

// Next reads the next row into row, skipping blank ones; io.EOF ends the sheet.
func (s *Sheet) Next(row *Row) error {
	for {
		err := s.src.next(&s.raw)
		if errors.Is(err, io.EOF) {
			return io.EOF
		}
		if err != nil {
			return fmt.Errorf("reading %s: %w", s.Name, err)
		}
		row.Line = s.raw.line
		row.Cells, row.Extra = slices.Grow(row.Cells[:0], len(s.Columns)), 0
		row.Refused = append(row.Refused[:0], s.raw.refused...)
		blank := len(row.Refused) == 0
		for i, c := range s.raw.cells {
			if i < len(s.Columns) {
				row.Cells = append(row.Cells, c)
				blank = blank && strings.TrimSpace(c) == ""
			} else if strings.TrimSpace(c) != "" {
				blank = false
				row.Extra++
			}
		}
		if blank {
			continue
		}
		for len(row.Cells) < len(s.Columns) {
			row.Cells = append(row.Cells, "")
		}
		s.shift(row)
		return nil
	}
}
