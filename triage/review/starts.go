package review

import (
	"cmp"
	"fmt"

	"pouchward/triage"
)

// startUnknown tells, by place, the clocks that count from the day of the first entry
// because nobody said an earlier one.
func startUnknown(p *pass) {
	place := func(c *Cell, s *State) string {
		box := p.index.boxes[s.In]
		if box != nil && len(box.Steps) > 0 {
			return cmp.Or(box.Steps[len(box.Steps)-1].Place, nowhereSaid)
		}
		return cmp.Or(s.Place, nowhereSaid)
	}
	for _, g := range p.clocksHere(place) {
		p.checked += int64(len(g.clocks))
		f := Finding{Subject: g.key}
		var oldest *clock
		var n int64
		for i := range g.clocks {
			k := &g.clocks[i]
			if k.state.Start != 0 && k.state.StartBy != "recorded" && k.state.StartBy != "" {
				continue
			}
			if n++; oldest == nil {
				oldest = k
			}
			if f.Since.IsZero() || k.first.Happened.Before(f.Since) {
				f.Since = k.first.Happened
			}
			f.Tags, f.Entries = append(f.Tags, k.cell.Tag), append(f.Entries, k.first.Entry)
		}
		if oldest == nil {
			continue
		}
		f.Text = fmt.Sprintf("%s: %d of %s, the oldest %s since %s", g.key, n, plural(int64(len(g.clocks)), "accumulation clock"), triage.SpacedTag(oldest.cell.Tag), counts(oldest.state))
		p.find(f)
	}
}

// startLater looks for containers that said a later start than a cell in them had.
func startLater(p *pass) {
	var unknown int64
	for i := range p.Containers {
		box := &p.Containers[i]
		stated := false
		for j := range box.Steps {
			stated = stated || box.Steps[j].Stated != 0
		}
		if !stated {
			continue
		}
		p.checked++
		inside := p.index.inside[box.Tag]
		if c := p.index.cells[box.Tag]; c != nil { // a lot
			inside = append(inside[:len(inside):len(inside)], p.index.stays[box.Tag]...)
		}
		for j := range inside {
			s := &inside[j]
			if s.state.Start == 0 {
				if s.state.Waste != triage.NotWaste {
					unknown++
				}
				continue
			}
			p.heldAgainst(box, s)
		}
	}
	p.cannotTell(unknown, "cells in them whose start is not known")
}

// heldAgainst compares one cell with what its container said while it was in it.
func (p *pass) heldAgainst(box *Container, s *stay) {
	for i := range box.Steps {
		says := &box.Steps[i]
		from, to := later(s.from, says.Happened), s.to
		last := s.next == nil
		if i+1 < len(box.Steps) && !box.Steps[i+1].Happened.After(to) {
			to, last = box.Steps[i+1].Happened, false
		}
		if says.Stated <= s.state.Start || says.Is != Here || to.Before(from) || !last && !from.Before(to) {
			continue
		}
		f := Finding{Subject: box.Tag, Tags: []string{box.Tag, s.cell.Tag}, Entries: []int64{says.Entry, s.step.Entry}, Since: from,
			Text: fmt.Sprintf("%s says %s, and %s in it counts from %s", triage.SpacedTag(box.Tag), says.Stated, triage.SpacedTag(s.cell.Tag), counts(s.state))}
		if !last {
			f.Until = to
		}
		p.find(f)
	}
}
