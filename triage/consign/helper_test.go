package consign

import (
	"bufio"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pouchward/triage"
)

// cases is where the shared test data stands, seen from this package.
const cases = "../../testdata/cases"

// plain is a complete reading on which no line is crossed. Invented.
const plain = "kind=pouch signs=none recalled=no cell_c=22 ambient_c=21 ocv_v=3.80 chemistry=li-ion series=1 parallel=1 nominal_v=3.85 rated_mah=3000 fit=loose purpose=recycle type_tested=yes mass_g=50"

func book(t testing.TB) *triage.Rulebook {
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

// item builds an item from "field=value" lists; a blank value unsets. The words
// net_g, gross_g and count set what stands beside the reading, has=ID an approval.
func item(t testing.TB, tag string, lists ...string) Item {
	t.Helper()
	it := Item{Tag: tag}
	for _, list := range lists {
		for pair := range strings.FieldsSeq(list) {
			name, value, ok := strings.Cut(pair, "=")
			mass := func() triage.Micro {
				m, err := triage.ParseQuantity(value, "g", false)
				if err != nil {
					t.Fatal(err)
				}
				return m
			}
			switch name {
			case "net_g":
				it.NetG = mass()
				continue
			case "gross_g":
				it.MassG = mass()
				continue
			case "count":
				it.Count = int(mass() / triage.One)
				continue
			case "has":
				it.Case.InHand = append(it.Case.InHand, value)
				continue
			}
			f, known := triage.FieldByName(name)
			if !ok || !known {
				t.Fatalf("test data: %q is not field=value", pair)
			}
			if err := it.Case.Reading.Set(f, value); err != nil {
				t.Fatalf("test data: %v", err)
			}
		}
	}
	return it
}

func route(t testing.TB, name string) triage.Route {
	t.Helper()
	list, err := triage.ParseRoutes([]string{name})
	if err != nil {
		t.Fatal(err)
	}
	return list[0]
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
