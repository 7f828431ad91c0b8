package app

import (
	"slices"
	"strings"

	"pouchward/exports/table"
	"pouchward/logbook"
	"pouchward/triage"
)

// A cellRow is one cell of the table of cells, with what the log knows of it.
type cellRow struct {
	*Cell
	tag    string
	label  triage.Reading // merged over all looks: what the label says, what was ever seen
	last   triage.Reading // of the last look that judged it whole
	counts map[string]int64
	loose  int64 // entries retracted
}

// cellsTable has a row for each tag that was ever on a cell, those that left the
// shop and those that turned out to be another's too.
func (e *exporter) cellsTable() *table.Table {
	fields := slices.Concat(e.cellStanding(), e.cellLabel(), e.cellHistory())
	return table.New("cells", "Cells", "Every cell that the log knows, by tag, with what holds of it on the day judged for. A class is that of the last look, raise or determination.",
		fields, e.eachCell)
}

// eachCell reads the cells that an entry of the period names, and those that stand
// in the shop.
func (e *exporter) eachCell(put func(*cellRow) error) error {
	return e.log.TagHistories(triage.CellTag, e.report.Tree.Size, func(tag string, raw []logbook.RawEntry) error {
		if err := e.ctx.Err(); err != nil {
			return err
		}
		own, within, issuedAlone := make([]*logbook.Entry, 0, len(raw)), false, true
		for i := range raw {
			entry, err := e.parse(&raw[i])
			if err != nil {
				return err
			}
			if entry == nil {
				continue
			}
			own, within = append(own, entry), within || e.in(entry)
			issuedAlone = issuedAlone && entry.Kind == "record"
		}
		if issuedAlone {
			return nil // a printed tag that is on nothing yet
		}
		c, err := readCell(&seeded{e, tag, own}, tag)
		if err != nil {
			if e.damage != "" {
				return put(&cellRow{Cell: &Cell{Tag: tag}, tag: tag})
			}
			return err
		}
		if !within && c.State.Is != logbook.Here {
			return nil
		}
		return put(newCellRow(c, tag))
	})
}

// seeded is the log up to the size exported, with the entries of one tag read.
type seeded struct {
	e    *exporter
	tag  string
	list []*logbook.Entry
}

// History implements historian.
func (s *seeded) History(tag string) ([]*logbook.Entry, error) {
	if tag == s.tag {
		return s.list, nil
	}
	list, err := s.e.log.History(tag)
	return slices.DeleteFunc(list, func(e *logbook.Entry) bool { return e.Number > s.e.report.Tree.Size }), err
}

func newCellRow(c *Cell, tag string) *cellRow {
	x := &cellRow{Cell: c, tag: tag, counts: map[string]int64{}}
	x.label, x.last, _ = c.readings(len(c.looks))
	for _, e := range c.Entries {
		if c.void[e.Number] != 0 {
			x.loose++
			continue
		}
		x.counts[e.Kind]++
	}
	return x
}

// alias reports whether the tag is another of its cell.
func (x *cellRow) alias() bool { return x.tag != x.Tag }

// standing says where it is in a word.
func (x *cellRow) standing() string {
	switch {
	case x.alias():
		return "another tag of " + x.Tag
	case x.State.Is == logbook.Here:
		return "in the shop"
	case x.State.Is == logbook.Out:
		return "left the shop"
	}
	return ""
}

// of keeps a value to the row of the cell's own tag: an alias counts nothing twice.
func ofCell(fn func(*cellRow) table.Value) func(*cellRow) table.Value {
	return func(x *cellRow) table.Value {
		if x.alias() {
			return table.Value{}
		}
		return fn(x)
	}
}

