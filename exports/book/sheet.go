package book

import (
	"fmt"
	"strings"
	"time"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"pouchward/exports"
	"pouchward/exports/table"
	"pouchward/triage"
)

// coverRows are the rows of the cover above its rows: title, subject, notice or
// caution, a blank line, headings.
const coverRows = 5

// sheet is one table on its way into the workbook.
type sheet struct {
	*writer
	table *table.Table
	cover bool
	path  string

	stream *excelize.StreamWriter
	head   int // row of the headings
	last   int // last row written
	shift  int // columns before the table's own: the notice
	cells  []any
	sums   []int64 // of the numbers of each column, for the charts
	wraps  []int   // width of each column whose text is broken into lines, else 0
}

func (s *sheet) write() error {
	if s.head = 1; s.cover {
		s.head = coverRows
	}
	if s.Notice != "" && !s.cover {
		s.shift = 1
	}
	s.cells, s.sums = make([]any, s.shift+len(s.table.Columns)), make([]int64, len(s.table.Columns))
	for i := range s.table.Columns {
		w := width(&s.table.Columns[i])
		if s.table.Columns[i].Type != table.Text || w < wrapFrom {
			w = 0
		}
		s.wraps = append(s.wraps, w)
	}
	if err := s.begin(); err != nil {
		return err
	}
	if err := s.headings(); err != nil {
		return err
	}
	if err := s.table.Rows(s.row); err != nil {
		return err
	}
	s.rows[s.path] = s.last
	if err := s.format(); err != nil {
		return err
	}
	if s.table.Name == s.Charts {
		if err := s.charts(); err != nil {
			return err
		}
	}
	return s.stream.Flush()
}

// cell names a cell of the table's own columns, from 0.
func (s *sheet) cell(column, row int) string {
	name, err := excelize.CoordinatesToCellName(column+s.shift+1, row)
	if err != nil {
		panic(err) // tables have a few dozen columns
	}
	return name
}

// begin sets what the head of the sheet says.
func (s *sheet) begin() (err error) {
	title, yes := s.table.Title, true
	if err = s.file.SetSheetProps(title, &excelize.SheetPropsOptions{FitToPage: &yes}); err != nil {
		return err
	}
	// The rows are not known yet: pack puts the last one here when it is.
	if err = s.file.SetSheetDimension(title, s.dimension(excelize.TotalRows)); err != nil {
		return err
	}
	if s.stream, err = s.file.NewStreamWriter(title); err != nil {
		return err
	}
	for i := range s.table.Columns {
		c := &s.table.Columns[i]
		id, err := s.styles.column(c)
		if err == nil {
			err = s.stream.SetColStyle(i+s.shift+1, i+s.shift+1, id)
		}
		if err == nil {
			err = s.stream.SetColWidth(i+s.shift+1, i+s.shift+1, float64(width(c))+2)
		}
		if err != nil {
			return err
		}
	}
	if s.shift > 0 {
		if err := s.stream.SetColStyle(1, 1, s.styles.note); err != nil {
			return err
		}
		if err := s.stream.SetColWidth(1, 1, 14); err != nil {
			return err
		}
	}
	return s.panes()
}

// panes keep the headings in sight, and what a row is of where that is narrow.
func (s *sheet) panes() error {
	keep := 0
	if !s.cover {
		keep = 1 + s.shift
	}
	pane := "bottomLeft"
	if keep > 0 {
		pane = "bottomRight"
	}
	at, err := excelize.CoordinatesToCellName(keep+1, s.head+1)
	if err != nil {
		return err
	}
	return s.stream.SetPanes(&excelize.Panes{Freeze: true, XSplit: keep, YSplit: s.head, TopLeftCell: at, ActivePane: pane,
		Selection: []excelize.Selection{{SQRef: at, ActiveCell: at, Pane: pane}}})
}

// dimension is the range that the sheet fills.
func (s *sheet) dimension(last int) string {
	return dimension(s.shift+len(s.table.Columns), last)
}

func dimension(columns, last int) string {
	end, err := excelize.CoordinatesToCellName(columns, last)
	if err != nil {
		panic(err)
	}
	return "A1:" + end
}

// headings writes the rows above the table's.
func (s *sheet) headings() error {
	if s.cover {
		if err := s.lead(); err != nil {
			return err
		}
	}
	heads, most := make([]any, len(s.cells)), 1
	if s.shift > 0 {
		heads[0] = excelize.Cell{StyleID: s.styles.head, Value: "NOTICE"}
	}
	for i := range s.table.Columns {
		c := &s.table.Columns[i]
		style := s.styles.head
		if c.Type == table.Whole || c.Type == table.Decimal {
			style = s.styles.headRight
		}
		heads[s.shift+i] = excelize.Cell{StyleID: style, Value: c.Head()}
		most = max(most, lines(c.Head(), width(c)))
	}
	s.last = s.head
	return s.stream.SetRow(fmt.Sprintf("A%d", s.head), heads, excelize.RowOpts{Height: float64(6 + 15*most)})
}

