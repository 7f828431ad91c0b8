package app

import (
	"cmp"

	"pouchward/exports/table"
	"pouchward/logbook"
	"pouchward/triage"
)

// A boxRow is one container of the table of containers.
type boxRow struct {
	tag   string
	body  Container // as it was first put on record, and what later entries changed
	outer *outerBody
	state logbook.State
	first int64
	last  int64
	holds holding
	worst string // handling class in it
	old   string // earliest start in it
}

// containersTable has a row for each container and package that the log knows.
func (e *exporter) containersTable() *table.Table {
	return table.New("containers", "Containers", "Every container and package by tag, with what it holds by the log as it stands now. Local codes say how much may stand where.", e.boxFields(), e.eachBox)
}

// eachBox reads the containers. What each holds is added up by the database, a
// line for each container and class.
func (e *exporter) eachBox(put func(*boxRow) error) error {
	lines, err := e.log.Stock(e.day.String())
	if err != nil && e.damage == "" {
		return err
	}
	held := map[string]*boxRow{}
	for i := range lines {
		s := &lines[i]
		x := held[s.Container]
		if x == nil {
			x = &boxRow{}
			held[s.Container] = x
		}
		x.holds.add(holding{s.Cells, s.Rated, s.Weighed, s.MicroWh, s.MilliGram}, 1)
		was, _ := triage.HandlingByName(x.worst)
		if h, _ := triage.HandlingByName(s.Handling); x.worst == "" || h > was {
			x.worst = s.Handling
		}
		if s.Oldest != "" && (x.old == "" || s.Oldest < x.old) {
			x.old = s.Oldest
		}
	}
	return e.log.TagHistories(triage.ContainerTag, e.report.Tree.Size, func(tag string, raw []logbook.RawEntry) error {
		x := held[tag]
		if x == nil {
			x = &boxRow{}
		}
		x.tag = tag
		known := false
		for i := range raw {
			entry, err := e.parse(&raw[i])
			if err != nil {
				return err
			}
			if entry == nil {
				continue
			}
			if known, err = e.readBox(x, entry, known); err != nil {
				return err
			}
		}
		if !known {
			return e.ctx.Err() // printed, and on nothing yet
		}
		return cmp.Or(e.ctx.Err(), put(x))
	})
}

// readBox takes in one entry that names a container.
func (e *exporter) readBox(x *boxRow, entry *logbook.Entry, known bool) (bool, error) {
	switch entry.Kind {
	case "container":
		var b struct {
			Container
			Outer *outerBody `json:"outer"`
		}
		if err := e.decode(entry, &b); err != nil {
			return known, err
		}
		x.body.Kind, x.body.Material = cmp.Or(b.Kind, x.body.Kind), cmp.Or(b.Material, x.body.Material)
		x.body.Lid, x.body.TareG = cmp.Or(b.Lid, x.body.Lid), cmp.Or(b.TareG, x.body.TareG)
		x.body.Note = joinWords(x.body.Note, b.Note)
		x.outer = cmp.Or(b.Outer, x.outer)
	case "record":
		return known, nil // a printed block names it
	}
	if x.first == 0 {
		x.first = entry.Number
	}
	x.last = entry.Number
	states, err := entry.Now()
	if err != nil && e.damage == "" {
		return known, err
	}
	for i := range states {
		if states[i].Tag == x.tag {
			x.state = states[i]
		}
	}
	return true, nil
}

