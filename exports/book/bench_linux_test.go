package book

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"pouchward/exports/exportstest"
	"pouchward/exports/table"
	"pouchward/triage"
)

// mostRows is how many battery cells a shop of ten years has.
const mostRows = 100_000

// benchTable has the columns of the table of cells, by type.
func benchTable(rows int) *table.Table {
	var fields []table.Field[row]
	column := func(kind table.Type, width int, of func(x *row) table.Value) {
		name := fmt.Sprintf("c%d", len(fields))
		fields = append(fields, table.Field[row]{Column: table.Column{Name: name, Words: name, Type: kind, Width: width, Decimals: 2, Text: name}, Of: of})
	}
	words := []string{"in the shop", "isolate", "damaged", "small", "casing-intact", "Store shelf", "JEHF", "pulled_on", "PX-4300", "phone", "pouch", "li-ion", "recycle", "swollen; dented"}
	at := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	column(table.Text, 9, func(x *row) table.Value { return table.OfText(triage.IssueTag(triage.CellTag, int64(x.i+1))) })
	for _, w := range words {
		column(table.Text, 16, func(*row) table.Value { return table.OfText(w) })
	}
	for range 9 {
		column(table.Whole, 0, func(x *row) table.Value { return table.OfWhole(int64(x.i)) })
	}
	for range 8 {
		column(table.Decimal, 0, func(x *row) table.Value { return table.OfDecimal(triage.Micro(16_555_000 + x.i*1000)) })
	}
	column(table.Date, 0, func(x *row) table.Value { return table.OfDate(triage.Date(20_000 + x.i%900)) })
	for range 2 {
		column(table.Time, 0, func(x *row) table.Value { return table.OfTime(at.Add(time.Duration(x.i) * time.Minute)) })
	}
	column(table.YesNo, 0, func(x *row) table.Value { return table.OfYesNo(x.i%2 == 0) })
	return table.New("cells", "Cells", "Invented.", fields, func(put func(*row) error) error {
		for i := range rows {
			if err := put(&row{i}); err != nil {
				return err
			}
		}
		return nil
	})
}

// BenchmarkBook writes battery cells, and before, what others take for the
// same cells: the library's own stream writer, with the same styles, as it comes and
// packed as cheaply as we do; and openpyxl, write-only, without styles, from a CSV, as
// a process. x_of is our time over theirs, cpu_x_of the same for the time of processors,
// which other work on the machine changes less.
func BenchmarkBook(b *testing.B) {
	rows := min(exportstest.Rows(b, 1000), mostRows)
	took, cpu := map[string]float64{}, map[string]float64{} // seconds a book
	measure := func(name string, write func() (cpu float64, err error)) {
		b.Run(fmt.Sprintf("rows=%d/by=%s", rows, name), func(b *testing.B) {
			if name == "openpyxl" && pythonWith("openpyxl") == "" {
				b.Skip("openpyxl is not installed: apt-get install python3-openpyxl")
			}
			used := 0.0
			for b.Loop() {
				before := cpuSeconds(b)
				child, err := write()
				if err != nil {
					b.Fatal(err)
				}
				used += cpuSeconds(b) - before + child
			}
			took[name], cpu[name] = b.Elapsed().Seconds()/float64(b.N), used/float64(b.N)
			b.ReportMetric(float64(rows)/took[name], "rows/s")
			b.ReportMetric(cpu[name]*1e6/float64(rows), "cpu-µs/row")
			for other := range took {
				if name == "pouchward" && other != name {
					b.ReportMetric(took[name]/took[other], "x_of_"+other)
					b.ReportMetric(cpu[name]/cpu[other], "cpu_x_of_"+other)
				}
			}
		})
	}
	dir := b.TempDir()
	if err := saveCSV(filepath.Join(dir, "cells.csv"), benchTable(rows)); err != nil {
		b.Fatal(err)
	}
	measure("openpyxl", func() (float64, error) {
		cmd := openpyxl(filepath.Join(dir, "cells.csv"), filepath.Join(dir, "cells.xlsx"), benchTable(0))
		err := cmd.Run()
		return (cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds(), err
	})
	measure("library", func() (float64, error) { return 0, bare(benchTable(rows), false) })
	measure("library-cheap", func() (float64, error) { return 0, bare(benchTable(rows), true) })
	measure("pouchward", func() (float64, error) { return 0, Write(io.Discard, benchBook(rows)) })
}

func benchBook(rows int) *Book {
	return &Book{Title: "bench", On: time.Unix(0, 0), Tables: []*table.Table{benchTable(rows)}}
}

func saveCSV(name string, t *table.Table) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	return errors.Join(table.CSV(f, t, ""), f.Close())
}

