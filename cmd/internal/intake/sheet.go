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

// records reads the rows of one kind of file as cells.
type records interface {
	// next returns the cells of the next row and its place in the file, or
	// io.EOF. The slice may be reused by the next call, the strings not.
	next() (cells []string, line int, err error)
}

// A Row is one row of a sheet: the cells as written, to be read into a reading.
type Row struct {
	Line  int      // line of the file on which it begins
	Cells []string // one for each column of the sheet, blanks added
	Extra int      // cells beyond the last column that are not blank
}

// A Sheet reads rows and knows what each column is.
type Sheet struct {
	Name    string
	Columns []Column
	passing []int // indices of the columns that pass through to the output
	src     records
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

// newSheet reads the header from the first row of src.
func newSheet(name string, src records, mapping map[string]string) (*Sheet, error) {
	s := &Sheet{Name: name, src: src}
	names, _, err := src.next()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("reading %s: the file is empty; its first line must name the columns (pouchward sort --template prints one)", name)
	}
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	if err := s.header(names, mapping); err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	return s, nil
}

func (s *Sheet) header(names []string, mapping map[string]string) error {
	if len(names) > maxColumns {
		return fmt.Errorf("line 1 has %d columns; a sheet of readings has at most %d", len(names), maxColumns)
	}
	var errs []error
	unused := map[string]string{}
	for from, to := range mapping {
		unused[strings.ToLower(strings.TrimSpace(from))] = to
	}
	seen := map[triage.FieldID]string{}
	for i, raw := range names {
		c, err := column(raw, unused)
		if err != nil {
			errs = append(errs, fmt.Errorf("line 1, column %d: %w", i+1, err))
		} else if c.Kind == FieldColumn {
			if before, ok := seen[c.Field]; ok {
				errs = append(errs, fmt.Errorf("line 1, column %d: %q and %q are both %s; keep one", i+1, before, c.Name, triage.Fields[c.Field].Name))
			}
			seen[c.Field] = c.Name
		}
		if c.Kind != OutputColumn {
			s.passing = append(s.passing, i)
		}
		s.Columns = append(s.Columns, c)
	}
	for from := range unused {
		errs = append(errs, fmt.Errorf("--map names column %q, which the file does not have", from))
	}
	if len(errs) == 0 && len(seen) == 0 {
		errs = append(errs, errors.New("line 1 names no field of a reading (pouchward fields lists them)"))
	}
	slices.SortFunc(errs, func(a, b error) int { return strings.Compare(a.Error(), b.Error()) })
	return errors.Join(errs...)
}

// column finds out what a column is. A mapping that is used is removed.
func column(raw string, mapping map[string]string) (Column, error) {
	name := strings.TrimSpace(raw)
	if !utf8.ValidString(name) {
		return Column{}, fmt.Errorf("%q is not UTF-8; save the sheet as CSV in UTF-8", name)
	}
	c := Column{Name: name}
	key := strings.ToLower(name)
	target, mapped := mapping[key]
	if mapped {
		delete(mapping, key)
	} else {
		target = strings.NewReplacer(" ", "_", "-", "_").Replace(key)
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
		cells, line, err := s.src.next()
		if errors.Is(err, io.EOF) {
			return io.EOF
		}
		if err != nil {
			return fmt.Errorf("reading %s: %w", s.Name, err)
		}
		row.Line = line
		row.Cells, row.Extra = row.Cells[:0], 0
		blank := true
		for i, c := range cells {
			if strings.TrimSpace(c) != "" {
				blank = false
				if i >= len(s.Columns) {
					row.Extra++
				}
			}
			if i < len(s.Columns) {
				row.Cells = append(row.Cells, c)
			}
		}
		if blank {
			continue
		}
		for len(row.Cells) < len(s.Columns) {
			row.Cells = append(row.Cells, "")
		}
		return nil
	}
}

// Read fills a reading from a row and returns a text for each refused cell:
// file, line, column and what is allowed.
func (s *Sheet) Read(row *Row, r *triage.Reading) (refused []string) {
	*r = triage.Reading{}
	for i := range s.Columns {
		c := &s.Columns[i]
		if c.Kind != FieldColumn || row.Cells[i] == "" {
			continue
		}
		if err := r.Set(c.Field, row.Cells[i]); err != nil {
			refused = append(refused, fmt.Sprintf("%s line %d column %d: %v", s.Name, row.Line, i+1, err))
		}
	}
	for _, err := range r.Check() {
		refused = append(refused, fmt.Sprintf("%s line %d: %v", s.Name, row.Line, err))
	}
	if row.Extra > 0 {
		r.KeepBadSigns()
		refused = append(refused, fmt.Sprintf("%s line %d: %d cells stand beyond the last column, so cells may have shifted (a decimal comma without quotes?); only the bad signs of this row were believed",
			s.Name, row.Line, row.Extra))
	}
	return refused
}
