package app

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/consign"
)

// A packedCell is a cell in a package, judged as it stands.
type packedCell struct {
	cell    *Cell
	item    consign.Item
	verdict *triage.Verdict
}

// readPacked reads a cell that is to travel, or does.
func readPacked(h historian, shop *Shop, tag string) (*packedCell, error) {
	c, err := readCell(h, tag)
	if err != nil {
		return nil, err
	}
	return newPacked(c, shop), nil
}

func newPacked(c *Cell, shop *Shop) *packedCell {
	k, v := c.asItStands(shop)
	return &packedCell{c, consign.Item{Tag: c.Tag, Case: k, MassG: massOf(v)}, v}
}

// massOf is what a scale said of a cell, in grams, 0 where none did: the judging
// bounds it by the rating then.
func massOf(v *triage.Verdict) triage.Micro {
	if m := v.Facts[triage.FScaleMass]; m.State == triage.Known {
		return m.Hi
	}
	return 0
}

// unfit says why a cell does not travel by a route as it stands, and what to do;
// blank where nothing is known against it.
func (p *packedCell) unfit(shop *Shop, route triage.Route) string {
	return cmp.Or(p.barred(shop, route), p.unready())
}

// barred says why a cell may not travel by a route, however it is packed.
func (p *packedCell) barred(shop *Shop, route triage.Route) string {
	c, v := p.cell, p.verdict
	switch {
	case c.known() != nil:
		return "no assessment of it is on record: pouchward assess --tag " + c.Tag + " --record"
	case c.out || c.State.Is == logbook.Out:
		return "it left the shop" + c.lastShipment()
	case v.Handling == triage.Emergency:
		return "EMERGENCY: nobody carries it. Away, warn, call."
	}
	a := &v.Routes[route]
	if a.Class > triage.RouteCritical {
		why, source := v.RouteWhy(route)
		text := fmt.Sprintf("%s, %s; by %s %s: %s", exports.HandlingText(v.Handling.String()), v.Condition, route, a.Class, why)
		if source != "" {
			text += " (" + source + ")"
		}
		return text + c.since(shop, v)
	}
	return ""
}

// unready says what is not on record of a cell that may travel.
func (p *packedCell) unready() string {
	c, v := p.cell, p.verdict
	if !c.back.IsZero() && !c.lookedAfter(c.back) {
		return fmt.Sprintf("it came back on %s and nobody looked at it since: pouchward recheck %s same", dateText(c.back), c.Tag)
	}
	if owed := c.owed(v.Handling); len(owed) > 0 {
		return fmt.Sprintf("not recorded as secured: %s (pouchward secure %s)", strings.Join(owed, ", "), c.Tag)
	}
	return ""
}

// since names the entry behind a class, or the determination that lapsed.
func (c *Cell) since(shop *Shop, v *triage.Verdict) string {
	if s := c.State; s.Lapses != "" && s.Lapses < shop.Rulebook.On.String() {
		return "; its determination lapsed on " + s.Lapses
	}
	if v.Condition < triage.Damaged {
		return ""
	}
	for _, e := range slices.Backward(c.Entries) {
		if !slices.Contains([]string{"assessment", "recheck", "raise", "determination", "correction"}, e.Kind) {
			continue
		}
		return fmt.Sprintf("; entry %d, %s %s", e.Number, e.Kind, strings.TrimSuffix(e.Local(e.Happened).Format("2006-01-02 15:04")+", "+e.Bench, ", "))
	}
	return ""
}

// lookedAfter reports whether somebody looked at the cell after a moment.
func (c *Cell) lookedAfter(t time.Time) bool {
	return slices.ContainsFunc(c.looks, func(l look) bool { return l.entry.Happened.After(t) })
}

// lastShipment names the last shipment that the cell was in.
func (c *Cell) lastShipment() string {
	tags, err := shipmentsWith(c.Entries)
	if err != nil || len(tags) == 0 {
		return ""
	}
	return " in shipment " + triage.SpacedTag(tags[len(tags)-1])
}

// broken says what of a judgement is broken; with missingToo also what is not
// known yet.
func broken(list []consign.Breach, missingToo bool) (texts []string) {
	for i := range list {
		if b := &list[i]; missingToo || !b.Missing {
			texts = append(texts, breachText(b))
		}
	}
	return texts
}

// breachOwn is a breach with the cell that it is of.
func breachOwn(b *consign.Breach) string {
	if b.Item != "" {
		return triage.SpacedTag(b.Item) + ": " + b.Text
	}
	return b.Text
}

func breachText(b *consign.Breach) string {
	text := breachOwn(b)
	if b.Source != "" {
		text += " (" + b.Source + ")"
	}
	return text
}

// contentsOf reads the cells of a package, in the order of their tags; one without
// a tag is new and holds nothing.
func contentsOf(tx *logbook.Tx, shop *Shop, box string) ([]*packedCell, error) {
	return contentsWith(tx, box, func(h *logbook.Held) (*packedCell, error) { return readPacked(tx, shop, h.Tag) })
}

func contentsWith(tx *logbook.Tx, box string, read func(*logbook.Held) (*packedCell, error)) (list []*packedCell, err error) {
	if box == "" {
		return nil, nil
	}
	var held []logbook.Held
	if err := tx.Contents(box, func(h *logbook.Held) error {
		held = append(held, *h)
		return nil
	}); err != nil {
		return nil, err
	}
	slices.SortFunc(held, func(a, b logbook.Held) int { return cmp.Compare(a.Key, b.Key) })
	for i := range held {
		p, err := read(&held[i])
		if err != nil {
			return nil, err
		}
		list = append(list, p)
	}
	return list, nil
}

// An asOf is a cell as it was judged when an entry was the last to say what holds
// of it.
type asOf struct {
	entry int64
	cell  *packedCell
}

// scanned is contentsOf for one scan after the other: a cell of which no entry says
// anything new is not read again.
func (x *Packing) scanned(tx *logbook.Tx, shop *Shop, box string) ([]*packedCell, error) {
	if x.shop != shop {
		x.shop, x.read = shop, map[string]asOf{}
	}
	return contentsWith(tx, box, func(h *logbook.Held) (*packedCell, error) {
		if was, ok := x.read[h.Tag]; ok && was.entry == h.Entry {
			return was.cell, nil
		}
		p, err := readPacked(tx, shop, h.Tag)
		if err == nil {
			x.read[h.Tag] = asOf{h.Entry, p}
		}
		return p, err
	})
}

// consignPackage is a package as the rules judge it.
func (p *packedBody) consignPackage(cells []*packedCell) *consign.Package {
	x := &consign.Package{Tag: p.Tag, Outer: p.Outer.outer(), Inner: p.Inner, Fill: p.Fill,
		GrossG: triage.Micro(p.GrossMg * 1000), TareG: triage.Micro(p.TareMg * 1000)}
	for _, c := range cells {
		x.Items = append(x.Items, c.item)
	}
	return x
}
