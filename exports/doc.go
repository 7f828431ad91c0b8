// Package exports turns verdicts into what people read and take away: the card
// for the bench, rows of CSV and JSON lines, and a table.
//
// Encoders write to an io.Writer or append to a byte slice and take no clock.
// Text from outside (tags, notes, unknown columns) is cleaned on its way out:
// control characters never reach a terminal, and a cell that a spreadsheet
// would take for a formula is written as text.
package exports
