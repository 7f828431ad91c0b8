package intake

import (
	"archive/zip"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"path"
	"slices"
	"strings"
	"time"
)

// The limits of a workbook. Two hundred thousand rows with every field filled,
// fifty bytes of XML a cell, fit; what is larger is a CSV's work, which has no
// limit. Without limits a file of one megabyte inflates to gigabytes.
const (
	maxRows      = 250_000    // rows that hold a value
	maxRowTags   = 1_048_576  // rows of any kind: the format's own limit
	maxCells     = 16_000_000 // cells, empty ones included: maxRows of 62 fields, and some
	maxEmpty     = 2_000_000  // empty cells, and ten more for each that holds something: a field of ten filled
	maxSheetXML  = 640 << 20  // bytes of the sheet, inflated
	maxStrings   = 600_000    // shared texts and pieces of them: three a row; each takes 300 bytes of memory
	maxStringXML = 32 << 20   // bytes of the shared texts, inflated
	maxPieces    = 1000       // pieces of a cell's own text
	maxStyleXML  = 16 << 20   // bytes of the styles, inflated
	maxStyles    = 65_536     // cell styles; the format's own limit is 65,490
	maxSmallXML  = 4 << 20    // bytes of the lists of sheets and parts, inflated
	maxMerges    = 100_000    // merged ranges
	maxDirectory = 4 << 20    // bytes of the zip's directory: some tens of thousands of parts
	maxFile      = 256 << 20  // bytes of a workbook that comes in as a stream
	maxSerial    = 2_958_465  // 9999-12-31, the last day of a workbook's calendar
)

// patience is how long the survey may take, and how long a workbook may give no row that
// holds anything, on the slowest machine. The limits are met in a minute on any other.
var patience = 5 * time.Minute

var errSlow = errors.New("it is read for minutes and gives nothing; clear formats of empty cells, or save it as CSV")

const asCSV = "split it, or save it as CSV, which has no such limit"

// A workbook is an XLSX file with one sheet chosen.
type workbook struct {
	parts    map[string]*zip.File // by name in lower case
	sheet    *zip.File
	strings  *zip.File // nil when the cells share no text
	days1904 bool      // days are counted from 1904, not 1900
	formats  []numberFormat
	survey   survey
}

// A survey is what one pass over the sheet found, before any row is believed.
type survey struct {
	lastRow int // last row that the sheet says it has, 0 when it does not say
	merges  []cellRange
	strings int // number of shared texts
}

