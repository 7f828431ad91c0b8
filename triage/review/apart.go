package review

import (
	"fmt"
	"time"

	"pouchward/triage"
)

// A pairing is the time that two cells spent in one container.
type pairing struct {
	a, b     *stay
	from, to time.Time
}

// together calls fn for each pair of cells that stood in a container at a time, where
// the first is of the one kind and the second of the other. What lasted less than the
// hours allowed is left out, unless it was put there when it was known already.
func (p *pass) together(allowed time.Duration, one, other func(*State) bool, fn func(box string, x pairing)) {
	for _, box := range p.index.boxesInOrder {
		list := p.index.inside[box]
		for i := range list {
			if !one(list[i].state) {
				continue
			}
			for j := range list {
				if list[j].cell == list[i].cell || !other(list[j].state) {
					continue
				}
				x := pairing{a: &list[i], b: &list[j]}
				var ok bool
				if x.from, x.to, ok = overlap(x.a, x.b); ok && (x.put() || x.to.Sub(x.from) > allowed) {
					fn(box, x)
				}
			}
		}
	}
}

// ended is when the two were parted; zero where they are still together.
func (x *pairing) ended() time.Time {
	if x.a.next != nil || x.b.next != nil {
		return x.to
	}
	return time.Time{}
}

// put reports whether the two came together by a move, and not because one that stood
// there was judged anew.
func (x *pairing) put() bool {
	last := x.a.step
	if x.b.from.After(x.a.from) {
		last = x.b.step
	}
	return last.Kind == "move" || last.Kind == "shipment"
}

// damagedAmongOthers looks for cells that were to stand alone and did not.
func damagedAmongOthers(p *pass) {
	for i := range p.Cells {
		for _, s := range p.index.stays[p.Cells[i].Tag] {
			if s.state.apart() {
				p.checked++
				break
			}
		}
	}
	alone := func(s *State) bool { return s.apart() }
	ordinary := func(s *State) bool { return !s.apart() }
	p.together(p.hours("after_h"), alone, ordinary, func(box string, x pairing) {
		if p.index.isPackage(box, x.from) {
			return // review-damaged-sent-light
		}
		tag := x.a.cell.Tag
		p.find(Finding{Subject: tag, Tags: []string{tag, box, x.b.cell.Tag}, Entries: []int64{x.a.step.Entry, x.b.step.Entry}, Since: x.from, Until: x.ended(),
			Text: fmt.Sprintf("%s (%s, %s) stood in %s with %s (%s) for %s from %s", triage.SpacedTag(tag), x.a.state.Handling, x.a.state.Condition, triage.SpacedTag(box),
				triage.SpacedTag(x.b.cell.Tag), x.b.state.Handling, howLong(x.to.Sub(x.from)), minute(x.from))})
	})
}

// severalInOne looks for containers that held several cells that were to stand alone.
func severalInOne(p *pass) {
	alone := func(s *State) bool { return s.apart() }
	for _, box := range p.index.boxesInOrder {
		for i := range p.index.inside[box] {
			if p.index.inside[box][i].state.apart() {
				p.checked++
				break
			}
		}
	}
	p.together(p.hours("after_h"), alone, alone, func(box string, x pairing) {
		if p.index.isPackage(box, x.from) || x.a.cell.Tag > x.b.cell.Tag {
			return
		}
		p.find(Finding{Subject: box, Tags: []string{box, x.a.cell.Tag, x.b.cell.Tag}, Entries: []int64{x.a.step.Entry, x.b.step.Entry}, Since: x.from, Until: x.ended(),
			Text: fmt.Sprintf("%s held %s and %s at once for %s from %s", triage.SpacedTag(box), triage.SpacedTag(x.a.cell.Tag), triage.SpacedTag(x.b.cell.Tag),
				howLong(x.to.Sub(x.from)), minute(x.from))})
	})
}
