package intake

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"pouchward/exports"
)

// OpenCSV reads the header of a CSV sheet. name is used in errors; mapping gives
// the field for columns that have names of their own.
func OpenCSV(name string, src io.Reader, mapping Mapping) (*Sheet, error) {
	br := bufio.NewReaderSize(src, 256<<10)
	head, err := br.Peek(64 << 10)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, bufio.ErrBufferFull) {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	if err := checkHead(head); err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	if bytes.HasPrefix(head, []byte("\xEF\xBB\xBF")) {
		_, _ = br.Discard(3) // peeked, so it is there
		head = head[3:]
	}
	limit := &recordLimit{r: br}
	r := csv.NewReader(limit)
	said, err := saidSeparator(head)
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	r.Comma = cmp.Or(said, separator(head))
	r.ReuseRecord, r.FieldsPerRecord = true, -1
	if said != 0 {
		_, _ = r.Read() // the line that says so; the reader counts it
	}
	return newSheet(name, &csvRecords{r, limit}, mapping)
}

// saidSeparator reads a first line sep=; as some spreadsheet programs write it before
// the names of the columns. It returns 0 where there is none.
func saidSeparator(head []byte) (rune, error) {
	line, _, _ := bytes.Cut(head, []byte("\n"))
	line = bytes.TrimSuffix(line, []byte("\r"))
	if len(line) < 4 || !bytes.EqualFold(line[:4], []byte("sep=")) {
		return 0, nil
	}
	switch said := string(line[4:]); said {
	case ",", ";", "\t":
		return rune(said[0]), nil
	default:
		return 0, fmt.Errorf("its first line says that cells are separated by %q; save it with commas, semicolons or tabs", clipText(said))
	}
}

type csvRecords struct {
	r     *csv.Reader
	limit *recordLimit
}

// maxRecord is how much may be read for one row: a quote that is never closed
// would otherwise take the whole file into memory.
const maxRecord = 1 << 20

// recordLimit fails once a row has taken more than maxRecord. What the readers
// hold in their buffers comes on top.
type recordLimit struct {
	r    io.Reader
	used int
}

var errLongRecord = fmt.Errorf("a row longer than %d kB; is a quote (\") never closed?", maxRecord>>10)

func (l *recordLimit) Read(p []byte) (int, error) {
	if l.used > maxRecord {
		return 0, errLongRecord
	}
	n, err := l.r.Read(p)
	l.used += n
	return n, err
}

func (c *csvRecords) next(row *rawRow) error {
	c.limit.used = 0
	cells, err := c.r.Read()
	if err != nil {
		return explainCSV(err)
	}
	line, _ := c.r.FieldPos(0)
	row.reset(line)
	row.commas = c.r.Comma == ','
	for i, cell := range cells {
		if cell != "" {
			cell = row.plain(i, cell)
		}
		row.cells = append(row.cells, cell)
	}
	return nil
}

// plain returns a cell as it stands for itself. What is no text is refused, and so is
// a row in which a carriage return stands alone: its end may be another row.
func (r *rawRow) plain(i int, cell string) string {
	plain := cell[0] != '\''
	for j := 0; plain && j < len(cell); j++ {
		plain = cell[j] >= ' ' && cell[j] < 0x7F
	}
	if plain {
		return cell
	}
	if strings.IndexByte(cell, '\r') >= 0 {
		r.doubtful = append(r.doubtful, cell)
	}
	switch {
	case !utf8.ValidString(cell):
		r.refused = append(r.refused, Refusal{i, "it is not UTF-8: save the sheet as CSV in UTF-8"})
		return cell + unsure
	case strings.IndexByte(cell, 0) >= 0:
		r.refused = append(r.refused, Refusal{i, "it holds a zero byte, which no text has"})
		return cell + unsure
	}
	return exports.PlainCell(cell)
}

// separator tells comma, semicolon and tab apart by which the first line has
// most of, outside quotes.
func separator(head []byte) rune {
	count := map[byte]int{}
	quoted := false
	for _, b := range head {
		if b == '"' {
			quoted = !quoted
		}
		if (b == '\n' || b == '\r') && !quoted {
			break
		}
		if !quoted {
			count[b]++
		}
	}
	best := byte(',')
	for _, b := range []byte{';', '\t'} {
		if count[b] > count[best] {
			best = b
		}
	}
	return rune(best)
}

// explainCSV adds what to do about it to a syntax error.
func explainCSV(err error) error {
	var pe *csv.ParseError
	if errors.Is(err, errLongRecord) || !errors.As(err, &pe) {
		return err
	}
	return fmt.Errorf("line %d, column %d: %w; a \" inside a cell is written \"\" and the cell put in quotes; nothing after this line was read",
		pe.Line, pe.Column, pe.Err)
}