// openWorkbook finds the sheet of that name, or the first, and reads every part
// that matters once to its end: the sizes and sums of the zip's directory are
// compared with what was inflated, and the limits are held.
func openWorkbook(src io.ReaderAt, size int64, sheet string) (*workbook, error) {
	fence := &fence{src, maxDirectory}
	zr, err := zip.NewReader(fence, size)
	if err != nil {
		if fence.left < 0 {
			return nil, errors.New("the zip has more parts than a workbook can have")
		}
		return nil, fmt.Errorf("not a whole workbook (%w); was the file cut short? Save it again as XLSX or CSV", err)
	}
	fence.left = math.MaxInt64
	w := &workbook{parts: map[string]*zip.File{}}
	for _, f := range zr.File {
		name := strings.ToLower(strings.TrimPrefix(strings.ReplaceAll(f.Name, `\`, "/"), "/"))
		if w.parts[name] != nil {
			return nil, fmt.Errorf("broken workbook: two parts are called %q", name)
		}
		w.parts[name] = f
	}
	if w.parts["mimetype"] != nil && w.parts["content.xml"] != nil {
		return nil, errors.New("an OpenDocument sheet; save it as XLSX or CSV")
	}
	if err := w.choose(sheet); err != nil {
		return nil, err
	}
	if w.strings != nil {
		if err := w.countStrings(); err != nil {
			return nil, err
		}
	}
	return w, w.surveySheet()
}

// A fence counts the bytes read through it and stops at none left.
type fence struct {
	io.ReaderAt
	left int64
}

func (f *fence) ReadAt(p []byte, off int64) (int, error) {
	if f.left -= int64(len(p)); f.left < 0 {
		return 0, errors.New("too much to read")
	}
	return f.ReaderAt.ReadAt(p, off)
}

// choose finds the parts: the sheet, the shared texts and the number formats.
func (w *workbook) choose(name string) error {
	rels, err := w.relations("_rels/.rels", "")
	if err != nil {
		return err
	}
	main := "xl/workbook.xml"
	for _, r := range rels {
		if r.kind == "officeDocument" {
			main = r.target
		}
	}
	if rels, err = w.relations(path.Dir(main)+"/_rels/"+path.Base(main)+".rels", path.Dir(main)); err != nil {
		return err
	}
	type entry struct{ name, id string }
	var sheets []entry
	err = w.eachTag(main, maxSmallXML, func(e xml.StartElement) error {
		switch e.Name.Local {
		case "workbookPr":
			v := attr(e, "date1904")
			w.days1904 = v == "1" || v == "true" || v == "on"
		case "sheet":
			sheets = append(sheets, entry{attr(e, "name"), attr(e, "id")})
		}
		return nil
	})
	if err != nil {
		return err
	}
	var names []string
	for _, s := range sheets {
		i := slices.IndexFunc(rels, func(r relation) bool { return r.id == s.id })
		if i < 0 || rels[i].kind != "worksheet" {
			continue // a chart or a macro sheet holds no cells
		}
		names = append(names, fmt.Sprintf("%q", s.name))
		if w.sheet == nil && (name == "" || strings.EqualFold(name, s.name)) {
			if w.sheet = w.parts[rels[i].target]; w.sheet == nil {
				return fmt.Errorf("broken workbook: sheet %q is listed but not there", s.name)
			}
		}
	}
	switch {
	case w.sheet != nil:
	case len(names) == 0:
		return errors.New("the workbook has no sheet of cells")
	default:
		return fmt.Errorf("the workbook has no sheet %q; it has %s", name, strings.Join(names, ", "))
	}
	for _, r := range rels {
		switch r.kind {
		case "sharedStrings":
			if w.strings = w.parts[r.target]; w.strings == nil {
				return errors.New("broken workbook: the texts of its cells are listed but not there")
			}
		case "styles":
			if w.formats, err = w.readFormats(r.target); err != nil {
				return err
			}
		}
	}
	return nil
}

// A relation says which part of the zip plays a role.
type relation struct{ id, kind, target string }

// relations reads a list of relations; kind is the last word of the type's
// address, which the strict and the usual form of XLSX have in common.
func (w *workbook) relations(name, dir string) (list []relation, err error) {
	err = w.eachTag(name, maxSmallXML, func(e xml.StartElement) error {
		if e.Name.Local != "Relationship" {
			return nil
		}
		target := attr(e, "Target")
		if !strings.HasPrefix(target, "/") {
			target = path.Join(dir, target)
		}
		target = strings.ToLower(strings.TrimPrefix(target, "/"))
		list = append(list, relation{attr(e, "Id"), path.Base(attr(e, "Type")), target})
		return nil
	})
	return list, err
}

func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// eachTag calls visit for every element of a part, which it reads to its end.
func (w *workbook) eachTag(name string, limit uint64, visit func(xml.StartElement) error) error {
	f := w.parts[strings.ToLower(strings.TrimPrefix(name, "/"))]
	if f == nil {
		return fmt.Errorf("not a workbook: it has no part %q; save it as XLSX or CSV", name)
	}
	rc, err := openPart(f, limit)
	if err != nil {
		return err
	}
	defer rc.Close()
	d := xml.NewDecoder(&guard{src: rc})
	for {
		t, err := d.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return partError(f, err)
		}
		if e, ok := t.(xml.StartElement); ok {
			if err := visit(e); err != nil {
				return partError(f, err)
			}
		}
	}
}

// openPart opens a part for reading. Reading it to its end compares its size and
// its sum with those of the zip's directory.
func openPart(f *zip.File, limit uint64) (io.ReadCloser, error) {
	switch {
	case f.Flags&1 != 0:
		return nil, errors.New("the workbook is protected by a password; save it without one")
	case f.UncompressedSize64 > limit:
		return nil, fmt.Errorf("part %q is %d MB inflated, the limit is %d MB; %s", f.Name, f.UncompressedSize64>>20, limit>>20, asCSV)
	case f.CRC32 == 0:
		// The zip reader takes 0 for "not known" and would compare nothing.
		return nil, fmt.Errorf("broken workbook: part %q has no check sum; save it again", f.Name)
	}
	rc, err := f.Open()
	if err != nil {
		return nil, partError(f, err)
	}
	return rc, nil
}

func partError(f *zip.File, err error) error {
	return fmt.Errorf("broken workbook, part %q: %w; open it in its program and save it again as XLSX or CSV", f.Name, err)
}
