package review

import (
	"fmt"
	"time"

	"pouchward/triage"
)

func breached(s *State) bool { return s.Waste == triage.CasingBreached }

// breachedAmongIntact looks for breached cells with whole ones in a container or a
// package, the open spells of a package in the shop too.
func breachedAmongIntact(p *pass) {
	for i := range p.Cells {
		for _, s := range p.index.stays[p.Cells[i].Tag] {
			if breached(s.state) {
				p.checked++
				break
			}
		}
	}
	whole := func(s *State) bool { return s.Waste == triage.CasingIntact || s.Waste == triage.NotWaste }
	p.together(p.hours("after_h"), breached, whole, func(box string, x pairing) {
		tag := x.a.cell.Tag
		p.find(Finding{Subject: tag, Tags: []string{tag, box, x.b.cell.Tag}, Entries: []int64{x.a.step.Entry, x.b.step.Entry}, Since: x.from, Until: x.ended(),
			Text: fmt.Sprintf("%s (casing breached) stood in %s with %s, whose casing is intact, for %s from %s", triage.SpacedTag(tag), triage.SpacedTag(box), triage.SpacedTag(x.b.cell.Tag),
				howLong(x.to.Sub(x.from)), minute(x.from))})
	})
	unknown := map[string]bool{}
	p.together(p.hours("after_h"), breached, func(s *State) bool { return s.Waste == triage.WasteUnknown }, func(_ string, x pairing) {
		unknown[x.a.cell.Tag] = true
	})
	p.cannotTell(int64(len(unknown)), "breached cells that stood with one whose casing is not known")
}

// releaseUnanswered looks for cells found breached of which nothing was recorded in
// time that contains what leaks.
func releaseUnanswered(p *pass) {
	for i := range p.Cells {
		c := &p.Cells[i]
		if c.breachedOnce() && p.wasHere(c) {
			p.checked++
		}
		// While it reacts nobody touches it: the hours begin after that.
		list := spells(statesOf(c, p.Now), func(s *stay) bool { return breached(s.state) && s.state.Handling != triage.Emergency })
		for j := range list {
			s := &list[j]
			done := p.contained(c, s)
			if done.IsZero() && !s.ended().IsZero() {
				done = s.to
			}
			end := done
			if end.IsZero() {
				end = p.Now
			}
			if end.Sub(s.from) <= p.hours("after_h") {
				continue
			}
			p.find(Finding{Subject: c.Tag, Tags: []string{c.Tag}, Entries: []int64{s.first.step.Entry, s.last.step.Entry}, Since: s.from, Until: done,
				Text: fmt.Sprintf("%s was found breached on %s and for %s nothing was recorded that contains what leaks: no container, no fill, no incident", triage.SpacedTag(c.Tag),
					minute(s.from), howLong(end.Sub(s.from)))})
		}
	}
}

func (c *Cell) breachedOnce() bool {
	for i := range c.Steps {
		if breached(&c.Steps[i].Now) {
			return true
		}
	}
	return false
}

// contained is when a breached cell was contained, at the earliest when it was found
// breached; zero for not. What was taken back contains nothing.
func (p *pass) contained(c *Cell, in *spell) (at time.Time) {
	take := func(t time.Time) {
		if t = later(t, in.from); !t.After(in.to) && (at.IsZero() || t.Before(at)) {
			at = t
		}
	}
	for _, s := range statesOf(c, p.Now) {
		if s.in != "" && s.to.After(in.from) {
			take(s.from)
		}
	}
	for i := range c.Steps {
		if s := &c.Steps[i]; s.Secured != nil && !s.Void && s.Secured.Fill {
			take(s.Happened)
		}
	}
	for _, tag := range append([]string{c.Tag}, c.Aliases...) {
		for _, x := range p.index.incidents[tag] {
			// One that was over before has nothing of this leak.
			if !x.Void && !x.Happened.Before(in.from.Add(-p.hours("before_h"))) {
				take(x.Happened)
			}
		}
	}
	return at
}
