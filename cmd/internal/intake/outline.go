package intake

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// An outline reads the rows and cells of a sheet's XML to the closing tag of
// the sheet and the end of the file. It believes only what it expects: an
// unknown element among the rows, a cell out of order or twice, or anything
// after the end is an error, so that a cut or patched sheet is not taken for a
// whole one.
type outline struct {
	d     *xml.Decoder
	row   int // number of the present row
	cells []cell
}

// A cell is one cell as the XML has it.
type cell struct {
	col     int
	style   int
	kind    string // the t attribute: n, s, b, e, str, inlineStr, d; "" is n
	value   string // text of v
	formula string
	hasV    bool
	hasF    bool
	hasText bool // holds its text itself (is)
}

func (c *cell) filled() bool { return c.hasV || c.hasF || c.hasText }

// newOutline reads on to the first row.
func newOutline(src io.Reader) (*outline, error) {
	o := &outline{d: xml.NewDecoder(src)}
	root, err := o.element()
	if err != nil {
		return nil, err
	}
	if root == nil || root.Name.Local != "worksheet" {
		return nil, errors.New("it is no sheet of cells")
	}
	for {
		e, err := o.element()
		switch {
		case err != nil:
			return nil, err
		case e == nil:
			return nil, errors.New("it has no rows")
		case e.Name.Local == "sheetData":
			return o, nil
		}
		if err := o.d.Skip(); err != nil {
			return nil, whole(err)
		}
	}
}

// element returns the next child element, or nil at the end of the parent.
func (o *outline) element() (*xml.StartElement, error) {
	for {
		t, err := o.d.Token()
		if err != nil {
			return nil, whole(err)
		}
		switch t := t.(type) {
		case xml.StartElement:
			return &t, nil
		case xml.EndElement:
			return nil, nil
		case xml.CharData:
			if strings.TrimSpace(string(t)) != "" {
				return nil, fmt.Errorf("text between the cells, after row %d", o.row)
			}
		}
	}
}

// whole makes sure that an early end is not mistaken for the end.
func whole(err error) error {
	if errors.Is(err, io.EOF) {
		return errCutXML
	}
	return err
}

// next reads the next row. io.EOF means that sheet and file were read to
// their ends.
func (o *outline) next() error {
	o.cells = o.cells[:0]
	e, err := o.element()
	if err != nil {
		return err
	}
	if e == nil {
		return o.finish()
	}
	if e.Name.Local != "row" {
		return fmt.Errorf("an element %q among the rows, after row %d", e.Name.Local, o.row)
	}
	before := o.row
	o.row++
	if r := attr(*e, "r"); r != "" {
		if o.row, err = strconv.Atoi(r); err != nil || o.row <= before || o.row > maxRowTags {
			return fmt.Errorf("row %q after row %d", r, before)
		}
	}
	for {
		e, err := o.element()
		switch {
		case err != nil:
			return err
		case e == nil:
			return nil
		case e.Name.Local == "c":
			err = o.cell(e)
		case e.Name.Local == "extLst":
			err = whole(o.d.Skip())
		default:
			err = fmt.Errorf("an element %q among the cells", e.Name.Local)
		}
		if err != nil {
			return fmt.Errorf("row %d: %w", o.row, err)
		}
	}
}

func (o *outline) cell(e *xml.StartElement) error {
	o.cells = append(o.cells, cell{col: 1})
	c := &o.cells[len(o.cells)-1]
	before := 0
	if n := len(o.cells); n > 1 {
		before = o.cells[n-2].col
	}
	c.col = before + 1
	for _, a := range e.Attr {
		var err error
		switch a.Name.Local {
		case "r":
			var row int
			if c.col, row, err = parseCell(a.Value); err == nil && (row != o.row || c.col <= before) {
				err = fmt.Errorf("cell %s is out of place", a.Value)
			}
		case "s":
			if c.style, err = strconv.Atoi(a.Value); err != nil || c.style < 0 {
				err = fmt.Errorf("cell %d has a style %q", c.col, a.Value)
			}
		case "t":
			c.kind = a.Value
		}
		if err != nil {
			return err
		}
	}
	for {
		e, err := o.element()
		if err != nil || e == nil {
			return err
		}
		switch e.Name.Local {
		case "v":
			if c.hasV {
				return fmt.Errorf("cell %d has two values", c.col)
			}
			c.hasV = true
			c.value, err = o.text()
		case "f":
			if c.hasF {
				return fmt.Errorf("cell %d has two formulas", c.col)
			}
			c.hasF = true
			c.formula, err = o.text()
		case "is":
			if c.hasText {
				return fmt.Errorf("cell %d has two texts", c.col)
			}
			c.hasText = true
			err = whole(o.d.Skip())
		case "extLst":
			err = whole(o.d.Skip())
		default:
			err = fmt.Errorf("cell %d holds an element %q", c.col, e.Name.Local)
		}
		if err != nil {
			return err
		}
	}
}

// text reads the text of an element that holds nothing else.
func (o *outline) text() (string, error) {
	var s string
	for {
		t, err := o.d.Token()
		if err != nil {
			return "", whole(err)
		}
		switch t := t.(type) {
		case xml.CharData:
			if s += string(t); len(s) > maxToken {
				return "", errTooLong
			}
		case xml.EndElement:
			return s, nil
		case xml.StartElement:
			return "", fmt.Errorf("an element %q inside a value", t.Name.Local)
		}
	}
}

// finish reads what stands behind the rows, to the end of the file.
func (o *outline) finish() error {
	for {
		e, err := o.element()
		switch {
		case err != nil:
			return err
		case e == nil:
			return o.finishFile()
		case e.Name.Local == "sheetData":
			return errors.New("it has rows twice")
		}
		if err := o.d.Skip(); err != nil {
			return whole(err)
		}
	}
}

// finishFile reads on from the closing tag of the sheet: only now does the zip
// reader compare size and sum.
func (o *outline) finishFile() error {
	for {
		t, err := o.d.Token()
		if err != nil {
			return err // io.EOF when all is well
		}
		switch t := t.(type) {
		case xml.Comment, xml.ProcInst:
		case xml.CharData:
			if strings.TrimSpace(string(t)) != "" {
				return errOutside
			}
		default:
			return errOutside
		}
	}
}
