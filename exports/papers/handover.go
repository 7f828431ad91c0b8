package papers

import (
	"fmt"
	"strings"

	"pouchward/exports"
	"pouchward/triage"
)

// handover is the record of the hand-over and, below it, of a refusal.
func (x *Shipment) handover() Sheet {
	h := x.Handover
	if h == nil {
		h = &Handover{}
	}
	before := &Table{Columns: []Column{{Head: "", Chars: 4}, {Head: "before the van (common practice)"}, {Head: "initials", Chars: 10}}}
	for _, what := range x.beforeVan() {
		before.Rows = append(before.Rows, []string{NotTicked, what, ""})
	}
	return Sheet{Title: "hand-over and refusal", Blocks: []Block{
		before,
		Heading("Hand-over"),
		Form{{Label: "Consignee's yes, by", Value: h.By}, {Label: "Its reference", Value: h.Ref}, {Label: "It holds until", Value: h.Until}, {Label: "It is for", Value: strings.Join(h.Accepts, ", ")},
			{Label: "Carrier", Value: h.Carrier}, {Label: "Driver, name"}, {Label: "Date and time", Value: h.At},
			{Label: "Packages handed over", Value: fmt.Sprintf("of %d:", len(x.Packages)), Write: true}, {Label: "Handed over by, signature"}, {Label: "Taken by, signature"}},
		Heading("Not taken: by the carrier or by the consignee"),
		Form{{Label: "Not taken by, name"}, {Label: "Date and time"}, {Label: "Packages"}, {Label: "Reason, in their words"}, {Label: "Opened, or anything seen"}, {Label: "Signature"}},
		Para("A package that comes back is not put on the shelf: record it (pouchward ship refused " + x.Tag + ") and look at each cell before it travels again."),
	}}
}

// beforeVan is what people see to.
func (x *Shipment) beforeVan() []string {
	list := []string{"The consignee said yes to these conditions, and the yes still holds today."}
	worst := triage.Undamaged
	for _, c := range x.cells() {
		worst = max(worst, c.V.Condition)
	}
	if worst >= triage.Damaged {
		list = append(list, "The carrier was told in writing: damaged or defective lithium batteries.")
	} else {
		list = append(list, "The carrier was told in writing: lithium batteries.")
	}
	return append(list, "Each package was weighed closed, and is the one on the packing list.", "Photographs: open layer, closed, every marked face.",
		"Seal or tape number on each package: written on the packing list.", "Two different people packed and checked; nobody signs who was not trained for it.",
		"Nothing is warm, smells, smokes or hisses. Else: stop, away, call.", "Every package of this list was scanned out.")
}

// receipt is the form that the consignee fills in and sends back: what stands in its
// columns is what pouchward ship receipt --csv reads.
func (x *Shipment) receipt() Sheet {
	t := &Table{High: true, Columns: []Column{{Head: "package", Chars: 8}, {Head: "cells sent", Chars: 6, Right: true}, {Head: "kg net sent", Chars: 8, Right: true},
		{Head: "count", Chars: 8}, {Head: "mass_kg", Chars: 9}, {Head: "rejected", Chars: 9}, {Head: "note"}}}
	var net int64
	cells, open := 0, false
	for i := range x.Packages {
		p := &x.Packages[i]
		sent := unread
		if p.Closed {
			sent = exports.Amount(p.NetMg, 1e6)
		}
		t.Rows = append(t.Rows, []string{triage.SpacedTag(p.Tag), fmt.Sprint(len(p.Cells)), sent, "", "", "", ""})
		cells, net, open = cells+len(p.Cells), net+p.NetMg, open || !p.Closed
	}
	sum := exports.Amount(net, 1e6)
	if open {
		sum = unread
	}
	t.Rows = append(t.Rows, []string{"all", fmt.Sprint(cells), sum, "", "", "", ""})
	return Sheet{Title: "receipt, to be sent back", Blocks: []Block{
		Para("To be filled in by the consignee and sent back to: " + known(x.Site) + ". Please count and weigh before anything is opened or mixed. The empty columns are named as our log reads them (pouchward ship receipt " + x.Tag + " --csv)."),
		t,
		Together{Form{{Label: "Received by", Value: x.Consignee, Write: true}, {Label: "Received on"}, {Label: "Name"}, {Label: "Signature"}, {Label: "Found damaged or warm on arrival"}, {Label: "Certificate or slip no."}}},
	}}
}
