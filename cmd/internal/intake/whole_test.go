package intake

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// twenty is a workbook of twenty rows, some texts shared.
func twenty(t *testing.T) []byte {
	return built(t, func(f *excelize.File) {
		must(t, f.SetSheetRow("Sheet1", "A1", &[]any{"tag", "signs", "ocv_v"}))
		for i := range 20 {
			must(t, f.SetSheetRow("Sheet1", fmt.Sprintf("A%d", i+2), &[]any{fmt.Sprintf("T%d", i), "swollen", 3.7 + float64(i)/100}))
		}
	})
}

// A workbook cut at any place is an error, whatever the cut leaves.
func TestAWorkbookCutAnywhereIsAnError(t *testing.T) {
	noLitter(t)
	book := twenty(t)
	if got := readBook(book, "", nil); got.err != nil || len(got.rows) != 20 {
		t.Fatalf("whole: %d rows, %v", len(got.rows), got.err)
	}
	for n := range len(book) {
		if got := readBook(book[:n], "", nil); got.err == nil {
			t.Fatalf("cut to %d of %d bytes: %d rows and no error", n, len(book), len(got.rows))
		}
	}
	for n := 0; n < len(book); n += 7 { // a piece lost in the middle
		cut := append(bytes.Clone(book[:n]), book[min(n+5, len(book)):]...)
		if got := readBook(cut, "", nil); got.err == nil && len(got.rows) != 20 {
			t.Fatalf("5 bytes lost at %d: %d rows and no error", n, len(got.rows))
		}
	}
}

// A byte that is changed may not change a value: the sums of the zip say so.
func TestAChangedByteIsFound(t *testing.T) {
	rows := strings.Repeat("<row>"+text("A")+`<c t="s"><v>0</v></c></row>`, 8)
	book := packed(t, partsOf(sheetOf(head("tag", "signs")+rows), []string{"swollen"}, "0.0"))
	want := fmt.Sprint(readBook(book, "", nil).readings)
	for n := range len(book) {
		changed := bytes.Clone(book)
		changed[n] ^= 0x11
		if got := readBook(changed, "", nil); got.err == nil && fmt.Sprint(got.readings) != want {
			t.Fatalf("byte %d changed: other readings and no error", n)
		}
	}
}

// The zip's directory may lie about sizes and sums; then nothing is believed.
func TestALyingDirectoryIsAnError(t *testing.T) {
	noLitter(t)
	parts := partsOf(sheetOf(head("tag")+strings.Repeat("<row>"+text("A")+"</row>", 50)), nil)
	book := packed(t, parts)
	entry := bytes.LastIndex(book, []byte("xl/worksheets/sheet1.xml")) - 46 // its record in the central directory
	if entry < 0 || !bytes.Equal(book[entry:entry+4], []byte("PK\x01\x02")) {
		t.Fatal("no directory record")
	}
	size := binary.LittleEndian.Uint32(book[entry+24:])
	for name, lie := range map[string]func(b []byte){
		"shorter":         func(b []byte) { binary.LittleEndian.PutUint32(b[24:], size-600) },
		"longer":          func(b []byte) { binary.LittleEndian.PutUint32(b[24:], size+600) },
		"one more":        func(b []byte) { binary.LittleEndian.PutUint32(b[24:], size+1) },
		"nothing":         func(b []byte) { binary.LittleEndian.PutUint32(b[24:], 0) },
		"packed shorter":  func(b []byte) { binary.LittleEndian.PutUint32(b[20:], 60) },
		"sum":             func(b []byte) { b[16] ^= 1 },
		"no sum":          func(b []byte) { binary.LittleEndian.PutUint32(b[16:], 0) },
		"method":          func(b []byte) { b[10] = 12 },
		"stored":          func(b []byte) { b[10] = 0 },
		"password":        func(b []byte) { b[8] |= 1 },
		"elsewhere":       func(b []byte) { binary.LittleEndian.PutUint32(b[42:], 3) },
		"under no name":   func(b []byte) { b[46] = '!' },
		"size of a world": func(b []byte) { binary.LittleEndian.PutUint32(b[24:], 0xFFFFFFF0) },
	} {
		changed := bytes.Clone(book)
		lie(changed[entry:])
		if got := readBook(changed, "", nil); got.err == nil {
			t.Errorf("%s: %d rows and no error", name, len(got.rows))
		}
	}
	if got := readBook(book, "", nil); got.err != nil || len(got.rows) != 50 {
		t.Errorf("no lie: %d rows, %v", len(got.rows), got.err)
	}
}

