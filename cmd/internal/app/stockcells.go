package app

import (
	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// stockCells reads each cell and lot in the shop on a day as a row of its own:
// what a shelf or a tin should hold, to be held against what it does.
func stockCells(l *logbook.Log, day triage.Date) (rows []exports.StockRow, err error) {
	boxes := map[string]logbook.State{}
	err = l.Containers(func(h *logbook.Held) error {
		boxes[h.Tag] = h.State
		return nil
	})
	if err != nil {
		return nil, err
	}
	err = l.Cells(func(h *logbook.Held) error {
		x := exports.StockRow{Tag: h.Tag, Place: h.Place, Container: h.In, Handling: h.Handling, Condition: h.Condition, Cells: max(h.Count, 1),
			Wh: float64(h.MicroWh) / 1e6, Kg: float64(h.MilliGram) / 1e6, Oldest: h.Start}
		if h.Count > 0 {
			x.Container = h.Tag // a lot is its bin
		}
		if box, ok := boxes[x.Container]; ok {
			x.Place, x.What = box.Place, box.What
		}
		if h.Lapses != "" && h.Lapses < day.String() {
			x.Handling, x.Condition = h.LapsedHandling, h.LapsedCondition
		}
		if h.MicroWh == 0 {
			x.Unrated = x.Cells
		}
		if h.MilliGram == 0 {
			x.Unweighed = x.Cells
		}
		if h.Count == 0 && !h.MadeSafe && x.Handling != triage.Emergency.String() { // nobody touches one that reacts
			x.Unsecured = 1
		}
		rows = append(rows, x)
		return nil
	})
	return rows, err
}
