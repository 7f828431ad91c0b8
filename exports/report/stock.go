package report

import (
	"fmt"
	"strings"

	"gonum.org/v1/plot/vg"

	"pouchward/exports"
	"pouchward/exports/chart"
	"pouchward/exports/pdf"
	"pouchward/triage"
	"pouchward/triage/hazard"
	"pouchward/triage/review"
)

// stock writes what is in the shop, and what the largest container of it could do.
func (p *page) stock() {
	p.section("In the shop, by place and container")
	if p.Stock == nil {
		p.Para("Cannot be read: the log does not verify. That is not to say that nothing is there.", plain)
		return
	}
	t := &p.Stock.Total
	rows := [][]string{{"ALL", "", "", fmt.Sprint(t.Cells), exports.SumText(t.Wh, 1, t.Unrated), exports.SumText(t.Kg, 3, t.Unweighed), startText(t.Oldest)}}
	for i := range p.Stock.Rows {
		x := &p.Stock.Rows[i]
		rows = append(rows, []string{placeText(x.Place), boxText(x), exports.HandlingText(x.Handling) + ", " + x.Condition, fmt.Sprint(x.Cells), exports.SumText(x.Wh, 1, x.Unrated),
			exports.SumText(x.Kg, 3, x.Unweighed), startText(x.Oldest)})
	}
	columns := []pdf.Column{{Head: "Place", Width: 30}, {Head: "Container", Width: 32}, {Head: "Class, condition"}, {Head: "Cells", Width: 13, Right: true}, {Head: "Wh", Width: 21, Right: true},
		{Head: "kg", Width: 19, Right: true}, {Head: "Oldest start", Width: 22}}
	p.table(columns, rows, int64(len(rows)), "cells")
	p.Space(1)
	p.Para(fmt.Sprintf("As the log stands on %s. +n: so many more without that figure, which is at least what is printed. Oldest start: the day on which accumulation began, as dates on the cells or the log have it. Classes are those of the last look; local codes and licensed practice say how much may stand where.", p.Stock.On), small)
	if t.Unsecured > 0 {
		p.Space(1)
		p.Para(fmt.Sprintf("NOTICE not recorded as secured (terminals insulated, bagged): %s.", exports.Count(t.Unsecured, "cell")), strong)
	}
	p.section("What the largest container could do to the air")
	text := hazard.Caution
	if h := p.Stock.Hazard; h != nil {
		text = h.Text() + " Yield: " + h.Source + "."
	}
	p.Para(upperFirst(strings.TrimPrefix(text, "HAZARD ")), plain)
}

func placeText(place string) string {
	if place == "" {
		return "NOT SAID"
	}
	return place
}

func boxText(x *exports.StockRow) string {
	if x.Container == "" {
		return ""
	}
	return strings.TrimSpace(triage.SpacedTag(x.Container) + " " + x.What)
}

func startText(day string) string {
	if day == "" {
		return "no clock"
	}
	return day
}

// ledger writes what was there, came and left, month by month.
func (p *page) ledger() {
	l := p.Review.Ledger
	p.section("Ledger by month")
	var rows [][]string
	for i := range l.Months {
		x := &l.Months[i].Total
		rows = append(rows, []string{l.Months[i].From.String()[:7], fmt.Sprint(x.Before.Cells), fmt.Sprint(x.CameIn.Cells), fmt.Sprint(x.Left.Cells), fmt.Sprintf("%+d", x.Restated.Cells), fmt.Sprint(x.After.Cells),
			exports.SumText(float64(x.After.MicroWh)/1e6, 1, x.After.Unrated), exports.SumText(float64(x.After.MilliGram)/1e6, 3, x.After.Unweighed)})
	}
	right := func(head string, width float64) pdf.Column { return pdf.Column{Head: head, Width: width, Right: true} }
	columns := []pdf.Column{{Head: "Month"}, right("Before", 20), right("In", 16), right("Out", 16), right("Restated", 20), right("After", 20), right("Wh after", 30), right("kg after", 30)}
	all := int64(len(rows))
	rows = rows[max(0, len(rows)-mostRows):] // the last months
	p.table(columns, rows, all, "ledger")
	p.Space(1)
	text := fmt.Sprintf("Before + in - out + restated = after, in cells, for the whole shop; each month also balances by container and place in count, Wh and mass: %s.", exports.Count(int64(len(l.Differences)), "difference"))
	if l.Compared {
		text += " The last month is held against the stock view of the log, which is kept apart."
	}
	p.Para(text+" Restated: counted, weighed or read anew, or taken back, while it stood there. +n: so many more without that figure.", small)
}

