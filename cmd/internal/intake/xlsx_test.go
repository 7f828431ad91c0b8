package intake

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"pouchward/triage"
)

// What a cell shows is what is read; what it cannot tell is refused.
func TestCellsReadAsTheyShow(t *testing.T) {
	styles := []string{"0%", "0.00%", "yyyy-mm-dd", "d/m/yyyy h:mm", "[h]:mm", `0.0" mV"`, `[<1]0%;0.0`, `"yes";;"no"`, "0.0,", "000000",
		`_(* #,##0.00_);_(* (#,##0.00);_(* "-"??_)`, ";;;", "[$-409]d-mmm-yy;@", `[$€-407] 0.00`, `0.0"in"`, "0.00E+00", "0%%", `General" g"`, "xyz"}
	for _, c := range []struct {
		name, field, cell string // {code} stands for the number of a style
		want              string // text of the cell
		refused           string // "" for none
	}{
		{"a text", "ocv_v", `<c t="inlineStr"><is><t>3,78 V</t></is></c>`, "3,78 V", ""},
		{"rich text", "note", `<c t="inlineStr"><is><r><t>a</t></r><r><t>b</t></r></is></c>`, "ab", ""},
		{"shared", "signs", `<c t="s"><v>1</v></c>`, "swollen;dented", ""},
		{"like a formula", "note", `<c t="inlineStr"><is><t>=1+1</t></is></c>`, "=1+1", ""},
		{"noise", "ocv_v", `<c><v>3.7800000000000002</v></c>`, "3.78", ""},
		{"whole", "rated_mah", `<c t="n"><v>5200</v></c>`, "5200", ""},
		{"exponent", "ocv_v", `<c><v>3.78E0</v></c>`, "3.78", ""},
		{"a third", "cell_c", `<c><v>22.222222222222225</v></c>`, "22.222222222222", ""},
		{"minus nothing", "cell_c", `<c><v>-0</v></c>`, "0", ""},
		{"accounting", "ocv_v", `<c s="{_(* #,##0.00_);_(* (#,##0.00);_(* "-"??_)}"><v>3.8</v></c>`, "3.8", ""},
		{"scientific", "ocv_v", `<c s="{0.00E+00}"><v>3.8</v></c>`, "3.8", ""},
		{"yes", "swollen", `<c t="b"><v>1</v></c>`, "yes", ""},
		{"no", "swollen", `<c t="b"><v>0</v></c>`, "no", ""},
		{"logical nonsense", "swollen", `<c t="b"><v>2</v></c>`, "2 ?", "neither true nor false"},
		{"percent", "charge_pct", `<c s="{0%}"><v>0.61</v></c>`, "61%", ""},
		{"percent noise", "charge_pct", `<c s="{0.00%}"><v>0.28999999999999998</v></c>`, "29%", ""},
		{"percent of a voltage", "ocv_v", `<c s="{0%}"><v>3.8</v></c>`, "380%", "unknown unit"},
		{"plain percent", "charge_pct", `<c><v>61</v></c>`, "61", ""},
		{"share or percent", "charge_pct", `<c><v>0.61</v></c>`, "0.61 ?", "0.61 could be 61 %"},
		{"one percent or all", "charge_pct", `<c><v>1</v></c>`, "1 ?", "a share or a percentage"},
		{"percent of a condition", "charge_pct", `<c s="{[<1]0%;0.0}"><v>0.61</v></c>`, "0.61 ?", "does not tell"},
		{"percent twice", "charge_pct", `<c s="{0%%}"><v>0.61</v></c>`, "0.61 ?", "does not tell"},
		{"no such style", "charge_pct", `<c s="99"><v>61</v></c>`, "61 ?", "a style that is not there"},
		{"a format unknown", "ocv_v", `<c s="{xyz}"><v>3.8</v></c>`, "3.8 ?", "does not tell"},
		{"shown as words", "rocks", `<c s="{"yes";;"no"}"><v>0</v></c>`, "0 ?", "does not tell"},
		{"hidden by format", "ocv_v", `<c s="{;;;}"><v>3.8</v></c>`, "3.8 ?", "does not tell"},
		{"shown in thousands", "rated_mah", `<c s="{0.0,}"><v>4500</v></c>`, "4500 ?", "does not tell"},
		{"unit by format", "ocv_v", `<c s="{0.0" mV"}"><v>3780</v></c>`, "3780mV", ""},
		{"inches by format", "thickness_mm", `<c s="{0.0"in"}"><v>0.2</v></c>`, "0.2in", ""},
		{"general with a unit", "mass_g", `<c s="{General" g"}"><v>76.5</v></c>`, "76.5g", ""},
		{"money", "ocv_v", `<c s="{[$€-407] 0.00}"><v>3.8</v></c>`, "3.8€", "unknown unit"},
		{"lost thousands", "rated_mah", `<c><v>4.5</v></c>`, "4.5 ?", "thousands mark"},
		{"three decimals", "rated_mah", `<c><v>4512.125</v></c>`, "4512.125", "thousands mark"},
		{"date", "pulled_on", `<c s="{yyyy-mm-dd}"><v>46351</v></c>`, "2026-11-25", ""},
		{"date and time", "pulled_on", `<c s="{d/m/yyyy h:mm}"><v>46351.99</v></c>`, "2026-11-25", ""},
		{"date in a language", "pulled_on", `<c s="{[$-409]d-mmm-yy;@}"><v>46351</v></c>`, "2026-11-25", ""},
		{"serial", "pulled_on", `<c><v>46351</v></c>`, "2026-11-25", ""},
		{"iso date", "pulled_on", `<c t="d"><v>2026-11-25T10:00:00</v></c>`, "2026-11-25", ""},
		{"iso nonsense", "pulled_on", `<c t="d"><v>25.11.2026</v></c>`, "25.11.2026 ?", "cannot be read"},
		{"date as text", "pulled_on", `<c t="inlineStr"><is><t>2026-11-25</t></is></c>`, "2026-11-25", ""},
		{"serial with part", "pulled_on", `<c><v>46351.5</v></c>`, "46351.5 ?", "no whole day"},
		{"digits of a date", "pulled_on", `<c><v>20261125</v></c>`, "20261125 ?", "no day number"},
		{"a year", "made_on", `<c><v>2026</v></c>`, "1905-07-18", "outside 1980-2200"},
		{"a time", "pulled_on", `<c s="{[h]:mm}"><v>0.5</v></c>`, "0.5 ?", "a time"},
		{"hours as time", "rest_h", `<c s="{[h]:mm}"><v>0.5</v></c>`, "0.5 ?", "a time"},
		{"percent as a date", "pulled_on", `<c s="{0%}"><v>46351</v></c>`, "4635100% ?", "a percentage"},
		{"a voltage made a date", "ocv_v", `<c s="{yyyy-mm-dd}"><v>46237</v></c>`, "2026-08-03 ?", "made a date"},
		{"a date in a note", "note", `<c s="{d/m/yyyy h:mm}"><v>46351.5</v></c>`, "2026-11-25 12:00", ""},
		{"zeros of a ticket", "ticket", `<c s="{000000}"><v>42</v></c>`, "000042", ""},
		{"#N/A", "ocv_v", `<c t="e"><v>#N/A</v></c>`, "#N/A ?", "an error of the workbook"},
		{"#REF! in a formula", "ocv_v", `<c t="e"><f>#REF!+1</f><v>#REF!</v></c>`, "#REF! ?", "an error of the workbook"},
		{"an error in a text", "note", `<c t="e"><v>#N/A</v></c>`, "#N/A ?", "an error of the workbook"},
		{"an error that passes", "x_shelf", `<c t="e"><v>#N/A</v></c>`, "#N/A ?", "x_shelf: the cell shows an error"},
		{"formula", "ocv_v", `<c><f>3.7+0.08</f><v>3.7800000000000002</v></c>`, "3.78", ""},
		{"formula of text", "signs", `<c t="str"><f>A1</f><v>none</v></c>`, "none", ""},
		{"formula of nothing", "rocks", `<c t="str"><f>A1</f><v></v></c>`, "", ""},
		{"formula not calculated", "ocv_v", `<c><f>3.7+0.08</f></c>`, "=3.7+0.08 ?", "result is not stored"},
		{"formula with an empty value", "rocks", `<c><f>B7</f><v></v></c>`, "=B7 ?", "result is not stored"},
		{"shared formula", "rocks", `<c><f t="shared" si="0"/></c>`, "= ?", "result is not stored"},
		{"not a number", "ocv_v", `<c><v>NaN</v></c>`, "NaN ?", "cannot be read"},
		{"hex", "ocv_v", `<c><v>0x1p2</v></c>`, "0x1p2 ?", "cannot be read"},
		{"another kind", "ocv_v", `<c t="z"><v>3.8</v></c>`, "3.8 ?", "not known"},
		{"empty", "ocv_v", `<c s="1"/>`, "", ""},
	} {
		cell := c.cell
		for i, code := range styles {
			cell = strings.Replace(cell, "{"+code+"}", strconv.Itoa(i+1), 1)
		}
		book := packed(t, partsOf(sheetOf(head("tag", c.field)+"<row>"+text("A")+cell+"</row>"), []string{"none", "swollen;dented"}, styles...))
		got := readBook(book, "", nil)
		if got.err != nil || len(got.rows) != 1 {
			t.Errorf("%s: %d rows, %v", c.name, len(got.rows), got.err)
			continue
		}
		if got.rows[0].Cells[1] != c.want {
			t.Errorf("%s: reads %q, want %q", c.name, got.rows[0].Cells[1], c.want)
		}
		said := strings.Join(got.refused[0], "; ")
		if (said == "") != (c.refused == "") || !strings.Contains(said, c.refused) || said != "" && !strings.Contains(said, "t.xlsx line 2 column 2") {
			t.Errorf("%s: refused %q, want %q", c.name, said, c.refused)
		}
		if f, ok := triage.FieldByName(c.field); ok && c.refused != "" && got.readings[0][f].State != triage.Refused {
			t.Errorf("%s: a refused cell is %v", c.name, got.readings[0][f])
		}
		// The text of a refused cell is refused again when it comes back as CSV.
		again := drain(OpenCSV("t.csv", strings.NewReader("tag;"+c.field+"\nA;\""+strings.ReplaceAll(c.want, `"`, `""`)+"\"\n"), nil))
		if f, ok := triage.FieldByName(c.field); ok && c.refused != "" && triage.Fields[f].Type != triage.TextField && len(again.refused[0]) == 0 {
			t.Errorf("%s: %q is accepted from CSV", c.name, c.want)
		}
	}
}

