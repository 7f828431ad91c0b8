package intake

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"pouchward/triage"
)

// read is what came of a sheet: a reading and the refusals of each row, and the
// error that ended it, nil for its proper end.
type read struct {
	rows     []Row
	readings []triage.Reading
	refused  [][]string
	err      error
}

func drain(s *Sheet, err error) (out read) {
	if out.err = err; err != nil {
		return out
	}
	for {
		var row Row
		if err := s.Next(&row); err != nil {
			if !errors.Is(err, io.EOF) {
				out.err = err
			}
			out.err = errors.Join(out.err, s.Close())
			return out
		}
		var r triage.Reading
		out.refused = append(out.refused, s.Read(&row, &r))
		out.rows, out.readings = append(out.rows, row), append(out.readings, r)
	}
}

func readBook(book []byte, sheet string, mapping map[string]string) read {
	return drain(OpenXLSX("t.xlsx", bytes.NewReader(book), int64(len(book)), sheet, NewMapping(mapping, nil)))
}

// built is a workbook as excelize writes it.
func built(t testing.TB, build func(f *excelize.File)) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	build(f)
	var buf bytes.Buffer
	if err := f.Write(&buf); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

// must stops the test on an error of building.
func must(t testing.TB, errs ...error) {
	t.Helper()
	if err := errors.Join(errs...); err != nil {
		t.Fatal(err)
	}
}

const mainNS = `xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"`

// partsOf are the parts of a workbook of one sheet. styles lists the number
// formats of the cell styles from 1 on; texts are the shared texts.
func partsOf(sheet string, texts []string, styles ...string) map[string]string {
	parts := map[string]string{}
	for _, p := range cagedParts {
		parts[p.name] = p.text
	}
	rel := func(id, kind, target string) string {
		return fmt.Sprintf(`<Relationship Id="%s" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/%s" Target="%s"/>`, id, kind, target)
	}
	parts["xl/_rels/workbook.xml.rels"] = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">` +
		rel("r1", "worksheet", "worksheets/sheet1.xml") + rel("r2", "sharedStrings", "sharedStrings.xml") + rel("r3", "styles", "/xl/styles.xml") + `</Relationships>`
	parts["xl/worksheets/sheet1.xml"] = sheet
	var sst, formats, xfs strings.Builder
	for _, s := range texts {
		sst.WriteString("<si><t>" + s + "</t></si>")
	}
	parts["xl/sharedStrings.xml"] = "<sst " + mainNS + ">" + sst.String() + "</sst>"
	for i, code := range styles {
		code = strings.NewReplacer("&", "&amp;", `"`, "&quot;", "<", "&lt;").Replace(code)
		fmt.Fprintf(&formats, `<numFmt numFmtId="%d" formatCode="%s"/>`, 200+i, code)
		fmt.Fprintf(&xfs, `<xf numFmtId="%d"/>`, 200+i)
	}
	parts["xl/styles.xml"] = "<styleSheet " + mainNS + "><numFmts>" + formats.String() + `</numFmts><cellStyleXfs><xf numFmtId="14"/></cellStyleXfs>` +
		`<cellXfs><xf numFmtId="0"/>` + xfs.String() + `</cellXfs><dxfs><dxf><numFmt numFmtId="200" formatCode="0%"/></dxf></dxfs></styleSheet>`
	return parts
}

// packed is a zip of the parts.
func packed(t testing.TB, parts map[string]string) []byte {
	t.Helper()
	var buf bytes.Buffer
	zw := zip.NewWriter(&buf)
	for name, text := range parts {
		w, err := zw.Create(name)
		must(t, err)
		_, err = io.WriteString(w, text)
		must(t, err)
	}
	must(t, zw.Close())
	return buf.Bytes()
}

// sheetOf is the XML of a sheet with these rows; the texts stand in the cells.
func sheetOf(rows string) string {
	return "<worksheet " + mainNS + "><sheetData>" + rows + "</sheetData></worksheet>"
}

// head is a first row that names columns.
func head(names ...string) string {
	var b strings.Builder
	b.WriteString("<row>")
	for _, n := range names {
		b.WriteString(text(n))
	}
	return b.String() + "</row>"
}

func text(s string) string { return `<c t="inlineStr"><is><t>` + s + `</t></is></c>` }

// noLitter checks that a test leaves no temporary file.
func noLitter(t *testing.T) {
	t.Helper()
	dir := t.TempDir()
	t.Setenv("TMPDIR", dir)
	t.Setenv("TMP", dir)
	t.Cleanup(func() {
		if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
			t.Errorf("temporary files were left: %v %v", left, err)
		}
	})
}