// pictures draws each picture on a page across.
func (p *page) pictures() error {
	if p.Days == nil {
		p.section("Pictures")
		p.Para("Not drawn: the log does not verify.", plain)
		return nil
	}
	stock, err := chart.StockPicture(p.Review.Snapshot, p.Days, "cells")
	if err != nil {
		return err
	}
	wh, err := chart.StockPicture(p.Review.Snapshot, p.Days, "wh")
	if err != nil {
		return err
	}
	age := chart.AgePicture(p.Review.Snapshot, p.Ages)
	upright := p.Flow
	p.Flow = p.doc.Flow(p.Report.Paper.Landscape())
	p.contents = append(p.contents, entry{"Pictures: stock over time, age and the year", len(p.doc.Pages)})
	for i, x := range []*chart.Picture{stock, wh, age} {
		if i > 0 {
			p.Break()
		}
		p.picture(x)
	}
	p.Flow = upright
	p.Break()
	return nil
}

// picture draws one as large as the page has room.
func (p *page) picture(x *chart.Picture) {
	const mmPerPoint = 25.4 / 72
	w, h := float64(x.W)*mmPerPoint, float64(x.H)*mmPerPoint
	scale := min(p.Width()/w, p.Room()/h)
	left := p.Left() + (p.Width()-w*scale)/2
	x.Draw(&canvas{page: p.Page, left: left, floor: p.Y + h*scale, scale: scale * mmPerPoint, weight: vg.Points(1)})
}

// sample lists the cells to walk to, with room for a pen.
func (p *page) sample() {
	x := &p.Review.Sample
	p.section("Ten cells drawn at random, to walk to")
	var rows [][]string
	for _, part := range []struct {
		word string
		tags []string
	}{{"here", x.Here}, {"left", x.Gone}} {
		for _, tag := range part.tags {
			rows = append(rows, p.drawn(tag, part.word))
		}
	}
	if len(rows) == 0 {
		p.Para("There is no cell to draw from.", plain)
	} else {
		p.Table(&pdf.Table{Columns: []pdf.Column{{Head: "Tag", Width: 18}, {Head: "By the log", Width: 12}, {Head: "Where, or how it left"}, {Head: "Class, condition", Width: 40}, {Head: "Wh", Width: 14, Right: true},
			{Head: "Start", Width: 20}, {Head: "Seen", Width: 14}, {Head: "Differs in", Width: 28}}, Rows: rows, Style: small, Least: 8})
	}
	p.Space(1)
	p.Para(fmt.Sprintf("Walk from the record to the shelf, and back. Drawn of %d single cells in the shop and %d that left within the period, by the seed %q: the tags with the least SHA-256 of the seed, a space and the tag. Whoever does not trust the shop names a seed that it could not know: pouchward review --seed WORDS.",
		x.OfHere, x.OfGone, x.Seed), small)
}

// drawn is what the log says of a cell of the sample.
func (p *page) drawn(tag, word string) []string {
	row := []string{triage.SpacedTag(tag), word, "", "", "not known", "no clock", "", ""}
	for i := range p.Review.Snapshot.Cells {
		c := &p.Review.Snapshot.Cells[i]
		if c.Tag != tag {
			continue
		}
		last := c.Last()
		row[2], row[3] = p.where(c, last), exports.HandlingText(last.Handling.String())+", "+last.Condition.String()
		if last.MicroWh > 0 {
			row[4] = triage.Micro(last.MicroWh).Rounded(1).String()
		}
		if last.Start != 0 {
			row[5] = last.Start.String()
		}
	}
	return row
}

func (p *page) where(c *review.Cell, last *review.State) string {
	step := &c.Steps[len(c.Steps)-1]
	switch {
	case last.Is == review.Out && step.Shipment != "":
		return fmt.Sprintf("shipment %s, %s (entry %d)", triage.SpacedTag(step.Shipment), step.Happened.Format("2006-01-02"), step.Entry)
	case last.Is == review.Out:
		return fmt.Sprintf("%s (entry %d)", step.Happened.Format("2006-01-02"), step.Entry)
	case last.In != "":
		return "in " + triage.SpacedTag(last.In)
	}
	return placeText(last.Place)
}
