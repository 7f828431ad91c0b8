package app

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"pouchward/exports/papers"
	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/consign"
)

// pack adds a package as it stands, or as it was closed where it left.
func (g *paperGatherer) pack(b *packedBody, route triage.Route) error {
	p := papers.Package{Tag: b.Tag, Outer: b.Outer.Name, Level: b.Outer.Level, UNMark: b.Outer.UNMark, Closed: b.Closed, Inner: b.Inner, Fill: b.Fill,
		GrossMg: b.GrossMg, TareMg: b.TareMg, NetMg: b.NetMg, PackedBy: b.PackedBy, CheckedBy: b.CheckedBy, Note: b.Note}
	cells, err := g.contents(b, &p)
	if err != nil {
		return err
	}
	unfit := false
	for _, c := range cells {
		x := g.cell(c, route)
		unfit = unfit || x.Keeps != ""
		p.Cells = append(p.Cells, x)
	}
	asked := b.consignPackage(cells)
	j := consign.Judge(g.shop.Rulebook, route, asked)
	g.all = append(g.all, asked)
	if !b.Closed {
		j = g.asPacked(&p, j, route, b.consignPackage(cells))
	}
	g.out.Packages = append(g.out.Packages, p)
	n := len(g.out.Packages) - 1
	g.breaches(&g.out.Packages[n], j, unfit)
	g.duties(&g.out.Packages[n], j)
	if b.Closed && !unfit {
		if why := b.changed(g.shop.Rulebook, j, cells); why != "" && g.left == nil {
			g.out.Packages[n].Broken = append(g.out.Packages[n].Broken, "it "+why)
		} else if why != "" {
			g.notice(fmt.Sprintf("%s is judged otherwise here than when it was closed: it %s.", packName(b.Tag), strings.Split(why, ". Open it")[0]))
		}
	}
	return nil
}

// asPacked judges an open package as if each cell had its inner packaging and its
// cushioning, since both are seen at the closing. What is not said of them is open,
// not broken.
func (g *paperGatherer) asPacked(p *papers.Package, j *consign.Judgement, route triage.Route, asked *consign.Package) *consign.Judgement {
	asked.Inner, asked.Fill = true, true
	packed := consign.Judge(g.shop.Rulebook, route, asked)
	for i := range j.Breaches {
		b := &j.Breaches[i]
		if !slices.ContainsFunc(packed.Breaches, func(x consign.Breach) bool { return x.Item == b.Item && x.Text == b.Text }) {
			p.Missing = append(p.Missing, breachText(b))
		}
	}
	return packed
}

// contents reads the cells of a package. One that is closed and holds another cell
// than it was closed with, or a bin, is broken.
func (g *paperGatherer) contents(b *packedBody, p *papers.Package) (cells []*packedCell, err error) {
	var from historian = g.log
	list := b.Cells
	if g.left != nil {
		from = earlier{g.log, g.left.Number}
	} else {
		list = nil
		if err := g.log.Contents(b.Tag, func(h *logbook.Held) error {
			list = append(list, h.Tag)
			return nil
		}); err != nil {
			return nil, err
		}
	}
	slices.SortFunc(list, func(x, y string) int { return cmp.Compare(triage.TagKey(x), triage.TagKey(y)) })
	for _, tag := range list {
		c, err := readPacked(from, g.shop, tag)
		if err != nil {
			return nil, err
		}
		cells = append(cells, c)
	}
	if g.left != nil {
		return cells, nil
	}
	if b.Closed {
		if why := b.asClosed(cells); why != "" {
			p.Broken = append(p.Broken, "it "+why)
		}
	}
	return cells, g.log.Containers(func(h *logbook.Held) error {
		if h.Place == b.Tag {
			p.Broken = append(p.Broken, triage.SpacedTag(h.Tag)+" stands in it, and what is in that is not judged with the package")
		}
		return nil
	})
}

// cell tells one cell.
func (g *paperGatherer) cell(p *packedCell, route triage.Route) papers.Cell {
	c, v := p.cell, p.verdict
	x := papers.Cell{Tag: c.Tag, V: v, Keeps: p.unfit(g.shop, route), Secured: map[string]bool{"terminals": c.secured.Terminals, "bag": c.secured.Bag}}
	a := &v.Routes[route]
	switch {
	case a.Class == triage.RouteUndecided && len(a.Maybe) > 0 && a.Maybe[0].Missing.Len() == 1 && !a.Maybe[0].Asks && v.Handling != triage.Emergency:
		a.Maybe[0].Missing.Each(func(f triage.FactID) { x.Lacks = triage.FactTable[f].Label })
	case a.Way != nil && a.Way.Approval != nil:
		x.Approval = a.Way.Approval.Name + ", by " + a.Way.Approval.By
	}
	ground := func(r *triage.Rule) {
		if r == nil {
			return
		}
		if _, condition := r.Outcome(); condition >= triage.Damaged && !slices.Contains(x.Grounds, r) {
			x.Grounds = append(x.Grounds, r)
		}
	}
	for i := range v.ConditionFindings {
		if f := &v.ConditionFindings[i]; f.State == triage.Fired {
			ground(f.Rule)
		}
	}
	for _, h := range c.standing(g.shop, time.Time{}) {
		if ground(h.rule); h.rule == nil && h.condition >= triage.Damaged {
			x.ByHand = fmt.Sprintf("entry %d", h.entry)
		}
	}
	return x
}

// breaches parts what is broken from what is not known. Of a cell that cannot go the
// cell's own line says it.
func (g *paperGatherer) breaches(p *papers.Package, j *consign.Judgement, unfit bool) {
	for i := range j.Breaches {
		b := &j.Breaches[i]
		switch text := breachText(b); {
		case unfit && b.Item != "":
		case b.Missing:
			p.Missing = append(p.Missing, text)
		default:
			p.Broken = append(p.Broken, text)
		}
	}
	if len(p.Cells) == 0 {
		p.Missing = nil // that it holds nothing is said otherwise
	}
}

// duties takes over what is owed on and with a package.
func (g *paperGatherer) duties(p *papers.Package, j *consign.Judgement) {
	p.UN, p.Notes, p.Ways, p.Marks, p.Papers, p.Overpack, p.Spared = j.UN, j.Notes, nil, nil, nil, nil, nil
	for i, w := range j.Ways {
		if w == nil {
			continue
		}
		if !slices.Contains(p.Ways, w) {
			p.Ways = append(p.Ways, w)
		}
		for _, d := range p.Cells[i].V.Owed(w.Duties, g.out.Route.String()) {
			same := func(x triage.DutyDoc) bool { return x.Text == d.Text && x.Words == d.Words }
			if d.Overpack && !slices.ContainsFunc(p.Overpack, same) {
				p.Overpack = append(p.Overpack, d)
			}
		}
	}
	for _, d := range j.Spared {
		p.Spared = append(p.Spared, d.Document())
	}
	for _, d := range j.Marks {
		if d.Kind == "paper" || d.Kind == "telephone" {
			p.Papers = append(p.Papers, d.Document())
		} else {
			p.Marks = append(p.Marks, d.Document())
		}
	}
	for i := range p.Cells {
		for _, text := range p.Cells[i].V.PastEditions() {
			g.notice(text)
		}
	}
}
