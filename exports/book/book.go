// Package book writes the tables of an export as a workbook: one sheet each, the
// first a cover with the summary. Numbers, dates and times are real ones with a
// number format; text that begins like a formula has an apostrophe before it; what
// is not known is an empty cell. Classes that call for something are bold on a
// fill, entries that were taken back are struck through and name the entry that
// did so: colour never says anything alone. There are no macros, no links and no
// formulas but those of the charts' ranges.
//
// Rows go straight through to a temporary file, so memory does not grow with the
// log. The same tables give the same bytes.
package book

import (
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/xuri/excelize/v2"

	"pouchward/exports"
	"pouchward/exports/table"
)

// A Book is a workbook.
type Book struct {
	Title   string    // of the cover and the document
	Subject string    // of the document
	On      time.Time // the day judged for: when the document counts as made
	Notice  string    // what must be known of the whole, on every sheet and page; blank: nothing
	Letter  bool      // the paper is US letter; else A4
	Tables  []*table.Table
	Cover   string // name of the table that is the cover
	Charts  string // name of the table of the stock by month, under which the charts stand
}

// MostRows is how many rows a sheet holds besides its headings.
const MostRows = excelize.TotalRows - coverRows

// ErrTooLong says that a table is longer than a sheet.
var ErrTooLong = errors.New("a sheet of a workbook does not hold so many")

// Write writes the workbook.
func Write(w io.Writer, b *Book) error {
	x := &writer{Book: b, file: excelize.NewFile(), rows: map[string]int{}}
	err := errors.Join(x.write(w), x.file.Close())
	if err != nil {
		return fmt.Errorf("writing the workbook: %w", err)
	}
	return nil
}

type writer struct {
	*Book
	file   *excelize.File
	styles styles
	rows   map[string]int // last row by path of the sheet, known once it is written
}

func (x *writer) write(w io.Writer) error {
	if err := x.prepare(); err != nil {
		return err
	}
	for i, t := range x.Tables {
		s := &sheet{writer: x, table: t, cover: t.Name == x.Cover, path: fmt.Sprintf("xl/worksheets/sheet%d.xml", i+1)}
		if err := s.write(); err != nil {
			return fmt.Errorf("sheet %s: %w", t.Title, err)
		}
	}
	return x.pack(w)
}

// prepare makes the sheets, the styles and the properties.
func (x *writer) prepare() error {
	if len(x.Tables) == 0 {
		return errors.New("there is no table to write")
	}
	errs := []error{x.file.SetSheetName("Sheet1", x.Tables[0].Title)}
	for _, t := range x.Tables[1:] {
		_, err := x.file.NewSheet(t.Title)
		errs = append(errs, err)
	}
	made := x.On.UTC().Format(time.RFC3339)
	errs = append(errs,
		x.file.SetDocProps(&excelize.DocProperties{Title: exports.Clean(x.Title), Subject: exports.Clean(x.Subject), Description: exports.Clean(x.Notice),
			Creator: "Pouchward", LastModifiedBy: "Pouchward", Created: made, Modified: made, Category: "log export"}),
		x.file.SetAppProps(&excelize.AppProperties{Application: "Pouchward", DocSecurity: 0}),
		x.styles.make(x.file))
	return errors.Join(errs...)
}
