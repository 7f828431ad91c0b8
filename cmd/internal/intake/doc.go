// Package intake reads sheets of readings as shops have them.
//
// A sheet is CSV in UTF-8 (with or without a byte order mark), separated by
// comma, semicolon or tab; which one is told from its first line. The first
// line names the columns, in any order: fields of a reading (`pouchward
// fields`), columns that begin x_ and pass through, and the program's own output
// columns, which are dropped and made anew. Any other column is an error that
// names the nearest field, unless it is mapped to one.
//
// A refused cell never stops its row: the field counts as not known, and the
// row carries the error. A sheet that cannot be read to its end is an error, so
// that a cut sheet is never taken for a whole one.
package intake
