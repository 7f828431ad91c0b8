package app

import (
	"maps"
	"slices"
	"time"

	"pouchward/exports/table"
	"pouchward/triage"
)

// A monthRow is the stock at the end of a month; the last is that of the day
// judged for.
type monthRow struct {
	day     triage.Date
	classes monthChange
}

func (m *monthRow) total() (h holding) {
	for i := range m.classes {
		h.add(m.classes[i], 1)
	}
	return h
}

// monthsTable is the stock month by month and class, from which the charts of the
// workbook are drawn.
func (e *exporter) monthsTable() *table.Table {
	fields := []table.Field[monthRow]{{Column: table.Column{Name: "day", Words: "at the end of", Type: table.Date, Text: "last day of the month, or the day judged for"}, Of: func(x *monthRow) table.Value { return table.OfDate(x.day) }}}
	for _, class := range []triage.Handling{triage.Emergency, triage.Isolate, triage.Hold, triage.Retire, triage.Sound} {
		name := class.String()
		fields = append(fields, table.Field[monthRow]{Column: table.Column{Name: name + "_kwh", Words: handlingText(name), Unit: "kWh", Type: table.Decimal, Decimals: 3, Text: "sum of the watt-hour ratings known of class " + name, Width: 11},
			Of: func(x *monthRow) table.Value { return table.OfDecimal(triage.Micro(x.classes[class].microWh / 1000)) }})
	}
	for _, class := range []triage.Handling{triage.Emergency, triage.Isolate, triage.Hold, triage.Retire, triage.Sound} {
		name := class.String()
		fields = append(fields, table.Field[monthRow]{Column: table.Column{Name: name + "_kg", Words: handlingText(name), Unit: "kg", Type: table.Decimal, Decimals: 3, Text: "sum of the masses weighed of class " + name, Width: 11},
			Of: func(x *monthRow) table.Value { return table.OfDecimal(triage.Micro(x.classes[class].milliGram)) }})
	}
	fields = append(fields,
		whole("cells", "cells", "cells in the shop, of every class", func(x *monthRow) table.Value { return table.OfWhole(x.total().cells) }),
		whole("unrated", "without a rating", "cells that are in no sum of kWh", func(x *monthRow) table.Value { t := x.total(); return table.OfWhole(t.cells - t.rated) }),
		whole("unweighed", "not weighed", "cells that are in no sum of kg", func(x *monthRow) table.Value { t := x.total(); return table.OfWhole(t.cells - t.weighed) }))
	return table.New("stock_months", "Stock by month", "What was in the shop at the end of each month by handling class, as the entries say it. A sum of 0 is 0 of what is known: cells without a rating or not weighed are counted apart.",
		fields, e.eachMonth)
}

// mostMonths is how far back the stock is told: a hundred years.
const mostMonths = 1200

// eachMonth adds the changes up, from the month in which the log began.
func (e *exporter) eachMonth(put func(*monthRow) error) error {
	s := e.survey
	months := slices.Sorted(maps.Keys(s.months))
	var x monthRow
	end := monthOf(e.moment)
	for m := max(monthOf(s.began), end-mostMonths); m <= end; m++ {
		for len(months) > 0 && months[0] <= m {
			for class := range s.months[months[0]] {
				x.classes[class].add(s.months[months[0]][class], 1)
			}
			months = months[1:]
		}
		if x.day = lastDay(m); x.day > e.day {
			x.day = e.day
		}
		if e.from != 0 && x.day < e.from || e.to != 0 && firstDay(m) > e.to {
			continue
		}
		if err := put(&x); err != nil {
			return err
		}
	}
	return nil
}

func firstDay(month int) triage.Date {
	return triage.DateOf(time.Date(month/12, time.Month(month%12+1), 1, 0, 0, 0, 0, time.UTC))
}

func lastDay(month int) triage.Date { return firstDay(month+1) - 1 }
