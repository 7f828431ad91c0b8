// Package table is what an export is made of: tables of typed columns, whose
// rows come one at a time. The CSV, JSON Lines, workbook and schema of an export
// are all made from the same tables, so that they cannot say different things.
//
// A value is known or blank. Blank is what nobody measured, said or could read;
// it is an empty cell, or null, and never 0, no or a dash.
//
// Times are on the clock that the shop had when the entry was written. A date is
// a calendar day of that clock.
package table

import (
	"bufio"
	"slices"
	"time"

	"pouchward/triage"
)

// Type is the type of all values of a column.
type Type uint8

// The types.
const (
	Text    Type = iota // words; may be of several lines
	Whole               // a whole number
	Decimal             // a number with up to six figures behind the point
	Date                // a calendar day
	Time                // a moment, to the second
	YesNo
)

var typeNames = [...]string{"text", "whole number", "decimal number", "date", "date and time", "yes or no"}

// String names the type in words.
func (t Type) String() string { return typeNames[t] }

// Mark says how a value of a column is set off where a writer can do so. The
// value itself says what it is: a mark is never all that carries a meaning.
type Mark uint8

// The marks, the weakest first.
const (
	Plain Mark = iota
	Notice
	Warning
	Danger
)

// A Column is one column of a table.
type Column struct {
	Name  string // the key in JSON Lines, with the unit at its end: energy_wh
	Words string // the heading without the unit: energy
	Unit  string // Wh, kg, V; blank for none
	Type  Type
	Text  string // what the values mean, one sentence

	Decimals int             // figures shown behind the point; the value keeps all
	Width    int             // in characters, 0: by the type
	Marks    map[string]Mark // of values of a column of text
	Void     bool            // a value here says that the row no longer holds
}

// Head is the heading as printed: the words and the unit.
func (c *Column) Head() string {
	if c.Unit == "" {
		return c.Words
	}
	return c.Words + ", " + c.Unit
}

// A Value is one value of a row. The zero Value is blank.
type Value struct {
	known bool
	num   int64
	text  string
	at    time.Time
}

// Known reports whether the value is known.
func (v *Value) Known() bool { return v.known }

// OfText is a text; a blank one is not known.
func OfText(s string) Value { return Value{known: s != "", text: s} }

// OfWhole is a whole number.
func OfWhole(n int64) Value { return Value{known: true, num: n} }

// OfSome is a whole number of which 0 means not known, or none.
func OfSome(n int64) Value { return Value{known: n != 0, num: n} }

// OfDecimal is a decimal number.
func OfDecimal(m triage.Micro) Value { return Value{known: true, num: int64(m)} }

// OfSomeDecimal is a decimal number of which 0 means not known.
func OfSomeDecimal(m triage.Micro) Value { return Value{known: m != 0, num: int64(m)} }

// OfDate is a day; 0 is not known.
func OfDate(d triage.Date) Value { return Value{known: d != 0, num: int64(d)} }

// OfTime is a moment on the clock that it shows; the zero time is not known.
func OfTime(t time.Time) Value { return Value{known: !t.IsZero(), at: t} }

// OfYesNo is yes or no.
func OfYesNo(b bool) Value {
	v := Value{known: true}
	if b {
		v.num = 1
	}
	return v
}

// Text is the text of a value of a column of text.
func (v *Value) Text() string { return v.text }

// Number is the number of a whole number, the millionths of a decimal, the days
// of a date since 1970-01-01, 1 for yes.
func (v *Value) Number() int64 { return v.num }

// Time is the moment of a value of a column of times.
func (v *Value) Time() time.Time { return v.at }

// A Table is one table of an export.
type Table struct {
	Name    string // of its file: cells
	Title   string // of its sheet, at most 31 characters
	Text    string // what it holds, a sentence or two
	Columns []Column
	// Rows calls put for each row, in order, with as many values as there are
	// columns; put does not keep the row. It can be called again, and then gives
	// the same rows.
	Rows func(put func(row []Value) error) error
}

// A Field is a column with where its value comes from.
type Field[T any] struct {
	Column
	Of func(*T) Value
}

// New makes a table of records; each calls put for every record and does not
// keep it.
func New[T any](name, title, text string, fields []Field[T], each func(put func(*T) error) error) *Table {
	t := &Table{Name: name, Title: title, Text: text}
	for i := range fields {
		t.Columns = append(t.Columns, fields[i].Column)
	}
	t.Rows = func(put func([]Value) error) error {
		row := make([]Value, len(fields))
		return each(func(x *T) error {
			for i := range fields {
				row[i] = fields[i].Of(x)
			}
			return put(row)
		})
	}
	return t
}

// A Writer writes the rows of one table in one format.
type Writer struct {
	out *bufio.Writer
	put func(row []Value) error
}

// Write writes the rows of a table to each of its writers, in one pass over them.
func Write(t *Table, to ...*Writer) error {
	err := t.Rows(func(row []Value) error {
		for _, w := range to {
			if err := w.put(row); err != nil {
				return err
			}
		}
		return nil
	})
	for _, w := range to {
		if err == nil {
			err = w.out.Flush()
		}
	}
	return err
}

// Dictionary is the table of all columns of tables: what each is called, in
// which unit, and what it means.
func Dictionary(tables []*Table) *Table {
	type line struct {
		table  string
		column *Column
	}
	fields := []Field[line]{
		{Column{Name: "table", Words: "table", Text: "the table", Width: 14}, func(x *line) Value { return OfText(x.table) }},
		{Column{Name: "column", Words: "column", Text: "the heading", Width: 30}, func(x *line) Value { return OfText(x.column.Head()) }},
		{Column{Name: "key", Words: "key", Text: "the key in JSON Lines", Width: 22}, func(x *line) Value { return OfText(x.column.Name) }},
		{Column{Name: "unit", Words: "unit", Text: "the unit, blank for none", Width: 8}, func(x *line) Value { return OfText(x.column.Unit) }},
		{Column{Name: "type", Words: "type", Text: "the type of its values", Width: 16}, func(x *line) Value { return OfText(x.column.Type.String()) }},
		{Column{Name: "meaning", Words: "meaning", Text: "what a value means", Width: 80}, func(x *line) Value { return OfText(x.column.Text) }},
	}
	var d *Table
	d = New("columns", "Columns", "What every column of the tables means. A blank cell is what is not known, and never 0.", fields,
		func(put func(*line) error) error {
			for _, t := range append(slices.Clone(tables), d) {
				for i := range t.Columns {
					if err := put(&line{t.Name, &t.Columns[i]}); err != nil {
						return err
					}
				}
			}
			return nil
		})
	return d
}

// Print is a value as a reader takes it: a decimal with the figures of its column, a
// time to the minute, blank for what is not known.
func (c *Column) Print(v *Value) string {
	switch {
	case !v.known:
		return ""
	case c.Type == Text:
		return v.text
	case c.Type == Decimal && c.Decimals >= 0:
		return triage.Micro(v.num).Rounded(c.Decimals).String()
	case c.Type == Time:
		return v.at.Format("2006-01-02 15:04")
	}
	return string(v.append(nil, c.Type))
}
