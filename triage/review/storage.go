package review

import (
	"fmt"
	"slices"
	"time"

	"pouchward/triage"
)

// openContainer looks for damaged cells that were in no closed container.
func openContainer(p *pass) {
	for i := range p.Cells {
		c := &p.Cells[i]
		// What reacts is not carried anywhere.
		damaged := func(s *stay) bool { return s.state.Condition >= triage.Damaged && s.state.Handling != triage.Emergency }
		states := statesOf(c, p.Now)
		long := slices.ContainsFunc(spells(states, damaged), func(s spell) bool { return s.length() > p.hours("after_h") })
		if !long {
			continue
		}
		if p.wasHere(c) {
			p.checked++
		}
		list := spells(p.byLid(states), func(s *stay) bool { return damaged(s) && p.unlidded(s) != "" })
		for j := range list {
			s := &list[j]
			if s.length() <= p.hours("after_h") {
				continue
			}
			f := Finding{Subject: c.Tag, Tags: []string{c.Tag}, Entries: []int64{s.first.step.Entry, s.last.step.Entry}, Since: s.from, Until: s.ended(),
				Text: fmt.Sprintf("%s (%s) stood %s for %s, %s from %s", triage.SpacedTag(c.Tag), s.last.state.Condition, s.last.where(), howLong(s.length()), p.unlidded(s.last), minute(s.from))}
			if s.last.in != "" {
				f.Tags = append(f.Tags, s.last.in)
			}
			p.find(f)
		}
	}
}

// byLid cuts states at every entry about the container, or the package, in which the
// cell is.
func (p *pass) byLid(list []stay) (cut []stay) {
	for _, s := range list {
		var times []time.Time
		if box := p.index.boxes[boxOf(&s)]; box != nil {
			for i := range box.Steps {
				times = append(times, box.Steps[i].Happened)
			}
		}
		for i := range p.Shipments {
			for j := range p.Shipments[i].Steps {
				if x := &p.Shipments[i].Steps[j]; x.pack(s.in) != nil {
					times = append(times, x.Happened)
				}
			}
		}
		slices.SortFunc(times, time.Time.Compare)
		for _, t := range times {
			if !t.After(s.from) || !t.Before(s.to) {
				continue
			}
			before := s
			before.to, before.next = t, s.step
			cut, s.from = append(cut, before), t
		}
		cut = append(cut, s)
	}
	return cut
}

// boxOf is the container of a cell; of a lot, the one that it is.
func boxOf(s *stay) string {
	if s.in == "" && s.state.Count > 0 {
		return s.cell.Tag
	}
	return s.in
}

// unlidded says what is open about the container of a cell as a stay begins, blank
// for a lid that is recorded as closed or vented, and for a closed package.
func (p *pass) unlidded(s *stay) string {
	in := boxOf(s)
	if in == "" {
		return "in no container"
	}
	var says *ContainerStep
	if box := p.index.boxes[in]; box != nil {
		says = box.At(s.from)
	}
	switch {
	case says == nil:
		return "in a container that is not on record"
	case says.Package:
		if !p.closedAt(in, s.from) {
			return "in a package that was not closed"
		}
	case says.Lid == "":
		return "the lid not said"
	case says.Lid != "closed" && says.Lid != "vented":
		return "the lid " + says.Lid
	}
	return ""
}

// pack returns a package of a shipment, nil for one that is not of it.
func (s *ShipmentStep) pack(tag string) *Package {
	if i := slices.IndexFunc(s.Packages, func(p Package) bool { return p.Tag == tag }); i >= 0 {
		return &s.Packages[i]
	}
	return nil
}

// closedAt reports whether the last word on a package before a moment says that it
// was closed.
func (p *pass) closedAt(tag string, at time.Time) (closed bool) {
	for i := range p.Shipments {
		for j := range p.Shipments[i].Steps {
			s := &p.Shipments[i].Steps[j]
			if x := s.pack(tag); x != nil && !s.Happened.After(at) {
				closed = x.Closed
			}
		}
	}
	return closed
}

// notMadeSafe looks for cells that were not recorded as insulated and bagged, and in
// fill where they are isolated.
func notMadeSafe(p *pass) {
	for i := range p.Cells {
		c := &p.Cells[i]
		if c.lot() {
			continue // counted, never in hand one by one
		}
		if p.wasHere(c) {
			p.checked++
		}
		// Nobody touches what reacts: its hours begin after that.
		list := spells(statesOf(c, p.Now), func(s *stay) bool { return !s.state.MadeSafe && s.state.Handling != triage.Emergency })
		for j := range list {
			s := &list[j]
			if s.length() <= p.hours("after_h") {
				continue
			}
			p.find(Finding{Subject: c.Tag, Tags: []string{c.Tag}, Entries: []int64{s.first.step.Entry, s.last.step.Entry}, Since: s.from, Until: s.ended(),
				Text: fmt.Sprintf("%s (%s), for %s from %s, %s", triage.SpacedTag(c.Tag), s.last.state.Handling, howLong(s.length()), minute(s.from), lacking(c, s))})
		}
	}
}

// lacking says what was not recorded as done by the end of a spell.
func lacking(c *Cell, s *spell) string {
	var done Secured
	for i := range c.Steps {
		if x := &c.Steps[i]; x.Secured != nil && !x.Void && x.Entry <= s.last.step.Entry {
			done = *x.Secured
		}
	}
	text := ""
	for _, x := range []struct {
		done bool
		what string
	}{{done.Terminals, "terminals insulated"}, {done.Bag, "a bag of its own"}, {done.Fill || s.last.state.Handling < triage.Isolate, "dry fill"}} {
		if x.done {
			continue
		}
		if text != "" {
			text += ", "
		}
		text += x.what
	}
	if text == "" { // a split takes back what was done
		text = "what was done was of one of two cells"
	}
	return "not recorded: " + text
}

// lostSight looks for cells to be isolated or held that got no place and were not
// looked at again.
func lostSight(p *pass) {
	for i := range p.Cells {
		c := &p.Cells[i]
		if c.lot() {
			continue // its container is where it is
		}
		watched := func(s *stay) bool { return s.state.Handling >= triage.Hold }
		states := statesOf(c, p.Now)
		if slices.ContainsFunc(states, func(s stay) bool { return watched(&s) }) && p.wasHere(c) {
			p.checked++
		}
		looks := glances(c)
		list := spells(states, func(s *stay) bool { return watched(s) && s.in == "" && s.place == "" })
		for j := range list {
			s := &list[j]
			end, until := s.to, s.ended()
			if g := firstAt(looks, s.from.Add(1)); g != nil && g.at.Before(end) {
				end, until = g.at, g.at
			}
			if end.Sub(s.from) <= p.hours("after_h") {
				continue
			}
			p.find(Finding{Subject: c.Tag, Tags: []string{c.Tag}, Entries: []int64{s.first.step.Entry, s.last.step.Entry}, Since: s.from, Until: until,
				Text: fmt.Sprintf("%s (%s, %s) has no place and no later look for %s from %s", triage.SpacedTag(c.Tag), s.first.state.Handling, s.first.state.Condition,
					howLong(end.Sub(s.from)), minute(s.from))})
		}
	}
}
