package book

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"

	"pouchward/exports/table"
	"pouchward/triage"
)

// texts are texts from outside with what a cell shows.
var texts = []struct{ text, cell string }{
	{"plain", "plain"}, {"=1+1", "'=1+1"}, {"+49 0000", "'+49 0000"}, {"@x", "'@x"}, {"34E279", "'34E279"}, {"347792", "347792"},
	{"Schließfach Ωμέγα 電池", "Schließfach Ωμέγα 電池"}, {"two\nlines", "two\nlines"}, {"a\x1b[2J\u202eb\x00", "a\uFFFD[2J\uFFFDb\uFFFD"},
	{"_x0041_ is no A", "_x0041_ is no A"}, {"<b>&amp;</b>", "<b>&amp;</b>"}, {" spaces ", " spaces "},
	{strings.Repeat("ü", 40_000), strings.Repeat("ü", mostText-len(cutMark)) + cutMark},
	{strings.Repeat("𝄞", 20_000), strings.Repeat("𝄞", (mostText-len(cutMark))/2) + cutMark},
	{strings.Repeat("x", mostText), strings.Repeat("x", mostText)},
}

type row struct{ i int }

func sampleTables() []*table.Table {
	class := []string{"isolate", "no fault seen", "emergency"}
	fields := []table.Field[row]{
		{Column: table.Column{Name: "n", Words: "number", Type: table.Whole, Text: "n"}, Of: func(x *row) table.Value { return table.OfWhole(int64(x.i)) }},
		{Column: table.Column{Name: "text", Words: "text", Text: "t", Width: 30}, Of: func(x *row) table.Value { return table.OfText(texts[x.i].text) }},
		{Column: table.Column{Name: "wh", Words: "energy", Unit: "Wh", Type: table.Decimal, Decimals: 2, Text: "e"}, Of: func(x *row) table.Value { return table.OfSomeDecimal(triage.Micro(x.i * 16_555_001)) }},
		{Column: table.Column{Name: "day", Words: "day", Type: table.Date, Text: "d"}, Of: func(x *row) table.Value { return table.OfDate(triage.Date(x.i * 20_782)) }},
		{Column: table.Column{Name: "at", Words: "at", Type: table.Time, Text: "a"}, Of: func(x *row) (v table.Value) {
			if x.i > 0 {
				v = table.OfTime(time.Date(2026, 11, 25, 14, 3, x.i, 999, time.FixedZone("", -6*3600)))
			}
			return v
		}},
		{Column: table.Column{Name: "yes", Words: "yes", Type: table.YesNo, Text: "y"}, Of: func(x *row) table.Value { return table.OfYesNo(x.i%2 == 1) }},
		{Column: table.Column{Name: "class", Words: "class", Text: "c", Marks: map[string]table.Mark{"isolate": table.Warning, "emergency": table.Danger}},
			Of: func(x *row) table.Value { return table.OfText(class[x.i%3]) }},
		{Column: table.Column{Name: "void", Words: "retracted by", Type: table.Whole, Void: true, Text: "v"}, Of: func(x *row) table.Value { return table.OfSome(int64(x.i % 2 * 90)) }},
	}
	data := table.New("data", "Data", "Invented rows.", fields, func(put func(*row) error) error {
		for i := range texts {
			if err := put(&row{i}); err != nil {
				return err
			}
		}
		return nil
	})
	months := table.New("months", "Months", "Invented months.", []table.Field[row]{
		{Column: table.Column{Name: "day", Words: "at the end of", Type: table.Date, Text: "d"}, Of: func(x *row) table.Value { return table.OfDate(triage.Date(20_000 + 30*x.i)) }},
		{Column: table.Column{Name: "kwh", Words: "hold", Unit: "kWh", Type: table.Decimal, Text: "e"}, Of: func(x *row) table.Value { return table.OfDecimal(triage.Micro(x.i) * triage.One) }},
		{Column: table.Column{Name: "kg", Words: "hold", Unit: "kg", Type: table.Decimal, Text: "m"}, Of: func(x *row) table.Value { return table.OfDecimal(triage.Micro(x.i) * triage.One) }},
	}, func(put func(*row) error) error { return errors.Join(put(&row{1}), put(&row{2})) })
	empty := table.New("empty", "Empty", "Nothing.", []table.Field[row]{{Column: table.Column{Name: "n", Words: "n", Type: table.Whole, Text: "n"}, Of: func(*row) table.Value { return table.Value{} }}},
		func(func(*row) error) error { return nil })
	summary := table.New("summary", "Summary", "First.", []table.Field[row]{
		{Column: table.Column{Name: "part", Words: "part", Text: "p"}, Of: func(*row) table.Value { return table.OfText("shop") }},
		{Column: table.Column{Name: "words", Words: "words", Text: "w", Width: 40}, Of: func(x *row) table.Value { return table.OfText(fmt.Sprint("line ", x.i)) }},
	}, func(put func(*row) error) error { return errors.Join(put(&row{1}), put(&row{2})) })
	return []*table.Table{summary, months, data, empty}
}