// writeAll makes a workbook of a CSV, each column read as its type.
const writeAll = `
import csv, datetime, sys, openpyxl
read = {"text": str, "whole": int, "decimal": float, "yesno": str, "date": datetime.date.fromisoformat,
    "time": lambda s: datetime.datetime.fromisoformat(s.replace("Z", "+00:00")).replace(tzinfo=None)}
types = [read[t] for t in sys.argv[3].split(",")]
book = openpyxl.Workbook(write_only=True)
sheet = book.create_sheet("Cells")
with open(sys.argv[1], newline="") as src:
    rows = csv.reader(src)
    sheet.append(next(rows))
    for row in rows:
        sheet.append([of(s) if s else None for of, s in zip(types, row)])
book.save(sys.argv[2])
`

func openpyxl(sheet, book string, t *table.Table) *exec.Cmd {
	names := map[table.Type]string{table.Text: "text", table.Whole: "whole", table.Decimal: "decimal", table.YesNo: "yesno", table.Date: "date", table.Time: "time"}
	var types []string
	for i := range t.Columns {
		types = append(types, names[t.Columns[i].Type])
	}
	return exec.Command(pythonWith("openpyxl"), "-c", writeAll, sheet, book, strings.Join(types, ","))
}

// The two of which the benchmark tells hold the same: openpyxl reads the cells of its
// own workbook as it reads those of ours.
func TestOpenpyxlWritesTheSame(t *testing.T) {
	exportstest.Need(t, pythonWith("openpyxl") != "", "openpyxl (Debian: python3-openpyxl)")
	dir := t.TempDir()
	sheet, theirs := filepath.Join(dir, "cells.csv"), filepath.Join(dir, "cells.xlsx")
	if err := saveCSV(sheet, benchTable(200)); err != nil {
		t.Fatal(err)
	}
	if out, err := openpyxl(sheet, theirs, benchTable(0)).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	var rows [2][][]string
	for i, name := range []string{saved(t, benchBook(200)), theirs} {
		out, err := exec.Command(pythonWith("openpyxl"), "-c", readAll, name).Output()
		if err != nil {
			t.Fatal(err)
		}
		var sheets map[string]struct{ Rows [][]string }
		if err := json.Unmarshal(out, &sheets); err != nil {
			t.Fatal(err)
		}
		rows[i] = sheets["Cells"].Rows
	}
	if len(rows[0]) != 201 || len(rows[1]) != 201 {
		t.Fatalf("%d and %d rows", len(rows[0]), len(rows[1]))
	}
	for i := 1; i < 201; i++ {
		if !slices.Equal(rows[0][i], rows[1][i]) {
			t.Fatalf("row %d: theirs %q, ours %q", i, rows[1][i], rows[0][i])
		}
	}
}

// cpuSeconds is how long this process has used a processor.
func cpuSeconds(b *testing.B) float64 {
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		b.Fatal(err)
	}
	return float64(r.Utime.Nano()+r.Stime.Nano()) / 1e9
}

// bare writes the values of a table with nothing around them.
func bare(t *table.Table, cheap bool) error {
	f := excelize.NewFile()
	defer f.Close()
	if cheap {
		f.SetZipWriter(func(w io.Writer) excelize.ZipWriter { return newPacker(w, &writer{Book: &Book{}}) })
	}
	s := styles{}
	if err := s.make(f); err != nil {
		return err
	}
	stream, err := f.NewStreamWriter("Sheet1")
	if err != nil {
		return err
	}
	for i := range t.Columns {
		id, err := s.column(&t.Columns[i])
		if err != nil {
			return err
		}
		if err := stream.SetColStyle(i+1, i+1, id); err != nil {
			return err
		}
	}
	x := &sheet{table: t, sums: make([]int64, len(t.Columns))}
	cells, n := make([]any, len(t.Columns)), 0
	err = t.Rows(func(row []table.Value) error {
		n++
		for i := range row {
			cells[i] = x.value(i, &row[i])
		}
		return stream.SetRow(fmt.Sprintf("A%d", n), cells)
	})
	if err != nil {
		return err
	}
	if err := stream.Flush(); err != nil {
		return err
	}
	return f.Write(io.Discard)
}
