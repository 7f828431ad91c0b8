package intake

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"time"

	"pouchward/triage"
)

// text turns a cell into the text that a person would type for what the sheet
// shows: 3.78, 61%, 2026-11-25, yes. value is the cell's value as the workbook
// reader gives it, f the field of its column, nil for a column that passes
// through. An error says why the cell cannot tell what it shows; the text is
// then what stands in it.
func (w *workbook) text(c *cell, value string, f *triage.Field) (string, error) {
	if c.hasF && !c.hasV && !c.hasText || c.hasF && c.value == "" && c.kind != "str" {
		return "=" + strings.TrimPrefix(c.formula, "="), errors.New("a formula whose result is not stored in the file; open the workbook, let it calculate, save it")
	}
	switch c.kind {
	case "s", "str", "inlineStr":
		return value, nil
	case "b":
		switch strings.TrimSpace(c.value) {
		case "1":
			return "yes", nil
		case "0":
			return "no", nil
		}
		return c.value, errors.New("a logical value that is neither true nor false")
	case "e":
		return c.value, errors.New("the cell shows an error of the workbook")
	case "d":
		day, _, _ := strings.Cut(strings.TrimSpace(c.value), "T")
		if _, err := time.Parse(time.DateOnly, day); err != nil {
			return c.value, errors.New("a date that cannot be read")
		}
		return day, onlyDates(f)
	case "", "n":
		if strings.TrimSpace(c.value) == "" {
			return "", nil
		}
		return w.number(c, f)
	}
	return c.value, errors.New("a kind of cell that is not known: " + strconv.Quote(c.kind))
}

// number turns a number into the text of what its format shows.
func (w *workbook) number(c *cell, f *triage.Field) (string, error) {
	n, err := parseFloat(c.value)
	if err != nil {
		return c.value, err
	}
	shown := section{kind: showsUnclear}
	code := "of a style that is not there"
	switch {
	case c.style < len(w.formats):
		shown = w.formats[c.style].section(n)
		code = w.formats[c.style].code
	case c.style == 0: // a workbook without styles
		shown = section{}
	}
	typ := triage.TextField
	if f != nil {
		typ = f.Type
	}
	text := decimal(n)
	switch shown.kind {
	case showsDate:
		if text, err = w.date(n, typ == triage.TextField); err != nil {
			return decimal(n), err
		}
		return text, onlyDates(f)
	case showsPercent:
		if typ == triage.DateField {
			return decimal(n*100) + "%", errors.New("a percentage, not a date")
		}
		return decimal(n*100) + "%", nil
	}
	switch {
	case typ == triage.TextField && n < 0:
		return text + shown.literal, nil
	case typ == triage.TextField: // a ticket shown as 000042
		return strings.Repeat("0", max(0, min(shown.zeros, 20)-len(text))) + text + shown.literal, nil
	case shown.kind == showsTime:
		return text, errors.New("the workbook shows a time here; write a number with its unit, such as 2 h")
	case shown.kind == showsUnclear:
		return text, errors.New("its number format (" + code + ") does not tell what is shown; use a plain one")
	case typ == triage.DateField:
		if shown.literal != "" || n != math.Trunc(n) {
			return text, errors.New("a number that is no whole day")
		}
		return w.date(n, false)
	}
	return text + shown.literal, lostMark(n, f)
}

// onlyDates refuses a date where none belongs: spreadsheets turn a typed 3.8 or
// 3-8 into a day of August.
func onlyDates(f *triage.Field) error {
	if f == nil || f.Type == triage.DateField || f.Type == triage.TextField {
		return nil
	}
	return errors.New("the workbook made a date of what was typed; format the cell as a number and type it again")
}

// lostMark refuses a number from which the workbook may have lost what a person
// typed or saw.
func lostMark(n float64, f *triage.Field) error {
	switch {
	case f.Unit == "%" && n > 0 && n <= 1:
		return errors.New("a share or a percentage: 0.61 could be 61 %; format the cell as a percentage, or write 61%")
	case f.Unit == "mAh" && n < 1000 && n != math.Trunc(n):
		// 4.500 typed where the point marks decimals is kept as 4.5, and a pack
		// read as 4.5 mAh would be small for every limit.
		return errors.New("a fraction of a milliampere-hour could be a thousands mark: write 4500, or 4.5Ah as text")
	}
	return nil
}

// date turns a serial day number into a date, with the time when asked for.
func (w *workbook) date(serial float64, withTime bool) (string, error) {
	text := decimal(serial)
	if w.days1904 {
		serial += 1462
	}
	if !(serial >= 61 && serial <= maxSerial) { // before 61 the calendar has a 29 February 1900
		return text, errors.New("no day number of a workbook from 1900-03-01 on; write a date such as 2026-11-25")
	}
	day, part := math.Modf(serial)
	t := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).AddDate(0, 0, int(day))
	if minutes := math.Round(part * 24 * 60); withTime && minutes > 0 {
		return t.Add(time.Duration(minutes) * time.Minute).Format("2006-01-02 15:04"), nil
	}
	return t.Format(time.DateOnly), nil
}

// parseFloat reads a number of a workbook: decimal digits, never "NaN" or hex.
func parseFloat(s string) (float64, error) {
	s = strings.TrimSpace(s)
	n, err := strconv.ParseFloat(s, 64)
	if err != nil || strings.Trim(s, "0123456789+-.eE") != "" {
		return 0, errors.New("a number that cannot be read")
	}
	return n, nil
}

// decimal prints a number as workbooks show it: fifteen significant digits, and
// of those no more than are needed, so that 3.7800000000000002 is 3.78; and at
// most the twelve decimals that a reading can have.
func decimal(n float64) string {
	n, _ = strconv.ParseFloat(strconv.FormatFloat(n, 'e', 14, 64), 64)
	if math.Abs(n) >= 1e15 {
		return strconv.FormatFloat(n, 'e', -1, 64)
	}
	s := strconv.FormatFloat(n, 'f', -1, 64)
	if i := strings.IndexByte(s, '.'); i >= 0 && len(s)-i-1 > 12 {
		s = strings.TrimRight(strings.TrimRight(strconv.FormatFloat(n, 'f', 12, 64), "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// isIndex reports whether s is a whole number from 0 to below n.
func isIndex(s string, n int) bool {
	i, err := strconv.Atoi(strings.TrimSpace(s))
	return err == nil && i >= 0 && i < n
}
