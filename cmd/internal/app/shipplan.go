package app

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/consign"
)

// shipPlanner gathers what a plan is made from.
type shipPlanner struct {
	shop  *Shop
	log   *logbook.Log
	out   *exports.ShipPlan
	items []consign.Item
	wh    map[string]triage.Fact
}

// PlanShipment lays out what is in the shop in packages for a route, each cell as
// it stands on the day, and says what keeps the rest. It writes nothing.
func PlanShipment(shop *Shop, l *logbook.Log, routeWord string, outers []string) (*exports.ShipPlan, error) {
	route, err := readRoute(routeWord)
	if err != nil {
		return nil, err
	}
	var have []consign.Outer
	for _, text := range outers {
		o, err := ParseOuter(text)
		if err != nil {
			return nil, err
		}
		have = append(have, o.outer())
	}
	p := &shipPlanner{shop: shop, log: l, wh: map[string]triage.Fact{}, out: &exports.ShipPlan{Route: routeWord, On: shop.Rulebook.On.String()}}
	if err := p.gather(); err != nil {
		return nil, err
	}
	p.tell(consign.MakePlan(shop.Rulebook, route, p.items, have))
	return p.out, nil
}

// gather takes the cells of the stock that a plan may hold.
func (p *shipPlanner) gather() error {
	var tags []string
	if err := p.log.SingleCells(func(h *logbook.Held) error {
		tags = append(tags, h.Tag)
		return nil
	}); err != nil {
		return err
	}
	for _, tag := range tags {
		if err := p.take(tag); err != nil {
			return fmt.Errorf("tag %s: %w", tag, err)
		}
	}
	return p.log.Containers(func(h *logbook.Held) error {
		if h.Count > 0 {
			p.leave(h.Tag, fmt.Sprintf("a lot of %d cells that nobody looked at one by one: assess each", h.Count), "common practice")
		}
		return nil
	})
}

func (p *shipPlanner) leave(tag, why, source string) {
	p.out.Left = append(p.out.Left, exports.ShipLeft{Tags: []string{tag}, Why: why, Source: source})
}

func (p *shipPlanner) take(tag string) error {
	c, err := readCell(p.log, tag)
	if err != nil {
		return err
	}
	packed, err := p.packed(c)
	if err != nil {
		return err
	}
	x := newPacked(c, p.shop)
	p.out.Stock++
	switch {
	case packed:
		p.out.Packed = append(p.out.Packed, tag)
		return nil
	case x.verdict.Handling == triage.Emergency:
		p.leave(tag, "EMERGENCY: nobody carries it", "common practice")
		return nil
	case x.verdict.Waste == triage.NotWaste && x.verdict.Handling == triage.Retire:
		p.leave(tag, "not to be used again, and its purpose still says reuse: assess it with --purpose recycle", "common practice")
		return nil
	case x.verdict.Waste == triage.NotWaste:
		p.out.Reuse = append(p.out.Reuse, tag)
		return nil
	case !c.back.IsZero() && !c.lookedAfter(c.back):
		p.leave(tag, "it came back and nobody looked at it since: pouchward recheck", "common practice")
		return nil
	}
	if len(c.owed(x.verdict.Handling)) > 0 {
		p.out.Unsecured = append(p.out.Unsecured, tag)
	}
	p.items, p.wh[tag] = append(p.items, x.item), x.verdict.Facts[triage.FEnergy]
	return nil
}

// packed reports whether a cell stands in a package of a shipment.
func (p *shipPlanner) packed(c *Cell) (bool, error) {
	if c.in == "" {
		return false, nil
	}
	tags, err := shipmentsWith(c.Entries)
	if err != nil || len(tags) == 0 {
		return false, err
	}
	s, err := readShipment(p.log, tags[len(tags)-1])
	return err == nil && s.pack(c.in) != nil, err
}

// tell puts a plan into the words of its page.
func (p *shipPlanner) tell(plan *consign.Plan) {
	o := p.out
	words := map[string]string{}
	for i, pack := range plan.Packages {
		j := plan.Judged[i]
		words[j.Kind] = j.Words
		x := exports.ShipPlanned{Number: i + 1, Outer: pack.Outer.Name, Level: pack.Outer.Level, Kind: j.Kind, Words: j.Words, UN: j.UN, NetG: wholeGrams(j.NetG), GrossG: wholeGrams(j.GrossG),
			Papers: j.Papers, Phone: j.Phone, Inner: pack.Inner, Fill: pack.Fill}
		for k := range pack.Items {
			tag := pack.Items[k].Tag
			x.Tags = append(x.Tags, tag)
			if e := p.wh[tag]; e.State == triage.Known {
				x.Wh += float64(e.Lo) / 1e6
			} else {
				x.Unrated++
			}
		}
		o.Going += len(x.Tags)
		o.Packages = append(o.Packages, x)
	}
	for _, k := range plan.Kinds {
		o.Kinds = append(o.Kinds, exports.ShipKind{Kind: k.Kind, Words: words[k.Kind], Items: k.Items, Packages: k.Packages, Bound: k.Bound})
	}
	o.Bound, o.Gap, o.Notes = plan.Bound, plan.Gap(), plan.Notes
	for _, e := range plan.Exceptions {
		o.Notes = append(o.Notes, fmt.Sprintf("%s It saves %s (%s).", e.Text, exports.Count(int64(e.Saves), "mark"), e.Source))
	}
	for _, f := range consign.Freedoms(plan.Left) {
		o.Free = append(o.Free, exports.ShipFree{Reading: f.Reading, Tags: f.Frees, Seconds: f.Seconds})
	}
	for _, l := range plan.Left {
		o.Left = append(o.Left, exports.ShipLeft{Tags: []string{l.Tag}, Why: l.Why, Source: l.Source, Frees: l.Frees})
	}
	o.Left = byReason(o.Left)
}

// wholeGrams rounds a mass up: a limit is on the side of the heavier.
func wholeGrams(m triage.Micro) int64 { return int64((m + triage.One - 1) / triage.One) }

// byReason puts what stays for the same reason into one.
func byReason(list []exports.ShipLeft) (out []exports.ShipLeft) {
	for _, l := range list {
		i := slices.IndexFunc(out, func(x exports.ShipLeft) bool {
			return x.Why == l.Why && x.Source == l.Source && slices.Equal(x.Frees, l.Frees)
		})
		if i < 0 {
			out = append(out, l)
			continue
		}
		out[i].Tags = append(out[i].Tags, l.Tags...)
	}
	slices.SortStableFunc(out, func(a, b exports.ShipLeft) int { return strings.Compare(a.Tags[0], b.Tags[0]) })
	return out
}
