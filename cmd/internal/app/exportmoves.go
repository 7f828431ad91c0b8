package app

import (
	"slices"

	"pouchward/exports/table"
	"pouchward/logbook"
	"pouchward/triage"
)

// A moveRow is one tag that went somewhere, or was secured.
type moveRow struct {
	entry *logbook.Entry
	tag   string
	what  string // moved, left, secured, packed, dispatched, came back
	to    string // a place
	box   string // a container or a package
	ship  string
	done  string // what was done to secure it
	why   string
}

func (x *moveRow) entryOf() *logbook.Entry { return x.entry }

// movesTable has a row for each tag of an entry that moved something.
func (e *exporter) movesTable() *table.Table {
	field := func(name, words, text string, width int, of func(*moveRow) string) table.Field[moveRow] {
		return table.Field[moveRow]{Column: table.Column{Name: name, Words: words, Text: text, Width: width}, Of: func(x *moveRow) table.Value { return table.OfText(of(x)) }}
	}
	fields := slices.Concat(entryFields[moveRow](), []table.Field[moveRow]{
		field("tag", "tag", "the cell or the container", 9, func(x *moveRow) string { return x.tag }),
		field("what", "what", "moved, secured, packed, dispatched, came back, left the shop", 14, func(x *moveRow) string { return x.what }),
		field("place", "to place", "the place that it went to", 20, func(x *moveRow) string { return x.to }),
		field("container", "into", "tag of the container or package that it went into", 9, func(x *moveRow) string { return x.box }),
		field("shipment", "shipment", "tag of the shipment", 9, func(x *moveRow) string { return x.ship }),
		field("secured", "secured by", "what was done to secure it: terminals insulated, bag, fill", 22, func(x *moveRow) string { return x.done }),
		field("reason", "reason", "why, in the words of who did it", 40, func(x *moveRow) string { return x.why }),
	}, whoFields[moveRow](e))
	return table.New("movements", "Movements", "Where each cell and container went, and what was done to secure it.", fields, func(put func(*moveRow) error) error {
		return e.each(func(entry *logbook.Entry) error { return e.eachMove(entry, put) }, "move", "secured", "shipment")
	})
}

func (e *exporter) eachMove(entry *logbook.Entry, put func(*moveRow) error) error {
	x := moveRow{entry: entry}
	switch entry.Kind {
	case "secured":
		var b securedBody
		if err := e.decode(entry, &b); err != nil {
			return err
		}
		x.what, x.done = "secured", exportDone(b.Terminals, b.Bag, b.Fill)
	case "move":
		var b moveBody
		if err := e.decode(entry, &b); err != nil {
			return err
		}
		x.what, x.to, x.why = "moved", b.To, b.Because
		if tag, kind, err := triage.CheckTag(b.To); err == nil && kind == triage.ContainerTag && tag == b.To {
			x.to, x.box = "", b.To
		}
		if b.Out != "" {
			x.what, x.why = "left the shop", joinWords(b.Out, b.Because)
		}
	default:
		return e.eachShipped(entry, put)
	}
	for _, tag := range entry.Tags {
		if tag == x.box {
			continue // the container that took it did not move
		}
		x.tag = tag
		if err := put(&x); err != nil {
			return err
		}
	}
	return nil
}

func exportDone(terminals, bag, fill bool) string {
	text := ""
	for _, w := range []struct {
		is   bool
		word string
	}{{terminals, "terminals"}, {bag, "bag"}, {fill, "fill"}} {
		if w.is {
			text = joinWords(text, w.word)
		}
	}
	return text
}

func joinWords(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "; " + b
}

// eachShipped puts the cells that a step of a shipment moved.
func (e *exporter) eachShipped(entry *logbook.Entry, put func(*moveRow) error) error {
	b := new(shipmentBody)
	if err := e.decode(entry, b); err != nil {
		return err
	}
	x := moveRow{entry: entry, ship: b.About, why: b.Reason}
	row := func(box string, cells []string) error {
		for _, tag := range cells {
			x.tag, x.box = tag, box
			if err := put(&x); err != nil {
				return err
			}
		}
		return nil
	}
	switch b.Did {
	case "packed":
		x.what = "packed"
		return row(b.Package, b.Cells)
	case "dispatched":
		x.what = "dispatched"
	case "refused":
		x.what = "came back"
	default:
		return nil
	}
	for i := range b.Packages {
		box := b.Packages[i].Tag
		if x.what == "dispatched" {
			box = ""
		}
		if err := row(box, b.Packages[i].Cells); err != nil {
			return err
		}
	}
	return nil
}
