package app

import (
	"fmt"
	"slices"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// shipped notes what an entry about a shipment did to the cell.
func (c *Cell) shipped(e *logbook.Entry) error {
	b, err := shipmentOf(e)
	if err != nil {
		return err
	}
	mine := func(tags []string) bool {
		return slices.ContainsFunc(c.tags, func(t string) bool { return slices.Contains(tags, t) })
	}
	switch b.Did {
	case "packed":
		if mine(b.Cells) {
			c.place, c.in, c.out, c.movedAt = "", b.Package, false, e.Happened
		}
	case "dispatched", "refused":
		i := slices.IndexFunc(b.Packages, func(p packedBody) bool { return mine(p.Cells) })
		if i < 0 {
			return nil
		}
		switch {
		case b.Did == "dispatched":
			c.place, c.in, c.out, c.sent, c.movedAt = "", "", true, b.About, e.Happened
		case c.out && c.sent == b.About:
			c.in, c.out, c.back, c.movedAt = b.Packages[i].Tag, false, e.Happened, e.Happened
		}
	}
	return nil
}

// movedBy refuses a step of a shipment that would have happened before the cell
// was last moved: an entry made late does not undo a later one.
func (c *Cell) movedBy(at time.Time) error {
	if at.Before(c.movedAt) {
		return Usage("%s was moved or packed at %s, after that: say when it happened (--happened), or leave it out for now", triage.SpacedTag(c.Tag), c.movedAt.In(at.Location()).Format("2006-01-02 15:04"))
	}
	return nil
}

// noBins refuses a package in which a container stands, moved there past what was
// printed: its cells are not in the package by the log, and nobody judged them so.
func noBins(tx *logbook.Tx, box string) error {
	return tx.At(box, func(h *logbook.Held) error {
		return Usage("%s stands in %s, and what is in it is not judged with the package: pouchward move %s --to PLACE", triage.SpacedTag(h.Tag), packName(box), h.Tag)
	})
}

// againstPackages says what a move goes against that takes a package, or a cell of
// one, past the commands that look after shipments; blank for nothing.
func againstPackages(tx *logbook.Tx, m Move, cells []*Cell, boxes []logbook.State, into string) (string, error) {
	if into != "" {
		if s, err := shipmentOfPackage(tx, into); s != nil || err != nil {
			return fmt.Sprintf("%s is a package: pouchward ship pack %s %s TAG judges what goes into it.", triage.SpacedTag(into), s.tag(), into), err
		}
	}
	for i := range boxes {
		if m.Out == "" {
			break
		}
		if s, err := shipmentOfPackage(tx, boxes[i].Tag); s != nil || err != nil {
			return fmt.Sprintf("%s is a package of shipment %s: it leaves with pouchward ship dispatch %s.", triage.SpacedTag(boxes[i].Tag), triage.SpacedTag(s.tag()), s.tag()), err
		}
	}
	for _, c := range cells {
		if c.in == "" {
			continue
		}
		s, err := shipmentOfPackage(tx, c.in)
		if err != nil {
			return "", err
		}
		if s != nil && s.pack(c.in).Closed {
			return fmt.Sprintf("%s is in package %s, which is closed: pouchward ship reopen %s --reason \"...\" first.", triage.SpacedTag(c.Tag), triage.SpacedTag(c.in), c.in), nil
		}
	}
	return "", nil
}

// tag is blank for no shipment.
func (s *shipmentBody) tag() string {
	if s == nil {
		return ""
	}
	return s.About
}
