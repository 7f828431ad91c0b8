package app

import (
	"maps"
	"slices"
	"strings"
	"time"

	"pouchward/exports/table"
	"pouchward/logbook"
	"pouchward/triage"
)

// A shipRow is one shipment by its last entry, or one package of it.
type shipRow struct {
	entry *logbook.Entry
	shipmentBody
	pack  *packedBody // of the table of packages
	index int         // which of the packages, from 1
	held  holding     // of the packages
}

// stageMarks are the stages that somebody must see to.
var stageMarks = map[string]table.Mark{stageBack: table.Warning, stageDiffers: table.Warning, stageOnWay: table.Notice}

// eachShipment reads the last entry about each shipment that has one within the
// period, in the order in which they were last heard of.
func (e *exporter) eachShipment(put func(*shipRow) error) error {
	last := slices.Sorted(maps.Values(e.survey.last))
	return e.log.Pick(last, func(r logbook.RawEntry) error {
		entry, err := e.parse(&r)
		if err != nil || entry == nil || !e.in(entry) {
			return err
		}
		x := &shipRow{entry: entry}
		if err := e.decode(entry, &x.shipmentBody); err != nil {
			return err
		}
		for i := range x.Packages {
			h := x.Packages[i].holding()
			x.held.add(h, 1)
		}
		return put(x)
	})
}

// holding is what a closed package holds. Of one that is open the log says only by
// its cells what is in it: they stand in the table of cells.
func (p *packedBody) holding() holding {
	if !p.Closed {
		return holding{}
	}
	n := int64(len(p.Cells))
	return holding{cells: n, rated: n - p.Unrated, weighed: n - p.Unweighed, microWh: p.MicroWh, milliGram: p.NetMg}
}

func shipText(name, words, text string, width int, of func(*shipRow) string) table.Field[shipRow] {
	return table.Field[shipRow]{Column: table.Column{Name: name, Words: words, Text: text, Width: width}, Of: func(x *shipRow) table.Value { return table.OfText(of(x)) }}
}

func shipDay(name, words, text string, of func(*shipRow) string) table.Field[shipRow] {
	return table.Field[shipRow]{Column: table.Column{Name: name, Words: words, Type: table.Date, Text: text}, Of: func(x *shipRow) table.Value { return ofDay(of(x)) }}
}

func (e *exporter) shipmentsTable() *table.Table {
	stage := shipText("stage", "stage", "packing, on-the-way, came-back, difference, settled", 12, func(x *shipRow) string { return x.Stage })
	stage.Marks = stageMarks
	fields := slices.Concat([]table.Field[shipRow]{shipText("tag", "tag", "tag of the shipment", 9, func(x *shipRow) string { return x.About }), stage,
		shipText("route", "route", "the transport regime and mode", 13, func(x *shipRow) string { return x.Route }),
		shipText("consignee", "consignee", "who receives it", 30, func(x *shipRow) string { return x.Consignee }),
		shipDay("offered", "offered", "day on which it was handed over", func(x *shipRow) string { return x.Offered }),
		whole("packages", "packages", "how many packages", func(x *shipRow) table.Value { return table.OfWhole(int64(len(x.Packages))) }),
		whole("cells", "cells", "cells in its closed packages", func(x *shipRow) table.Value { return table.OfWhole(x.held.cells) }),
		{Column: table.Column{Name: "energy_wh", Words: "energy", Unit: "Wh", Type: table.Decimal, Decimals: 1, Text: "sum of the watt-hour ratings known"},
			Of: func(x *shipRow) table.Value { return table.OfSomeDecimal(triage.Micro(x.held.microWh)) }},
		whole("unrated", "without a rating", "cells that are not in that sum", func(x *shipRow) table.Value { return table.OfWhole(x.held.cells - x.held.rated) }),
		{Column: table.Column{Name: "net_kg", Words: "net mass", Unit: "kg", Type: table.Decimal, Decimals: 3, Text: "gross less tare of its closed packages"},
			Of: func(x *shipRow) table.Value { return ofMass(x.held.milliGram, 1_000_000) }},
	}, e.handoverFields(), e.receiptFields())
	return table.New("shipments", "Shipments", "Every shipment as its last entry has it.", fields, e.eachShipment)
}

