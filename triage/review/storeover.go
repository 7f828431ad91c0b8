package review

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pouchward/triage"
)

// A volume is a container while it holds cells, in time order of what it held.
type volume struct {
	tag       string
	millilitr int64
	entry     int64 // that last said its volume
	held      []stay
}

// storeOver holds volumes against those that the storage records name: of a container
// its own, of the site all that hold cells at a time, and what rounds stated. An empty
// container stores nothing.
func storeOver(p *pass) {
	limits := p.storeLimits()
	var list []volume
	var unsized int64
	for _, v := range p.volumes() {
		switch {
		case v.millilitr > 0:
			list = append(list, v)
			p.checked++
		case slices.ContainsFunc(v.held, func(s stay) bool { return s.next == nil }):
			unsized++
		}
	}
	for _, l := range limits {
		if l.counts == "container" {
			p.containersOver(l, list)
		} else {
			p.siteOver(l, list)
			p.roundsOver(l)
		}
	}
	for i := range p.Rounds {
		if r := &p.Rounds[i]; !r.Void && r.MilliLitr > 0 {
			p.checked++
		}
	}
	p.cannotTell(unsized, "containers with cells and no recorded volume")
	p.cannotTell(p.loose(), "cells in no container, and so in no volume")
}

// A storeLimit is a volume that storage records name; several may name the same.
type storeLimit struct {
	counts    string
	cuft      float64
	millilitr int64
	by        []string
	where     string
}

func (p *pass) storeLimits() (list []storeLimit) {
	for _, s := range p.Rules.Storages() {
		if s.CuFt == 0 {
			continue
		}
		at := slices.IndexFunc(list, func(l storeLimit) bool {
			return l.counts == s.Counts && l.cuft == s.CuFt && l.where == s.Jurisdiction
		})
		if at < 0 {
			at = len(list)
			list = append(list, storeLimit{counts: s.Counts, cuft: s.CuFt, millilitr: int64(s.Litres() * 1000), where: s.Jurisdiction})
		}
		list[at].by = append(list[at].by, s.ID)
	}
	return list
}

// over says that a volume is more than it: more than, not from (WAC 51-54A-0322, 322.2).
func (l *storeLimit) over(ml int64) bool { return ml > l.millilitr }

func (l *storeLimit) text(ml int64) string {
	return fmt.Sprintf("%s cu ft (%s L), more than the %g cu ft of %s (%s)", triage.Micro(float64(ml)/triage.LitresPerCuFt*1000).Rounded(2),
		triage.Micro(ml*1000).Rounded(1), l.cuft, strings.Join(l.by, ", "), l.where)
}

// volumes are the containers that held cells, in the order of their tags.
func (p *pass) volumes() (list []volume) {
	held := map[string][]stay{}
	for _, tag := range p.index.boxesInOrder {
		held[tag] = p.index.inside[tag]
	}
	for i := range p.Containers {
		c := &p.Containers[i]
		v := volume{tag: c.Tag, held: slices.Concat(held[c.Tag], p.index.stays[c.Tag])} // a lot may go by the tag of its bin
		delete(held, c.Tag)
		for j := range c.Steps {
			if s := &c.Steps[j]; s.MilliLitr > 0 {
				if s.MilliLitr != v.millilitr {
					v.entry = s.Entry
				}
				v.millilitr = s.MilliLitr
			}
		}
		if len(v.held) > 0 {
			list = append(list, v)
		}
	}
	for _, tag := range p.index.boxesInOrder {
		if left := held[tag]; left != nil {
			list = append(list, volume{tag: tag, held: left}) // nothing is on record of it but its cells
		}
	}
	return list
}

// spans are the times for which it held something, joined where they touch.
func (v *volume) spans() (list []held) {
	byTime := slices.Clone(v.held)
	slices.SortStableFunc(byTime, func(a, b stay) int { return a.from.Compare(b.from) })
	for i := range byTime {
		s := &byTime[i]
		if n := len(list) - 1; n >= 0 && (list[n].to.IsZero() || !s.from.After(list[n].to)) {
			if !list[n].to.IsZero() {
				if s.next == nil {
					list[n].to = time.Time{}
				} else {
					list[n].to = later(list[n].to, s.to)
				}
			}
			continue
		}
		list = append(list, held{s.from, s.ended(), s.step.Entry})
	}
	return list
}

// A held is a time; a zero end lasts.
type held struct {
	from, to time.Time
	entry    int64 // by which it began
}

func (p *pass) containersOver(l storeLimit, list []volume) {
	for i := range list {
		v := &list[i]
		if !l.over(v.millilitr) {
			continue
		}
		for _, s := range v.spans() {
			p.find(Finding{Subject: v.tag, Tags: []string{v.tag}, Entries: []int64{v.entry, s.entry}, Since: s.from, Until: s.to,
				Text: fmt.Sprintf("%s held cells from %s and has %s", triage.SpacedTag(v.tag), minute(s.from), l.text(v.millilitr))})
		}
	}
}

// site is the subject of what counts for all places together.
const site = "site"

// siteOver adds up the containers that held cells at a time.
func (p *pass) siteOver(l storeLimit, list []volume) {
	var changes []massChange
	for i := range list {
		for _, s := range list[i].spans() {
			if changes = append(changes, massChange{s.from, list[i].millilitr, s.entry}); !s.to.IsZero() {
				changes = append(changes, massChange{s.to, -list[i].millilitr, s.entry})
			}
		}
	}
	inTime(changes)
	p.overFor(l, changes, "containers with cells", func(at time.Time) (entries []int64) {
		for i := range list {
			if slices.ContainsFunc(list[i].spans(), func(s held) bool { return !s.from.After(at) && (s.to.IsZero() || s.to.After(at)) }) {
				entries = append(entries, list[i].entry)
			}
		}
		return entries
	})
}

// roundsOver adds up what the last round of each place stated.
func (p *pass) roundsOver(l storeLimit) {
	var changes []massChange
	last := map[string]int64{}
	for i := range p.Rounds {
		r := &p.Rounds[i]
		if r.Void || r.MilliLitr == 0 {
			continue // it stated none: the one before stands
		}
		changes = append(changes, massChange{r.Happened, r.MilliLitr - last[r.About], r.Entry})
		last[r.About] = r.MilliLitr
	}
	inTime(changes)
	p.overFor(l, changes, "volume stated on rounds", func(time.Time) []int64 { return nil })
}

// overFor finds the times for which a sum was over a limit; sizes are the entries that
// said the volumes that stood there at a moment.
func (p *pass) overFor(l storeLimit, changes []massChange, what string, sizes func(time.Time) []int64) {
	var sum int64
	var f Finding
	for i := range changes {
		x := &changes[i]
		sum += x.by
		if i+1 < len(changes) && changes[i+1].at.Equal(x.at) {
			continue // of one moment the last sum counts
		}
		switch over := l.over(sum); {
		case over && f.Since.IsZero():
			f = Finding{Subject: site, Entries: append(sizes(x.at), x.entry), Since: x.at, Text: fmt.Sprintf("from %s %s came to %s", minute(x.at), what, l.text(sum))}
		case !over && !f.Since.IsZero():
			f.Until = x.at
			p.find(f)
			f = Finding{}
		}
	}
	if !f.Since.IsZero() {
		p.find(f)
	}
}

// loose counts the cells here that stand in no container.
func (p *pass) loose() (n int64) {
	for i := range p.Cells {
		if s := p.Cells[i].Last(); s.In == "" && p.index.boxes[p.Cells[i].Tag] == nil {
			n += s.Cells()
		}
	}
	return n
}