// lines is how many lines a text takes up at a width.
func lines(text string, width int) int {
	n, at := 1, 0
	for _, w := range strings.Fields(text) {
		l := utf8.RuneCountInString(w)
		if at > 0 && at+1+l > width {
			n, at = n+1, 0
		}
		at += l + 1
	}
	return n
}

func (s *sheet) lead() error {
	third, style := triage.LocalFirst+" A blank cell is what is not known.", s.styles.lead
	if s.Notice != "" {
		third, style = s.Notice+" "+triage.LocalFirst, s.styles.alarm
	}
	for i, x := range []struct {
		text          string
		style, height int
	}{{s.Title, s.styles.title, 34}, {s.Subject, s.styles.lead, 34}, {third, style, 34}} {
		row := i + 1
		end := s.cell(len(s.table.Columns)-1, row)
		if err := s.stream.SetRow(fmt.Sprintf("A%d", row), []any{excelize.Cell{StyleID: x.style, Value: exports.CleanCell(x.text)}}, excelize.RowOpts{Height: float64(x.height)}); err != nil {
			return err
		}
		if err := s.stream.MergeCell(fmt.Sprintf("A%d", row), end); err != nil {
			return err
		}
	}
	return nil
}

// row writes one row of the table.
func (s *sheet) row(row []table.Value) error {
	if s.last++; s.last > MostRows {
		return fmt.Errorf("%s has more than %d rows: %w; take fewer (--from, --to, --tables), or CSV or JSON Lines", s.table.Title, MostRows, ErrTooLong)
	}
	if s.shift > 0 {
		s.cells[0] = s.Notice
	}
	tall := 1
	for i := range row {
		v := s.value(i, &row[i])
		s.cells[s.shift+i] = v
		if text, ok := v.(string); ok && s.wraps[i] > 0 && len(text) > s.wraps[i] {
			tall = max(tall, lines(text, s.wraps[i]*9/8)) // letters are narrower than figures
		}
	}
	name, err := excelize.CoordinatesToCellName(1, s.last)
	if err != nil {
		return err
	}
	if tall == 1 {
		return s.stream.SetRow(name, s.cells)
	}
	// Not every program makes room for text that it breaks into lines.
	return s.stream.SetRow(name, s.cells, excelize.RowOpts{Height: float64(min(tall, mostLines)*15 + 2)})
}

// mostLines is how tall a row gets: the cell holds the rest.
const mostLines = 12

// dayZero is day 0 of the calendar of workbooks, counted from 1970-01-01. It is
// right from March 1900 on; the year 1900 has a day too many there.
const dayZero = -25569

// value is a value as the stream takes it. An exact decimal becomes the nearest
// float, which prints as the decimal again.
func (s *sheet) value(column int, v *table.Value) any {
	if !v.Known() {
		return nil
	}
	switch s.table.Columns[column].Type {
	case table.Whole:
		s.sums[column] += v.Number()
		return v.Number()
	case table.Decimal:
		s.sums[column] += v.Number()
		return float64(v.Number()) / 1e6
	case table.Date:
		return v.Number() - dayZero
	case table.Time:
		return wallClock(v.Time())
	case table.YesNo:
		return [...]string{"no", "yes"}[v.Number()]
	}
	return cut(exports.CleanCell(v.Text()))
}

// wallClock is what the clock showed, in days. A tenth of a millisecond more keeps
// programs that cut a time off, where the nearest float is below it, on the second.
func wallClock(t time.Time) float64 {
	_, offset := t.Zone()
	seconds := t.Unix() + int64(offset)
	return float64(seconds)/86400 - dayZero + 1e-9
}

// mostText is how many UTF-16 units a cell holds.
const mostText = excelize.TotalCellChars

const cutMark = " [CUT: a cell holds no more; the CSV has all]"

// cut shortens a text that no cell holds, and says so in it.
func cut(s string) string {
	if len(s) <= mostText { // no text has more units than bytes
		return s
	}
	units := utf16.Encode([]rune(s))
	if len(units) <= mostText {
		return s
	}
	n := mostText - len(cutMark)
	if utf16.IsSurrogate(rune(units[n-1])) && utf16.IsSurrogate(rune(units[n])) && units[n] >= 0xDC00 {
		n-- // not between the halves of one character
	}
	return string(utf16.Decode(units[:n])) + cutMark
}
