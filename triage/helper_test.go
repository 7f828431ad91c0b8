package triage

import (
	"bufio"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const testDay = "2026-11-25"

// cases is where the shared test data stands, seen from this package.
const cases = "../testdata/cases"

func day(t testing.TB, s string) Date {
	t.Helper()
	d, err := ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func shipped(t testing.TB) *Rulebook {
	t.Helper()
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	rb, err := tables.On(day(t, testDay))
	if err != nil {
		t.Fatal(err)
	}
	return rb
}

// plain is a complete reading on which no line is crossed.
const plain = "signs=none recalled=no cell_c=22 ambient_c=21 ocv_v=3.80 chemistry=li-ion series=1 parallel=1 nominal_v=3.85 rated_mah=5000 fit=loose purpose=reuse"

// read builds a reading from "field=value field=value"; a blank value unsets.
func read(t testing.TB, lists ...string) Reading {
	t.Helper()
	var r Reading
	for _, list := range lists {
		for pair := range strings.FieldsSeq(list) {
			name, value, ok := strings.Cut(pair, "=")
			f, known := FieldByName(name)
			if !ok || !known {
				t.Fatalf("test data: %q is not field=value", pair)
			}
			if err := r.Set(f, value); err != nil {
				t.Fatalf("test data: %v", err)
			}
		}
	}
	for _, err := range r.Check() {
		t.Fatalf("test data: %v", err)
	}
	return r
}

func verdict(t testing.TB, rb *Rulebook, r Reading) *Verdict {
	t.Helper()
	v := &Verdict{}
	rb.Judge(&Case{Reading: r, On: rb.On}, v)
	return v
}

// rows reads a tab-separated test file: the first line names the columns, lines
// that begin with # say where the data comes from.
func rows(t testing.TB, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join(cases, name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var head []string
	var out []map[string]string
	sc := bufio.NewScanner(f)
	for n := 1; sc.Scan(); n++ {
		line := sc.Text()
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		cells := strings.Split(line, "\t")
		if head == nil {
			head = cells
			continue
		}
		if len(cells) != len(head) {
			t.Fatalf("%s line %d: %d cells for %d columns", name, n, len(cells), len(head))
		}
		row := map[string]string{}
		for i, h := range head {
			row[h] = cells[i]
		}
		out = append(out, row)
	}
	if err := sc.Err(); err != nil {
		t.Fatal(err)
	}
	if len(out) == 0 {
		t.Fatalf("%s holds no rows", name)
	}
	return out
}
