package app

import (
	"pouchward/exports/table"
	"pouchward/triage"
	"pouchward/triage/review"
)

// A ledgerRow is one container or place, or the whole shop, in one month.
type ledgerRow struct {
	month *review.Month
	line  *review.Line
	shop  bool
}

// ledgerTable is the ledger of the review: what was there, came and left.
func (e *exporter) ledgerTable() *table.Table {
	fields := []table.Field[ledgerRow]{
		{Column: table.Column{Name: "from", Words: "from", Type: table.Date, Text: "first day of the month, or of the period in it"}, Of: func(x *ledgerRow) table.Value { return table.OfDate(x.month.From) }},
		{Column: table.Column{Name: "to", Words: "to", Type: table.Date, Text: "last day of it"}, Of: func(x *ledgerRow) table.Value { return table.OfDate(x.month.To) }},
		{Column: table.Column{Name: "of", Words: "of", Text: "the whole shop, a container, a place, or place not said", Width: 14}, Of: func(x *ledgerRow) table.Value { return table.OfText(x.of()) }},
		{Column: table.Column{Name: "container", Words: "container", Text: "tag of the container", Width: 9}, Of: func(x *ledgerRow) table.Value { return table.OfText(x.line.Container) }},
		{Column: table.Column{Name: "place", Words: "place", Text: "the place, of cells in no container", Width: 18}, Of: func(x *ledgerRow) table.Value { return table.OfText(x.line.Place) }},
	}
	for _, f := range []struct {
		name, words string
		of          func(*review.Line) *review.Amount
	}{
		{"before", "before", func(l *review.Line) *review.Amount { return &l.Before }},
		{"came_in", "came in", func(l *review.Line) *review.Amount { return &l.CameIn }},
		{"moved_in", "moved in", func(l *review.Line) *review.Amount { return &l.MovedIn }},
		{"moved_out", "moved out", func(l *review.Line) *review.Amount { return &l.MovedOut }},
		{"left", "left", func(l *review.Line) *review.Amount { return &l.Left }},
		{"restated", "restated", func(l *review.Line) *review.Amount { return &l.Restated }},
		{"after", "after", func(l *review.Line) *review.Amount { return &l.After }},
	} {
		fields = append(fields, ledgerFields(f.name, f.words, f.of)...)
	}
	return table.New("ledger", "Ledger", "What was there, came and left, by month and by where it stood: before + came in + moved in - moved out - left + restated = after. Restated is counted, weighed or read anew, or taken back, while it stood there. Sums are of what is known; the rest is counted beside them.",
		fields, func(put func(*ledgerRow) error) error {
			for i := range e.review.Ledger.Months {
				m := &e.review.Ledger.Months[i]
				if err := put(&ledgerRow{m, &m.Total, true}); err != nil {
					return err
				}
				for j := range m.Lines {
					if err := put(&ledgerRow{m, &m.Lines[j], false}); err != nil {
						return err
					}
				}
			}
			return nil
		})
}

func (x *ledgerRow) of() string {
	switch {
	case x.shop:
		return "the whole shop"
	case x.line.Container != "":
		return "a container"
	case x.line.Place != "":
		return "a place"
	}
	return "place not said"
}

// ledgerFields are the columns of one amount.
func ledgerFields(name, words string, of func(*review.Line) *review.Amount) []table.Field[ledgerRow] {
	return []table.Field[ledgerRow]{
		whole(name, words, "cells: "+words, func(x *ledgerRow) table.Value { return table.OfWhole(of(x.line).Cells) }),
		{Column: table.Column{Name: name + "_wh", Words: words, Unit: "Wh", Type: table.Decimal, Decimals: 1, Text: "sum of the ratings known: " + words},
			Of: func(x *ledgerRow) table.Value { a := of(x.line); return ofKnown(a.MicroWh, a.Unrated, a.Cells) }},
		{Column: table.Column{Name: name + "_kg", Words: words, Unit: "kg", Type: table.Decimal, Decimals: 3, Text: "sum of the masses weighed: " + words},
			Of: func(x *ledgerRow) table.Value { a := of(x.line); return ofKnown(a.MilliGram, a.Unweighed, a.Cells) }},
		whole(name+"_unrated", words+", without a rating", "cells that are not in that sum of Wh", func(x *ledgerRow) table.Value { return table.OfWhole(of(x.line).Unrated) }),
		whole(name+"_unweighed", words+", not weighed", "cells that are not in that sum of kg", func(x *ledgerRow) table.Value { return table.OfWhole(of(x.line).Unweighed) }),
	}
}

// ofKnown is a sum, blank where of no cell anything is known.
func ofKnown(sum, unknown, cells int64) table.Value {
	if cells != 0 && unknown == cells {
		return table.Value{}
	}
	return table.OfDecimal(triage.Micro(sum))
}