// XML that ends early, or goes on oddly, in a zip that is whole.
func TestXMLThatIsNotWholeIsAnError(t *testing.T) {
	noLitter(t)
	row := func(n int) string { return fmt.Sprintf(`<row r="%d">%s</row>`, n, text("A")) }
	ok := sheetOf(head("tag") + row(2) + row(3))
	for name, sheet := range map[string]string{
		"cut in a row":            ok[:strings.LastIndex(ok, "<row")+20],
		"cut after a row":         strings.TrimSuffix(ok, "</sheetData></worksheet>"),
		"cut after the rows":      strings.TrimSuffix(ok, "</worksheet>"),
		"cut in a closing tag":    strings.TrimSuffix(ok, ">"),
		"nothing":                 "",
		"no root":                 "<!-- nothing -->",
		"rows closed early":       strings.Replace(ok, `<row r="3">`, `</sheetData><row r="3">`, 1),
		"sheet closed early":      strings.Replace(ok, `<row r="3">`, `</sheetData></worksheet><row r="3">`, 1),
		"rows twice":              strings.Replace(ok, "</sheetData>", "</sheetData><sheetData/>", 1),
		"two roots":               ok + ok,
		"text after the end":      ok + "x",
		"wrong closing tag":       strings.Replace(ok, "</sheetData>", "</sheetDate>", 1),
		"rows end before its end": strings.Replace(ok, "<sheetData>", `<dimension ref="A1:A9"/><sheetData>`, 1),
		"row repeated":            sheetOf(head("tag") + row(2) + row(2)),
		"rows out of order":       sheetOf(head("tag") + row(3) + row(2)),
		"row without number":      sheetOf(head("tag") + `<row r="x">` + text("A") + `</row>`),
		"row beyond the format":   sheetOf(head("tag") + row(1_048_577)),
		"cell repeated":           sheetOf(head("tag", "signs") + `<row r="2"><c r="A2"><v>1</v></c><c r="A2"><v>2</v></c></row>`),
		"cells out of order":      sheetOf(head("tag", "signs") + `<row r="2"><c r="B2"><v>1</v></c><c r="A2"><v>2</v></c></row>`),
		"cell of another row":     sheetOf(head("tag") + `<row r="2"><c r="A3"><v>1</v></c></row>`),
		"cell of no name":         sheetOf(head("tag") + `<row r="2"><c r="?"><v>1</v></c></row>`),
		"two values":              sheetOf(head("tag") + `<row r="2"><c><v>1</v><v>2</v></c></row>`),
		"element in a value":      sheetOf(head("tag") + `<row r="2"><c><v>1<b/></v></c></row>`),
		"element in a row":        sheetOf(head("tag") + `<row r="2"><d/></row>`),
		"element among rows":      sheetOf(head("tag") + `<col/>`),
		"text among rows":         sheetOf(head("tag") + `x`),
		"style of no number":      sheetOf(head("tag") + `<row r="2"><c s="x"><v>1</v></c></row>`),
		"shared text not there":   sheetOf(head("tag") + `<row r="2"><c t="s"><v>7</v></c></row>`),
		"shared text of no index": sheetOf(head("tag") + `<row r="2"><c t="s"><v>x</v></c></row>`),
		"text missing":            sheetOf(head("tag") + `<row r="2"><c t="inlineStr"><v>x</v></c></row>`),
		"number with a text":      sheetOf(head("tag") + `<row r="2"><c><is><t>x</t></is></c></row>`),
		"bad merge":               strings.Replace(ok, "</sheetData>", `</sheetData><mergeCells><mergeCell ref="B2:A1"/></mergeCells>`, 1),
		"document type":           `<!DOCTYPE x [<!ENTITY a "b">]>` + ok,
		"an entity":               sheetOf(head("tag") + `<row r="2">` + text("&a;") + `</row>`),
		"another encoding":        `<?xml version="1.0" encoding="ISO-8859-1"?>` + ok,
		"utf-16":                  "\xFF\xFE<\x00w\x00",
		"another root":            `<chartsheet ` + mainNS + `/>`,
		"no rows":                 `<worksheet ` + mainNS + `></worksheet>`,
	} {
		if got := readBook(packed(t, partsOf(sheet, []string{"none"})), "", nil); got.err == nil {
			t.Errorf("%s: %d rows and no error", name, len(got.rows))
		}
	}
	for name, sheet := range map[string]string{
		"as it should be":   ok,
		"comments, spaces":  "\uFEFF<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!-- > - <a> -->\n" + strings.ReplaceAll(ok, "<row", "\n <row") + "\n<!-- end -->\n",
		"a greater sign":    strings.Replace(ok, `<row r="3">`, `<row r="3" x="a>b' /row>">`, 1),
		"what may follow":   strings.Replace(ok, "</sheetData>", `</sheetData><extLst><ext><c/></ext></extLst>`, 1),
		"empty rows behind": strings.Replace(ok, "</sheetData>", `<row r="1048576" ht="20"/></sheetData>`, 1),
	} {
		if got := readBook(packed(t, partsOf(sheet, nil)), "", nil); got.err != nil || len(got.rows) != 2 {
			t.Errorf("%s: %d rows, %v", name, len(got.rows), got.err)
		}
	}
}