// A workbook as a shop has it: hidden rows, a title of its own, empty rows, a
// formula, merged cells, days counted from 1904.
func TestWorkbookAsShopsHaveIt(t *testing.T) {
	noLitter(t)
	book := built(t, func(f *excelize.File) {
		date, err := f.NewStyle(&excelize.Style{NumFmt: 14})
		must(t, err, f.SetSheetRow("Sheet1", "A3", &[]any{"Tag", "Voltage", "Recalled", "pulled on", "swollen", "handling", "x_shelf"}),
			f.SetSheetRow("Sheet1", "A5", &[]any{"A1", 3.78, false, time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC), true, "#N/A", 7}),
			f.SetSheetRow("Sheet1", "A6", &[]any{"A2", 0.1 + 0.2, true, nil, "no", nil, "=SUM(1)"}),
			f.SetCellStyle("Sheet1", "D5", "D6", date),
			f.SetRowVisible("Sheet1", 6, false), f.SetColVisible("Sheet1", "E", false),
			f.SetSheetRow("Sheet1", "A9", &[]any{"A3", 3.8, "no"}),
			f.MergeCell("Sheet1", "E9", "E10"), f.SetCellValue("Sheet1", "E9", "no"), f.SetCellValue("Sheet1", "A10", "A4"),
			f.SetSheetVisible("Sheet1", true))
	})
	got := readBook(book, "", map[string]string{"Voltage": "ocv_v"})
	if got.err != nil || len(got.rows) != 4 {
		t.Fatalf("%d rows, %v", len(got.rows), got.err)
	}
	for i, want := range []string{"A1|3.78|no|2026-11-25|yes||7", "A2|0.3|yes||no||=SUM(1)", "A3|3.8|no||no||", "A4||||||"} {
		if text := strings.Join(got.rows[i].Cells, "|"); text != want || len(got.refused[i]) > 0 {
			t.Errorf("row %d: %s, want %s; refused %v", i, text, want, got.refused[i])
		}
	}
	if got.rows[0].Line != 5 || got.rows[2].Line != 9 {
		t.Errorf("rows %d and %d, want 5 and 9", got.rows[0].Line, got.rows[2].Line)
	}
	// Only the first cell of a merge says something.
	if v := got.readings[3][triage.Swollen]; v.State != triage.Blank {
		t.Errorf("a covered cell reads %v", v)
	}
	parts := partsOf(sheetOf(head("pulled_on")+`<row><c><v>44889</v></c></row>`), nil)
	parts["xl/workbook.xml"] = strings.Replace(parts["xl/workbook.xml"], "<sheets>", `<workbookPr date1904="1"/><sheets>`, 1)
	if got := readBook(packed(t, parts), "", nil); got.err != nil || got.rows[0].Cells[0] != "2026-11-25" {
		t.Errorf("from 1904: %v %v", got.rows, got.err)
	}
}