func (e *exporter) handoverFields() []table.Field[shipRow] {
	over := func(of func(*Handover) string) func(*shipRow) string {
		return func(x *shipRow) string {
			if x.Handover == nil {
				return ""
			}
			return of(x.Handover)
		}
	}
	return []table.Field[shipRow]{
		shipText("carrier", "carrier", "who took it", 24, over(func(h *Handover) string { return h.Carrier })),
		{Column: table.Column{Name: "handed_over", Words: "handed over", Type: table.Time, Text: "when it was handed over"}, Of: func(x *shipRow) table.Value {
			at, err := time.Parse("2006-01-02 15:04 -07:00", over(func(h *Handover) string { return h.At })(x))
			if err != nil {
				return table.Value{}
			}
			return table.OfTime(at)
		}},
		shipText("accepted_by", "accepted by", "who at the consignee said yes before", 16, over(func(h *Handover) string { return e.people.code(h.Acceptance.By) })),
		shipText("acceptance", "acceptance", "the consignee's reference", 14, over(func(h *Handover) string { return h.Acceptance.Ref })),
		shipDay("accepted_until", "accepted until", "last day on which that holds", over(func(h *Handover) string { return h.Acceptance.Until })),
		shipText("accepts", "accepts", "conditions that the consignee said yes to", 20, over(func(h *Handover) string { return strings.Join(h.Acceptance.Accepts, "; ") })),
		{Column: table.Column{Name: "papers", Words: "papers", Type: table.YesNo, Text: "whether a way asked for shipping papers", Width: 8}, Of: func(x *shipRow) table.Value {
			if x.Handover == nil {
				return table.Value{}
			}
			return table.OfYesNo(x.Handover.Papers)
		}},
		shipText("phone", "emergency telephone", "the telephone named on them", 18, over(func(h *Handover) string { return h.Phone })),
	}
}

func (e *exporter) receiptFields() []table.Field[shipRow] {
	receipt := func(of func(*receiptBody) string) func(*shipRow) string {
		return func(x *shipRow) string {
			if x.Receipt == nil {
				return ""
			}
			return of(x.Receipt)
		}
	}
	back := func(of func(*returnBody) string) func(*shipRow) string {
		return func(x *shipRow) string {
			if x.Returned == nil {
				return ""
			}
			return of(x.Returned)
		}
	}
	entry := whole("last_entry", "last entry", "the entry that this row is read from", func(x *shipRow) table.Value { return table.OfWhole(x.entry.Number) })
	return []table.Field[shipRow]{
		shipDay("received", "received", "the consignee's date; blank: no receipt", receipt(func(r *receiptBody) string { return r.On })),
		shipText("differs", "receipt differs", "in what the receipt is not what left", 40, receipt(func(r *receiptBody) string { return strings.Join(r.Differs, "; ") })),
		shipDay("settled", "settled", "day on which a difference was settled", receipt(func(r *receiptBody) string { return r.Closed })),
		shipText("settled_how", "settled how", "how, in the words of who did it", 40, receipt(func(r *receiptBody) string { return r.Note })),
		shipDay("came_back", "came back", "day on which it was not taken", back(func(r *returnBody) string { return r.On })),
		shipText("came_back_why", "came back why", "why, in the words of who recorded it", 40, back(func(r *returnBody) string { return r.Reason })),
		entry,
	}
}

