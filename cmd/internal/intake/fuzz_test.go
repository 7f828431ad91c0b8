package intake

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"

	"pouchward/triage"
)

// fuzzTime is how long one small file may take: what takes longer is a bomb.
const fuzzTime = 10 * time.Second

// checkRows checks what holds of every sheet that was read: a row has a cell for each
// column, and a cell that was refused is not known, but for bad news.
func checkRows(t *testing.T, got *read, s *Sheet) {
	t.Helper()
	for i := range got.rows {
		if len(got.rows[i].Cells) != len(s.Columns) {
			t.Fatalf("%d cells for %d columns", len(got.rows[i].Cells), len(s.Columns))
		}
		for _, why := range got.rows[i].Refused {
			if len(got.refused[i]) == 0 {
				t.Fatalf("row %d: %+v is not told", i, why)
			}
			if why.Column < 0 || why.Column >= len(s.Columns) || s.Columns[why.Column].Kind != FieldColumn {
				continue
			}
			f := s.Columns[why.Column].Field
			if v := got.readings[i][f]; v.State == triage.Known && v.Num == 0 {
				t.Fatalf("row %d: %s was refused and is %+v", i, triage.Fields[f].Name, v)
			}
		}
	}
}

// Whatever the bytes of a workbook are, it is refused with its name, or read within
// the time, twice the same; and never whole after its last bytes are cut off.
func FuzzWorkbook(f *testing.F) {
	books := [][]byte{
		built(f, func(x *excelize.File) {
			must(f, x.SetSheetRow("Sheet1", "A1", &[]any{"tag", "signs", "ocv_v", "pulled_on"}),
				x.SetSheetRow("Sheet1", "A2", &[]any{"A", "swollen", 3.7, time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)}), x.MergeCell("Sheet1", "B2", "B3"))
		}),
		packed(f, partsOf(sheetOf(head("tag", "swollen")+"<row>"+text("A")+`<c t="b"><v>1</v></c></row>`), []string{"none"}, "0%")),
		packed(f, map[string]string{"a": "b"}), []byte("PK\x03\x04"), oleMark, []byte("PK\x05\x06" + strings.Repeat("\x00", 18)), nil,
	}
	if got := readBook(books[1], "", nil); got.err != nil || len(got.rows) != 1 {
		f.Fatal(got.err)
	}
	for _, b := range books {
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, book []byte) {
		began := time.Now()
		s, err := OpenXLSX("t.xlsx", bytes.NewReader(book), int64(len(book)), "", nil)
		got := drain(s, err)
		if took := time.Since(began); took > fuzzTime {
			t.Fatalf("%d bytes took %s", len(book), took)
		}
		if got.err != nil && !strings.Contains(got.err.Error(), "t.xlsx") {
			t.Fatalf("refused without its name: %v", got.err)
		}
		if err == nil {
			checkRows(t, &got, s)
		}
		if got.err != nil {
			return
		}
		if again := readBook(book, "", nil); again.err != nil || !slices.Equal(again.readings, got.readings) {
			t.Fatalf("another time it reads otherwise, %v", again.err)
		}
		if cut := readBook(book[:len(book)-22], "", nil); cut.err == nil && len(cut.rows) < len(got.rows) {
			t.Fatal("cut, and taken for whole")
		}
	})
}

