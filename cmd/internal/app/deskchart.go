package app

import (
	"time"

	"pouchward/logbook"
	"pouchward/triage/review"
)

// ChartedOne reads what the chart of one cell is drawn from: its own entries, and no
// other's, however long the log is.
func ChartedOne(shop *Shop, l *logbook.Log, now time.Time, typed string) (*review.Snapshot, *review.Cell, error) {
	tag, err := findTag(l, typed)
	if err != nil {
		return nil, nil, err
	}
	if tag, err = cellTag(tag); err != nil {
		return nil, nil, Usage("%v: a chart is of one cell", err)
	}
	c, err := readCell(l, tag)
	if err != nil {
		return nil, nil, err
	}
	r, err := newReviewReader(shop, LogPlace{Options: logbook.Options{Now: func() time.Time { return now }}}, &ReviewAsk{Unjudged: true})
	if err != nil {
		return nil, nil, err
	}
	for _, e := range c.Entries {
		r.entry(e)
	}
	r.s.Site = r.firstSite
	r.finish()
	if list := r.s.Troubles; len(list) > 0 {
		return nil, nil, unreadable(list[0])
	}
	cell, err := ChartedCell(r.s, c.Tag)
	return r.s, cell, err
}

// A CellChart is the drawing of one cell's readings with its words.
type CellChart struct {
	Snapshot *review.Snapshot
	Cell     *review.Cell
	Trends   []review.Trend
}

// CellChart gathers what is drawn of a cell.
func (d *Desk) CellChart(shop *Shop, tag string) (*CellChart, error) {
	s, c, err := ChartedOne(shop, d.log, d.Now(), tag)
	if err != nil {
		return nil, err
	}
	return &CellChart{s, c, review.TrendsOf(c)}, nil
}
