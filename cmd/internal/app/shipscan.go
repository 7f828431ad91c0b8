package app

import (
	"fmt"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/consign"
)

// A Packed is what became of one scan.
type Packed struct {
	Outcome
	Shipment, Package string
	Begun             []string // what this scan began
	Cells             int64    // in the package now
	MicroWh, Unrated  int64
	MassMg, Unweighed int64
	Owed              []string // what is not known yet, and is asked at closing
}

// Pack puts one cell into a package, and begins the package and the shipment
// where they are new, in one write. A cell that does not belong there is refused
// with the reason, and nothing is written.
func (r *Recording) Pack(shop *Shop, act Act, x *Packing, tag string) (*Packed, error) {
	if err := x.check(shop); err != nil {
		return nil, err
	}
	if err := r.today(shop, act); err != nil {
		return nil, err
	}
	tag, err := ReadTag(tag)
	if err == nil {
		tag, err = cellTag(tag)
	}
	if err != nil {
		return nil, Usage("%v", err)
	}
	out := &Packed{Outcome: Outcome{Shop: shop}}
	err = r.log.Write(func(tx *logbook.Tx) error {
		p, err := readPacked(tx, shop, tag)
		if err != nil {
			return err
		}
		if p.cell.Tag != tag {
			out.note("%s is another tag of %s.", triage.SpacedTag(tag), triage.SpacedTag(p.cell.Tag))
		}
		return r.packIn(tx, act, x, p, out)
	})
	if err != nil {
		return nil, fmt.Errorf("%s not packed: %w", triage.SpacedTag(tag), err)
	}
	// What was new is begun, now that it is on record.
	x.Shipment, x.Package, x.Outer = out.Shipment, out.Package, ""
	return out, nil
}

func (r *Recording) packIn(tx *logbook.Tx, act Act, x *Packing, p *packedCell, out *Packed) error {
	c, shop := p.cell, out.Shop
	out.Tag, out.Was = c.Tag, c.State
	s, err := r.shipmentFor(tx, act, x)
	if err != nil {
		return err
	}
	route, err := s.route()
	if err != nil {
		return err
	}
	if why := p.barred(shop, route); why != "" {
		return Usage("%s", why)
	}
	if err := c.packedAlready(tx, x); err != nil {
		return err
	}
	pack, box, err := r.packageFor(tx, s, x)
	if err != nil {
		return err
	}
	pack.Inner, pack.Fill = pack.Inner || x.Inner, pack.Fill || x.Fill
	cells, err := x.scanned(tx, shop, pack.Tag)
	if err != nil {
		return err
	}
	cells = append(cells, p)
	j := consign.Judge(shop.Rulebook, route, pack.consignPackage(cells))
	wrong := broken(j.Breaches, false)
	if len(wrong) > 0 && !(pack.Inner && pack.Fill) {
		// How they are packed is seen at the closing; what does not go together never
		// does.
		asClosed := pack.consignPackage(cells)
		asClosed.Inner, asClosed.Fill = true, true
		wrong = broken(consign.Judge(shop.Rulebook, route, asClosed).Breaches, false)
	}
	if len(wrong) > 0 {
		more := ""
		if len(wrong) > 1 {
			more = fmt.Sprintf("; and %d limits more", len(wrong)-1)
		}
		list := []string{fmt.Sprintf("it is %s, %s%s. It does not go into %s: %s%s", exports.HandlingText(p.verdict.Handling.String()), p.verdict.Condition, c.since(shop, p.verdict),
			packName(pack.Tag), wrong[0], more)}
		if why := p.unready(); why != "" {
			list = append(list, why)
		}
		return usageReasons(list)
	}
	if why := p.unready(); why != "" {
		return Usage("%s", why)
	}
	if err := r.begin(tx, act, s, pack, box, out); err != nil {
		return err
	}
	b := s.then("packed")
	b.Package, b.Cells = pack.Tag, []string{c.Tag}
	d, err := r.draft(shop, act, "shipment", b, s.About, pack.Tag, c.Tag)
	if err != nil {
		return err
	}
	if err := c.movedBy(d.Happened); err != nil {
		return err
	}
	if err := c.add(tx, &d); err != nil {
		return err
	}
	c.State = c.after(shop, p.verdict, d.Happened, false)
	d.Now = []logbook.State{c.State}
	out.Is, out.Verdict = c.State, p.verdict
	out.Shipment, out.Package = s.About, pack.Tag
	out.Owed = broken(j.Breaches, true)
	out.count(cells)
	return out.append(tx, d)
}

func packName(tag string) string {
	if tag == "" {
		return "the new package"
	}
	return "package " + triage.SpacedTag(tag)
}

// count sums up what is in the package.
func (o *Packed) count(cells []*packedCell) {
	for _, p := range cells {
		o.Cells++
		if e := p.verdict.Facts[triage.FEnergy]; e.State == triage.Known {
			o.MicroWh += int64(e.Lo)
		} else {
			o.Unrated++
		}
		if m := p.verdict.Facts[triage.FScaleMass]; m.State == triage.Known {
			o.MassMg += int64(m.Hi / 1000)
		} else {
			o.Unweighed++
		}
	}
}
