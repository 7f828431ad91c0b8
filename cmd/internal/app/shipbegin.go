package app

import (
	"cmp"
	"fmt"

	"pouchward/logbook"
	"pouchward/triage"
)

// packedAlready refuses a cell that stands in a package.
func (c *Cell) packedAlready(tx *logbook.Tx, x *Packing) error {
	if c.in == "" {
		return nil
	}
	if c.in == x.Package {
		return Usage("it is in %s already", packName(c.in))
	}
	s, err := shipmentOfPackage(tx, c.in)
	if err != nil || s == nil {
		return err
	}
	return Usage("it is in %s of shipment %s: take it out first (pouchward move %s --to ...)", packName(c.in), triage.SpacedTag(s.About), c.Tag)
}

// shipmentFor returns the shipment that is packed; a new one has no tag yet.
func (r *Recording) shipmentFor(tx *logbook.Tx, act Act, x *Packing) (*shipmentBody, error) {
	if x.Shipment == newTag {
		return &shipmentBody{Stage: stagePacking, Route: x.Route, Consignee: x.Consignee}, nil
	}
	s, err := readShipment(tx, x.Shipment)
	if err != nil {
		return nil, err
	}
	if err := s.atHand(); err != nil {
		return nil, err
	}
	if err := r.inOrder(tx, s.About, act); err != nil {
		return nil, err
	}
	if x.Route != "" && x.Route != s.Route {
		return nil, Usage("shipment %s goes by %s, not by %s: begin another (new)", triage.SpacedTag(s.About), s.Route, x.Route)
	}
	s.Consignee = cmp.Or(x.Consignee, s.Consignee)
	return s, nil
}

// packageFor returns the package, and its state where it is on record already; a
// new one without a tag gets one when it is begun.
func (r *Recording) packageFor(tx *logbook.Tx, s *shipmentBody, x *Packing) (*packedBody, logbook.State, error) {
	fresh := packedBody{Outer: x.outer}
	box := logbook.State{Is: logbook.Here, Place: x.Place, What: "package, " + x.outer.Name}
	if x.Package == newTag {
		s.Packages = append(s.Packages, fresh)
		return &s.Packages[len(s.Packages)-1], box, nil
	}
	if p := s.pack(x.Package); p != nil {
		if p.Closed {
			return nil, box, Usage("%s is closed: pouchward ship reopen %s --reason \"...\"", packName(p.Tag), p.Tag)
		}
		if x.Outer != "" && x.outer != p.Outer {
			return nil, box, Usage("%s is a %s (%s) on record: leave out --outer, or begin another package (new)", packName(p.Tag), p.Outer.Name, p.Outer.Level)
		}
		box, err := r.container(tx, p.Tag)
		return p, box, err
	}
	entries, err := tx.History(x.Package)
	if err != nil {
		return nil, box, err
	}
	if len(entries) > 0 {
		return nil, box, Usage("%s is on record and no package of this shipment: take another tag, or new", triage.SpacedTag(x.Package))
	}
	if x.Outer == "" {
		return nil, box, Usage("%s is a new package: --outer %q", triage.SpacedTag(x.Package), outerExample)
	}
	fresh.Tag, box.Tag = x.Package, x.Package
	s.Packages = append(s.Packages, fresh)
	return &s.Packages[len(s.Packages)-1], box, nil
}

// begin writes the entries of a shipment and a package that are new.
func (r *Recording) begin(tx *logbook.Tx, act Act, s *shipmentBody, pack *packedBody, box logbook.State, out *Packed) (err error) {
	if s.About == "" {
		if s.About, err = tx.IssueTag(triage.ShipmentTag); err != nil {
			return err
		}
		b := s.then("begun")
		b.Issued, b.Packages = true, nil
		if err := r.putShipment(tx, out.Shop, act, &out.Outcome, b, nil, s.About); err != nil {
			return err
		}
		out.Begun = append(out.Begun, "shipment "+triage.SpacedTag(s.About)+", by "+s.Route)
	}
	if pack.Tag != "" {
		if known, err := tx.History(pack.Tag); err != nil || len(known) > 0 {
			return err
		}
	}
	x := packageContainer{Kind: "package", Outer: pack.Outer, Place: box.Place, Shipment: s.About}
	if pack.Tag == "" {
		if pack.Tag, err = tx.IssueTag(triage.ContainerTag); err != nil {
			return err
		}
		x.Issued = true
	}
	box.Tag = pack.Tag
	d, err := r.draft(nil, act, "container", x, pack.Tag)
	if err != nil {
		return err
	}
	d.Now = []logbook.State{box}
	out.Begun = append(out.Begun, fmt.Sprintf("package %s, %s (%s)", triage.SpacedTag(pack.Tag), pack.Outer.Name, pack.Outer.Level))
	return out.append(tx, d)
}

// packageContainer is the body of the entry that begins a package.
type packageContainer struct {
	Kind     string    `json:"kind"`
	Outer    outerBody `json:"outer"`
	Place    string    `json:"place,omitempty"`
	Shipment string    `json:"shipment"`
	Issued   bool      `json:"issued,omitempty"`
}

// putShipment writes an entry about a shipment.
func (r *Recording) putShipment(tx *logbook.Tx, shop *Shop, act Act, o *Outcome, b *shipmentBody, now []logbook.State, tags ...string) error {
	d, err := r.draft(shop, act, "shipment", b, tags...)
	if err != nil {
		return err
	}
	d.Now = now
	return o.append(tx, d)
}
