package review

import (
	"fmt"
	"math"
	"time"

	"pouchward/triage"
)

// A share is so many isolated of so many cells.
type share struct{ isolated, cells int64 }

func (s share) String() string {
	return fmt.Sprintf("%d of %d, %.1f %%", s.isolated, s.cells, 100*float64(s.isolated)/float64(s.cells))
}

func shareOf(list []*intake) (s share) {
	for _, x := range list {
		s.cells++
		if x.worst >= triage.Isolate {
			s.isolated++
		}
	}
	return s
}

// A patternGroup is the intakes of one bench, part or month.
type patternGroup struct {
	kind, name string
	list       []*intake
	own, rest  share
}

// pattern looks for benches, parts and months with more isolated cells than the rest.
func pattern(p *pass) {
	all := p.intakes()
	var total share
	for i := range all {
		total.cells++
		if all[i].worst >= triage.Isolate {
			total.isolated++
		}
	}
	var list []patternGroup
	few := int64(0)
	for _, by := range []struct {
		kind string
		name func(*intake) string
	}{
		{"bench", func(x *intake) string { return x.first.Bench }},
		{"part", func(x *intake) string { return x.cell.Part }},
		{"month", func(x *intake) string { return month(x.first.Happened) }},
	} {
		names, of, unnamed := groups(all, by.name)
		p.cannotTell(unnamed, "cells without a %s", by.kind)
		for _, name := range names {
			g := patternGroup{kind: by.kind, name: name, list: of[name], own: shareOf(of[name])}
			// Those of no name are in the rest of each.
			g.rest = share{total.isolated - g.own.isolated, total.cells - g.own.cells}
			if least := p.limit("at_least_count"); g.own.cells < least || g.rest.cells < least {
				few++
				continue
			}
			list = append(list, g)
		}
	}
	p.cannotTell(few, "groups (bench, part, month) with too few cells to be held against the rest, or too few in the rest")
	p.checked = int64(len(list))
	for i := range list {
		p.standsOut(&list[i], int64(len(list)))
	}
}

// standsOut finds a patternGroup whose isolated cells chance gives less than once in so many
// reviews, were all of its groups alike. Each patternGroup has its part of that: of a hundred
// groups one stands out by itself (Bonferroni).
func (p *pass) standsOut(g *patternGroup, groups int64) {
	tail := upperTail(g.own, g.rest)
	if tail*float64(groups)*float64(p.limit("one_in_count")) > 1 {
		return
	}
	f := Finding{Subject: g.name, Since: earliest(g.list).Happened,
		Text: fmt.Sprintf("%s %s: %s isolated at intake; of the rest %s; by chance in less than one of %s reviews of %d groups", g.kind, g.name, g.own, g.rest,
			roundDown(1/(tail*float64(groups))), groups)}
	if g.kind == "month" {
		f.Until = p.monthEnd(f.Since)
	}
	for _, x := range g.list {
		if x.worst >= triage.Isolate {
			f.Tags, f.Entries = append(f.Tags, x.cell.Tag), append(f.Entries, x.first.Entry)
		}
	}
	p.find(f)
}

// upperTail is the chance that a patternGroup has as many isolated cells as it has or more,
// when they fall upon all cells alike: the hypergeometric tail (Fisher's exact test,
// one-sided).
func upperTail(own, rest share) float64 {
	isolated, cells := own.isolated+rest.isolated, own.cells+rest.cells
	all, of, notOf := logChoose(cells, own.cells), logFactorial(isolated), logFactorial(cells-isolated)
	sum, most := 0.0, 0.0
	for k := own.isolated; k <= min(own.cells, isolated); k++ {
		not := own.cells - k
		if not > cells-isolated {
			continue // more that are not than there are
		}
		x := math.Exp((of - logFactorial(k) - logFactorial(isolated-k)) + (notOf - logFactorial(not) - logFactorial(cells-isolated-not)) - all)
		// Beyond the likeliest number the chances only fall: one too small to count ends it.
		if most = max(most, x); x < most && sum+x == sum {
			break
		}
		sum += x
	}
	return min(sum, 1)
}

// logChoose is the logarithm of the number of ways to choose k of n.
func logChoose(n, k int64) float64 { return logFactorial(n) - logFactorial(k) - logFactorial(n-k) }

func logFactorial(n int64) float64 { v, _ := math.Lgamma(float64(n + 1)); return v }

// nobodyReports looks for a year of work with no incident and no near miss. A report
// that was taken back is none.
func nobodyReports(p *pass) {
	from := p.Now.AddDate(-1, 0, 0)
	for i := range p.Cells {
		c := &p.Cells[i]
		if len(c.Steps) > 0 && c.Steps[0].Happened.After(from) {
			p.checked += max(1, c.Steps[0].Now.Count)
		}
	}
	entry, since := p.Entries.First, time.Time{}
	for i := range p.Incidents {
		switch x := &p.Incidents[i]; {
		case x.Void:
		case x.Happened.After(from):
			return
		default:
			entry, since = x.Entry, x.Happened
		}
	}
	if p.checked > p.limit("more_than_count") {
		text := "none is on record before that"
		if !since.IsZero() {
			text = "the last was on " + triage.DateOf(since).String()
		}
		p.find(Finding{Subject: "near misses", Entries: []int64{entry}, Since: from,
			Text: fmt.Sprintf("%d cells since %s and no incident or near miss on record; %s", p.checked, triage.DateOf(from), text)})
	}
}
