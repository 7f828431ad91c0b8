package app

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pouchward/triage"
)

func rulebook(t testing.TB) *triage.Rulebook {
	t.Helper()
	tables, err := triage.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	on, err := triage.ParseDate("2026-11-25")
	if err != nil {
		t.Fatal(err)
	}
	rb, err := tables.On(on)
	if err != nil {
		t.Fatal(err)
	}
	return rb
}

// Rows keep their order through the parallel pipeline, and every row gets the
// verdict that it gets alone.
func TestSortKeepsOrderAndVerdicts(t *testing.T) {
	var sheet strings.Builder
	sheet.WriteString("tag,signs,cell_c,ambient_c,recalled,ocv_v,chemistry,series,parallel\n")
	const n = 5000
	for i := range n {
		signs := "none"
		if i%7 == 0 {
			signs = "swollen"
		}
		fmt.Fprintf(&sheet, "T%05d,%s,%d,21,no,3.8,li-ion,1,1\n", i, signs, 21+i%12)
	}
	var out bytes.Buffer
	sum, err := Sort(SortOptions{Files: []string{"-"}, Stdin: strings.NewReader(sheet.String()), Shop: &Shop{Rulebook: rulebook(t)}, Format: "csv", Out: &out})
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	if len(lines) != n+1 || sum.Rows != n {
		t.Fatalf("%d lines, %d rows counted, want %d", len(lines)-1, sum.Rows, n)
	}
	for i, l := range lines[1:] {
		want := "sound"
		switch rise := i % 12; {
		case rise >= 10:
			want = "emergency"
		case rise >= 5 || i%7 == 0:
			want = "isolate"
		case rise >= 3:
			want = "hold"
		}
		if !strings.HasPrefix(l, fmt.Sprintf("T%05d,", i)) || !strings.Contains(l, ",1,1,"+want+",") {
			t.Fatalf("row %d: %s, want %s", i, l, want)
		}
	}
}

type failingWriter struct{ after int }

var errFull = errors.New("no space left")

func (w *failingWriter) Write(p []byte) (int, error) {
	if w.after -= len(p); w.after < 0 {
		return 0, errFull
	}
	return len(p), nil
}

func TestSortStopsWhenTheDiskIsFull(t *testing.T) {
	sheet := "tag,signs\n" + strings.Repeat("T,none\n", 200_000)
	_, err := Sort(SortOptions{Files: []string{"-"}, Stdin: strings.NewReader(sheet), Shop: &Shop{Rulebook: rulebook(t)}, Format: "csv", Out: &failingWriter{after: 100_000}})
	if !errors.Is(err, errFull) {
		t.Errorf("got %v", err)
	}
}

func TestWriteWholeLeavesNothingBehind(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "out.csv")
	if err := os.WriteFile(name, []byte("before"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, sortErr := Sort(SortOptions{Shop: &Shop{Rulebook: rulebook(t)}})
	if sortErr == nil {
		t.Fatal("no format was accepted")
	}
	err := WriteWhole(name, func(w io.Writer) error {
		if _, err := w.Write([]byte("half")); err != nil {
			return err
		}
		return errFull
	})
	if !errors.Is(err, errFull) {
		t.Errorf("got %v", err)
	}
	if got, _ := os.ReadFile(name); string(got) != "before" {
		t.Errorf("the file reads %q", got)
	}
	if entries, _ := os.ReadDir(dir); len(entries) != 1 {
		t.Errorf("%d files left", len(entries))
	}
}