// A value that a merge hides is not believed, but for bad news.
func TestMergedCellsHideNothingBad(t *testing.T) {
	sheet := strings.Replace(sheetOf(head("tag", "swollen", "rocks", "signs")+
		`<row r="2">`+text("A")+text("no")+text("no")+text("none")+`</row><row r="3">`+text("B")+text("yes")+text("no")+text("dented")+`</row>`),
		"</sheetData>", `</sheetData><mergeCells><mergeCell ref="B2:D3"/><mergeCell ref="XAA1:XAB9"/></mergeCells>`, 1)
	got := readBook(packed(t, partsOf(sheet, nil)), "", nil)
	if got.err != nil || len(got.rows) != 2 {
		t.Fatal(got.err)
	}
	if len(got.refused[0]) != 2 || len(got.refused[1]) != 3 || !strings.Contains(got.refused[1][0], "under a merged cell") {
		t.Errorf("refused %v", got.refused)
	}
	r := got.readings
	if r[0][triage.Swollen].State != triage.Known || r[0][triage.Rocks].State != triage.Refused || r[0][triage.Signs].State != triage.Refused {
		t.Errorf("first row: %v %v %v", r[0][triage.Swollen], r[0][triage.Rocks], r[0][triage.Signs])
	}
	if v := r[1][triage.Swollen]; v.State != triage.Known || v.Num != 1 {
		t.Errorf("hidden bad news was lost: %v", v)
	}
	if v := r[1][triage.Signs]; v.State != triage.Known || !triage.FieldSet(v.Num).Has(triage.Dented) || v.Hi != 0 {
		t.Errorf("a hidden sign was lost, or implies others: %v", v)
	}
	over := strings.Replace(sheetOf(head("tag")), "</sheetData>", `</sheetData><mergeCells><mergeCell ref="A1:C9"/><mergeCell ref="B1:D1"/></mergeCells>`, 1)
	if got := readBook(packed(t, partsOf(over, nil)), "", nil); got.err == nil || !strings.Contains(got.err.Error(), "over each other") {
		t.Errorf("overlapping merges: %v", got.err)
	}
}

