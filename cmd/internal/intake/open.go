package intake

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// Open reads the header of a sheet of any kind. The name's ending says which:
// .csv, .tsv and .txt are CSV, .xlsx is a workbook, .jsonl and .ndjson are JSON
// lines. A name without an ending, such as standard input, is told by its first
// bytes: a workbook, JSON lines when they begin with {, else CSV.
//
// sheet names the sheet of a workbook; mapping gives the field for columns and
// keys that have names of their own. file is read to its end, but a workbook is
// read in place when file is a regular file (it has ReadAt and Stat), else
// through a temporary copy. Close the sheet, then the file.
func Open(name string, file io.Reader, sheet string, mapping Mapping) (*Sheet, error) {
	ext := strings.ToLower(filepath.Ext(name))
	if ext == "" {
		br := bufio.NewReaderSize(file, 4<<10)
		ext = sniff(br)
		file = br
	}
	switch ext {
	case ".xlsx":
		return openWorkbookFile(name, file, sheet, mapping)
	case ".csv", ".tsv", ".txt", ".jsonl", ".ndjson":
	case ".xls", ".xlsb", ".ods", ".numbers":
		return nil, fmt.Errorf("reading %s: %s sheets are not read; save it as XLSX or CSV", name, ext)
	default:
		return nil, fmt.Errorf("reading %s: %s is no sheet that can be read; save it as XLSX or CSV (or .jsonl)", name, ext)
	}
	if sheet != "" {
		return nil, fmt.Errorf("reading %s: it has no sheets to choose from; --sheet %q is for workbooks", name, sheet)
	}
	if ext == ".jsonl" || ext == ".ndjson" {
		return OpenJSONL(name, file, mapping)
	}
	return OpenCSV(name, file, mapping)
}

var (
	zipMark = []byte("PK\x03\x04")
	oleMark = []byte("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1")
)

// sniff tells the kind of a stream by its first bytes. A stream that cannot be
// read is left to the reader of CSV to report.
func sniff(br *bufio.Reader) string {
	head, _ := br.Peek(512)
	text := bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xEF\xBB\xBF")), " \t\r\n")
	switch {
	case bytes.HasPrefix(head, zipMark), bytes.HasPrefix(head, oleMark):
		return ".xlsx"
	case bytes.HasPrefix(text, []byte("{")):
		return ".jsonl"
	}
	return ".csv"
}

// openWorkbookFile finds a way to read a workbook in any order.
func openWorkbookFile(name string, file io.Reader, sheet string, mapping Mapping) (*Sheet, error) {
	type inPlace interface {
		io.ReaderAt
		Stat() (fs.FileInfo, error)
	}
	if f, ok := file.(inPlace); ok {
		if info, err := f.Stat(); err == nil && info.Mode().IsRegular() {
			if err := knownMark(f); err != nil {
				return nil, fmt.Errorf("reading %s: %w", name, err)
			}
			return OpenXLSX(name, f, info.Size(), sheet, mapping)
		}
	}
	tmp, err := os.CreateTemp("", "pouchward-*.xlsx")
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	s, err := openCopy(name, tmp, file, sheet, mapping)
	if err != nil {
		_ = removeFile(tmp)
		return nil, err
	}
	s.closers = append(s.closers, func() error { return removeFile(tmp) })
	return s, nil
}

func openCopy(name string, tmp *os.File, file io.Reader, sheet string, mapping Mapping) (*Sheet, error) {
	n, err := io.Copy(tmp, io.LimitReader(file, maxFile+1))
	if err == nil && n > maxFile {
		err = fmt.Errorf("the workbook is larger than %d MB; %s", maxFile>>20, asCSV)
	}
	if err == nil {
		err = knownMark(tmp)
	}
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	return OpenXLSX(name, tmp, n, sheet, mapping)
}

func removeFile(f *os.File) error { return errors.Join(f.Close(), os.Remove(f.Name())) }

// knownMark refuses what is called a workbook and is none, in plain words.
func knownMark(f io.ReaderAt) error {
	var head [8]byte
	n, err := f.ReadAt(head[:], 0)
	switch {
	case err != nil && err != io.EOF:
		return err
	case n == 0:
		return errors.New("the file is empty")
	case bytes.Equal(head[:], oleMark):
		return errors.New("an old .xls workbook, or one protected by a password; save it as XLSX without a password, or as CSV")
	case !bytes.HasPrefix(head[:], zipMark):
		return errors.New("not an XLSX workbook; save it as XLSX or CSV")
	}
	return nil
}
