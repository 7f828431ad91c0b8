package app

import (
	"strings"

	"pouchward/exports/table"
	"pouchward/triage"
)

// rulesTable is the rulebook of the day judged for.
func (e *exporter) rulesTable() *table.Table {
	text := func(name, words, text string, width int, of func(*triage.Explained) string) table.Field[triage.Explained] {
		return table.Field[triage.Explained]{Column: table.Column{Name: name, Words: words, Text: text, Width: width}, Of: func(x *triage.Explained) table.Value { return table.OfText(of(x)) }}
	}
	day := func(name, words, text string, of func(*triage.Explained) string) table.Field[triage.Explained] {
		return table.Field[triage.Explained]{Column: table.Column{Name: name, Words: words, Type: table.Date, Text: text}, Of: func(x *triage.Explained) table.Value { return ofDay(of(x)) }}
	}
	basis := text("basis", "basis", "published: a regulation or official text; common-practice: a habit of the trade; house: this shop's own", 16, func(x *triage.Explained) string { return x.Basis })
	basis.Marks = map[string]table.Mark{"common-practice": table.Notice, "house": table.Notice}
	fields := []table.Field[triage.Explained]{
		text("id", "id", "id of the rule, never reused", 26, func(x *triage.Explained) string { return x.ID }),
		text("kind", "kind", "kind of record", 10, func(x *triage.Explained) string { return x.Kind }),
		text("title", "title", "the rule in words", 44, func(x *triage.Explained) string { return x.Title }),
		text("outcome", "outcome", "what it gives", 56, func(x *triage.Explained) string { return x.Outcome }),
		text("when", "when", "its conditions, all of them", 34, func(x *triage.Explained) string { return strings.Join(x.When, " and ") }),
		text("or_when", "or when", "another set of conditions", 24, func(x *triage.Explained) string { return strings.Join(x.OrWhen, " and ") }),
		text("for", "for", "conditions for carriage that it is for; blank: all", 18, func(x *triage.Explained) string { return strings.Join(x.For, "; ") }),
		text("routes", "routes", "routes that it is for", 24, func(x *triage.Explained) string { return strings.Join(x.Routes, "; ") }),
		text("source", "source", "citation down to the paragraph", 64, func(x *triage.Explained) string { return x.Source }),
		basis,
		text("confidence", "confidence", "read in the instrument or an official restatement, second-hand, or from memory", 13, func(x *triage.Explained) string { return x.Confidence }),
		text("note", "note", "a disagreement, a reason", 80, func(x *triage.Explained) string { return x.Note }),
		text("instrument", "instrument", "the regulation, code or body of practice", 44, func(x *triage.Explained) string { return x.Instrument }),
		text("edition", "edition", "its edition", 24, func(x *triage.Explained) string { return x.Edition }),
		day("from", "from", "first day in force; blank: that of the instrument", func(x *triage.Explained) string { return x.From }),
		day("until", "until", "last day in force; blank: none is known", func(x *triage.Explained) string { return x.Until }),
	}
	return table.New("rulebook", "Rulebook", "Every rule in force on the day judged for, with its source. Which rule says so and which is a habit of the trade stands under basis.", fields,
		func(put func(*triage.Explained) error) error {
			list, err := e.shop.Rulebook.Explained("")
			if err != nil {
				return err
			}
			for i := range list {
				if err := put(&list[i]); err != nil {
					return err
				}
			}
			return nil
		})
}
