package app

import (
	"fmt"

	"pouchward/exports"
	"pouchward/exports/pdf"
	"pouchward/exports/report"
	"pouchward/exports/table"
	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/review"
)

// mostWrong is how much of what does not verify the report tells; pouchward log verify
// tells all.
const mostWrong = 5

// inspection gathers what the report says.
func (e *exporter) inspection() (*report.Report, error) {
	site, err := e.site()
	if err != nil && e.damage == "" {
		return nil, err
	}
	r := &report.Report{Site: site, On: e.day, AsOf: e.review.Snapshot.Now, Period: e.periodText(), Notice: e.damage, Names: e.namesText(), House: e.houseText(), Rulebook: e.shop.Rulebook.Digest,
		Entries: e.report.Tree.Size, Line: e.report.Tree.Paper(), Keys: e.report.Keys, Review: e.review, Paper: pdf.PaperOf(e.shop.country())}
	for i := range e.report.Problems {
		if p := &e.report.Problems[i]; !p.File && len(r.Wrong) < mostWrong {
			r.Wrong = append(r.Wrong, problemText(p))
		}
	}
	r.Beside, r.Besides = e.besideText(), e.besides()
	if r.Stock, err = e.screened(); err != nil {
		return nil, err
	}
	if e.damage == "" { // of a log that does not verify nothing is drawn
		r.Days, r.Ages = review.StockSeries(e.review.Snapshot), review.AgesOf(e.review.Snapshot)
	}
	if r.Records, err = e.shortTables(); err != nil {
		return nil, err
	}
	r.Began = e.survey.began
	for _, f := range e.checkpoint().list {
		text := f.text
		if f.number.Known() {
			text = triage.Micro(f.number.Number()).String() + " " + f.unit
		}
		r.Checks = append(r.Checks, report.Check{Part: f.part, Name: f.name, Text: text})
	}
	return r, nil
}

func problemText(p *logbook.Problem) string {
	if p.Entry > 0 {
		return fmt.Sprintf("Entry %d: %s", p.Entry, p.Text)
	}
	return p.Text
}

// A pick is a column of a short table: its name in the table of the export, its head
// on paper, and its width in mm, 0 for a share of what is left.
type pick struct {
	name, head string
	width      float64
}

// shortTables are the last rows of the records that an inspector asks for.
func (e *exporter) shortTables() (list []report.Records, err error) {
	for _, x := range []struct {
		table *table.Table
		title string
		picks []pick
	}{
		{e.shipmentsTable(), "Shipments, as the last entry about each has them", []pick{{"tag", "Tag", 14}, {"stage", "Stage", 20}, {"route", "Route", 21}, {"consignee", "Consignee", 0}, {"offered", "Handed over", 20},
			{"cells", "Cells", 12}, {"net_kg", "kg", 14}, {"received", "Received", 20}, {"differs", "Receipt differs", 24}}},
		{e.trainingTable(), "Training", []pick{{"name", "Trained", 16}, {"topic", "Topic", 0}, {"given", "Given", 20}, {"until", "Next by", 20}, {"passed", "Passed", 15}, {"by", "Given by", 26}, {"entry", "Entry", 13}}},
		{e.incidentsTable(), "Incidents, near misses and follow-ups", []pick{{"happened", "When", 28}, {"step", "Step", 17}, {"state", "State", 14}, {"tags", "Cells", 15}, {"seen", "What was seen", 0}, {"action", "What was done", 40}, {"entry", "Entry", 13}}},
		{e.localsTable(), "What the authorities of the place said", []pick{{"question", "Question", 0}, {"state", "State", 17}, {"answer", "Answer", 50}, {"authority", "Authority", 34}, {"asked_on", "Asked on", 20}}},
	} {
		r, err := short(e.redacted(x.table), x.title, x.picks)
		if err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	return list, nil
}

// mostShort is how many rows of a short table are kept: the last ones.
const mostShort = 40

// short reads some columns of a table, and keeps its last rows.
func short(t *table.Table, title string, picks []pick) (report.Records, error) {
	r := report.Records{Title: title, Table: t.Name}
	at := make([]int, len(picks))
	for i, p := range picks {
		at[i] = -1
		for c := range t.Columns {
			if t.Columns[c].Name == p.name {
				at[i] = c
			}
		}
		if at[i] < 0 {
			return r, fmt.Errorf("the table %s has no column %s", t.Name, p.name)
		}
		kind := t.Columns[at[i]].Type
		r.Columns = append(r.Columns, pdf.Column{Head: p.head, Width: p.width, Right: kind == table.Whole || kind == table.Decimal})
	}
	err := t.Rows(func(row []table.Value) error {
		line := make([]string, len(at))
		for i, c := range at {
			line[i] = t.Columns[c].Print(&row[c])
			if kind := picks[i].name; kind == "tag" || kind == "tags" {
				line[i] = triage.SpacedTag(line[i])
			}
		}
		r.All++
		r.Rows = append(r.Rows, line)
		if len(r.Rows) >= 2*mostShort {
			r.Rows = append(r.Rows[:0], r.Rows[len(r.Rows)-mostShort:]...)
		}
		return nil
	})
	r.Rows = r.Rows[max(0, len(r.Rows)-mostShort):]
	return r, err
}

// screened is the stock with what its largest container could do. Of a damaged log
// what can be read of it is told.
func (e *exporter) screened() (*exports.StockReport, error) {
	r, err := ScreenedStock(e.shop, e.log, e.day, "", "")
	if err == nil || e.damage == "" {
		return r, err
	}
	if r, err = Stock(e.log, e.day, "", ""); err != nil {
		return nil, nil // the report says that it cannot be read
	}
	return r, nil
}