func TestSheetIsChosenByName(t *testing.T) {
	noLitter(t)
	book := built(t, func(f *excelize.File) {
		for _, n := range []string{"October", "November"} {
			_, err := f.NewSheet(n)
			must(t, err, f.SetSheetRow(n, "A1", &[]any{"tag"}), f.SetSheetRow(n, "A2", &[]any{n}))
		}
		must(t, f.SetSheetRow("Sheet1", "A1", &[]any{"tag"}), f.SetSheetRow("Sheet1", "A2", &[]any{"first"}), f.SetSheetVisible("October", false))
	})
	for sheet, want := range map[string]string{"": "first", "November": "November", "october": "October"} {
		if got := readBook(book, sheet, nil); got.err != nil || len(got.rows) != 1 || got.rows[0].Cells[0] != want {
			t.Errorf("%q: %v %v", sheet, got.rows, got.err)
		}
	}
	if got := readBook(book, "Dec", nil); got.err == nil || !strings.Contains(got.err.Error(), `no sheet "Dec"; it has "Sheet1", "October", "November"`) {
		t.Errorf("unknown sheet: %v", got.err)
	}
	empty := built(t, func(*excelize.File) {})
	if got := readBook(empty, "", nil); got.err == nil || !strings.Contains(got.err.Error(), "is empty") {
		t.Errorf("empty sheet: %v", got.err)
	}
}

// Errors of the header name the spreadsheet's row.
func TestHeaderErrorsNameTheRow(t *testing.T) {
	book := packed(t, partsOf(sheetOf(`<row r="4">`+text("tag")+text("ocv")+`</row>`), nil))
	if got := readBook(book, "", nil); got.err == nil || !strings.Contains(got.err.Error(), `t.xlsx: line 4, column 2: "ocv" is no field, did you mean ocv_v?`) {
		t.Errorf("got %v", got.err)
	}
}

