package intake

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
)

// OpenCSV reads the header of a CSV sheet. name is used in errors; mapping gives
// the field for columns that have names of their own.
func OpenCSV(name string, src io.Reader, mapping Mapping) (*Sheet, error) {
	br := bufio.NewReaderSize(src, 256<<10)
	head, err := br.Peek(64 << 10)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, bufio.ErrBufferFull) {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	if bytes.HasPrefix(head, []byte{0xFF, 0xFE}) || bytes.HasPrefix(head, []byte{0xFE, 0xFF}) {
		return nil, fmt.Errorf("reading %s: the file is UTF-16; save it as CSV in UTF-8", name)
	}
	if bytes.IndexByte(head, 0) >= 0 {
		return nil, fmt.Errorf("reading %s: not a text file; save the sheet as CSV in UTF-8", name)
	}
	if bytes.HasPrefix(head, []byte("\xEF\xBB\xBF")) {
		_, _ = br.Discard(3) // peeked, so it is there
		head = head[3:]
	}
	limit := &recordLimit{r: br}
	r := csv.NewReader(limit)
	r.Comma = separator(head)
	r.ReuseRecord, r.FieldsPerRecord = true, -1
	return newSheet(name, &csvRecords{r, limit}, mapping)
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
	row.cells = append(row.cells, cells...)
	return nil
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
