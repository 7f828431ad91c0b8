package app

import (
	"bytes"
	"io"
	"os"
	"runtime"
	"slices"
	"testing"
)

// sheetOf gives the rows of a sheet so many times over and never holds them all. Now
// and then it notes how much lives in memory.
type sheetOf struct {
	rows  []byte
	times int
	now   *bytes.Reader
	done  int
	lives []uint64 // bytes, each after a collection
}

func (s *sheetOf) Read(p []byte) (int, error) {
	for s.now.Len() == 0 {
		if s.done == s.times {
			return 0, io.EOF
		}
		s.done++
		if s.done%40 == 0 {
			runtime.GC()
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			s.lives = append(s.lives, m.HeapAlloc)
		}
		s.now = bytes.NewReader(s.rows)
	}
	return s.now.Read(p)
}

func median(list []uint64) uint64 {
	list = slices.Sorted(slices.Values(list))
	return list[len(list)/2]
}

// What lives while the last third of 36,000 rows is sorted is no more than while the
// second was, but for the batches that happen to be on their way: 12,000 verdicts
// held would be 150 MB of JSON lines, and 6 MB of CSV.
func TestSortMemoryDoesNotGrow(t *testing.T) {
	demo, err := os.ReadFile("../../../testdata/demo/intake.csv")
	if err != nil {
		t.Fatal(err)
	}
	head := bytes.IndexByte(demo, '\n') + 1
	for format, slack := range map[string]uint64{"csv": 4 << 20, "jsonl": 40 << 20} {
		in := &sheetOf{rows: demo[head:], times: 600, now: bytes.NewReader(demo[:head])}
		sum, err := Sort(SortOptions{Files: []string{"-"}, Stdin: in, Shop: &Shop{Rulebook: rulebook(t)}, Format: format, Out: io.Discard})
		if err != nil {
			t.Fatal(err)
		}
		if want := 36_000; sum.Rows != want {
			t.Fatalf("%d rows judged, want %d", sum.Rows, want)
		}
		third := len(in.lives) / 3
		second, last := median(in.lives[third:2*third]), median(in.lives[2*third:])
		if last > second+slack {
			t.Errorf("%s: %d kB live in the last third of the rows, %d kB in the one before", format, last>>10, second>>10)
		}
	}
}
