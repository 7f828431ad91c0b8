package intake

import (
	"archive/zip"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
)

// countStrings reads the shared texts once.
func (w *workbook) countStrings() error {
	pieces := 0
	return survey1(w.strings, maxStringXML, func(tag []byte) error {
		switch string(tagName(tag)) {
		case "si":
			w.survey.strings++
		case "r", "rPh": // a run of its own look; how to read it aloud
			pieces++
		}
		if w.survey.strings+pieces > maxStrings {
			return fmt.Errorf("more than %d texts and pieces of them; %s", maxStrings, asCSV)
		}
		return nil
	})
}

// surveySheet reads the sheet once, counts, and gathers what stands behind the
// rows but must be known before: the merged ranges.
func (w *workbook) surveySheet() error {
	var rows, cells, inRow, filled, values, pieces int
	var full bool // the present row holds a value
	err := survey1(w.sheet, maxSheetXML, func(tag []byte) error {
		switch string(tagName(tag)) {
		case "row":
			rows++
			inRow, full = 0, false
		case "c":
			cells++
			inRow++
			pieces = 0
		case "r", "rPh":
			pieces++
		case "v", "f", "is":
			values++
			if !full {
				filled++
			}
			full = true
		case "dimension":
			ref, _ := tagValue(tag, "ref")
			if r, err := parseRange(ref); err == nil {
				w.survey.lastRow = r.lastRow
			}
		case "mergeCell":
			ref, _ := tagValue(tag, "ref")
			r, err := parseRange(ref)
			if err != nil {
				return fmt.Errorf("a merged range: %w", err)
			}
			if r.firstCol <= maxColumns { // no cell beyond is read
				w.survey.merges = append(w.survey.merges, r)
			}
		}
		switch {
		case inRow > maxColumns:
			return fmt.Errorf("a row of more than %d cells; a sheet of readings has some tens", maxColumns)
		case pieces > maxPieces:
			return fmt.Errorf("a text of more than %d pieces", maxPieces)
		case cells-values > maxEmpty+10*values:
			return fmt.Errorf("more than %d empty cells, and %d with something in them; clear the formats of empty columns and rows, or save it as CSV", cells-values-1, values)
		case cells > maxCells:
			return fmt.Errorf("more than %d cells; %s", maxCells, asCSV)
		case filled > maxRows:
			return fmt.Errorf("more than %d rows with values; %s", maxRows, asCSV)
		case rows > maxRowTags:
			return fmt.Errorf("more than %d rows", maxRowTags)
		case len(w.survey.merges) > maxMerges:
			return fmt.Errorf("more than %d merged ranges", maxMerges)
		}
		return nil
	})
	slices.SortFunc(w.survey.merges, func(a, b cellRange) int { return a.firstRow - b.firstRow })
	return err
}

// survey1 reads a part to its end and calls start for each start tag.
func survey1(f *zip.File, limit uint64, start func(tag []byte) error) error {
	rc, err := openPart(f, limit)
	if err != nil {
		return err
	}
	defer rc.Close()
	buf := make([]byte, 64<<10)
	g := &guard{src: rc, start: start}
	began := time.Now()
	for {
		if time.Since(began) > patience {
			return partError(f, errSlow)
		}
		if _, err := g.Read(buf); err == io.EOF {
			return nil
		} else if err != nil {
			return partError(f, err)
		}
	}
}

// A cellRange is a range such as A1:B2; rows and columns count from 1.
type cellRange struct{ firstRow, lastRow, firstCol, lastCol int }

func parseRange(ref string) (cellRange, error) {
	from, to, two := strings.Cut(ref, ":")
	if !two {
		to = from
	}
	var r cellRange
	var err, err2 error
	r.firstCol, r.firstRow, err = parseCell(from)
	r.lastCol, r.lastRow, err2 = parseCell(to)
	if err = errors.Join(err, err2); err == nil && (r.lastRow < r.firstRow || r.lastCol < r.firstCol) {
		err = errors.New("it ends before it begins")
	}
	if err != nil {
		return cellRange{}, fmt.Errorf("%q is no range of cells", ref)
	}
	return r, nil
}

// parseCell reads a cell's name, such as AB12, within the limits of the format.
func parseCell(ref string) (col, row int, err error) {
	i := 0
	for i < len(ref) && ref[i]|0x20 >= 'a' && ref[i]|0x20 <= 'z' && i < 4 {
		col = col*26 + int(ref[i]|0x20-'a') + 1
		i++
	}
	row, err = strconv.Atoi(ref[i:])
	if err != nil || i == 0 || col > 16_384 || row < 1 || row > maxRowTags || ref[i] == '+' {
		return 0, 0, fmt.Errorf("%q is no cell", ref)
	}
	return col, row, nil
}

// A cover tells which cells of a row lie under a merged range and are not its
// first. Rows must be asked for in order.
type cover struct {
	merges []cellRange // still to come, by first row
	active []cellRange // those of the row, by first column
	row    int
}

// move goes on to a row. Ranges that lie over each other are an error: a
// program that merges never makes them.
func (c *cover) move(row int) error {
	c.row = row
	c.active = slices.DeleteFunc(c.active, func(r cellRange) bool { return r.lastRow < row })
	for len(c.merges) > 0 && c.merges[0].firstRow <= row {
		r := c.merges[0]
		c.merges = c.merges[1:]
		if r.lastRow < row {
			continue
		}
		i, _ := c.find(r.firstCol)
		if i > 0 && c.active[i-1].lastCol >= r.firstCol || i < len(c.active) && c.active[i].firstCol <= r.lastCol {
			return fmt.Errorf("merged ranges lie over each other in row %d", row)
		}
		c.active = slices.Insert(c.active, i, r)
	}
	return nil
}

func (c *cover) find(col int) (int, bool) {
	return slices.BinarySearchFunc(c.active, col, func(r cellRange, col int) int { return r.firstCol - col })
}

// hides reports whether the cell of that column is covered.
func (c *cover) hides(col int) bool {
	i, found := c.find(col)
	if found {
		return c.row != c.active[i].firstRow
	}
	return i > 0 && c.active[i-1].lastCol >= col
}
