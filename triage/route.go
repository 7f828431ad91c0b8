package triage

import (
	"cmp"
	"slices"
)

// conditionMissing marks "condition" among the missing facts of a way.
const conditionMissing = FactSet(1) << FCondition

// judgeRoute decides one route in ten steps:
//
//  1. The rows in force are ways or bars; a bar closes the ways it names.
//  2. A reacting cell is forbidden. Then the bars. No table for the route and
//     chemistry, and no bar: undecided.
//  3. Keep the ways for the condition; undetermined keeps those for undamaged,
//     each with the open fact "condition". So does any condition while a
//     required reading is open: it may yet turn out reacting.
//  4. Judge each way's conditions: yes, no, or unknown with what is missing. A
//     fact that cannot be told closes the ways that need it.
//  5. An approval in hand counts as yes; else, all the rest being yes, the way
//     is asked for.
//  6. Open = yes, maybe = unknown, asked = on approval.
//  7. Some open: the class of the lightest; the lighter maybes are listed.
//  8. Else some maybe: undecided, with the fewest facts that settle it.
//  9. Else some asked: approval.
//  10. Else forbidden, by the bar or the way that closed last.
func (rb *Rulebook) judgeRoute(route Route, c *Case, v *Verdict) {
	a := &v.Routes[route]
	var barred barring
	barred.fill(rb, route, v)
	if barred.all != nil {
		a.Bar = barred.all
		if barred.all.UnlessPermit {
			for _, w := range rb.keptFor(route, v.Condition, &v.Facts[FFamily]) {
				if w.permit {
					judgeWay(w, c, v, a, &barred)
				}
			}
		}
		a.decide(&v.Facts)
		return
	}
	family := &v.Facts[FFamily]
	if family.State == Known && rb.families[route]>>family.Lo&1 == 0 || rb.families[route] == 0 {
		a.Class, a.NoTable, a.Declined = RouteUndecided, true, rb.families[route] != 0
		return
	}
	for _, w := range rb.keptFor(route, v.Condition, family) {
		judgeWay(w, c, v, a, &barred)
	}
	a.decide(&v.Facts)
}

// barring is what the bars of one route do to one cell.
type barring struct {
	all   *Bar    // applies and closes every way
	maybe FactSet // facts that would make a bar for every way apply
	bars  []*Bar  // of the route; those that name their ways are judged per way
}

func (b *barring) fill(rb *Rulebook, route Route, v *Verdict) {
	b.bars = rb.bars[route]
	for _, bar := range b.bars {
		if !bar.all || bar.forClasses>>v.Condition&1 == 0 {
			continue
		}
		switch t, missing := bar.when.eval(&v.Facts); t {
		case Yes:
			if b.all == nil {
				b.all = bar
			}
		case Unknown, Straddle:
			b.maybe |= missing
		}
	}
}

func judgeWay(w *Way, c *Case, v *Verdict, a *RouteAnswer, barred *barring) {
	var missing FactSet
	if v.Condition == Undetermined {
		missing = conditionMissing
	}
	if v.Facts[FRequiredOpen].isYes() {
		// The reading that is open may show a reacting cell, for which there is
		// no way at all.
		missing = conditionMissing
	}
	if f := &v.Facts[FFamily]; f.State != Known {
		if f.State.Cannot() {
			a.closed = append(a.closed, w)
			return
		}
		missing = missing.With(FFamily)
	}
	for _, bar := range barred.bars {
		if bar.all || bar.forClasses>>v.Condition&1 == 0 || !slices.Contains(bar.Closes, w.ID) {
			continue
		}
		t, open := bar.when.eval(&v.Facts)
		if t == Yes {
			a.Closed, a.Bar = w, bar
			return
		}
		missing |= open
	}
	t, open := w.when.evalWay(&v.Facts)
	if t == No {
		a.closed = append(a.closed, w)
		return
	}
	missing |= open | barred.maybe
	asks := w.Approval != nil && !slices.Contains(c.InHand, w.ID)
	switch {
	case missing != 0:
		a.Maybe = append(a.Maybe, MaybeWay{w, missing, asks})
	case asks:
		a.Asked = append(a.Asked, w)
	default:
		a.Open = append(a.Open, w)
	}
}

