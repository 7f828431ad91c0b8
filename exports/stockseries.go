package exports

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"pouchward/triage"
	"pouchward/triage/review"
)

// AmountText says an amount in words. What is not known is never written as nought.
func AmountText(a review.Amount) string {
	if a.Cells == 0 {
		return "none"
	}
	wh, kg := AmountParts(a)
	return Count(a.Cells, "cell") + ", " + wh + ", " + kg
}

// AmountParts are the Wh and the mass of it, each in words.
func AmountParts(a review.Amount) (wh, kg string) {
	known := func(text string, unknown int64, none string) string {
		switch unknown {
		case 0:
			return text
		case a.Cells:
			return none
		}
		return "at least " + text
	}
	return known(whOf(a), a.Unrated, "Wh not known"), known(kgOf(a), a.Unweighed, "not weighed")
}

// As the stock prints them.
func whOf(a review.Amount) string { return figure(float64(a.MicroWh)/1e6, 1) + " Wh" }
func kgOf(a review.Amount) string { return figure(float64(a.MilliGram)/1e6, 3) + " kg" }

// inTable writes a figure of which some is not known with a plus, and a question mark
// where nothing is.
func inTable(text string, unknown, cells int64) string {
	text, _, _ = strings.Cut(text, " ")
	switch {
	case unknown == 0:
		return text
	case unknown == cells:
		return "?"
	}
	return text + "+"
}

// StockSeriesHead says what was in hand last, worst class first.
func StockSeriesHead(days []review.StockDay) string {
	if len(days) == 0 {
		return "The log had not begun in this time"
	}
	last := &days[len(days)-1]
	all := last.Total()
	if all.Cells == 0 {
		return fmt.Sprintf("Nothing in hand on %s", last.On)
	}
	var parts []string
	for h := review.Classes - 1; h >= 0; h-- {
		if n := last.By[h].Cells; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, HandlingText(triage.Handling(h).String())))
		}
	}
	return fmt.Sprintf("%s in hand on %s: %s", Count(all.Cells, "cell"), last.On, strings.Join(parts, ", "))
}

// peak is the first day on which most stood in the shop.
func peak(days []review.StockDay) (at int) {
	for i := range days {
		if days[i].Total().Cells > days[at].Total().Cells {
			at = i
		}
	}
	return at
}

// StockSeriesNote says what is not in the sums, and when most was in hand.
func StockSeriesNote(days []review.StockDay) string {
	if len(days) == 0 {
		return "No entry had been made by then."
	}
	most, last := &days[peak(days)], days[len(days)-1].Total()
	unknown := ""
	if last.Unrated+last.Unweighed > 0 {
		unknown = fmt.Sprintf(" Of what was in hand last, %s no known rating and %s not weighed: Wh and kg are at least what is shown.", have(last.Unrated), are(last.Unweighed))
	}
	return fmt.Sprintf("Most was in hand on %s: %s.%s Lots count by their cells. The classes are those that the log had at the end of each day.", most.On, AmountText(most.Total()), unknown)
}

func have(n int64) string {
	if n == 1 {
		return "1 has"
	}
	return fmt.Sprintf("%d have", n)
}

func are(n int64) string {
	if n == 1 {
		return "1 was"
	}
	return fmt.Sprintf("%d were", n)
}

// StockSeries prints the stock by month's end, and the last day, in figures.
func StockSeries(w io.Writer, days []review.StockDay) error {
	var b strings.Builder
	b.WriteString(StockSeriesHead(days) + "\n\n")
	if len(days) > 0 {
		fmt.Fprintf(&b, "%-10s  %9s  %7s  %4s  %6s  %8s  %5s  %8s  %7s\n", "end of", "emergency", "isolate", "hold", "retire", "no fault", "cells", "Wh", "kg")
	}
	for i := range days {
		d := &days[i]
		if i+1 < len(days) && (d.On + 1).String()[8:] != "01" {
			continue
		}
		a := d.Total()
		fmt.Fprintf(&b, "%-10s  %9d  %7d  %4d  %6d  %8d  %5d  %8s  %7s\n", d.On, d.By[triage.Emergency].Cells, d.By[triage.Isolate].Cells, d.By[triage.Hold].Cells,
			d.By[triage.Retire].Cells, d.By[triage.Sound].Cells, a.Cells, inTable(whOf(a), a.Unrated, a.Cells), inTable(kgOf(a), a.Unweighed, a.Cells))
	}
	note := StockSeriesNote(days)
	if strings.ContainsAny(b.String(), "+?") {
		note += " A plus means at least: of some it is not known; ? means of none."
	}
	b.WriteString("\n" + strings.Join(Fold(note, 80, 0), "\n") + "\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// amountDoc is an amount in JSON; Wh and kg are of those whose rating or mass is known.
type amountDoc struct {
	Cells     int64   `json:"cells"`
	Wh        float64 `json:"wh"`
	Kg        float64 `json:"kg"`
	Unrated   int64   `json:"unrated"`
	Unweighed int64   `json:"unweighed"`
}

func newAmountDoc(a review.Amount) amountDoc {
	return amountDoc{a.Cells, float64(a.MicroWh) / 1e6, float64(a.MilliGram) / 1e6, a.Unrated, a.Unweighed}
}

type stockDayDoc struct {
	On      string               `json:"on"`
	All     amountDoc            `json:"all"`
	ByClass map[string]amountDoc `json:"by_class"`
}

// StockSeriesJSON writes each day as one JSON object a line.
func StockSeriesJSON(w io.Writer, days []review.StockDay) error {
	var buf bytes.Buffer
	for i := range days {
		d := stockDayDoc{days[i].On.String(), newAmountDoc(days[i].Total()), map[string]amountDoc{}}
		for h := range review.Classes {
			d.ByClass[triage.Handling(h).String()] = newAmountDoc(days[i].By[h])
		}
		if err := EncodeJSON(&buf, d, ""); err != nil {
			return err
		}
	}
	_, err := w.Write(buf.Bytes())
	return err
}
