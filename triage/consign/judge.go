package consign

import (
	"cmp"
	"slices"
	"strings"

	"pouchward/triage"
)

// Judge judges a package by itself. Mark exceptions hold for a consignment, so
// here every mark is owed; see JudgeAll.
func Judge(rb *triage.Rulebook, route triage.Route, p *Package) *Judgement {
	j := newJudge(rb, route)
	return j.judge(p, j.lookAll(p), nil)
}

func (j *judge) lookAll(p *Package) []*seen {
	list := make([]*seen, len(p.Items))
	for i := range p.Items {
		list[i] = j.look(&p.Items[i])
	}
	return list
}

// spares says which marks the consignment is spared.
type spares map[*triage.Duty]bool

// judge judges a package of items that were looked at.
func (j *judge) judge(p *Package, items []*seen, spared spares) *Judgement {
	var best *Judgement
	for _, ways := range j.choices(items) {
		if x := j.judgeBy(p, items, ways, spared); best == nil || broken(x, best) < 0 {
			best = x
		}
	}
	return best
}

// broken compares by what is broken, then by what is missing.
func broken(a, b *Judgement) int {
	count := func(x *Judgement) (broken, missing int) {
		for i := range x.Breaches {
			if x.Breaches[i].Missing {
				missing++
			} else {
				broken++
			}
		}
		return broken, missing
	}
	ba, ma := count(a)
	bb, mb := count(b)
	return cmp.Or(cmp.Compare(ba, bb), cmp.Compare(ma, mb))
}

// choices lists what ways the items may go by, the lightest first: each way that
// is open to all; else ways that an exception lets share a package; else each its
// own lightest.
func (j *judge) choices(items []*seen) [][]*triage.Way {
	var list [][]*triage.Way
	lightest := make([]*triage.Way, len(items))
	var first *seen
	for i, s := range items {
		if len(s.open) > 0 {
			lightest[i] = s.open[0]
			if first == nil {
				first = s
			}
		}
	}
	if first == nil {
		return [][]*triage.Way{lightest}
	}
	for _, w := range first.open {
		ways := make([]*triage.Way, len(items))
		all := true
		for i, s := range items {
			if len(s.open) == 0 {
				continue // a breach of its own
			}
			if !s.opens(w) {
				all = false
				break
			}
			ways[i] = w
		}
		if all {
			list = append(list, ways)
		}
	}
	for _, t := range j.together {
		if ways := allowed(t, items); ways != nil {
			list = append(list, ways)
		}
	}
	if len(list) == 0 {
		list = append(list, lightest)
	}
	return list
}

// allowed returns the ways that an exception lets the items share a package by,
// nil when it does not cover them.
func allowed(t *triage.Together, items []*seen) []*triage.Way {
	if len(t.Allows) == 0 || t.Within != "package" {
		return nil
	}
	ways := make([]*triage.Way, len(items))
	for i, s := range items {
		for _, w := range s.open {
			if slices.Contains(t.Allows, w.ID) {
				ways[i] = w
				break
			}
		}
		if ways[i] == nil {
			return nil
		}
	}
	return ways
}

// judgeBy judges the package with each item going by the way beside it.
func (j *judge) judgeBy(p *Package, items []*seen, ways []*triage.Way, spared spares) *Judgement {
	x := &Judgement{Ways: ways}
	for i, s := range items {
		if ways[i] == nil {
			b := s.none
			b.Package = p.Tag
			x.Breaches = append(x.Breaches, b)
			continue
		}
		x.Class = max(x.Class, ways[i].RouteClass())
		if ways[i].Basis == triage.HouseRule {
			x.note("Your permit " + ways[i].ID + ": its text is not checked here.")
		}
	}
	x.name(items, ways)
	c := check{judge: j, p: p, x: x, items: items, ways: ways, spared: spared}
	c.weigh()
	c.shared()
	c.duties()
	c.outer()
	slices.SortStableFunc(x.Marks, func(a, b *triage.Duty) int { return cmp.Compare(printed(a), printed(b)) })
	return x
}

// printed is the order in which what is owed is printed.
func printed(d *triage.Duty) int {
	return slices.Index([]string{"mark", "label", "paper", "telephone"}, d.Kind)
}

// name says what kind of package it is.
func (x *Judgement) name(items []*seen, ways []*triage.Way) {
	var numbers, conditions, ids, titles []string
	add := func(list *[]string, s string) {
		if s != "" && !slices.Contains(*list, s) {
			*list = append(*list, s)
		}
	}
	for i, s := range items {
		add(&numbers, s.un)
		add(&conditions, s.condition.String())
		if ways[i] != nil {
			add(&ids, ways[i].ID)
			add(&titles, ways[i].Title)
		}
	}
	for _, l := range [][]string{numbers, conditions, ids, titles} {
		slices.Sort(l)
	}
	x.UN = strings.Join(numbers, " and ")
	parts := []string{x.UN, strings.Join(conditions, " and ")}
	if len(ids) > 0 {
		parts = append(parts, x.Class.String(), strings.Join(ids, " and "))
	}
	x.Kind = strings.TrimSpace(strings.Join(parts, " "))
	x.Words = strings.TrimPrefix(x.UN+", "+parts[1], ", ")
	if len(ids) > 0 {
		x.Words += ": " + strings.Join(titles, "; ") + " [" + strings.Join(ids, ", ") + "]"
	}
}

func (x *Judgement) note(text string) {
	if !slices.Contains(x.Notes, text) {
		x.Notes = append(x.Notes, text)
	}
}
