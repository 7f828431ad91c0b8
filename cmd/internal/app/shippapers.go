package app

import (
	"cmp"
	"fmt"
	"io"
	"slices"

	"pouchward/exports/papers"
	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/consign"
)

// PrintPapers writes the papers of a shipment, or of the last one that a package or a
// cell was in, whole or not at all. One in the shop is judged for day (blank: today);
// one that left by the rules of the day on which it did, and by what the log knew
// before. open loads the rules of a day.
func PrintPapers(l *logbook.Log, text, day string, open func(day string) (*Shop, error), p *Print) (*papers.Shipment, *papers.Document, error) {
	x, shop, err := gatherPapers(l, text, day, open)
	if err != nil {
		return nil, nil, err
	}
	paper, err := p.sheetPaper(shop)
	if err != nil {
		return nil, nil, err
	}
	kind, err := p.name("papers-" + x.Tag)
	if err != nil {
		return nil, nil, err
	}
	d := papers.New(x)
	return x, d, WriteWhole(p.Path, func(w io.Writer) error {
		if kind == "txt" {
			return d.Text(w)
		}
		return d.Write(w, paper)
	})
}

// gatherPapers gathers what the papers are made from.
func gatherPapers(l *logbook.Log, text, day string, open func(day string) (*Shop, error)) (*papers.Shipment, *Shop, error) {
	tag, err := ReadTag(text)
	if err != nil {
		return nil, nil, err
	}
	if kind, _ := triage.TagNumber(tag); kind != triage.ShipmentTag {
		if tag, _, err = findShipment(l, tag, kind); err != nil {
			return nil, nil, err
		}
	}
	s, err := readShipment(l, tag)
	if err != nil {
		return nil, nil, err
	}
	left, err := handedOver(l, s)
	if err != nil {
		return nil, nil, err
	}
	if left != nil {
		if s, err = shipmentOf(left); err != nil {
			return nil, nil, err
		}
		if day != "" && day != s.Offered {
			return nil, nil, Usage("--on %s: shipment %s left on %s, and its papers are those of that day: leave out --on", day, triage.SpacedTag(tag), s.Offered)
		}
		day = s.Offered
	}
	shop, err := open(day)
	if err != nil {
		return nil, nil, err
	}
	g := &paperGatherer{shop: shop, log: l, s: s, left: left}
	x, err := g.gather()
	return x, shop, err
}

// handedOver returns the entry by which a shipment left, nil for one that is in the
// shop.
func handedOver(l *logbook.Log, s *shipmentBody) (*logbook.Entry, error) {
	if s.Stage == stagePacking || s.Stage == stageBack {
		return nil, nil
	}
	list, err := l.History(s.About)
	if err != nil {
		return nil, err
	}
	for _, e := range slices.Backward(list) {
		if e.Kind != "shipment" {
			continue
		}
		if b, err := shipmentOf(e); err != nil || b.About == s.About && b.Did == "dispatched" {
			return e, err
		}
	}
	return nil, fmt.Errorf("shipment %s is %s, and no entry hands it over", triage.SpacedTag(s.About), s.Stage)
}

// A paperGatherer reads one shipment for its papers.
type paperGatherer struct {
	shop *Shop
	log  *logbook.Log
	s    *shipmentBody
	left *logbook.Entry // by which it left, nil in the shop
	out  *papers.Shipment
	all  []*consign.Package
}

// earlier is what a log knew before an entry.
type earlier struct {
	from  historian
	entry int64
}

func (e earlier) History(tag string) ([]*logbook.Entry, error) {
	list, err := e.from.History(tag)
	return slices.DeleteFunc(slices.Clone(list), func(x *logbook.Entry) bool { return x.Number >= e.entry }), err
}

func (g *paperGatherer) gather() (*papers.Shipment, error) {
	route, err := g.s.route()
	if err != nil {
		return nil, err
	}
	last := g.left
	if last == nil {
		if last, err = g.log.LastAbout("shipment", g.s.About); err != nil {
			return nil, err
		}
	}
	rb, facts := g.shop.Rulebook, g.shop.facts()
	_, do, care, source := rb.EmergencyLines()
	g.out = &papers.Shipment{Tag: g.s.About, Route: route, Entry: last.Number, On: rb.On, Digest: rb.Digest,
		Site: cmp.Or(last.Site, facts.Site), Consignee: cmp.Or(g.s.Consignee, facts.Consignee), Phone: facts.EmergencyNumber, PhoneBy: facts.EmergencyNumberBy,
		Fire: facts.FireService, Emergency: do, Care: care, CareSource: source, Authorities: authorities(rb, route)}
	for i := range g.s.Packages {
		if err := g.pack(&g.s.Packages[i], route); err != nil {
			return nil, err
		}
	}
	g.over()
	g.whole(route)
	return g.out, nil
}

// authorities names those from whom the rules of a route come.
func authorities(rb *triage.Rulebook, route triage.Route) (list []string) {
	for _, t := range rb.Tables() {
		if slices.ContainsFunc(t.Ways, func(w triage.Way) bool { return slices.Contains(w.Routes, route.String()) }) && !slices.Contains(list, t.Instrument.Authority) {
			list = append(list, t.Instrument.Authority)
		}
	}
	return list
}

// over fills in the hand-over, and what of it the pages cannot show as it was.
func (g *paperGatherer) over() {
	if g.left == nil {
		return
	}
	h := g.s.Handover
	if h == nil {
		h = &Handover{At: g.s.Offered}
	}
	g.out.Handover = &papers.Handover{At: h.At, Carrier: h.Carrier, By: h.Acceptance.By, Ref: h.Acceptance.Ref, Until: h.Acceptance.Until, Accepts: h.Acceptance.Accepts}
	if h.Phone != "" && h.Phone != g.out.Phone {
		g.out.Phone, g.out.PhoneBy = h.Phone, "" // the house file names another today
	}
	if d := g.left.Rulebook; d != "" && d != g.shop.Rulebook.Digest {
		g.notice(fmt.Sprintf("the hand-over (entry %d) was judged by rulebook %.12s, and these pages by %.12s: the house file or the program is another today.", g.left.Number, d, g.shop.Rulebook.Digest))
	}
}

func (g *paperGatherer) notice(text string) {
	if !slices.Contains(g.out.Notices, text) {
		g.out.Notices = append(g.out.Notices, text)
	}
}

// whole judges what holds over all packages. The exceptions of a consignment count
// only where all of it is known to be as it goes.
func (g *paperGatherer) whole(route triage.Route) {
	x := g.out
	if x.Consignee == "" {
		x.Open = append(x.Open, "no consignee is named")
	}
	if x.Phone == "" && slices.ContainsFunc(x.Packages, func(p papers.Package) bool { return len(p.Papers) > 0 }) {
		x.Open = append(x.Open, "papers go with it, and the house file names no emergency telephone (emergency_number)")
	}
	for i := range x.Packages {
		if p := &x.Packages[i]; !p.Closed || len(p.Broken)+len(p.Missing) > 0 {
			return
		}
	}
	judged, breaches := consign.JudgeAll(g.shop.Rulebook, route, g.all)
	x.Open = append(x.Open, broken(breaches, true)...)
	for i, j := range judged {
		g.duties(&x.Packages[i], j)
	}
}