// The parts of a workbook, each whole in a sound zip, whatever they say: what is read
// is what the workbook library reads by itself, or is refused.
func FuzzWorkbookParts(f *testing.F) {
	sheet := strings.Replace(sheetOf(head("tag", "signs", "ocv_v")+`<row r="2"><c r="A2" t="s"><v>0</v></c><c r="B2" t="s"><v>1</v></c><c r="C2" s="1"><v>3.8</v></c></row>`), "</sheetData>",
		`</sheetData><mergeCells><mergeCell ref="A4:B5"/></mergeCells>`, 1)
	ok := partsOf(sheet, []string{"A", "swollen"}, `0.0" V"`)
	add := func(change func(parts map[string]string)) {
		p := map[string]string{}
		for name, text := range ok {
			p[name] = text
		}
		change(p)
		f.Add(p["xl/worksheets/sheet1.xml"], p["xl/sharedStrings.xml"], p["xl/workbook.xml"], p["xl/_rels/workbook.xml.rels"], p["xl/styles.xml"])
	}
	add(func(map[string]string) {})
	for _, c := range []struct{ part, from, to string }{
		{"xl/sharedStrings.xml", "<si><t>A</t></si>", "<si><r><t>A</t></r><r><t>1</t></r></si>"}, {"xl/sharedStrings.xml", "<t>A</t>", `<t xml:space="preserve"> A&#10;_x000D_</t><rPh><t>x</t></rPh>`},
		{"xl/sharedStrings.xml", "<si><t>A</t></si>", ""}, {"xl/workbook.xml", "<sheets>", `<workbookPr date1904="1"/><sheets>`}, {"xl/workbook.xml", "r1", "r2"},
		{"xl/workbook.xml", "</sheets>", `<sheet name="T" sheetId="2" r:id="r1"/></sheets>`}, {"xl/_rels/workbook.xml.rels", "worksheets/sheet1.xml", "../xl/worksheets/sheet1.xml"},
		{"xl/_rels/workbook.xml.rels", "sharedStrings.xml", "worksheets/sheet1.xml"}, {"xl/styles.xml", "<cellXfs>", "<cellXfs><xf/>"}, {"xl/styles.xml", "0.0", "yyyy"},
		{"xl/worksheets/sheet1.xml", "<row r=\"2\">", "<row r=\"7\">"}, {"xl/worksheets/sheet1.xml", "<c r=\"C2\" s=\"1\">", "<c r=\"C2\" s=\"1\" t=\"str\">"}, {"xl/worksheets/sheet1.xml", "3.8", "3,8"},
	} {
		add(func(p map[string]string) { p[c.part] = strings.Replace(p[c.part], c.from, c.to, 1) })
	}
	f.Fuzz(func(t *testing.T, sheet, texts, book, rels, styles string) {
		if len(sheet)+len(texts)+len(book)+len(rels)+len(styles) > 1<<16 {
			return
		}
		parts := partsOf(sheet, nil)
		parts["xl/sharedStrings.xml"], parts["xl/workbook.xml"], parts["xl/_rels/workbook.xml.rels"], parts["xl/styles.xml"] = texts, book, rels, styles
		data := packed(t, parts)
		began := time.Now()
		s, err := OpenXLSX("t.xlsx", bytes.NewReader(data), int64(len(data)), "", nil)
		got := drain(s, err)
		if took := time.Since(began); took > fuzzTime {
			t.Fatalf("took %s", took)
		}
		if got.err != nil && !strings.Contains(got.err.Error(), "t.xlsx") {
			t.Fatalf("refused without its name: %v", got.err)
		}
		if err != nil {
			return
		}
		checkRows(t, &got, s)
		if got.err != nil {
			return
		}
		for name, cut := range parts {
			if !strings.Contains(name, "sheet1.xml") && !strings.Contains(name, "haredStrings") {
				continue // its relation may lead elsewhere
			}
			if !strings.Contains(rels, `Target="worksheets/sheet1.xml"`) || !strings.Contains(rels, `Target="sharedStrings.xml"`) || strings.Count(rels, "Target") != 3 {
				continue
			}
			end := strings.LastIndexByte(cut, '<')
			if end < 0 || strings.HasPrefix(cut[end:], "<!--") || strings.HasPrefix(cut[end:], "<?") {
				continue
			}
			parts[name] = cut[:end]
			if again := readBook(packed(t, parts), "", nil); again.err == nil {
				t.Fatalf("%s cut to %q is taken for whole", name, cut[:end])
			}
			parts[name] = cut
		}
	})
}

