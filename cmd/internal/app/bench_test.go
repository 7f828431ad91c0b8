package app

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"os"
	"testing"
)

// benchSheet is the demo sheet repeated to 12,000 rows.
func benchSheet(b *testing.B) (sheet []byte, rows int) {
	b.Helper()
	demo, err := os.ReadFile("../../../testdata/demo/intake.csv")
	if err != nil {
		b.Fatal(err)
	}
	head := bytes.IndexByte(demo, '\n') + 1
	return append(demo[:head:head], bytes.Repeat(demo[head:], 200)...), 200 * 60
}

// BenchmarkSort reads, judges and writes; BenchmarkCopy, its reference, reads
// and writes the same sheet without judging. Compare their rows/s.
func BenchmarkSort(b *testing.B) {
	sheet, rows := benchSheet(b)
	for _, format := range []string{"csv", "jsonl", "table"} {
		b.Run(format, func(b *testing.B) {
			shop := &Shop{Rulebook: rulebook(b)}
			b.SetBytes(int64(len(sheet)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Sort(SortOptions{Files: []string{"-"}, Stdin: bytes.NewReader(sheet), Shop: shop, Format: format, Out: io.Discard}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(rows*b.N)/b.Elapsed().Seconds(), "rows/s")
		})
	}
}

func BenchmarkCopy(b *testing.B) {
	sheet, rows := benchSheet(b)
	b.SetBytes(int64(len(sheet)))
	b.ReportAllocs()
	for b.Loop() {
		r := csv.NewReader(bytes.NewReader(sheet))
		r.ReuseRecord = true
		w := csv.NewWriter(io.Discard)
		for {
			record, err := r.Read()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				b.Fatal(err)
			}
			if err := w.Write(record); err != nil {
				b.Fatal(err)
			}
		}
		w.Flush()
	}
	b.ReportMetric(float64(rows*b.N)/b.Elapsed().Seconds(), "rows/s")
}
