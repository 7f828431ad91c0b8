package intake

import (
	"archive/zip"
	"errors"
	"io"
	"os"

	"github.com/xuri/excelize/v2"
)

const cagedSheet = "S"

// cagedParts are the parts that the library needs around a sheet.
var cagedParts = []struct{ name, text string }{
	{"[Content_Types].xml", `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>`},
	{"_rels/.rels", `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
	{"xl/workbook.xml", `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="` + cagedSheet + `" sheetId="1" r:id="r1"/></sheets></workbook>`},
	{"xl/_rels/workbook.xml.rels", `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`},
}

// openCaged gives the library a workbook of the two parts that were surveyed,
// and nothing else of the file: it would inflate every part, photographs and
// other sheets too, before it looks at one.
func openCaged(w *workbook) (*excelize.File, error) {
	tmp, err := os.CreateTemp("", "pouchward-*.xlsx")
	if err != nil {
		return nil, err
	}
	defer os.Remove(tmp.Name())
	defer tmp.Close()
	zw := zip.NewWriter(tmp)
	for _, p := range cagedParts {
		part, err := zw.Create(p.name)
		if err != nil {
			return nil, err
		}
		if _, err := io.WriteString(part, p.text); err != nil {
			return nil, err
		}
	}
	if err := copyPart(zw, w.sheet, "xl/worksheets/sheet1.xml"); err != nil {
		return nil, err
	}
	if w.strings != nil {
		if err := copyPart(zw, w.strings, "xl/sharedStrings.xml"); err != nil {
			return nil, err
		}
	}
	if err := errors.Join(zw.Close(), tmp.Close()); err != nil {
		return nil, err
	}
	return excelize.OpenFile(tmp.Name(), excelize.Options{
		RawCellValue:   true,
		UnzipSizeLimit: maxSheetXML + maxStringXML + maxSmallXML,
		// Above this a part goes to a temporary file. It is the limit of the
		// shared texts, so that they stay in memory: read from a file, the
		// library would print an index where a text cannot be read.
		UnzipXMLSizeLimit: maxStringXML,
	})
}

// copyPart copies a part as it is packed.
func copyPart(zw *zip.Writer, f *zip.File, name string) error {
	from, err := f.OpenRaw()
	if err != nil {
		return err
	}
	to, err := zw.CreateRaw(&zip.FileHeader{Name: name, Method: f.Method, CRC32: f.CRC32,
		CompressedSize64: f.CompressedSize64, UncompressedSize64: f.UncompressedSize64})
	if err != nil {
		return err
	}
	_, err = io.Copy(to, from)
	return err
}
