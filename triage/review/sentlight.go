package review

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pouchward/triage"
)

// damagedSentLight looks for damaged, recalled, liable and reacting cells that left as
// if they were not: in a package, or carried out.
func damagedSentLight(p *pass) {
	var lost, unsettled, unread int64
	for i := range p.Shipments {
		sh := &p.Shipments[i]
		for j := range sh.Steps {
			s := &sh.Steps[j]
			if s.Did != "dispatched" {
				continue
			}
			for k := range s.Packages {
				l := leaving{pass: p, shipment: sh, at: j, pack: &s.Packages[k]}
				if p.within(s.Happened) {
					p.checked++
				}
				l.look()
				lost, unsettled = lost+l.lost, unsettled+l.unsettled
				if l.unread {
					unread++
				}
			}
		}
	}
	handed := p.carriedOut()
	p.cannotTell(lost, "cells of packages that the log does not have")
	p.cannotTell(unsettled, "cells that left in a package with their condition undetermined")
	p.cannotTell(unread, "packages with a damaged cell by a way that no rulebook here has")
	p.cannotTell(handed, "damaged cells handed over without a shipment: how they travelled is not said")
}

// A leaving is a package at the moment at which it left.
type leaving struct {
	*pass
	shipment *Shipment
	at       int
	pack     *Package

	worst           triage.ConditionClass
	bad             []string // tags
	entries         []int64
	lost, unsettled int64
	unread          bool
}

func (l *leaving) look() {
	s := &l.shipment.Steps[l.at]
	for _, tag := range l.pack.Cells {
		c := l.index.cells[tag]
		if c == nil {
			l.lost++
			continue
		}
		condition, entry := c.whenItLeft(s)
		switch {
		case condition >= triage.Damaged:
			l.worst, l.bad, l.entries = max(l.worst, condition), append(l.bad, c.Tag), append(l.entries, entry)
		case condition == triage.Undetermined:
			l.unsettled++
		}
	}
	if len(l.bad) == 0 {
		return
	}
	wrong := l.wrong(s)
	if len(wrong) == 0 {
		return
	}
	f := Finding{Subject: l.pack.Tag, Tags: append([]string{l.pack.Tag, l.shipment.Tag}, l.bad...), Entries: append(l.entries, s.Entry), Since: s.Happened,
		Text: fmt.Sprintf("package %s of shipment %s left on %s with %s (%s): %s", triage.SpacedTag(l.pack.Tag), triage.SpacedTag(l.shipment.Tag), minute(s.Happened),
			tagList(l.bad), l.worst, strings.Join(wrong, "; "))}
	for i := l.at + 1; i < len(l.shipment.Steps); i++ {
		if x := &l.shipment.Steps[i]; x.Did == "refused" || x.Did == "received" || x.Did == "settled" {
			f.Until = later(s.Happened, x.Happened)
			break
		}
	}
	l.find(f)
}

// wrong lists what a package with such cells was sent against. What it was judged to
// go by is all that the log has of how it was marked and papered.
func (l *leaving) wrong(s *ShipmentStep) (list []string) {
	damaged, alone, known := false, false, true
	var ids []string
	for _, w := range l.pack.Ways {
		known, damaged, alone = known && w.Known, damaged || w.Known && w.Damaged, alone || w.OnePerOuter
		ids = append(ids, w.ID)
	}
	if l.worst == triage.Reacting {
		list = append(list, "what reacts is not offered for carriage")
	}
	if strings.HasPrefix(s.Route, "air-") {
		list = append(list, "by air ("+s.Route+")")
	}
	switch {
	case damaged:
	case len(ids) == 0:
		list = append(list, "by no way that is on record")
	case known:
		list = append(list, "by "+strings.Join(ids, ", ")+", which is for undamaged ones")
	default:
		l.unread = true
	}
	if n := len(l.pack.Cells); n > 1 && alone {
		list = append(list, fmt.Sprintf("%d in an outer packaging that takes one", n))
	}
	if !l.pack.Inner {
		list = append(list, "not recorded as each in an inner packaging of its own")
	}
	return list
}

// whenItLeft is the condition of a cell when a shipment left, and the entry that said
// so: as the log had it then, or as somebody entered late who had seen it before.
func (c *Cell) whenItLeft(s *ShipmentStep) (condition triage.ConditionClass, entry int64) {
	for i := range c.Steps {
		x := &c.Steps[i]
		_, now := x.Now.on(s.Day())
		switch {
		case x.Entry <= s.Entry:
			if now != condition || entry == 0 {
				condition, entry = now, x.Entry
			}
		case !x.Void && x.Happened.Before(s.Happened):
			if x.Look != nil {
				now = x.Look.Condition // what holds of it now may be of what came after
			} else if x.Kind != "raise" {
				continue
			}
			if now > condition {
				condition, entry = now, x.Entry
			}
		}
	}
	return condition, entry
}

// carriedOut looks for damaged cells that were carried out to be used, or given back,
// and counts those that were handed over to somebody without a shipment.
func (p *pass) carriedOut() (handed int64) {
	for i := range p.Cells {
		c := &p.Cells[i]
		for j := 1; j < len(c.Steps); j++ {
			s, was := &c.Steps[j], &c.Steps[j-1].Now
			if s.Move == nil || s.Void || s.Move.Out == "" || was.Is != Here {
				continue
			}
			in := p.within(s.Happened)
			if in {
				p.checked++
			}
			h, condition := s.Now.on(s.Day())
			switch {
			case condition < triage.Damaged && h < triage.Isolate:
				continue
			case !slices.Contains([]string{"reused", "returned"}, s.Move.Out), condition == triage.RecalledCell && s.Move.Out == "returned":
				// Handed over, or gone back to the maker in its own kit, as a recall asks:
				// how it was packed is not in the log.
				if in {
					handed++
				}
				continue
			}
			f := Finding{Subject: c.Tag, Tags: []string{c.Tag}, Entries: []int64{saidFirst(c, j-1), s.Entry}, Since: s.Happened, Until: back(c, j),
				Text: fmt.Sprintf("%s (%s, %s) left on %s: %s", triage.SpacedTag(c.Tag), h, condition, minute(s.Happened), s.Move.Out)}
			if s.Move.Because != "" {
				f.Text += fmt.Sprintf(", %q", s.Move.Because)
			}
			p.find(f)
		}
	}
	return handed
}

// back is when a cell that left came back, zero where it did not.
func back(c *Cell, left int) (t time.Time) {
	for i := left + 1; i < len(c.Steps); i++ {
		if c.Steps[i].Now.Is == Here {
			return later(c.Steps[left].Happened, c.Steps[i].Happened)
		}
	}
	return t
}
