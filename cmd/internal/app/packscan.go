package app

import (
	"slices"
	"strings"

	"pouchward/logbook"
)

// A PackScan is what became of one scan at the packing table.
type PackScan struct {
	*Packed        // nil where nothing was written
	Tag     string // as read
	Says    string // that the text was mended and how, "" where it was not
	Twice   bool   // it is in this package already: one scan more of the same
}

// PackScanned packs the cell of a code as a scanner read it. A cell that is in the
// package already is one that was scanned twice: it counts once and is no fault.
func (r *Recording) PackScanned(shop *Shop, act Act, x *Packing, text string) (*PackScan, error) {
	scan, err := ReadCellScan(r.log, text)
	if err != nil {
		return nil, err
	}
	s := &PackScan{Tag: scan.Tag, Says: scan.Says}
	if x.Package != newTag {
		if s.Twice, err = inPackage(r.log, x.Package, scan.Tag); err != nil || s.Twice {
			return s, err
		}
	}
	s.Packed, err = r.Pack(shop, act, x, scan.Tag)
	return s, err
}

// inPackage reports whether a container holds a cell, under any of its tags.
func inPackage(l *logbook.Log, box, tag string) (is bool, err error) {
	box, err = readPackTag(box)
	if err != nil {
		return false, err
	}
	c, err := readCell(l, tag)
	if err != nil {
		return false, err
	}
	return c.State.Is == logbook.Here && c.State.In == box, nil
}

// PackingStages are the stages of a shipment in which cells can be packed.
var PackingStages = []string{stagePacking, stageBack}

// OuterText writes an outer packaging as ParseOuter reads it, of parts that were typed
// one by one. A comma would shift them.
func OuterText(name, level, tareKg, maxKg, mark string) (string, error) {
	parts := []string{name, level, tareKg, maxKg, mark}
	for i := range parts {
		parts[i] = strings.TrimSpace(parts[i])
		if strings.Contains(parts[i], ",") {
			return "", Usage("%q: write it without a comma, and a mass with a point (0.4)", parts[i])
		}
	}
	for len(parts) > 2 && parts[len(parts)-1] == "" {
		parts = parts[:len(parts)-1]
	}
	return strings.Join(parts, ","), nil
}

// OpenPackages are the packages that cells can be packed into, of every shipment at
// hand, the newest shipment first.
func OpenPackages(l *logbook.Log) (list []PackageAt, err error) {
	rows, err := Shipments(l, true)
	if err != nil {
		return nil, err
	}
	for i := range rows {
		if !slices.Contains(PackingStages, rows[i].Stage) {
			continue
		}
		s, err := readShipment(l, rows[i].Tag)
		if err != nil {
			return nil, err
		}
		for j := range s.Packages {
			p := &s.Packages[j]
			x := PackageAt{Shipment: s.About, Route: s.Route, Consignee: s.Consignee, Tag: p.Tag, Outer: p.Outer.Name, Closed: p.Closed}
			if h, ok, err := l.HeldAs(p.Tag); err == nil && ok {
				x.Place = h.Place
			}
			list = append(list, x)
		}
	}
	return list, nil
}

// A PackageAt is a package of a shipment that is being packed.
type PackageAt struct {
	Shipment, Route, Consignee string
	Tag, Outer, Place          string
	Closed                     bool
}