// evalWay answers a way's conditions: as eval, but a fact that can never be
// told closes the way rather than leaving it open.
func (w *When) evalWay(f *Facts) (Tri, FactSet) {
	t, missing := evalAllOfWay(w.all, f)
	if len(w.or) == 0 || t == Yes {
		return t, missing
	}
	t2, missing2 := evalAllOfWay(w.or, f)
	switch {
	case t2 == Yes || t == No:
		return t2, missing2
	case t2 == No:
		return t, missing
	}
	if missing2.Len() < missing.Len() {
		missing = missing2
	}
	return Unknown, missing
}

func evalAllOfWay(list []Condition, f *Facts) (Tri, FactSet) {
	t, missing := Yes, FactSet(0)
	for i := range list {
		switch c := list[i].eval(f); {
		case c == Yes:
		case c == No || f[list[i].Fact].State.Cannot():
			return No, 0
		default:
			missing = missing.With(list[i].Fact)
			t = min(t, c)
		}
	}
	return t, missing
}

// misses says how far a way is from being met, by its nearer list: conditions that say which case it is for (fit,
// purpose) weigh more than those that the cell fails.
func (w *When) misses(f *Facts) int {
	n := missesOf(w.all, f)
	if len(w.or) > 0 {
		n = min(n, missesOf(w.or, f))
	}
	return n
}

// failed returns the condition that keeps the nearer list from being met: what a
// reader is told.
func (w *When) failed(f *Facts) *Condition {
	list := w.all
	if len(w.or) > 0 && missesOf(w.or, f) < missesOf(w.all, f) {
		list = w.or
	}
	var first *Condition
	for i := range list {
		c := &list[i]
		if f[c.Fact].State.Cannot() || c.eval(f) == No {
			if first == nil || first.op == isWord && c.op != isWord {
				first = c
			}
		}
	}
	return first
}

func missesOf(list []Condition, f *Facts) (n int) {
	for i := range list {
		if c := &list[i]; f[c.Fact].State.Cannot() || c.eval(f) == No {
			n++
			if c.Fact == FFit || c.Fact == FPurpose {
				n += 100
			}
		}
	}
	return n
}

// lighter orders ways: by class, then the fewer duties, then id. A permit's way,
// whose duties stand in the permit, comes after the rest of its class.
func lighter(a, b *Way) int {
	return cmp.Or(cmp.Compare(a.class, b.class), cmp.Compare(btoi(a.permit), btoi(b.permit)), cmp.Compare(len(a.Duties), len(b.Duties)), cmp.Compare(a.ID, b.ID))
}

func (a *RouteAnswer) decide(f *Facts) {
	slices.SortFunc(a.Open, lighter)
	slices.SortFunc(a.Asked, lighter)
	switch {
	case len(a.Open) > 0:
		a.Class, a.Way = a.Open[0].class, a.Open[0]
		a.Open = slices.Delete(a.Open, 0, 1) // keeps the room for the next cell
		a.Maybe = slices.DeleteFunc(a.Maybe, func(m MaybeWay) bool { return m.Way.class >= a.Class })
		slices.SortFunc(a.Maybe, fewerMissing)
	case len(a.Maybe) > 0:
		slices.SortFunc(a.Maybe, fewerMissing)
		a.Class = RouteUndecided
	case len(a.Asked) > 0:
		a.Class, a.Way = RouteApproval, a.Asked[0]
	default:
		a.Class = RouteForbidden
		a.nearest(f)
	}
}

// nearest finds, of the ways that closed, the one that came nearest, and the
// condition that closed it: what a reader is told.
func (a *RouteAnswer) nearest(f *Facts) {
	least := 0
	for _, w := range a.closed {
		if n := w.when.misses(f); a.Closed == nil || n <= least {
			a.Closed, least = w, n
		}
	}
	if a.Closed != nil {
		a.failed = a.Closed.when.failed(f)
	}
}

func fewerMissing(a, b MaybeWay) int {
	return cmp.Or(cmp.Compare(a.Missing.Len(), b.Missing.Len()), asks(a.Way)-asks(b.Way), lighter(a.Way, b.Way))
}

// asks is 1 for a way on approval: the question is named for the way that needs none.
func asks(w *Way) int {
	if w.Approval != nil {
		return 1
	}
	return 0
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}
