package review

import (
	"fmt"
	"slices"
	"time"

	"pouchward/triage"
)

// A watch is a time for which a cell had to be looked at again and again under one
// class; see triage.Watch.
type watch struct {
	*stay
	since time.Time // from when its looks are counted
}

// A glance is one look at a cell, when it happened.
type glance struct {
	at    time.Time
	again time.Duration // after which its own verdict wants the next, 0 for not
	entry int64
}

// An owed is a look that was owed.
type owed struct {
	at     time.Time
	within time.Duration // the interval that it ends
}

// lookMissed goes again over the looks that each cell was owed, as the due list told
// them, and holds what was made against them.
func lookMissed(p *pass) {
	for i := range p.Cells {
		c := &p.Cells[i]
		looks := glances(c)
		m := missed{pass: p, cell: c}
		for _, w := range watchesOf(c, p.Now) {
			for _, o := range p.owedIn(&w, looks) {
				m.hold(&w, o, looks)
			}
		}
		p.checked += m.owed
		m.tell()
	}
}

// watchesOf joins the states of a cell while its class and its beginning stay.
func watchesOf(c *Cell, now time.Time) (list []watch) {
	for _, s := range statesOf(c, now) {
		if s.state.Handling < triage.Hold {
			continue
		}
		since := s.state.Since
		if since.IsZero() {
			since = s.from // not known: from what the log has
		}
		if n := len(list); n > 0 {
			if last := &list[n-1]; last.state.Handling == s.state.Handling && last.since.Equal(since) && last.to.Equal(s.from) {
				last.to, last.next = s.to, s.next
				continue
			}
		}
		list = append(list, watch{&s, since.In(now.Location())})
	}
	return list
}

// glances lists the looks at a cell by when they happened: one entered late was made
// when it was made. One that was taken back is none: it may have been of another cell.
func glances(c *Cell) (list []glance) {
	var was time.Time
	for i := range c.Steps {
		s := &c.Steps[i]
		counted := s.Now.Count > 0 && s.Now.Looked.Equal(s.Happened) && !s.Now.Looked.Equal(was)
		if was = s.Now.Looked; s.Void || s.Look == nil && !counted {
			continue
		}
		g := glance{at: s.Happened, entry: s.Entry}
		if s.Now.Looked.Equal(s.Happened) {
			g.again = time.Duration(s.Now.LookIn) * time.Minute
		}
		list = append(list, g)
	}
	slices.SortStableFunc(list, func(a, b glance) int { return a.at.Compare(b.at) })
	return list
}

// firstAt returns the first look at or after a time, nil for none.
func firstAt(looks []glance, t time.Time) *glance {
	if i := slices.IndexFunc(looks, func(g glance) bool { return !g.at.Before(t) }); i >= 0 {
		return &looks[i]
	}
	return nil
}

// owedIn lists the looks that were owed within a watch, by the intervals of its class
// and by the verdicts of its looks. Those that were owed before it began, as where a
// determination lapsed, are owed as it begins, once.
func (p *pass) owedIn(w *watch, looks []glance) (list []owed) {
	add := func(o owed) {
		if !o.at.Before(w.to) {
			return
		}
		if o.at.Before(w.from) {
			if g := firstAt(looks, o.at); g != nil && !g.at.After(w.from) {
				return
			}
			if o.at = w.from; len(list) > 0 && list[0].at.Equal(w.from) {
				return
			}
		}
		list = append(list, o)
	}
	for done := w.since; ; {
		at, by := p.Rules.NextLook(triage.Watch{Handling: w.state.Handling, Since: w.since, Looked: done}, p.Hours)
		if at.IsZero() || !at.Before(w.to) {
			break
		}
		within := at.Sub(w.since)
		if by.Every != "" {
			within = by.NextTime(w.since).Sub(w.since)
		}
		add(owed{at, within})
		done = at
	}
	for i, g := range looks {
		next := g.at.Add(g.again)
		if g.again == 0 || g.at.Before(w.from) || i+1 < len(looks) && looks[i+1].at.Before(next) {
			continue // another look came first, and its verdict counts
		}
		add(owed{next, g.again})
	}
	return list
}

// A missed gathers the looks of one cell that were missed or late, within the period.
type missed struct {
	*pass
	cell    *Cell
	owed, n int64
	since   time.Time
	until   time.Time
	open    bool
	worst   time.Duration
	worstAt time.Time
	entries []int64
}

// hold holds one look that was owed against what was made.
func (m *missed) hold(w *watch, o owed, looks []glance) {
	if m.within(o.at) {
		m.owed++
	}
	came := firstAt(looks, o.at)
	end := w.to
	if came != nil && came.at.Before(end) {
		end = came.at
	}
	if !end.After(m.latest(w, o)) || triage.DateOf(end) < m.From || triage.DateOf(o.at) > m.To {
		return
	}
	if m.n++; m.since.IsZero() || o.at.Before(m.since) {
		m.since = o.at
	}
	m.open = m.open || came == nil && w.next == nil
	m.until = later(m.until, end)
	if d := end.Sub(o.at); d > m.worst {
		m.worst, m.worstAt = d, o.at
	}
	m.entries = append(m.entries, w.step.Entry)
	if came != nil {
		m.entries = append(m.entries, came.entry)
	}
}

// latest is when a look that was owed was late: half its interval on, an hour at the
// least. Where the shop was closed the time begins as it opens, for there was nobody;
// what reacts is watched whatever the hours.
func (m *missed) latest(w *watch, o owed) time.Time {
	from := o.at
	if just := from.Add(-1); w.state.Handling < triage.Emergency && m.Hours.NextOpening(just).Before(m.Hours.NextClosing(just)) {
		from = m.Hours.NextOpening(just)
	}
	return from.Add(max(o.within*time.Duration(m.limit("late_pct"))/100, m.hours("at_least_h")))
}

func (m *missed) tell() {
	if m.n == 0 {
		return
	}
	f := Finding{Subject: m.cell.Tag, Tags: []string{m.cell.Tag}, Entries: m.entries, Since: m.since, Until: m.until,
		Text: fmt.Sprintf("%d of %s owed at %s missed or late, the worst by %s (owed %s)", m.n, plural(m.owed, "look"), triage.SpacedTag(m.cell.Tag), howLong(m.worst), minute(m.worstAt))}
	if m.open {
		f.Until = time.Time{}
		f.Text += "; one is owed now"
	}
	m.find(f)
}