func (e *exporter) packagesTable() *table.Table {
	text := func(name, words, text string, width int, of func(*packedBody) string) table.Field[shipRow] {
		return shipText(name, words, text, width, func(x *shipRow) string { return of(x.pack) })
	}
	mass := func(name, words, text string, of func(*packedBody) int64) table.Field[shipRow] {
		return table.Field[shipRow]{Column: table.Column{Name: name, Words: words, Unit: "kg", Type: table.Decimal, Decimals: 3, Text: text},
			Of: func(x *shipRow) table.Value { return ofMass(of(x.pack), 1_000_000) }}
	}
	said := func(name, words, text string, of func(*packedBody) bool) table.Field[shipRow] {
		return table.Field[shipRow]{Column: table.Column{Name: name, Words: words, Type: table.YesNo, Text: text, Width: 9}, Of: func(x *shipRow) table.Value { return table.OfYesNo(of(x.pack)) }}
	}
	fields := []table.Field[shipRow]{
		shipText("shipment", "shipment", "tag of the shipment", 9, func(x *shipRow) string { return x.About }),
		whole("number", "package", "which package of the shipment, from 1", func(x *shipRow) table.Value { return table.OfWhole(int64(x.index)) }),
		text("tag", "tag", "tag of the package", 7, func(p *packedBody) string { return p.Tag }),
		said("closed", "closed", "closed for carriage; of an open one masses and cells are not said yet", func(p *packedBody) bool { return p.Closed }),
		text("outer", "outer packaging", "its name", 22, func(p *packedBody) string { return p.Outer.Name }),
		text("level", "level", "strong, or of packing group II or I level", 8, func(p *packedBody) string { return p.Outer.Level }),
		text("un_mark", "UN mark", "of the packaging, as copied from it", 24, func(p *packedBody) string { return p.Outer.UNMark }),
		said("inner", "inner", "each in an inner packaging of its own", func(p *packedBody) bool { return p.Inner }),
		said("fill", "fill", "cushioned: non-combustible, non-conductive, absorbent", func(p *packedBody) bool { return p.Fill }),
		text("un_number", "UN number", "as closed", 10, func(p *packedBody) string { return p.UN }),
		text("conditions", "conditions", "conditions of the cells in it", 18, func(p *packedBody) string { return strings.Join(p.Conditions, "; ") }),
		text("ways", "ways", "the ways by which it was judged to go, by id", 26, func(p *packedBody) string { return strings.Join(p.Ways, "; ") }),
		whole("cells", "cells", "cells in it", func(x *shipRow) table.Value { return table.OfSome(int64(len(x.pack.Cells))) }),
		{Column: table.Column{Name: "energy_wh", Words: "energy", Unit: "Wh", Type: table.Decimal, Decimals: 1, Text: "sum of the watt-hour ratings known"},
			Of: func(x *shipRow) table.Value { return table.OfSomeDecimal(triage.Micro(x.pack.MicroWh)) }},
		whole("unrated", "without a rating", "cells that are not in that sum", func(x *shipRow) table.Value { return table.OfSome(x.pack.Unrated) }),
		mass("net_kg", "net mass", "gross less tare", func(p *packedBody) int64 { return p.NetMg }),
		mass("tare_kg", "tare", "packaging without cells", func(p *packedBody) int64 { return p.TareMg }),
		mass("gross_kg", "gross mass", "closed, on a scale", func(p *packedBody) int64 { return p.GrossMg }),
		mass("weighed_kg", "cells weighed", "sum of the masses of the cells that were weighed one by one", func(p *packedBody) int64 { return p.WeighedMg }),
		text("packed_by", "packed by", "who packed it", 9, func(p *packedBody) string { return e.people.code(p.PackedBy) }),
		text("checked_by", "checked by", "who checked it", 10, func(p *packedBody) string { return e.people.code(p.CheckedBy) }),
		text("tags", "cells by tag", "tags of the cells in it", 70, func(p *packedBody) string { return strings.Join(p.Cells, " ") }),
		text("note", "note", "free words", 30, func(p *packedBody) string { return p.Note }),
	}
	return table.New("packages", "Packages", "Every package of the shipments, as it was closed.", fields, func(put func(*shipRow) error) error {
		return e.eachShipment(func(x *shipRow) error {
			for i := range x.Packages {
				x.pack, x.index = &x.Packages[i], i+1
				if err := put(x); err != nil {
					return err
				}
			}
			return nil
		})
	})
}
