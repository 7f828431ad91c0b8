package app

import (
	"cmp"

	"pouchward/logbook"
	"pouchward/triage"
)

// What the program refuses to write is written past it here, as an older program or
// another hand would have: entries of the form of the log, so that it verifies, which
// say what no command of today says.

// forgeDispatch hands a shipment over as Dispatch does, without what Dispatch asks of
// the words: wrong changes them.
func (y *demoYear) forgeDispatch(x Dispatch, wrong func(*Handover)) {
	if y.err != nil {
		return
	}
	shop := y.day()
	accepted, err := x.check(shop)
	if y.fail(err); err != nil {
		return
	}
	r, act := y.sit(""), Act{Who: demoPeople[0]}
	_, err = r.onShipment(shop, x.Shipment, "not dispatched", func(tx *logbook.Tx, s *shipmentBody, out *Sent) error {
		b := s.then("dispatched")
		b.Consignee = cmp.Or(s.Consignee, y.house.Shop.Consignee)
		b.Stage, b.Open, b.Offered = stageOnWay, true, dateText(y.now)
		b.Handover = &Handover{Carrier: x.Carrier, At: y.now.Format("2006-01-02 15:04 -07:00"), Acceptance: accepted}
		if err := b.dropEmpty(tx); err != nil {
			return err
		}
		cells, err := b.judgeAll(tx, shop) // which says whether papers go along
		if err != nil {
			return err
		}
		wrong(b.Handover)
		return r.leave(tx, act, b, cells, out)
	})
	y.fail(err)
}

// olderRelease: a cell that is here was last looked at with an older release, by which
// it was of another size.
func (y *demoYear) olderRelease() {
	c := y.newCell(plain)
	c.part = drawPart(c.rng, singleCell)
	c.thick, c.mv = c.part.thick, c.part.millivolts(36)
	y.arrive(c)
	y.at(y.tomorrow(12*60+5), func() {
		if y.err != nil {
			return
		}
		shop := *y.day()
		rb := *shop.Rulebook
		rb.Digest = "0000000000000000000000000000000000000000000000000000000000000000"
		shop.Rulebook = &rb
		r := y.sit(c.bench)
		_, err := r.onCell(&shop, c.tag, func(tx *logbook.Tx, cell *Cell, o *Outcome) error {
			given := append(c.temperatures(y.now), Given{triage.Who, c.who})
			a := cell.lookedAt(&shop, given, "same", y.now)
			d, err := r.lookEntry(tx, a, cell, false, "same")
			if err != nil {
				return err
			}
			d.Now[0].Size = triage.Medium.String()
			return o.append(tx, d)
		})
		y.fail(err)
		y.plant("review-answer-changed", c.tag, plantOpen, "written past the program: a cell that an older release called medium is small by the rules of today")
	})
}
