package app

import (
	"strings"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// Refused records that a shipment was not taken: it is in the shop again, its
// packages closed as they were. Nobody saw what was done to it meanwhile, so
// each cell is looked at before it travels again (common practice).
func (r *Recording) Refused(shop *Shop, act Act, tag, reason string) (*Sent, error) {
	if err := act.needWho("a refusal"); err != nil {
		return nil, err
	}
	if reason = strings.TrimSpace(reason); reason == "" {
		return nil, Usage("say why it was not taken: --reason \"...\"")
	}
	return r.onShipment(shop, tag, "not taken back", func(tx *logbook.Tx, s *shipmentBody, out *Sent) error {
		if s.Stage != stageOnWay {
			return Usage("it is %s: only what was handed over comes back", exports.StageText(s.Stage))
		}
		at := r.at(act.Happened)
		if day := dateText(at); day < s.Offered {
			return Usage("it left on %s, and %s is before that", s.Offered, day)
		}
		if err := r.inOrder(tx, s.About, act); err != nil {
			return err
		}
		b := s.then("refused")
		b.Stage, b.Open, b.Offered, b.Reason = stageBack, false, "", reason
		b.Returned = &returnBody{On: dateText(at), Reason: reason, Cells: s.cells()}
		d, err := r.draft(shop, act, "shipment", b, b.tags()...)
		if err != nil {
			return err
		}
		for i := range b.Packages {
			box, err := lastState(tx, b.Packages[i].Tag)
			if err != nil {
				return err
			}
			box.Is = logbook.Here
			d.Now = append(d.Now, box)
		}
		for _, tag := range b.Returned.Cells {
			c, err := readCell(tx, tag)
			if err != nil {
				return err
			}
			o := &Outcome{Shop: shop, Tag: c.Tag, Was: c.State}
			if err := c.movedBy(d.Happened); err != nil {
				return err
			}
			if err := c.add(tx, &d); err != nil {
				return err
			}
			o.Verdict = c.judge(shop)
			c.State = c.after(shop, o.Verdict, d.Happened, false)
			o.Is = c.State
			d.Now = append(d.Now, c.State)
			out.Cells = append(out.Cells, o)
		}
		out.Shipment = b
		return out.append(tx, d)
	})
}

// lastState returns the last state said of a tag, in the shop or not.
func lastState(h historian, tag string) (s logbook.State, err error) {
	list, err := h.History(tag)
	s.Tag = tag
	for _, e := range list {
		states, err := e.Now()
		if err != nil {
			return s, err
		}
		for i := range states {
			if states[i].Tag == tag {
				s = states[i]
			}
		}
	}
	return s, err
}

// returned lists the cells of shipments that came back and nobody looked at yet.
func (d *dues) returned(e *logbook.Entry) error {
	s, err := shipmentOf(e)
	if err != nil || s.Returned == nil {
		return err
	}
	var first string
	var owed int64
	for _, tag := range s.Returned.Cells {
		h, ok, err := d.log.HeldAs(tag)
		if err != nil {
			return err
		}
		if !ok {
			continue
		}
		c, err := readCell(d.log, h.Tag)
		if err != nil {
			return err
		}
		if c.lookedAfter(c.back) || c.back.IsZero() {
			continue
		}
		if owed++; first == "" {
			first = tag
		}
	}
	if owed == 0 {
		return nil
	}
	on, err := triage.ParseDate(s.Returned.On)
	if err != nil {
		on = dayOf(e)
	}
	d.putDay(on, nil, exports.DueRow{What: "recheck", Tag: s.About, Subject: "came-back",
		Text: "came back: look again at " + exports.Count(owed, "cell") + " of it",
		Do:   "pouchward recheck " + first + " same, and so on; pouchward ship show " + s.About})
	return nil
}