func (e *exporter) cellStanding() []table.Field[cellRow] {
	classes := func(x *cellRow) (string, string) {
		if x.State.Lapses != "" && x.State.Lapses < e.day.String() {
			return x.State.LapsedHandling, x.State.LapsedCondition
		}
		return x.State.Handling, x.State.Condition
	}
	return []table.Field[cellRow]{
		{Column: table.Column{Name: "tag", Words: "tag", Text: "the tag on the cell", Width: 9}, Of: func(x *cellRow) table.Value { return table.OfText(x.tag) }},
		{Column: table.Column{Name: "standing", Words: "standing", Text: "in the shop, left the shop, or another tag of a cell that has a row of its own", Width: 21},
			Of: func(x *cellRow) table.Value { return table.OfText(x.standing()) }},
		{Column: handlingColumn(), Of: ofCell(func(x *cellRow) table.Value { h, _ := classes(x); return ofHandling(h) })},
		{Column: conditionColumn(), Of: ofCell(func(x *cellRow) table.Value { _, c := classes(x); return table.OfText(c) })},
		{Column: table.Column{Name: "size", Words: "size", Text: "small, medium, large or unknown, by the watt-hour rating", Width: 9},
			Of: ofCell(func(x *cellRow) table.Value { return table.OfText(x.State.Size) })},
		{Column: table.Column{Name: "waste", Words: "casing", Text: "what the waste law goes by: casing-intact, casing-breached, unknown, not-waste", Width: 14},
			Of: ofCell(func(x *cellRow) table.Value { return table.OfText(x.State.Waste) })},
		{Column: table.Column{Name: "energy_wh", Words: "energy", Unit: "Wh", Type: table.Decimal, Decimals: 2, Text: "watt-hour rating; blank where none is known"},
			Of: ofCell(func(x *cellRow) table.Value { return table.OfSomeDecimal(triage.Micro(x.State.MicroWh)) })},
		{Column: table.Column{Name: "mass_g", Words: "mass", Unit: "g", Type: table.Decimal, Decimals: 1, Text: "mass on a scale; blank where it was not weighed"},
			Of: ofCell(func(x *cellRow) table.Value { return ofMass(x.State.MilliGram, 1000) })},
		{Column: table.Column{Name: "place", Words: "place", Text: "where it stands, unless a container holds it", Width: 16},
			Of: ofCell(func(x *cellRow) table.Value { return table.OfText(x.State.Place) })},
		{Column: table.Column{Name: "container", Words: "container", Text: "tag of the container or package that holds it, or held it when it left", Width: 10},
			Of: ofCell(func(x *cellRow) table.Value { return table.OfText(x.State.In) })},
		{Column: table.Column{Name: "shipment", Words: "shipment", Text: "the shipment in which it left", Width: 9}, Of: ofCell(func(x *cellRow) table.Value { return table.OfText(x.sent) })},
		{Column: table.Column{Name: "secured", Words: "secured", Type: table.YesNo, Text: "terminals, bag and, where it is owed, fill are recorded", Width: 7},
			Of: ofCell(func(x *cellRow) table.Value { return table.OfYesNo(x.State.MadeSafe) })},
		{Column: table.Column{Name: "accumulation_start", Words: "accumulation start", Type: table.Date, Text: "the day from which it accumulates", Width: 13},
			Of: ofCell(func(x *cellRow) table.Value { return ofDay(x.State.Start) })},
		{Column: table.Column{Name: "start_by", Words: "start by", Text: "what that day is: waste_on, pulled_on, stated on the container, or the day of the first entry", Width: 10},
			Of: ofCell(func(x *cellRow) table.Value { return table.OfText(x.State.StartBy) })},
		{Column: table.Column{Name: "class_since", Words: "in this class since", Type: table.Time, Text: "since when it has had this handling class or a worse one"},
			Of: ofCell(func(x *cellRow) table.Value { return onClock(x.State.Since, e) })},
		{Column: table.Column{Name: "looked", Words: "last look", Type: table.Time, Text: "when it was last looked at"},
			Of: ofCell(func(x *cellRow) table.Value { return onClock(x.State.Looked, e) })},
		{Column: table.Column{Name: "lapses", Words: "determination lapses", Type: table.Date, Text: "last day on which a determination holds that made the answers better"},
			Of: ofCell(func(x *cellRow) table.Value { return ofDay(x.State.Lapses) })},
	}
}

// readingField is a column of a reading; which picks the reading.
func readingField(name, words string, f triage.FieldID, decimals int, text string, which func(*cellRow) *triage.Reading) table.Field[cellRow] {
	col := table.Column{Name: name, Words: words, Text: text, Decimals: decimals}
	setType(&col, f)
	return table.Field[cellRow]{Column: col, Of: ofCell(func(x *cellRow) table.Value { return ofReading(which(x), f) })}
}

// setType gives a column the type and the unit of a field.
func setType(c *table.Column, f triage.FieldID) {
	d := &triage.Fields[f]
	c.Unit = d.Unit
	switch d.Type {
	case triage.NumberField:
		c.Type = table.Decimal
	case triage.CountField:
		c.Type = table.Whole
	case triage.DateField:
		c.Type = table.Date
	}
}

