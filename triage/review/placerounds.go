package review

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"time"

	"pouchward/triage"
)

// A span is a time for which a place held cells without a break.
type span struct {
	from, to time.Time
	lasts    bool
	entry    int64 // by which it began
}

// noRound looks for places that held cells and were not looked over in time. It counts
// from the last round, or from when the place came to hold cells. A round of a single
// container is none of its place.
func noRound(p *pass) {
	by := p.every()
	var untold int64
	held, astray := p.heldAt(by)
	_, rounds := p.roundsOf()
	for _, place := range slices.Sorted(maps.Keys(held)) {
		spans := held[place]
		if !slices.ContainsFunc(spans, func(x span) bool { return p.bearsOn(x.from, x.ended()) }) {
			continue
		}
		if by == nil {
			untold++
			continue
		}
		p.checked++
		for i := range spans {
			p.between(by, place, &spans[i], rounds[place])
		}
	}
	p.cannotTell(untold, "places that held cells, since the rules of that day name no interval between rounds")
	p.cannotTell(astray, "cells whose place is not said, and which no round of a place can be told to have seen")
}

func (x *span) ended() time.Time {
	if x.lasts {
		return time.Time{}
	}
	return x.to
}

// between goes from round to round while a place held cells.
func (p *pass) between(by *triage.Interval, place string, x *span, rounds []*Round) {
	last, entry := x.from, x.entry
	gap := func(to, until time.Time, next int64) {
		late := p.lateAfter(by, last)
		if !to.After(late) {
			return
		}
		f := Finding{Subject: place, Entries: []int64{entry, next}, Since: late, Until: until,
			Text: fmt.Sprintf("%s held cells and was not looked over from %s to %s (%s)", place, minute(last), minute(to), by.Text())}
		if until.IsZero() {
			f.Text = fmt.Sprintf("%s holds cells and was not looked over since %s (%s)", place, minute(last), by.Text())
		}
		p.find(f)
	}
	for _, r := range rounds {
		if r.Happened.Before(x.from) || r.Happened.After(x.to) {
			continue
		}
		gap(r.Happened, r.Happened, r.Entry)
		last, entry = r.Happened, r.Entry
	}
	gap(x.to, x.ended(), 0)
}

// heldAt returns for how long each place held cells, in containers too; astray counts
// the cells that stood for more than the interval where nobody said.
func (p *pass) heldAt(by *triage.Interval) (held map[string][]span, astray int64) {
	held = map[string][]span{}
	for i := range p.Cells {
		var lost bool
		stays := p.index.stays[p.Cells[i].Tag]
		var nowhere span
		for j := range stays {
			for _, x := range p.placesOf(&stays[j]) {
				if x.place != "" {
					held[x.place] = append(held[x.place], x.span)
					nowhere = span{}
					continue
				}
				if nowhere.from.IsZero() {
					nowhere = x.span
				}
				nowhere.to, nowhere.lasts = x.to, x.lasts
				lost = lost || by != nil && x.to.After(by.NextTime(nowhere.from)) && p.bearsOn(nowhere.from, nowhere.ended())
			}
		}
		if lost {
			astray++
		}
	}
	for place, list := range held {
		held[place] = joined(list)
	}
	return held, astray
}

// A placed span is a part of a stay with the place where it was.
type placedSpan struct {
	span
	place string
}

// placesOf cuts a stay where its container was moved.
func (p *pass) placesOf(s *stay) (list []placedSpan) {
	whole := span{s.from, s.to, s.next == nil, s.step.Entry}
	box := p.index.boxes[s.in]
	if box == nil {
		return []placedSpan{{whole, s.place}}
	}
	cuts := []time.Time{s.from}
	for i := range box.Steps {
		if at := box.Steps[i].Happened; at.After(s.from) && at.Before(s.to) {
			cuts = append(cuts, at)
		}
	}
	slices.SortFunc(cuts, time.Time.Compare)
	for _, at := range cuts {
		place := s.place
		if c := box.At(at); c != nil {
			place = cmp.Or(c.Place, s.place)
		}
		if n := len(list); n > 0 && list[n-1].place == place {
			continue
		} else if n > 0 {
			list[n-1].to, list[n-1].lasts = at, false
		}
		list = append(list, placedSpan{span{at, s.to, whole.lasts, whole.entry}, place})
	}
	return list
}

// joined puts together spans that touch.
func joined(list []span) (out []span) {
	slices.SortFunc(list, func(a, b span) int { return cmp.Or(a.from.Compare(b.from), cmp.Compare(a.entry, b.entry)) })
	for _, x := range list {
		if n := len(out); n == 0 || x.from.After(out[n-1].to) {
			out = append(out, x)
			continue
		}
		last := &out[len(out)-1]
		if x.to.After(last.to) {
			last.to = x.to
		}
		last.lasts = last.lasts || x.lasts
	}
	return out
}
