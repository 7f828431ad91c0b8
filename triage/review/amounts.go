package review

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"pouchward/triage"
)

// A massChange is so much more or less from a moment on.
type massChange struct {
	at    time.Time
	by    int64
	entry int64
}

// inTime puts changes in order; what leaves at a moment leaves before what comes, so
// that a move from one container to another is no more than either.
func inTime(list []massChange) {
	slices.SortStableFunc(list, func(a, b massChange) int {
		return cmp.Or(a.at.Compare(b.at), cmp.Compare(a.by, b.by), cmp.Compare(a.entry, b.entry))
	})
}

// quantity looks for years in which the cells on site came to the mass from which on
// the shop is a large quantity handler. That holds to the end of the calendar year
// (RCRA Online 14107), so that each year is looked through as a whole.
func quantity(p *pass) {
	var list []massChange
	unweighed := map[string]int64{}
	loc := p.Now.Location()
	firstYear, lastYear := p.Now.Year(), p.Now.Year()
	if p.From != 0 {
		firstYear = p.From.In(loc).Year()
	}
	if p.To != 0 {
		lastYear = min(lastYear, p.To.In(loc).Year())
	}
	begin := time.Date(firstYear, 1, 1, 0, 0, 0, 0, loc)
	for i := range p.Cells {
		c := &p.Cells[i]
		own := massOf(c)
		for _, s := range p.index.stays[c.Tag] {
			mass := s.state.MilliGram
			if mass == 0 && s.state.Count == 0 {
				mass = own
			}
			switch {
			case s.state.Waste == triage.CasingBreached: // no universal waste: 40 CFR 273.13(a)(2)
			case mass == 0 && s.to.After(begin):
				unweighed[c.Tag] = max(unweighed[c.Tag], s.state.Cells())
			case mass > 0:
				if list = append(list, massChange{s.from, mass, s.step.Entry}); s.next != nil {
					list = append(list, massChange{s.to, -mass, s.next.Entry})
				}
			}
		}
	}
	inTime(list)
	for year := firstYear; year <= lastYear; year++ {
		p.largeIn(year, list)
	}
	n := int64(0)
	for _, cells := range unweighed {
		n += cells
	}
	p.cannotTell(n, "cells without a mass")
}

// massOf is the greatest mass that a single cell was weighed at: it does not lose any.
func massOf(c *Cell) (mg int64) {
	for i := range c.Steps {
		if s := &c.Steps[i].Now; s.Count == 0 {
			mg = max(mg, s.MilliGram)
		}
	}
	return mg
}

// largeIn finds a year in which the mass came to the limit.
func (p *pass) largeIn(year int, list []massChange) {
	begin := time.Date(year, 1, 1, 0, 0, 0, 0, p.Now.Location())
	end := begin.AddDate(1, 0, 0).Add(-time.Minute)
	if len(list) == 0 || list[0].at.After(end) {
		return
	}
	p.checked += int64(min(triage.DateOf(end), p.today()) - max(triage.DateOf(begin), triage.DateOf(list[0].at)) + 1)
	over, peak := mostIn(list, begin, end, p.limit("at_once_kg")*1_000_000)
	if over.at.IsZero() {
		return
	}
	f := Finding{Subject: fmt.Sprint(year), Entries: []int64{over.entry, peak.entry}, Since: over.at,
		Text: fmt.Sprintf("%d: %d kg or more of cells stood here from %s, %s kg at most (%s)", year, p.limit("at_once_kg"), minute(over.at), kilos(peak.by), minute(peak.at))}
	if end.Before(p.Now) {
		f.Until = end
	}
	p.find(f)
}

// mostIn returns when an amount first came to a limit within a time, and when it was
// most; what stood there when the time began counts. Zero: it did not come to it.
func mostIn(list []massChange, begin, end time.Time, limit int64) (over, peak massChange) {
	var sum int64
	for i := range list {
		x := &list[i]
		if x.at.After(end) {
			break
		}
		sum += x.by
		if i+1 < len(list) && !list[i+1].at.After(begin) {
			continue // it was over before
		}
		here := massChange{later(x.at, begin), sum, x.entry}
		if over.at.IsZero() && sum >= limit {
			over = here
		}
		if sum > peak.by {
			peak = here
		}
	}
	return over, peak
}

// kilos prints milligrams in kg, to the gram.
func kilos(mg int64) string { return triage.Micro(mg).Rounded(3).String() }

// breachedMass looks for months whose breached casings came to the mass at which the
// class of generator may massChange.
func breachedMass(p *pass) {
	type sum struct {
		mg, unweighed int64
		first         *Step
		tags          []string
		entries       []int64
	}
	months := map[string]*sum{}
	var names []string
	unweighed := int64(0)
	for i := range p.Cells {
		c := &p.Cells[i]
		s := breachedAt(c)
		if s == nil {
			continue
		}
		m := months[month(s.Happened)]
		if m == nil {
			m = &sum{first: s}
			months[month(s.Happened)] = m
			names = append(names, month(s.Happened))
		}
		mg := max(s.Now.MilliGram, massOf(c))
		if mg == 0 {
			m.unweighed += s.Now.Cells()
			unweighed += s.Now.Cells()
		}
		m.mg += mg
		m.tags, m.entries = append(m.tags, c.Tag), append(m.entries, s.Entry)
	}
	p.checked = int64(len(names))
	for _, name := range names {
		m := months[name]
		if m.mg < p.limit("month_kg")*1_000_000 {
			continue
		}
		text := fmt.Sprintf("%s: %s kg in %s with a breached casing", name, kilos(m.mg), plural(int64(len(m.tags)), "cell"))
		if m.unweighed > 0 {
			text += fmt.Sprintf(", %d of them not weighed", m.unweighed)
		}
		p.find(Finding{Subject: name, Tags: m.tags, Entries: m.entries, Since: m.first.Happened, Until: p.monthEnd(m.first.Happened), Text: text})
	}
	p.cannotTell(unweighed, "cells with a breached casing and no mass")
}

// breachedAt is the step by which the casing was found breached, nil for one that is
// intact by the last word while it was here: a finding that a determination took back
// does not count.
func breachedAt(c *Cell) (at *Step) {
	for i := range c.Steps {
		s := &c.Steps[i]
		switch {
		case s.Now.Is != Here:
		case s.Now.Waste != triage.CasingBreached:
			at = nil
		case at == nil:
			at = s
		}
	}
	return at
}