// The other parts are as strict.
func TestBrokenPartsAreErrors(t *testing.T) {
	noLitter(t)
	ok := func() map[string]string {
		return partsOf(sheetOf(head("tag")+`<row><c t="s"><v>0</v></c></row>`), []string{"A"}, "0.00")
	}
	if got := readBook(packed(t, ok()), "", nil); got.err != nil || got.rows[0].Cells[0] != "A" {
		t.Fatal(got.err)
	}
	for part := range ok() {
		if part == "[Content_Types].xml" {
			continue // says nothing that is needed
		}
		parts := ok()
		parts[part] = parts[part][:len(parts[part])-3]
		if got := readBook(packed(t, parts), "", nil); got.err == nil {
			t.Errorf("%s cut: no error", part)
		}
		delete(parts, part)
		if got := readBook(packed(t, parts), "", nil); got.err == nil {
			t.Errorf("%s missing: no error", part)
		}
	}
	parts := ok()
	parts["XL/worksheets/Sheet1.xml"] = parts["xl/worksheets/sheet1.xml"]
	if got := readBook(packed(t, parts), "", nil); got.err == nil || !strings.Contains(got.err.Error(), "two parts") {
		t.Errorf("a part twice: %v", got.err)
	}
	parts = map[string]string{"mimetype": "x", "content.xml": "<x/>"}
	if got := readBook(packed(t, parts), "", nil); got.err == nil || !strings.Contains(got.err.Error(), "OpenDocument") {
		t.Errorf("an ODS: %v", got.err)
	}
}

func TestOpenTellsFilesApart(t *testing.T) {
	noLitter(t)
	dir := t.TempDir()
	book := twenty(t)
	for name, c := range map[string]struct {
		text  string
		sheet string
		rows  int
		err   string
	}{
		"a.csv":              {"tag\nA\n", "", 1, ""},
		"a.TSV":              {"tag\tsigns\nA\tnone\n", "", 1, ""},
		"a.txt":              {"tag;signs\nA;none\n", "", 1, ""},
		"a.xlsx":             {string(book), "", 20, ""},
		"a.jsonl":            {`{"tag":"A"}`, "", 1, ""},
		"a.ndjson":           {`{"tag":"A"}`, "", 1, ""},
		"csv":                {"tag\nA\n", "", 1, ""},
		"book":               {string(book), "Sheet1", 20, ""},
		"lines":              {"\uFEFF\n {\"tag\":\"A\"}\n", "", 1, ""},
		"empty":              {"", "", 0, "the file is empty"},
		"ole":                {string(oleMark) + "x", "", 0, "protected by a password"},
		"b.xlsx":             {string(oleMark) + "x", "", 0, "protected by a password"},
		"c.xlsx":             {"tag\nA\n", "", 0, "not an XLSX workbook"},
		"d.xlsx":             {"", "", 0, "the file is empty"},
		"e.xlsx":             {"PK\x03\x04", "", 0, "not a whole workbook"},
		"b.csv":              {string(book), "", 0, "not a text file"},
		"a.xls":              {"x", "", 0, "save it as XLSX or CSV"},
		"a.ods":              {"x", "", 0, "save it as XLSX or CSV"},
		"a.pdf":              {"x", "", 0, "save it as XLSX or CSV"},
		"sheet of lines":     {`{"tag":"A"}`, "S", 0, "has no sheets"},
		"c.csv":              {"tag\nA\n", "S", 0, "has no sheets"},
		"another sheet.xlsx": {string(book), "S", 0, `no sheet "S"`},
	} {
		path := dir + "/" + name
		must(t, os.WriteFile(path, []byte(c.text), 0o600))
		f, err := os.Open(path)
		must(t, err)
		inPlace := drain(Open(path, f, c.sheet, nil))
		must(t, f.Close())
		stream := drain(Open(name, strings.NewReader(c.text), c.sheet, nil))
		for how, got := range map[string]read{"in place": inPlace, "as a stream": stream} {
			if len(got.rows) != c.rows || (got.err == nil) != (c.err == "") || got.err != nil && !strings.Contains(got.err.Error(), c.err) {
				t.Errorf("%s %s: %d rows, %v; want %d, %q", name, how, len(got.rows), got.err, c.rows, c.err)
			}
		}
	}
}
