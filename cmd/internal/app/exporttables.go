package app

import (
	"strings"
	"time"

	"pouchward/exports"
	"pouchward/exports/table"
	"pouchward/logbook"
	"pouchward/triage"
)

// tables are the tables of an export in the order in which they are handed over.
// Their rows are read when they are written.
func (e *exporter) tables() []*table.Table {
	list := []*table.Table{e.summaryTable(), e.monthsTable(), e.cellsTable(), e.looksTable(), e.movesTable(), e.containersTable(), e.shipmentsTable(),
		e.packagesTable(), e.findingsTable(), e.ledgerTable(), e.trainingTable(), e.incidentsTable(), e.roundsTable(), e.localsTable(), e.rulesTable(), e.checkpointTable(), e.entriesTable()}
	for i := range list {
		list[i] = e.redacted(list[i])
	}
	return list
}

// What many tables have in common: the entry that a row is of.

// An entryRow is a row of one entry.
type entryRow interface {
	entryOf() *logbook.Entry
}

// entryFields are the first columns of a table of entries.
func entryFields[T any, P interface {
	*T
	entryRow
}]() []table.Field[T] {
	return []table.Field[T]{
		{Column: table.Column{Name: "entry", Words: "entry", Type: table.Whole, Text: "number of the entry in the log", Width: 7},
			Of: func(x *T) table.Value { return table.OfWhole(P(x).entryOf().Number) }},
		{Column: table.Column{Name: "happened", Words: "happened", Type: table.Time, Text: "when it happened, as said by who recorded it"},
			Of: func(x *T) table.Value { e := P(x).entryOf(); return table.OfTime(e.Local(e.Happened)) }},
	}
}

// whoFields are the last columns of a table of entries.
func whoFields[T any, P interface {
	*T
	entryRow
}](e *exporter) []table.Field[T] {
	return []table.Field[T]{
		{Column: table.Column{Name: "who", Words: "who", Text: "who recorded it, as given: a name is not proven", Width: 7},
			Of: func(x *T) table.Value { return table.OfText(e.people.code(P(x).entryOf().Who)) }},
		{Column: table.Column{Name: "retracted_by", Words: "retracted by entry", Type: table.Whole, Void: true, Width: 10,
			Text: "the entry that took it back: it no longer counts, and stays on record"},
			Of: func(x *T) table.Value { return table.OfSome(e.survey.void[P(x).entryOf().Number]) }},
		{Column: table.Column{Name: "entered", Words: "entered", Type: table.Time, Text: "when it was written into the log, by the clock of the machine"},
			Of: func(x *T) table.Value { e := P(x).entryOf(); return table.OfTime(e.Local(e.Entered)) }},
	}
}

// mg are milligrams in units of so many milligrams each, 0 not known.
func ofMass(mg, each int64) table.Value {
	return table.OfSomeDecimal(triage.Micro(mg * (1_000_000 / each)))
}

// ofDay reads a date of an entry; what is none is not known.
func ofDay(text string) table.Value {
	d, err := triage.ParseDate(text)
	if err != nil {
		return table.Value{}
	}
	return table.OfDate(d)
}

// ofSaid is a text that somebody said; not said is not known.
func ofSaid(text string) table.Value {
	if text == notSaid || text == notLooked {
		text = ""
	}
	return table.OfText(text)
}

func list(words []string) table.Value { return table.OfText(strings.Join(words, "; ")) }

func onClock(t time.Time, e *exporter) table.Value { return table.OfTime(local(t, e.moment)) }

// The marks of classes and states. The words say it; the marks make it found.
var (
	handlingMarks = map[string]table.Mark{"hold": table.Notice, "isolate": table.Warning, "emergency": table.Danger}
	conditionMark = map[string]table.Mark{"undetermined": table.Notice, "damaged": table.Warning, "recalled": table.Warning, "liable": table.Danger, "reacting": table.Danger}
)

func handlingColumn() table.Column {
	return table.Column{Name: "handling", Words: "handling", Text: "what the hands do: no fault seen (by these readings), retire, hold, isolate, emergency", Width: 13, Marks: handlingMarks}
}

// ofHandling is a handling class in words; sound is no promise.
func ofHandling(class string) table.Value { return table.OfText(handlingText(class)) }

func handlingText(class string) string { return strings.ToLower(exports.HandlingText(class)) }

func conditionColumn() table.Column {
	return table.Column{Name: "condition", Words: "condition", Text: "condition for carriage", Width: 14, Marks: conditionMark}
}
