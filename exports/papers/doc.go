// Package papers makes the papers of a shipment: what is printed before a carrier
// comes, goes along, and comes back.
//
// A Document is sheets of blocks. It is made once, from a Shipment, and written as
// text or as PDF by what each block knows of itself, so that the two cannot differ:
// they hold the same words, broken into other lines.
//
// # The sheets, in the order of printing (common practice)
//
//  1. Readiness: can go, cannot go and why, or one reading away.
//  2. Pre-acceptance: what a receiving site must know before arrival.
//  3. Packing list, per package.
//  4. Marks and labels, per package, from the duties of its ways.
//  5. Transport paper, where the ways of a package ask for one.
//  6. Emergency sheet.
//  7. Hand-over and refusal record.
//  8. Receipt, to be sent back.
//
// A shipment with a cell that reacts, or that is liable to react and has no way,
// gets one sheet in the place of all: do not offer.
//
// # Guarantees
//
// What is not known is printed as "not known"; what no log holds (an address, a
// signature) is a line to write on. A sheet says CAN GO only of what is closed and
// has no open check. A description line is the words of a duty with counts and
// masses beside it; a package that cannot go has none. Every page names the
// shipment, how it stands, the day, the rulebook, and that local codes come first.
// The same Shipment gives the same bytes.
package papers

import "pouchward/triage"

// NotKnown stands where nothing is known.
const NotKnown = "not known"

// A Document is the papers of one shipment.
type Document struct {
	Tag     string // of the shipment, as it is printed
	Stand   string // how it stands: a draft, as handed over
	Foot    []string
	On      triage.Date
	Sheets  []Sheet
	Refused bool // it is the sheet that says not to offer it
}

// A Sheet begins on a page of its own.
type Sheet struct {
	Title  string
	Blocks []Block
}

// A Block writes itself as text and draws itself.
type Block interface {
	text(w *textWriter)
	draw(d *drawer)
}

// Together are blocks that stay on one page where one is long enough.
type Together []Block

// A Heading is over a part of a sheet.
type Heading string

// A Para is running text.
type Para string

// A Notice is what must not be overlooked: a word in a frame, and text.
type Notice struct{ Word, Text string }

// A Form is labels with what is known, or a line to write on.
type Form []Field

// A Field is one of them. A blank Value is a line to write on; with Write there is
// one after the value too.
type Field struct {
	Label, Value string
	Write        bool
}

// Steps are what to do, the first word large.
type Steps []Field

// A Table has a head over each column and its cells by row. The text NotTicked is a
// box to tick.
type Table struct {
	Columns []Column
	Rows    [][]string
	High    bool // rows to write in by hand
}

// NotTicked is a box to tick.
const NotTicked = "□"

// A Column is as wide as so many letters of the text, 0 for what is left.
type Column struct {
	Head  string
	Chars int
	Right bool // numbers
}
