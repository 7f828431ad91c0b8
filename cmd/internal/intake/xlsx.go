package intake

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"github.com/xuri/excelize/v2"

	"pouchward/triage"
)

// OpenXLSX reads the header of a sheet of a workbook: the one of that name, or
// the first. The first row that holds anything names the columns. Hidden
// sheets, rows and columns are read like others: what is there counts, whether
// it is shown or not.
//
// Close the sheet; until then the workbook's rows may lie in temporary files.
//
// Two readers go over the rows side by side. The workbook library gives the
// values; it takes an early end for the end and a broken cell for a blank one.
// So the outline reads the same XML to its closing tag and says what each cell
// is (a number, a text, an error, a formula without result), and every row and
// value must be found by both. Before either begins, the whole sheet was read
// once, its size and sum compared with the zip's, and the limits held.
//
// A cell that cannot tell what it shows is refused, and its row still judged.
func OpenXLSX(name string, src io.ReaderAt, size int64, sheet string, mapping Mapping) (*Sheet, error) {
	w, err := openWorkbook(src, size, sheet)
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	x := &xlsxRecords{book: w, cover: cover{merges: w.survey.merges}}
	if err := x.open(); err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, errors.Join(err, x.Close()))
	}
	s, err := newSheet(name, x, mapping)
	if err != nil {
		_ = x.Close()
		return nil, err
	}
	x.columns = s.Columns
	return s, nil
}

// xlsxRecords reads the rows of a workbook.
type xlsxRecords struct {
	book    *workbook
	part    io.ReadCloser // the sheet's XML, for the outline
	outline *outline
	file    *excelize.File
	rows    *excelize.Rows
	at      int // rows that the library has gone through
	cover   cover
	columns []Column // nil until the header was read
}

// open makes both readers stand before the first row.
func (x *xlsxRecords) open() (err error) {
	if x.part, err = openPart(x.book.sheet, maxSheetXML); err != nil {
		return err
	}
	if x.outline, err = newOutline(&guard{src: x.part}); err != nil {
		return partError(x.book.sheet, err)
	}
	if x.file, err = openCaged(x.book); err != nil {
		return fmt.Errorf("opening the workbook: %w", err)
	}
	if x.rows, err = x.file.Rows(cagedSheet); err != nil {
		return fmt.Errorf("opening the workbook: %w", err)
	}
	return nil
}

// next reads the next row that holds anything.
func (x *xlsxRecords) next(row *rawRow) error {
	began := time.Now()
	for {
		if time.Since(began) > patience {
			return fmt.Errorf("row %d: %w", x.outline.row, errSlow)
		}
		err := x.outline.next()
		if err == io.EOF {
			return x.finish()
		}
		if err != nil {
			return partError(x.book.sheet, err)
		}
		values, err := x.advance(x.outline.row)
		if err != nil {
			return err
		}
		if err := x.fill(row, values); err != nil {
			return err
		}
		if slices.ContainsFunc(row.cells, func(c string) bool { return c != "" }) {
			return nil
		}
	}
}

var errDisagree = errors.New("two ways of reading it do not agree; open it in its program and save it again as XLSX or CSV")

// advance brings the library to a row and returns its values.
func (x *xlsxRecords) advance(row int) (values []string, err error) {
	for ; x.at < row; x.at++ {
		if !x.rows.Next() {
			return nil, fmt.Errorf("broken workbook, row %d: %w", row, errors.Join(errDisagree, x.rows.Error()))
		}
		if values, err = x.rows.Columns(); err != nil {
			return nil, fmt.Errorf("broken workbook, row %d: %w", row, err)
		}
	}
	return values, nil
}

// fill turns the cells of the outline's row into texts.
func (x *xlsxRecords) fill(row *rawRow, values []string) error {
	row.reset(x.outline.row)
	if err := x.cover.move(x.outline.row); err != nil {
		return fmt.Errorf("broken workbook: %w", err)
	}
	last := 0
	for i := range x.outline.cells {
		c := &x.outline.cells[i]
		if !c.filled() {
			continue
		}
		value := ""
		if last = c.col; c.col <= len(values) {
			value = values[c.col-1]
		}
		if err := x.agree(c, value); err != nil {
			return fmt.Errorf("broken workbook, row %d column %d: %w", row.line, c.col, err)
		}
		for len(row.cells) < c.col {
			row.cells = append(row.cells, "")
		}
		text, why := x.text(c, value)
		if why != nil {
			text += unsure
			row.refused = append(row.refused, Refusal{c.col - 1, why.Error()})
		}
		row.cells[c.col-1] = text
	}
	if last < len(values) {
		return fmt.Errorf("broken workbook, row %d: %w", row.line, errDisagree)
	}
	return nil
}

// agree reports whether both readers found the same in a cell.
func (x *xlsxRecords) agree(c *cell, value string) error {
	switch c.kind {
	case "s":
		if c.hasV && (!isIndex(c.value, x.book.survey.strings) || len(x.file.SharedStrings.SI) != x.book.survey.strings) {
			return fmt.Errorf("it points to text %q, of %d", c.value, x.book.survey.strings)
		}
	case "inlineStr":
		if !c.hasText {
			return errors.New("its text is missing")
		}
	case "d": // the library makes a number of it
	default:
		if value != c.value || c.hasText {
			return errDisagree
		}
	}
	return nil
}

func (x *xlsxRecords) text(c *cell, value string) (string, error) {
	var f *triage.Field
	if i := c.col - 1; i < len(x.columns) {
		switch x.columns[i].Kind {
		case OutputColumn:
			return "", nil // dropped, whatever it holds
		case FieldColumn:
			f = &triage.Fields[x.columns[i].Field]
		}
	}
	text, why := x.book.text(c, value, f)
	if why == nil && text != "" && x.cover.hides(c.col) {
		why = errors.New("the cell lies under a merged cell, which does not show it; unmerge, or clear it")
	}
	return text, why
}

// finish is reached when the outline has read the sheet to its end.
func (x *xlsxRecords) finish() error {
	if x.rows.Next() {
		return fmt.Errorf("broken workbook, after row %d: %w", x.at, errDisagree)
	}
	if err := x.rows.Error(); err != nil {
		return fmt.Errorf("broken workbook: %w", err)
	}
	if last := x.book.survey.lastRow; last > max(1, x.outline.row) { // an empty sheet says A1
		return fmt.Errorf("cut workbook: the sheet says that it ends at row %d, but its rows end at %d; open it in its program and save it again as XLSX or CSV", last, x.outline.row)
	}
	return io.EOF
}

// Close removes the temporary files.
func (x *xlsxRecords) Close() error {
	var errs []error
	if x.rows != nil {
		errs = append(errs, x.rows.Close())
	}
	if x.file != nil {
		errs = append(errs, x.file.Close())
	}
	if x.part != nil {
		_ = x.part.Close() // read to its end, or given up
	}
	return errors.Join(errs...)
}
