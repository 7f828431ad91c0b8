package book

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"pouchward/exports/exportstest"
	"pouchward/exports/table"
)

// expected are the rows of a sheet as its table gives them, in the spelling of the
// CSV, the headings first.
func expected(t *testing.T, tab *table.Table) [][]string {
	t.Helper()
	var b bytes.Buffer
	if err := table.CSV(&b, tab, ""); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(b.String(), "\ufeff"))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for i := range rows {
		for k := range rows[i] {
			c := &tab.Columns[k]
			if c.Type == table.Time && i > 0 && rows[i][k] != "" {
				rows[i][k] = strings.Replace(rows[i][k][:19], "T", " ", 1) // a sheet shows the clock alone
			}
			rows[i][k] = cut(rows[i][k])
		}
	}
	return rows
}

func saved(t *testing.T, b *Book) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "book.xlsx")
	if err := os.WriteFile(name, written(t, b), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

const readAll = `
import datetime, json, sys, openpyxl
book = openpyxl.load_workbook(sys.argv[1])
def text(v):
    if v is None: return ""
    if isinstance(v, datetime.datetime): return v.strftime("%Y-%m-%d") if v.time() == datetime.time() else (v + datetime.timedelta(microseconds=500000)).strftime("%Y-%m-%d %H:%M:%S")
    if isinstance(v, float): return repr(round(v, 6)).rstrip("0").rstrip(".")
    return str(v)
print(json.dumps({s.title: {"size": s.dimensions, "types": sorted({c.data_type for r in s.iter_rows() for c in r}), "rows": [[text(c.value) for c in r] for r in s.iter_rows()]} for s in book}))
`

// pythonWith is a Python that has a module, blank for none: Debian's own keeps what
// Debian installs, and another may come before it in the path.
func pythonWith(module string) string {
	for _, name := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(name, "-c", "import "+module).Run() == nil {
			return name
		}
	}
	return ""
}

// A second reader sees the same cells, numbers as numbers and dates as dates, and
// no formula.
func TestAnotherReaderSeesTheSame(t *testing.T) {
	python := pythonWith("openpyxl")
	exportstest.Need(t, python != "", "openpyxl (Debian: python3-openpyxl)")
	b := sampleBook()
	out, err := exec.Command(python, "-c", readAll, saved(t, b)).Output()
	if err != nil {
		t.Fatalf("%v: %s", err, err.(*exec.ExitError).Stderr)
	}
	var got map[string]struct {
		Size  string
		Types []string
		Rows  [][]string
	}
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	for _, tab := range b.Tables {
		want, sheet := expected(t, tab), got[tab.Title]
		skip := 0
		if tab.Name == b.Cover {
			skip = coverRows - 1
		}
		if want := dimension(len(tab.Columns), len(want)+skip); sheet.Size != want && tab.Title != "Empty" {
			t.Errorf("%s is %s, want %s", tab.Title, sheet.Size, want)
		}
		if strings.Contains(strings.Join(sheet.Types, ""), "f") {
			t.Errorf("%s holds formulas: types %v", tab.Title, sheet.Types)
		}
		// Debian's openpyxl leaves the escape of ST_Xstring (ECMA-376 part 1, 22.9.2.19)
		// as it stands in the file; LibreOffice above reads it.
		for _, row := range sheet.Rows[skip:] {
			for i := range row {
				row[i] = strings.ReplaceAll(row[i], "_x005F_", "_")
			}
		}
		compare(t, tab.Title, sheet.Rows[skip:], want)
	}
}

func compare(t *testing.T, title string, got, want [][]string) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%s has %d rows, want %d", title, len(got), len(want))
		return
	}
	for i := range want {
		for k := range want[i] {
			if got[i][k] != want[i][k] {
				t.Errorf("%s row %d column %d: %.80q (%d), want %.80q (%d)", title, i+1, k+1, got[i][k], len(got[i][k]), want[i][k], len(want[i][k]))
			}
		}
	}
}

// LibreOffice opens the workbook and gives each sheet back as CSV with the same
// values: its filter is told not to write cells as shown, so that a number comes out
// whole (its manual, filter options of Text - txt - csv, tokens 8 and 12).
func TestLibreOfficeSeesTheSame(t *testing.T) {
	if testing.Short() {
		t.Skip("LibreOffice takes seconds to start")
	}
	path, err := exec.LookPath("soffice")
	exportstest.Need(t, err == nil, "LibreOffice (Debian: libreoffice-calc)")
	b := sampleBook()
	name := saved(t, b)
	dir := t.TempDir()
	cmd := exec.Command(path, "-env:UserInstallation=file://"+filepath.ToSlash(t.TempDir()), "--headless", "--convert-to",
		`csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1`, "--outdir", dir, name)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	for _, tab := range b.Tables {
		data, err := os.ReadFile(filepath.Join(dir, fmt.Sprintf("book-%s.csv", tab.Title)))
		if err != nil {
			t.Errorf("sheet %s was not given back: %v", tab.Title, err)
			continue
		}
		r := csv.NewReader(bytes.NewReader(data))
		r.FieldsPerRecord = -1
		rows, err := r.ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		if tab.Name == b.Cover {
			rows = rows[coverRows-1:]
		}
		compare(t, tab.Title, rows, expected(t, tab))
	}
}
