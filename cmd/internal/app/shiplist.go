package app

import (
	"slices"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// Shipments lists the shipments on record, the newest first; open lists only
// those that are not settled.
func Shipments(l *logbook.Log, open bool) ([]exports.ShipmentRow, error) {
	list, err := l.Latest("shipment")
	if err != nil {
		return nil, err
	}
	var rows []exports.ShipmentRow
	for _, e := range slices.Backward(list) {
		s, err := shipmentOf(e)
		if err != nil {
			return nil, err
		}
		if open && s.Stage == stageSettled {
			continue
		}
		x, err := s.summary(l)
		if err != nil {
			return nil, err
		}
		rows = append(rows, x.ShipmentRow)
	}
	return rows, nil
}

// summary tells a shipment with its packages, by what they were closed with or
// what is in them now.
func (s *shipmentBody) summary(l *logbook.Log) (*exports.Shipment, error) {
	x := &exports.Shipment{ShipmentRow: exports.ShipmentRow{Tag: s.About, Stage: s.Stage, Route: s.Route, Consignee: s.Consignee, Offered: s.Offered, Packages: len(s.Packages)}}
	for i := range s.Packages {
		p, err := s.Packages[i].tell(l)
		if err != nil {
			return nil, err
		}
		x.Cells, x.Unrated, x.Unweighed = x.Cells+p.Cells, x.Unrated+p.Unrated, x.Unweighed+p.Unweighed
		x.Wh, x.NetKg = x.Wh+p.Wh, x.NetKg+p.NetKg
		x.Packs = append(x.Packs, *p)
	}
	if h := s.Handover; h != nil && s.Stage != stageBack {
		x.Carrier, x.Accepted, x.AcceptedBy, x.AcceptedUntil = h.Carrier, h.Acceptance.Ref, h.Acceptance.By, h.Acceptance.Until
		x.Papers, x.Phone = h.Papers, h.Phone
	}
	if s.Returned != nil {
		x.CameBack, x.Why = s.Returned.On, s.Returned.Reason
	}
	if r := s.Receipt; r != nil {
		x.Received, x.Differs, x.Settled, x.Note = r.On, r.Differs, r.Closed, r.Note
	}
	return x, nil
}

func (p *packedBody) tell(l *logbook.Log) (*exports.ShipPackage, error) {
	x := &exports.ShipPackage{Tag: p.Tag, Outer: p.Outer.Name, Level: p.Outer.Level, UNMark: p.Outer.UNMark, Closed: p.Closed, UN: p.UN, Conditions: p.Conditions, Ways: p.Ways,
		Inner: p.Inner, Fill: p.Fill, PackedBy: p.PackedBy, CheckedBy: p.CheckedBy, Note: p.Note}
	if p.Closed {
		x.Tags, x.Cells, x.Unrated, x.Unweighed = p.Cells, int64(len(p.Cells)), p.Unrated, p.Unweighed
		x.Wh, x.NetKg, x.TareKg, x.GrossKg = float64(p.MicroWh)/1e6, float64(p.NetMg)/1e6, float64(p.TareMg)/1e6, float64(p.GrossMg)/1e6
		return x, nil
	}
	err := l.Contents(p.Tag, func(h *logbook.Held) error {
		x.Tags, x.Cells = append(x.Tags, h.Tag), x.Cells+1
		x.Wh, x.NetKg = x.Wh+float64(h.MicroWh)/1e6, x.NetKg+float64(h.MilliGram)/1e6
		if h.MicroWh == 0 {
			x.Unrated++
		}
		if h.MilliGram == 0 {
			x.Unweighed++
		}
		if !slices.Contains(x.Conditions, h.Condition) {
			x.Conditions = append(x.Conditions, h.Condition)
		}
		return nil
	})
	return x, err
}

// ShowShipment tells the shipment of a tag: its own, that of one of its packages,
// or of a cell that was in it. Of several the last is told, and the others named.
func ShowShipment(l *logbook.Log, text string) (*exports.Shipment, error) {
	tag, err := ReadTag(text)
	if err != nil {
		return nil, err
	}
	kind, _ := triage.TagNumber(tag)
	about, others := tag, []string(nil)
	if kind != triage.ShipmentTag {
		if about, others, err = findShipment(l, tag, kind); err != nil {
			return nil, err
		}
	}
	s, err := readShipment(l, about)
	if err != nil {
		return nil, err
	}
	x, err := s.summary(l)
	if err != nil {
		return nil, err
	}
	x.Others = others
	if x.Entries, err = l.History(about); err != nil {
		return nil, err
	}
	left, err := handedOver(l, s)
	if err != nil {
		return nil, err
	}
	for i := range x.Packs {
		if err := s.lines(l, &x.Packs[i], left, x.Entries); err != nil {
			return nil, err
		}
	}
	if kind == triage.ContainerTag {
		x.Only(tag)
	}
	return x, nil
}

// findShipment returns the last shipment that a package or a cell was in, and the
// earlier ones.
func findShipment(l *logbook.Log, tag string, kind triage.TagKind) (about string, others []string, err error) {
	var entries []*logbook.Entry
	if kind == triage.CellTag {
		c, err := readCell(l, tag)
		if err != nil {
			return "", nil, err
		}
		entries = c.Entries
	} else if entries, err = l.History(tag); err != nil {
		return "", nil, err
	}
	tags, err := shipmentsWith(entries)
	if err != nil {
		return "", nil, err
	}
	if len(tags) == 0 {
		return "", nil, Usage("%s is in no shipment on record (pouchward ship list)", triage.SpacedTag(tag))
	}
	return tags[len(tags)-1], tags[:len(tags)-1], nil
}
