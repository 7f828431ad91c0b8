package book

import (
	"fmt"
	"io"
	"syscall"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"pouchward/exports/table"
	"pouchward/triage"
)

// benchRows is how many battery cells a shop of ten years has.
const benchRows = 100_000

// benchTable has the columns of the table of cells, by type.
func benchTable() *table.Table {
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
		for i := range benchRows {
			if err := put(&row{i}); err != nil {
				return err
			}
		}
		return nil
	})
}

// BenchmarkBook writes 100,000 battery cells, and side by side what the library's
// own stream writer takes for the same cells of a sheet with the same styles: as it
// comes, and packed as cheaply as we do.
func BenchmarkBook(b *testing.B) {
	report := func(b *testing.B, before float64) {
		b.ReportMetric(float64(b.N*benchRows)/b.Elapsed().Seconds(), "rows/s")
		b.ReportMetric((cpuSeconds(b)-before)/float64(b.N), "cpu-s/op") // what other work on the machine does not change
	}
	b.Run("export", func(b *testing.B) {
		before := cpuSeconds(b)
		for b.Loop() {
			if err := Write(io.Discard, &Book{Title: "bench", On: time.Unix(0, 0), Tables: []*table.Table{benchTable()}}); err != nil {
				b.Fatal(err)
			}
		}
		report(b, before)
	})
	for _, cheap := range []bool{false, true} {
		b.Run(fmt.Sprintf("bare/cheap=%v", cheap), func(b *testing.B) {
			before := cpuSeconds(b)
			for b.Loop() {
				if err := bare(benchTable(), cheap); err != nil {
					b.Fatal(err)
				}
			}
			report(b, before)
		})
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
