package app

import (
	"slices"
	"time"

	"pouchward/triage"
	"pouchward/triage/review"
)

// A readShip is a shipment on its way into the snapshot.
type readShip struct {
	ship   review.Shipment
	closed map[string]triage.Date // when each package was last closed
}

// shipment adds a step to a shipment.
func (r *reviewReader) shipment(x *readEntry) {
	b := new(shipmentBody)
	if !r.decode(x.Entry, b) {
		return
	}
	x.ship = b
	s := r.ships[b.About]
	if s == nil {
		s = &readShip{review.Shipment{Tag: b.About}, map[string]triage.Date{}}
		r.ships[b.About] = s
	}
	if b.Did == "closed" {
		s.closed[b.Package] = x.source.Day()
	}
	step := review.ShipmentStep{Source: x.source, Did: r.word(b.Did), Package: r.word(b.Package), Cells: r.kept(b.Cells), Stage: r.word(b.Stage), Open: b.Open,
		Offered: r.date(x.Number, b.Offered), Route: r.word(b.Route), Consignee: r.word(b.Consignee)}
	for i := range b.Packages {
		step.Packages = append(step.Packages, r.pack(&b.Packages[i], s.closed[b.Packages[i].Tag]))
	}
	if h := b.Handover; h != nil {
		step.Handover = r.handover(x, h)
	}
	if c := b.Receipt; c != nil {
		step.Receipt = &review.Receipt{On: r.date(x.Number, c.On), Differs: c.Differs, Note: c.Note, Closed: c.Closed != ""}
	}
	s.ship.Steps = append(s.ship.Steps, step)
}

// pack takes over a package; closed is the day of its closing, 0 for none.
func (r *reviewReader) pack(p *packedBody, closed triage.Date) review.Package {
	x := review.Package{Tag: r.word(p.Tag), Closed: p.Closed, Inner: p.Inner, Fill: p.Fill, Cells: r.kept(p.Cells), UN: r.word(p.UN), UWh: p.MicroWh, Unrated: p.Unrated,
		NetMg: p.NetMg, Unweighed: p.Unweighed, PackedBy: r.word(p.PackedBy), CheckedBy: r.word(p.CheckedBy)}
	for _, id := range p.Ways {
		x.Ways = append(x.Ways, r.rules.way(closed, r.word(id)))
	}
	return x
}

// handover takes over what was said when a shipment was handed over. A condition that
// this program does not know is one that was not accepted.
func (r *reviewReader) handover(x *readEntry, h *Handover) *review.Handover {
	a := &h.Acceptance
	to := &review.Handover{Carrier: h.Carrier, Papers: h.Papers, Phone: r.word(h.Phone), AcceptedBy: a.By, Ref: a.Ref, Until: r.date(x.Number, a.Until)}
	at, err := time.Parse("2006-01-02 15:04 -07:00", h.At)
	if err != nil && h.At != "" {
		r.trouble(x.Number, "the time of its hand-over cannot be read")
	}
	to.At = r.at(at)
	for _, w := range a.Accepts {
		if c, ok := triage.ConditionByName(w); ok {
			to.Accepts = append(to.Accepts, c)
		} else {
			r.trouble(x.Number, "it was accepted as \""+w+"\", which this program does not know")
		}
	}
	return to
}

// wayOf reads what a way is for from a rulebook; nil is no rulebook.
func wayOf(rb *triage.Rulebook, id string) review.WayOf {
	x := review.WayOf{ID: id}
	if rb == nil {
		return x
	}
	for _, t := range rb.Tables() {
		for i := range t.Ways {
			w := &t.Ways[i]
			if w.ID != id {
				continue
			}
			x.Known = true
			x.Damaged = len(w.For) == 0 || slices.ContainsFunc(w.For, func(word string) bool {
				c, ok := triage.ConditionByName(word)
				return ok && c >= triage.Damaged
			})
			x.OnePerOuter = slices.ContainsFunc(w.Duties, func(d triage.Duty) bool { return d.Kind == "one-per-outer" })
		}
	}
	return x
}
