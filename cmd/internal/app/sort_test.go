package app

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
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

// A tag that comes again, in whatever spelling, is told in the row that bears it again
// and betters nothing; a row without a tag is nobody's second.
func TestSortTellsATagThatComesTwice(t *testing.T) {
	dir := t.TempDir()
	one, two := filepath.Join(dir, "one.csv"), filepath.Join(dir, "two.csv")
	for name, text := range map[string]string{
		one: "tag,signs,note\n2HXXHP,swollen,\nshelf 1,none,\n,none,\n,none,\n2hx-xhp,none,\nShelf 1,none,\n",
		two: "tag,signs,note\nshelf 1,none,\nnew,none,\n 2HX XHP ,none,\n2HXXHR,none,no tag of ours\n2HXXHR,none,\n",
	} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	var out bytes.Buffer
	sum, err := Sort(SortOptions{Files: []string{one, two}, Shop: &Shop{Rulebook: rulebook(t)}, Format: "jsonl", Out: &out})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for line := range strings.SplitSeq(strings.TrimSpace(out.String()), "\n") {
		var v struct{ Error []string }
		if err := json.Unmarshal([]byte(line), &v); err != nil {
			t.Fatal(err)
		}
		text := strings.ReplaceAll(strings.Join(v.Error, ";"), dir+string(filepath.Separator), "")
		text, _, _ = strings.Cut(text, " too: ")
		got = append(got, text)
	}
	want := []string{"", "", "", "", "one.csv line 6: the tag stands in one.csv line 2", "",
		"two.csv line 2: the tag stands in one.csv line 3", "", "two.csv line 4: the tag stands in one.csv line 2", "",
		"two.csv line 6: the tag stands in two.csv line 5"}
	if !slices.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	if sum.Refused != 4 {
		t.Errorf("%d remarks, want 4", sum.Refused)
	}
}

// What is kept of tags that are none of ours has a bound; our own are all kept.
func TestSheetTagsAreBounded(t *testing.T) {
	s := newSheetTags()
	for i := range mostOtherTags + 1000 {
		s.take(fmt.Sprint("shelf ", i), place{line: uint32(i + 2)})
	}
	long := strings.Repeat("x", longestOtherTag+1)
	s.take(long, place{line: 1})
	if len(s.others) != mostOtherTags || s.take("shelf 7", place{line: 1}).line != 9 || s.take(long, place{line: 2}) != (place{}) {
		t.Errorf("%d kept", len(s.others))
	}
	for n := range int64(70_000) {
		if before := s.take(triage.IssueTag(triage.CellTag, n), place{line: uint32(n + 2)}); before != (place{}) {
			t.Fatalf("tag %d is taken for that of line %d", n, before.line)
		}
	}
	if before := s.take(triage.IssueTag(triage.CellTag, 69_999), place{line: 1}); before.line != 70_001 {
		t.Errorf("got %v", before)
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
