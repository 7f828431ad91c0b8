// Package intake reads sheets of readings as shops have them.
//
// A sheet is a CSV file, a workbook (XLSX) or JSON lines. CSV is UTF-8 (with or
// without a byte order mark), separated by comma, semicolon or tab; which one is
// told from its first line. The first line, or the first row that holds
// anything, names the columns, in any order: fields of a reading (`pouchward
// fields`), columns that begin x_ and pass through, and the program's own output
// columns, which are dropped and made anew. Any other column is an error that
// names the nearest field, unless it is mapped to one. In JSON lines the keys of
// the first object are the columns; any field may join later.
//
// A refused cell never stops its row: the field counts as not known, and the
// row carries the error. So is a cell refused that cannot tell what it shows: an
// error of the workbook, a formula without its result, a date where a voltage
// belongs, 0.61 that could be 61 %, a key given twice. Of such a cell bad news
// alone is kept (a sign that one of the values says is there), and its text is
// marked with " ?", so that it is refused again when the output is sorted again.
//
// A sheet that cannot be read to its end is an error, so that a cut sheet is
// never taken for a whole one. JSON lines cut between two lines cannot be told
// from whole ones; nor can CSV.
//
// A workbook is read within limits (workbook.go): 250,000 rows with values,
// 1,000 columns, 16 million cells, 640 MB of XML. What is larger is CSV's work.
package intake