func (e *exporter) boxFields() []table.Field[boxRow] {
	text := func(name, words, text string, width int, of func(*boxRow) string) table.Field[boxRow] {
		return table.Field[boxRow]{Column: table.Column{Name: name, Words: words, Text: text, Width: width}, Of: func(x *boxRow) table.Value { return table.OfText(of(x)) }}
	}
	worst := text("worst", "worst in it", "the worst handling class of a cell in it", 11, func(x *boxRow) string { return handlingText(x.worst) })
	worst.Marks = handlingMarks
	return []table.Field[boxRow]{
		text("tag", "tag", "the tag on it", 7, func(x *boxRow) string { return x.tag }),
		text("kind", "kind", "tin, bin, drum ...; of a package the name of its outer packaging", 18, func(x *boxRow) string {
			if x.outer != nil {
				return x.outer.Name
			}
			return x.body.Kind
		}),
		text("material", "material", "what it is made of", 11, func(x *boxRow) string { return x.body.Material }),
		text("use", "use", "storage, or package: an outer packaging of a shipment", 9, func(x *boxRow) string {
			if x.outer != nil {
				return "package"
			}
			return "storage"
		}),
		text("standing", "standing", "in the shop, or left the shop", 13, func(x *boxRow) string {
			return map[string]string{logbook.Here: "in the shop", logbook.Out: "left the shop"}[x.state.Is]
		}),
		text("place", "place", "where it stands", 18, func(x *boxRow) string { return x.state.Place }),
		text("in", "inside", "tag of the container that it stands in", 8, func(x *boxRow) string { return x.state.In }),
		text("lid", "lid", "closed, vented or open, as approved locally", 8, func(x *boxRow) string { return x.body.Lid }),
		{Column: table.Column{Name: "volume_l", Words: "volume", Unit: "L", Type: table.Decimal, Decimals: 1, Text: "volume; blank: not known"},
			Of: func(x *boxRow) table.Value { return ofMass(x.state.MilliLitr, 1000) }},
		{Column: table.Column{Name: "tare_g", Words: "tare", Unit: "g", Type: table.Decimal, Decimals: 0, Text: "mass when empty; blank: not known"}, Of: func(x *boxRow) table.Value {
			m, err := triage.ParseQuantity(x.body.TareG, "g", false)
			if err != nil {
				return table.Value{}
			}
			return table.OfSomeDecimal(m)
		}},
		whole("cells", "cells in it", "cells in it, lots counted by their cells", func(x *boxRow) table.Value { return table.OfWhole(x.holds.cells) }),
		{Column: table.Column{Name: "energy_wh", Words: "energy in it", Unit: "Wh", Type: table.Decimal, Decimals: 1, Text: "sum of the watt-hour ratings known; blank: none is"},
			Of: func(x *boxRow) table.Value { return table.OfSomeDecimal(triage.Micro(x.holds.microWh)) }},
		whole("unrated", "without a rating", "cells in it that are not in that sum", func(x *boxRow) table.Value { return table.OfWhole(x.holds.cells - x.holds.rated) }),
		{Column: table.Column{Name: "mass_kg", Words: "mass in it", Unit: "kg", Type: table.Decimal, Decimals: 3, Text: "sum of the masses weighed; blank: none was"},
			Of: func(x *boxRow) table.Value { return ofMass(x.holds.milliGram, 1_000_000) }},
		whole("unweighed", "not weighed", "cells in it that are not in that sum", func(x *boxRow) table.Value { return table.OfWhole(x.holds.cells - x.holds.weighed) }),
		worst,
		{Column: table.Column{Name: "oldest", Words: "oldest start", Type: table.Date, Text: "earliest accumulation start of a cell in it"}, Of: func(x *boxRow) table.Value { return ofDay(x.old) }},
		{Column: table.Column{Name: "stated", Words: "start stated", Type: table.Date, Text: "accumulation start written on it"}, Of: func(x *boxRow) table.Value {
			if x.state.StartBy != "stated" {
				return table.Value{}
			}
			return ofDay(x.state.Start)
		}},
		text("note", "note", "free words", 40, func(x *boxRow) string { return x.body.Note }),
		whole("first_entry", "first entry", "first entry about it", func(x *boxRow) table.Value { return table.OfSome(x.first) }),
		whole("last_entry", "last entry", "last entry about it", func(x *boxRow) table.Value { return table.OfSome(x.last) }),
	}
}

// whole is a column of whole numbers.
func whole[T any](name, words, text string, of func(*T) table.Value) table.Field[T] {
	return table.Field[T]{Column: table.Column{Name: name, Words: words, Type: table.Whole, Text: text, Width: 10}, Of: of}
}