// A table in every form in which a CSV file can come reads the same, or is refused:
// with a mark before it, with other line ends, with another separator, in UTF-16. No
// row that holds anything is left out, and none that is longer than its header goes
// unmarked.
func FuzzSheetForms(f *testing.F) {
	for _, s := range []string{"tag,ocv_v\nA,3.78\nB,3.9\n", "tag,signs,note\nA,none,\"x\"\"y\"\nB,\"swollen\ndented\",z\n", "tag,ocv_v,cell_c,note\nA,3,80,22,\n", "tag\nA\rB\n", "tag,note\r\nA,x\rB,y\r\n", "sep=;\ntag;ocv_v\nA;3,78\n",
		"tag,x_a\rA,1", "tag,ocv_v\n\"A\",\"3,78\"\n\n ,\nB,,,\n", "tag,note\nA,\xe9\n", "tag,note\nA,\x00\n", "tag,cell_c\nA,22º\n", "tag,note\n'34E279,'=1\n", "tag;ocv_v\nA;3,78;;\n"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := OpenCSV("t.csv", strings.NewReader(text), nil)
		got := drain(s, err)
		if got.err != nil && !strings.Contains(got.err.Error(), "t.csv") {
			t.Fatalf("refused without its name: %v", got.err)
		}
		for _, order := range [][]byte{{0xFF, 0xFE}, {0xFE, 0xFF}} {
			wide := order
			for _, u := range utf16.Encode([]rune(text)) {
				if order[0] == 0xFF {
					wide = append(wide, byte(u), byte(u>>8))
				} else {
					wide = append(wide, byte(u>>8), byte(u))
				}
			}
			if x := drain(OpenCSV("t.csv", bytes.NewReader(wide), nil)); x.err == nil {
				t.Fatalf("UTF-16 of %q is read", text)
			}
		}
		if err != nil {
			return
		}
		checkRows(t, &got, s)
		for i := range got.rows {
			if (got.rows[i].Extra > 0 || got.rows[i].Shifted != "") && (got.rows[i].Written == nil || len(got.refused[i]) == 0) {
				t.Fatalf("row %d is longer than its header and is not marked", i)
			}
			for j, c := range got.rows[i].Cells {
				if s.Columns[j].Kind == FieldColumn && strings.Contains(c, "\r") && len(got.refused[i]) == 0 {
					t.Fatalf("row %d: two lines may be in one, and it is not marked", i)
				}
			}
		}
		if got.err != nil || strings.HasPrefix(text, "sep=") {
			return
		}
		compare := func(how, form string) {
			x := drain(OpenCSV("t.csv", strings.NewReader(form), nil))
			if x.err != nil || !slices.Equal(x.readings, got.readings) {
				t.Fatalf("%s, %q reads %d rows, not %d, or others, %v", how, form, len(x.readings), len(got.readings), x.err)
			}
		}
		if !strings.HasPrefix(text, "\uFEFF") {
			compare("with a mark", "\uFEFF"+text)
		}
		if !strings.ContainsAny(text, "\r\"") {
			compare("with CR LF", strings.ReplaceAll(text, "\n", "\r\n"))
			lines := 0
			for l := range strings.SplitSeq(text, "\n") {
				if strings.Trim(strings.Map(func(r rune) rune {
					if r == ',' || r == ';' {
						return ' '
					}
					return r
				}, l), " \t\u00a0\u0085\u2028\u2029\u3000\v\f") != "" && strings.TrimSpace(l) != "" {
					lines++
				}
			}
			if len(got.rows)+1 < lines && separatorOf(s) != '\t' {
				t.Fatalf("%d lines hold something, %d rows were read", lines, len(got.rows))
			}
		}
		if slices.ContainsFunc(got.rows, func(r Row) bool { return r.Shifted != "" }) {
			return // a decimal comma parts no cell where semicolons do
		}
		// Written anew by the standard library with another separator.
		var b strings.Builder
		w := csv.NewWriter(&b)
		w.Comma = ';'
		r := csv.NewReader(strings.NewReader(strings.TrimPrefix(text, "\uFEFF")))
		r.FieldsPerRecord, r.Comma = -1, separatorOf(s)
		for {
			cells, err := r.Read()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("%q is read here, and not there: %v", text, err)
			}
			must(t, w.Write(cells))
		}
		w.Flush()
		if head, _, _ := strings.Cut(b.String(), "\n"); !strings.ContainsAny(head, ",\t\r\"") && strings.Contains(head, ";") {
			compare("with semicolons", b.String())
		}
	})
}

// separatorOf is the separator that a sheet of CSV is read by.
func separatorOf(s *Sheet) rune { return s.src.(*csvRecords).r.Comma }