func sampleBook() *Book {
	return &Book{Title: "Invented & Söhne: the log", Subject: "invented", On: time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC), Tables: sampleTables(), Cover: "summary", Charts: "months"}
}

func written(t testing.TB, b *Book) []byte {
	t.Helper()
	var buf bytes.Buffer
	if err := Write(&buf, b); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

func TestSameBytesTwice(t *testing.T) {
	first := written(t, sampleBook())
	for range 5 { // the library goes over maps
		if again := written(t, sampleBook()); !bytes.Equal(first, again) {
			t.Fatal("two workbooks of the same tables differ")
		}
	}
}

// parts unpacks a workbook.
func parts(t testing.TB, data []byte) map[string]string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	m := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if !f.Modified.UTC().Equal(time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)) {
			t.Errorf("%s is of %s", f.Name, f.Modified)
		}
		m[f.Name] = string(text)
	}
	return m
}

// What a program reads off the file besides the cells.
func TestParts(t *testing.T) {
	m := parts(t, written(t, sampleBook()))
	data, cover := m["xl/worksheets/sheet3.xml"], m["xl/worksheets/sheet1.xml"]
	for _, want := range []string{
		fmt.Sprintf(`<dimension ref="A1:H%d">`, len(texts)+1), `state="frozen"`, `xSplit="1"`, `ySplit="1"`, fmt.Sprintf(`<autoFilter ref="$A$1:$H$%d">`, len(texts)+1),
		`orientation="landscape"`, `fitToWidth="1"`, `fitToHeight="0"`, `<pageSetUpPr fitToPage="true">`, `&amp;P of &amp;N`, `Invented &amp;&amp; Söhne`,
		`<conditionalFormatting sqref="G2:G` + fmt.Sprint(len(texts)+1) + `"`, `$H2&lt;&gt;`,
	} {
		if !strings.Contains(data, want) {
			t.Errorf("the sheet of data has no %s", want)
		}
	}
	if !strings.Contains(cover, `<dimension ref="A1:B7">`) || !strings.Contains(cover, `<mergeCell ref="A1:B1"`) {
		t.Error("the cover has not its dimension or its title")
	}
	if !strings.Contains(m["xl/workbook.xml"], `localSheetId="2" name="_xlnm.Print_Titles">&#39;Data&#39;!$1:$1<`) {
		t.Error("the headings are not repeated on every page")
	}
	if props := m["docProps/core.xml"]; !strings.Contains(props, "2026-11-25T00:00:00Z") || !strings.Contains(props, "Invented &amp; Söhne: the log") {
		t.Errorf("the properties are %s", props)
	}
	if strings.Count(m["xl/drawings/drawing1.xml"], "<xdr:graphicFrame") != 2 || !strings.Contains(m["xl/charts/chart1.xml"], "&#39;Months&#39;!$B$2:$B$3") {
		t.Error("the charts are not two over the rows of the months")
	}
	for name, text := range m {
		if strings.Contains(name, "externalLink") || strings.Contains(name, "vba") || strings.Contains(text, `TargetMode="External"`) || strings.Contains(name, "worksheets") && strings.Contains(text, "<f>") {
			t.Errorf("%s holds a link, a macro or a formula", name)
		}
	}
}