// Cells beyond the last column make a row doubtful, as in CSV.
func TestCellsBeyondTheHeader(t *testing.T) {
	book := packed(t, partsOf(sheetOf(head("tag", "swollen")+`<row r="2"><c r="B2" t="b"><v>0</v></c><c r="D2"><v>3</v></c></row>`), nil))
	got := readBook(book, "", nil)
	if got.err != nil || len(got.refused[0]) != 1 || !strings.Contains(got.refused[0][0], "beyond the last column") || got.readings[0][triage.Swollen].State != triage.Asked {
		t.Errorf("%v %v", got.refused, got.err)
	}
}

func BenchmarkXLSX(b *testing.B) {
	for _, rows := range []int{1000, 10_000} {
		if rows > 1000 && testing.Short() {
			continue
		}
		b.Run(fmt.Sprintf("rows=%d", rows), func(b *testing.B) { readBookOf(b, rows) })
	}
}

func readBookOf(b *testing.B, rows int) {
	book := built(b, func(f *excelize.File) {
		must(b, f.SetSheetRow("Sheet1", "A1", &[]any{"tag", "signs", "cell_c", "ambient_c", "recalled", "chemistry", "series", "parallel", "nominal_v", "rated_mah", "ocv_v", "fit", "purpose"}))
		for i := range rows {
			cell, _ := excelize.CoordinatesToCellName(1, i+2)
			must(b, f.SetSheetRow("Sheet1", cell, &[]any{"A" + strconv.Itoa(i), "none", 22, 21.5, "no", "li-ion", 1, 1, 3.85, 5200, 3.78, "loose", "recycle"}))
		}
	})
	b.ReportAllocs()
	for b.Loop() {
		s, err := OpenXLSX("t.xlsx", bytes.NewReader(book), int64(len(book)), "", nil)
		must(b, err)
		var row Row
		n := 0
		for s.Next(&row) == nil {
			n++
		}
		if must(b, s.Close()); n != rows {
			b.Fatalf("%d rows", n)
		}
	}
	b.ReportMetric(float64(b.N*rows)/b.Elapsed().Seconds(), "rows/s")
}

// Whatever the sheet's XML is, nothing panics, a row has a cell for each column,
// and a sheet that reads whole does not read whole without its last tag.
func FuzzSheetXML(f *testing.F) {
	seeds := []string{
		sheetOf(head("tag", "ocv_v") + `<row r="3"><c r="A3" t="s"><v>0</v></c><c r="B3" s="1"><v>0.61</v></c></row>`),
		sheetOf(head("tag") + `<row><c t="e"><v>#N/A</v></c></row><row/><row r="9"><c><f>1</f></c></row>`),
		strings.Replace(sheetOf(head("tag", "swollen")+"<row>"+text("A")+`<c t="b"><v>1</v></c></row>`), "</sheetData>", `</sheetData><mergeCells><mergeCell ref="A2:B2"/></mergeCells>`, 1),
		"<worksheet><sheetData/></worksheet>", "<a><![CDATA[ ]]></a>", "<!-- -->", "<?xml version=\"1.0\"?><worksheet/>",
	}
	if len(seeds) < 7 {
		f.Fatal("seeds are missing")
	}
	for _, s := range seeds {
		f.Add(s, "0.0%;[Red]-0.0")
	}
	f.Fuzz(func(t *testing.T, sheet, code string) {
		if strings.ContainsFunc(code, func(r rune) bool { return r < 0x20 || r > 0xFFFD }) {
			return // no text of XML
		}
		got := readBook(packed(t, partsOf(sheet, []string{"A"}, code)), "", nil)
		for i := range got.rows {
			if len(got.rows[i].Cells) != len(got.rows[0].Cells) {
				t.Fatalf("rows of %d and %d cells", len(got.rows[i].Cells), len(got.rows[0].Cells))
			}
		}
		if got.err != nil {
			return
		}
		end := strings.LastIndexByte(sheet, '<')
		if cut := readBook(packed(t, partsOf(sheet[:end], []string{"A"}, code)), "", nil); cut.err == nil && !strings.HasPrefix(sheet[end:], "<!--") {
			t.Fatalf("%q is taken for a whole sheet", sheet[:end])
		}
	})
}