// ofReading is what was read of a field; what was not, or cannot be, is blank.
func ofReading(r *triage.Reading, f triage.FieldID) table.Value {
	v, d := r[f], &triage.Fields[f]
	if v.State != triage.Known {
		return table.Value{}
	}
	switch d.Type {
	case triage.NumberField:
		return table.OfDecimal(v.Num)
	case triage.CountField:
		return table.OfWhole(int64(v.Num / triage.One))
	case triage.DateField:
		return table.OfDate(triage.Date(v.Num))
	case triage.WordField, triage.YesNoField:
		return table.OfText(baseText(f, v))
	}
	return table.OfText(v.Text)
}

func (e *exporter) cellLabel() []table.Field[cellRow] {
	label := func(x *cellRow) *triage.Reading { return &x.label }
	last := func(x *cellRow) *triage.Reading { return &x.last }
	return []table.Field[cellRow]{
		readingField("part", "part number", triage.Part, 0, "part number", label),
		readingField("device", "device", triage.Device, 0, "the device that it came out of", label),
		readingField("ticket", "ticket", triage.Ticket, 0, "repair ticket", label),
		readingField("kind", "kind", triage.Kind, 0, "pouch, pouch-pack, cylindrical, coin or enclosed", label),
		readingField("chemistry", "chemistry", triage.Chemistry, 0, "chemistry; blank: not known", label),
		readingField("series", "in series", triage.Series, 0, "cells in series", label),
		readingField("parallel", "in parallel", triage.Parallel, 0, "cells in parallel", label),
		readingField("nominal_v", "nominal voltage", triage.NominalV, 2, "nominal voltage of the whole pack", label),
		readingField("charge_limit_v", "charge limit", triage.ChargeLimitV, 2, "limited charge voltage of the whole pack", label),
		readingField("rated_mah", "rated capacity", triage.RatedMah, 0, "rated capacity of the whole pack", label),
		{Column: table.Column{Name: "signs", Words: "signs ever seen", Text: "every sign seen at any look that was not retracted; none: every sign was looked for and none seen; blank: some were not said", Width: 22},
			Of: ofCell(func(x *cellRow) table.Value { return signsOf(&x.label) })},
		readingField("ocv_v", "last voltage", triage.OcvV, 3, "open-circuit voltage at the last full look, of the whole pack", last),
		readingField("thickness_mm", "last thickness", triage.ThicknessMm, 2, "greatest thickness at the last full look", last),
		readingField("purpose", "purpose", triage.Purpose, 0, "reuse, recycle or return", label),
	}
}

// signsOf lists the signs that a reading says were seen. None is an answer only
// where every sign was one: what was not said is no no.
func signsOf(r *triage.Reading) table.Value {
	var seen []string
	all := true
	for f := range triage.NumFields {
		d := &triage.Fields[f]
		if !d.Sign {
			continue
		}
		switch v := r.Sign(f); {
		case v.State != triage.Known:
			all = false
		case v.Num > 0:
			seen = append(seen, strings.ReplaceAll(d.Name, "_", " "))
		}
	}
	if len(seen) == 0 && all {
		return table.OfText("none")
	}
	return list(seen)
}

func (e *exporter) cellHistory() []table.Field[cellRow] {
	count := func(name, words, text string, kinds ...string) table.Field[cellRow] {
		return table.Field[cellRow]{Column: table.Column{Name: name, Words: words, Type: table.Whole, Text: text, Width: max(9, len(words)+2)},
			Of: ofCell(func(x *cellRow) (v table.Value) {
				n := int64(0)
				for _, k := range kinds {
					n += x.counts[k]
				}
				return table.OfWhole(n)
			})}
	}
	at := func(x *cellRow, last bool) table.Value {
		if len(x.Entries) == 0 {
			return table.Value{}
		}
		if last {
			return table.OfWhole(x.Entries[len(x.Entries)-1].Number)
		}
		return table.OfWhole(x.Entries[0].Number)
	}
	return []table.Field[cellRow]{
		count("looks", "looks", "assessments and rechecks that were not retracted", "assessment", "recheck"),
		count("determinations", "determinations", "judgements of condition by named people", "determination"),
		count("corrections", "corrections", "entries that put a reading right", "correction"),
		{Column: table.Column{Name: "retracted", Words: "retracted", Type: table.Whole, Text: "entries about it that were taken back and stay on record", Width: 9},
			Of: ofCell(func(x *cellRow) table.Value { return table.OfWhole(x.loose) })},
		{Column: table.Column{Name: "first_entry", Words: "first entry", Type: table.Whole, Text: "first entry about it", Width: 8}, Of: func(x *cellRow) table.Value { return at(x, false) }},
		{Column: table.Column{Name: "last_entry", Words: "last entry", Type: table.Whole, Text: "last entry about it", Width: 8}, Of: func(x *cellRow) table.Value { return at(x, true) }},
	}
}