func TestCellsRead(t *testing.T) {
	f, err := excelize.OpenReader(bytes.NewReader(written(t, sampleBook())))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if got := strings.Join(f.GetSheetList(), ","); got != "Summary,Months,Data,Empty" {
		t.Errorf("sheets %s", got)
	}
	for i, x := range texts {
		if got, _ := f.GetCellValue("Data", fmt.Sprintf("B%d", i+2)); got != x.cell {
			t.Errorf("%.40q became %.60q (%d), want %.60q (%d)", x.text, got, len(got), x.cell, len(x.cell))
		}
		if n := len(utf16.Encode([]rune(x.cell))); n > 32_767 {
			t.Errorf("row %d has %d units", i, n)
		}
	}
	for _, c := range []struct{ cell, want string }{{"A1", "number"}, {"C1", "energy, Wh"}, {"A2", "0"}, {"C2", ""}, {"D2", ""}, {"E2", ""}, {"F2", "no"}, {"H2", ""},
		{"C3", "16.56"}, {"D3", "2026-11-25"}, {"E3", "2026-11-25 14:03:01"}, {"F3", "yes"}, {"H3", "90"}} {
		if got, err := f.GetCellValue("Data", c.cell); got != c.want || err != nil {
			t.Errorf("%s shows %q, want %q (%v)", c.cell, got, c.want, err)
		}
	}
	if got, _ := f.GetCellValue("Data", "C3", excelize.Options{RawCellValue: true}); got != "16.555001" {
		t.Errorf("the value behind 16.56 is %s", got)
	}
}

func TestNoticeIsOnEverySheet(t *testing.T) {
	b := sampleBook()
	b.Notice = "DAMAGED LOG: does not verify"
	m := parts(t, written(t, b))
	for i := range b.Tables {
		text := m[fmt.Sprintf("xl/worksheets/sheet%d.xml", i+1)]
		if !strings.Contains(text, "<oddHeader>&amp;L&amp;BDAMAGED LOG: does not verify") {
			t.Errorf("sheet %d does not say it on every page", i+1)
		}
		if want := map[string]int{"summary": 1, "data": len(texts), "months": 2}[b.Tables[i].Name]; strings.Count(text, ">DAMAGED LOG: does not verify") != want {
			t.Errorf("sheet %d says it in %d cells, want %d", i+1, strings.Count(text, ">DAMAGED LOG: does not verify"), want)
		}
	}
	if !strings.Contains(m["xl/charts/chart1.xml"], "&#39;Months&#39;!$C$2:$C$3") {
		t.Error("the charts do not go by the columns as they stand now")
	}
}

// An error of the rows comes out, and no temporary file stays.
func TestErrorLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("TMPDIR", dir)
	b := sampleBook()
	broken := errors.New("the disk went away")
	long := strings.Repeat("x", 30_000)
	b.Tables = append(b.Tables, table.New("broken", "Broken", "b", []table.Field[row]{{Column: table.Column{Name: "t", Words: "t", Text: "t"}, Of: func(*row) table.Value { return table.OfText(long) }}},
		func(put func(*row) error) error {
			for i := range 800 { // past what the library keeps in memory
				if err := put(&row{i}); err != nil {
					return err
				}
			}
			if list, _ := os.ReadDir(dir); len(list) == 0 {
				t.Error("no temporary file was made: the test shows nothing")
			}
			return broken
		}))
	if err := Write(io.Discard, b); !errors.Is(err, broken) {
		t.Errorf("%v", err)
	}
	b.Tables = sampleTables()
	if err := Write(failing{}, b); err == nil || !strings.Contains(err.Error(), "no space") {
		t.Errorf("%v", err)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, errors.New("no space left on device") }
