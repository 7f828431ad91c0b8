// Package intake reads sheets of readings as shops have them.
//
// A sheet is a CSV file, a workbook (XLSX) or JSON lines. CSV is UTF-8 (with or
// without a byte order mark), separated by comma, semicolon or tab; which one is
// told from its first line, which may also say so (sep=;). The first line, or the first row that holds
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
// A row that may be shifted, or be two, is marked: it has more cells than the header
// has names, or a carriage return stands alone in it, or a decimal comma may have
// parted a number where commas part cells. It is judged by the worse of what stands
// there and of its bad signs alone. Where a row is as long as its header, or shorter,
// such a comma cannot be told.
//
// A sheet that cannot be read to its end is an error, so that a cut sheet is
// never taken for a whole one. JSON lines cut between two lines cannot be told
// from whole ones; nor can CSV.
//
// A workbook is read within limits (workbook.go): 250,000 rows with values,
// 1,000 columns, 16 million cells and no more than ten empty ones for each that is
// not, 640 MB of XML, five minutes without a row. What is larger is CSV's work.
package intake
