package main

import (
	"encoding/csv"
	"errors"
	"os"
	"path/filepath"
	"strconv"

	"github.com/xuri/excelize/v2"
)

// writePhoto writes pictures/front.jpg, which begins as a JPEG does and holds no
// picture.
func writePhoto(dir string) error {
	if err := os.MkdirAll(filepath.Join(dir, "pictures"), 0o777); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, "pictures", "front.jpg"), []byte("\xFF\xD8\xFF\xE0 invented photo of a cell"), 0o666)
}

// writeOdd writes lists that a text archive cannot hold: lines that end in CR alone, and
// UTF-16.
func writeOdd(dir string) error {
	return errors.Join(os.WriteFile(filepath.Join(dir, "cr.csv"), []byte("tag,ocv_v\rC1,3.78\r"), 0o666),
		os.WriteFile(filepath.Join(dir, "wide.csv"), []byte("\xFF\xFEp\x00a\x00"), 0o666))
}

// writeBooks writes the workbooks of the script tests, which a text archive
// cannot hold: intake.xlsx, the demo sheet with numbers as numbers, and a second
// sheet of cells that a workbook can spoil; cut.xlsx, the same without its end.
func writeBooks(demo, dir string) error {
	f := excelize.NewFile()
	defer f.Close()
	text, err := os.Open(filepath.Join(demo, "intake.csv"))
	if err != nil {
		return err
	}
	defer text.Close()
	rows, err := csv.NewReader(text).ReadAll()
	if err != nil {
		return err
	}
	for i, row := range rows {
		cells := make([]any, len(row))
		for c, s := range row {
			if n, err := strconv.ParseFloat(s, 64); err == nil {
				cells[c] = n
			} else if s != "" {
				cells[c] = s
			}
		}
		if err := f.SetSheetRow("Sheet1", "A"+strconv.Itoa(i+1), &cells); err != nil {
			return err
		}
	}
	if _, err := f.NewSheet("Spoilt"); err != nil {
		return err
	}
	percent, err := f.NewStyle(&excelize.Style{NumFmt: 9})
	if err != nil {
		return err
	}
	for i, row := range [][]any{
		{"Cell", "signs", "ocv_v", "pulled_on", "charge_pct", "x_shelf"},
		{"S1", "none", "#N/A", 46351, 0.61, "=A1"},
		{"S2", "smoking", 46237, "25.11.2026", 0.61, 7},
		{"S3", "none", nil, 46351, 61, nil},
	} {
		if err := f.SetSheetRow("Spoilt", "A"+strconv.Itoa(i+1), &row); err != nil {
			return err
		}
	}
	date, err := f.NewStyle(&excelize.Style{NumFmt: 14})
	if err != nil {
		return err
	}
	for _, err := range []error{f.SetCellStyle("Spoilt", "E2", "E2", percent), f.SetCellStyle("Spoilt", "C3", "C3", date),
		f.SetCellFormula("Spoilt", "C4", "=3.7+0.1")} {
		if err != nil {
			return err
		}
	}
	name := filepath.Join(dir, "intake.xlsx")
	if err := f.SaveAs(name); err != nil {
		return err
	}
	book, err := os.ReadFile(name)
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, "cut.xlsx"), book[:len(book)*3/4], 0o600)
}
