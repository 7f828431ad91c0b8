package app

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"testing"
	"time"

	"pouchward/exports/exportstest"
	"pouchward/triage"
)

// benchSheet is the demo sheet over and over, so many rows of it, each with a tag of its
// own. It is made as it is read: a million rows take no more memory than sixty.
type benchSheet struct {
	lines [][]byte // the sixty rows, one after the other in body
	body  []byte
	rest  []byte // of what is read next
	left  int    // rows after those
}

const demoRows = 60

// newBenchSheet returns how to begin the sheet again, and its length in bytes.
func newBenchSheet(b *testing.B, rows int) (begin func() io.Reader, size int64) {
	b.Helper()
	demo, err := os.ReadFile("../../../testdata/demo/intake.csv")
	if err != nil {
		b.Fatal(err)
	}
	head := bytes.IndexByte(demo, '\n') + 1
	if n := bytes.Count(demo[head:], []byte("\n")); n != demoRows || rows%n != 0 {
		b.Fatalf("the demo sheet has %d lines below its header; %d rows are wanted", n, rows)
	}
	begin = func() io.Reader {
		body := bytes.Clone(demo[head:])
		return &benchSheet{lines: bytes.SplitAfter(body, []byte("\n"))[:demoRows], body: body, rest: demo[:head], left: rows}
	}
	return begin, int64(head) + int64(len(demo)-head)*int64(rows/demoRows)
}

// Read implements io.Reader.
func (s *benchSheet) Read(p []byte) (int, error) {
	if len(s.rest) == 0 {
		if s.left == 0 {
			return 0, io.EOF
		}
		for i, line := range s.lines {
			copy(line, triage.IssueTag(triage.CellTag, int64(s.left-i))) // as long as the one of the demo
		}
		s.rest, s.left = s.body, s.left-demoRows
	}
	n := copy(p, s.rest)
	s.rest = s.rest[n:]
	return n, nil
}

// BenchmarkSort reads, judges and writes; to=copy, its reference, reads and writes
// the same sheet without judging. x_of_copy is how many times as long we take.
func BenchmarkSort(b *testing.B) {
	rows := (exportstest.Rows(b, 600) + demoRows - 1) / demoRows * demoRows // whole demos
	begin, size := newBenchSheet(b, rows)
	var reference time.Duration // of one copy
	for _, to := range []string{"copy", "csv", "jsonl", "table"} {
		b.Run(fmt.Sprintf("rows=%d/to=%s", rows, to), func(b *testing.B) {
			shop := &Shop{Rulebook: rulebook(b)}
			b.SetBytes(size)
			b.ReportAllocs()
			for b.Loop() {
				if to == "copy" {
					copySheet(b, begin())
				} else if sum, err := Sort(SortOptions{Files: []string{"-"}, Stdin: begin(), Shop: shop, Format: to, Out: io.Discard}); err != nil || sum.Rows != rows || sum.Refused > 0 {
					b.Fatal(sum.Rows, err)
				}
			}
			one := b.Elapsed() / time.Duration(b.N)
			b.ReportMetric(float64(rows)/one.Seconds(), "rows/s")
			if to == "copy" {
				reference = one
			} else if reference > 0 {
				b.ReportMetric(one.Seconds()/reference.Seconds(), "x_of_copy")
			}
		})
	}
}

func copySheet(b *testing.B, sheet io.Reader) {
	r := csv.NewReader(sheet)
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
