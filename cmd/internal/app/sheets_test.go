package app

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

func demo(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("../../../testdata/demo/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 10 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	return rows
}

// cellOf is a text as a spreadsheet would hold it once typed: a number, a date,
// a logical value; plain keeps it a text.
func cellOf(t *testing.T, f *excelize.File, text string, plain bool) any {
	t.Helper()
	if n, err := strconv.ParseFloat(text, 64); err == nil && !plain {
		return n
	}
	if day, err := time.Parse(time.DateOnly, text); err == nil && !plain {
		style, err := f.NewStyle(&excelize.Style{NumFmt: 14})
		if err != nil {
			t.Fatal(err)
		}
		return excelize.Cell{StyleID: style, Value: day}
	}
	switch {
	case text == "":
		return nil
	case (text == "yes" || text == "no") && !plain:
		return text == "yes"
	}
	return text
}

func writeXLSX(t *testing.T, rows [][]string, plain bool) string {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	w, err := f.NewStreamWriter("Sheet1")
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range rows {
		cells := make([]any, len(row))
		for c, text := range row {
			cells[c] = cellOf(t, f, text, plain || i == 0)
		}
		if err := w.SetRow("A"+strconv.Itoa(i+1), cells); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "sheet.xlsx")
	if err := f.SaveAs(name); err != nil {
		t.Fatal(err)
	}
	return name
}

var jsonNumber = regexp.MustCompile(`^-?(0|[1-9][0-9]*)(\.[0-9]+)?$`)

func writeJSONL(t *testing.T, rows [][]string) string {
	t.Helper()
	var b bytes.Buffer
	for _, row := range rows[1:] {
		b.WriteByte('{')
		for i, text := range row {
			value, err := json.Marshal(text)
			if err != nil || i >= len(rows[0]) {
				t.Fatalf("row of %d cells, %v", len(row), err)
			}
			switch {
			case jsonNumber.MatchString(text):
				value = []byte(text)
			case text == "":
				value = []byte("null")
			case text == "yes" || text == "no":
				value = strconv.AppendBool(nil, text == "yes")
			case strings.Contains(text, ";"):
				value, _ = json.Marshal(strings.Split(text, ";"))
			}
			if i > 0 {
				b.WriteByte(',')
			}
			b.WriteString(strconv.Quote(rows[0][i]) + ":" + string(value))
		}
		b.WriteString("}\n")
	}
	name := filepath.Join(t.TempDir(), "sheet.jsonl")
	if err := os.WriteFile(name, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

func sorted(t *testing.T, name, format string) string {
	t.Helper()
	var out bytes.Buffer
	sum, err := Sort(SortOptions{Files: []string{name}, Shop: &Shop{Rulebook: rulebook(t)}, Format: format, Out: &out})
	if err != nil || sum.Rows < 10 {
		t.Fatalf("%s: %d rows, %v", name, sum.Rows, err)
	}
	return out.String()
}

// The demo sheet gets the same verdicts as CSV, workbook and JSON lines, byte
// for byte, though numbers, dates and yes and no are held in other ways.
func TestEveryKindOfSheetGetsTheSameVerdicts(t *testing.T) {
	rows := demo(t, "intake.csv")
	want := sorted(t, "../../../testdata/demo/intake.csv", "jsonl")
	for kind, name := range map[string]string{"workbook": writeXLSX(t, rows, false), "workbook of texts": writeXLSX(t, rows, true), "JSON lines": writeJSONL(t, rows)} {
		got := sorted(t, name, "jsonl")
		a, b := strings.Split(want, "\n"), strings.Split(got, "\n")
		if len(a) != len(b) || len(a) != 61 {
			t.Fatalf("%s: %d lines, want %d", kind, len(b), len(a))
		}
		for i := range a {
			if a[i] != b[i] {
				t.Fatalf("%s, row %d:\n%s\nas CSV:\n%s", kind, i+1, b[i], a[i])
			}
		}
	}
}

// Bad cells are refused in a workbook as in CSV, in the same words.
func TestTheSameCellsAreRefused(t *testing.T) {
	rows := demo(t, "nasty.csv")
	want := strings.ReplaceAll(sorted(t, "../../../testdata/demo/nasty.csv", "csv"), "../../../testdata/demo/nasty.csv", "FILE")
	name := writeXLSX(t, rows, true)
	if got := strings.ReplaceAll(sorted(t, name, "csv"), name, "FILE"); got != want {
		t.Errorf("as a workbook:\n%s\nas CSV:\n%s", got, want)
	}
}

// What passes through a workbook and comes back as CSV gets the same verdicts:
// a cell that was refused is refused again.
func TestOutputOfAWorkbookSortsAgain(t *testing.T) {
	f := excelize.NewFile()
	defer f.Close()
	for i, row := range [][]any{{"tag", "signs", "charge_pct", "rated_mah", "rocks"}, {"A", "none", 0.3, 4.5, "#N/A"}, {"B", "none", 30, 4500, "yes"}} {
		if err := f.SetSheetRow("Sheet1", "A"+strconv.Itoa(i+1), &row); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.SetCellFormula("Sheet1", "B2", "=1/0"); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := f.SaveAs(dir + "/a.xlsx"); err != nil {
		t.Fatal(err)
	}
	verdicts := func(name string) (text string) {
		var out bytes.Buffer
		if _, err := Sort(SortOptions{Files: []string{name}, Shop: &Shop{Rulebook: rulebook(t)}, Format: "csv", Out: &out}); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(dir+"/out.csv", out.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(&out).ReadAll()
		if err != nil || len(rows) != 3 {
			t.Fatalf("%d rows, %v", len(rows), err)
		}
		for _, row := range rows {
			text += strings.Join(row[:len(row)-1], "|") + "\n" // but for the words of the refusal
		}
		return text
	}
	first := verdicts(dir + "/a.xlsx")
	if second := verdicts(dir + "/out.csv"); second != first {
		t.Errorf("first:\n%s\nsecond:\n%s", first, second)
	}
}

// Bytes of a stream are counted, and a bad sheet stops before anything is judged.
func TestProgressCountsStreams(t *testing.T) {
	var count, out bytes.Buffer
	sheet := "tag\n" + strings.Repeat("A\n", 100)
	if _, err := Sort(SortOptions{Files: []string{"-"}, Stdin: strings.NewReader(sheet), Shop: &Shop{Rulebook: rulebook(t)}, Format: "csv", Out: &out, Progress: &count}); err != nil || count.Len() != len(sheet) {
		t.Errorf("standard input: %d bytes counted, %v", count.Len(), err)
	}
	name := filepath.Join(t.TempDir(), "a.csv")
	if err := os.WriteFile(name, []byte(sheet), 0o600); err != nil {
		t.Fatal(err)
	}
	count.Reset()
	if _, err := Sort(SortOptions{Files: []string{name}, Shop: &Shop{Rulebook: rulebook(t)}, Format: "csv", Out: &out, Progress: &count}); err != nil || count.Len() != len(sheet) {
		t.Errorf("a file: %d bytes counted, %v", count.Len(), err)
	}
}
