package app

import (
	"errors"
	"fmt"
	"os"
	"strconv"

	"pouchward/triage"
)

// receiptColumns are the columns of a consignee's list. One of the first two
// names a package or a cell; without a count a cell is one, and of a package it is
// not known.
var receiptColumns = []string{"tag", "package", "count", "mass_kg", "rejected", "note"}

// maxReceiptBytes bounds a consignee's list.
const maxReceiptBytes = 1 << 20

// receiptLine is one line of a consignee's list.
type receiptLine struct {
	Tag      string `json:"tag"`
	Package  string `json:"package,omitempty"` // said beside the tag of a cell
	Count    *int64 `json:"count,omitempty"`
	MassMg   *int64 `json:"mass_mg,omitempty"`
	Rejected bool   `json:"rejected,omitempty"`
	Note     string `json:"note,omitempty"`
}

// readReceiptLines reads a consignee's list. Every fault is reported.
func readReceiptLines(name string) ([]receiptLine, error) {
	data, err := readSmall(name, maxReceiptBytes)
	if errors.Is(err, os.ErrNotExist) {
		return nil, Usage("reading the receipt: %v", err)
	}
	if err != nil {
		return nil, fmt.Errorf("reading the receipt: %w", err)
	}
	return parseReceipt(name, data)
}

func parseReceipt(name string, data []byte) ([]receiptLine, error) {
	table, err := readList(data, receiptColumns)
	if err != nil {
		return nil, Usage("reading the receipt %s: %v", name, err)
	}
	var lines []receiptLine
	var errs []error
	first := map[string]int{}
	for i := range table.rows {
		row := &table.rows[i]
		l, err := newReceiptLine(func(column string) string { return table.cell(row, column) })
		if n := first[l.Tag]; err == nil && n > 0 {
			err = fmt.Errorf("%s stands in line %d too: put them into one", triage.SpacedTag(l.Tag), n)
		}
		if err != nil {
			errs = append(errs, fmt.Errorf("line %d: %w", row.line, err))
			continue
		}
		first[l.Tag] = row.line
		lines = append(lines, l)
	}
	if err := errors.Join(errs...); err != nil {
		return nil, Usage("reading the receipt %s: %v", name, err)
	}
	return lines, nil
}

func newReceiptLine(cell func(column string) string) (l receiptLine, err error) {
	tag, box := cell("tag"), cell("package")
	if tag != "" && box != "" {
		// A cell of a package: the cell says more.
		if l.Package, err = ReadTag(box); err != nil {
			return l, err
		}
	} else if tag == "" {
		tag = box
	}
	if tag == "" {
		return l, errors.New("it names neither a tag nor a package")
	}
	if l.Tag, err = ReadTag(tag); err != nil {
		return l, err
	}
	l.Note = cell("note")
	if text := cell("count"); text != "" {
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil || n < 0 || n > 1_000_000 {
			return l, fmt.Errorf("count %q: use a whole number", text)
		}
		l.Count = &n
	}
	if text := cell("mass_kg"); text != "" {
		mg, err := parseKg("mass_kg", text)
		if err != nil {
			return l, err
		}
		l.MassMg = &mg
	}
	switch said, err := yesNo("rejected", cell("rejected")); {
	case err != nil:
		return l, err
	case said == "?":
		return l, errors.New("rejected \"?\": ask the consignee, yes or no")
	default:
		l.Rejected = said == "yes"
	}
	return l, nil
}
