package review

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"pouchward/triage"
)

// A clock is the accumulation time of one cell, or of one lot.
type clock struct {
	cell  *Cell
	state *State
	first *Step           // the entry from which it counts so
	step  *triage.Accrual // the most pressing step that was reached, nil for none
}

// pressing orders the severities of the intervals.
var pressing = map[string]int{"notice": 1, "due": 2, "overdue": 3}

// clockOf makes the clock of a state; what reached its step on the last day counts.
// What is kept for reuse has none; a start that is not known has reached every step.
func (p *pass) clockOf(c *Cell, s *State, last triage.Date) (k clock, runs bool) {
	if s.Start == 0 && s.Waste == triage.NotWaste {
		return k, false
	}
	k = clock{cell: c, state: s}
	for i := range c.Steps {
		if c.Steps[i].Now.Start == s.Start && c.Steps[i].Now.StartBy == s.StartBy {
			k.first = &c.Steps[i]
			break
		}
	}
	for _, a := range p.Rules.Accumulation(s.Start, p.Country) {
		if a.On <= last && (k.step == nil || pressing[a.By.Severity] > pressing[k.step.By.Severity]) {
			k.step = &a
		}
	}
	return k, true
}

// A group is clocks that are sent off together, the oldest first.
type group struct {
	key    string // tag of the container, or the place
	clocks []clock
}

// clocksHere groups the clocks in the shop.
func (p *pass) clocksHere(by func(*Cell, *State) string) (list []group) {
	at := map[string]int{}
	for i := range p.Cells {
		c := &p.Cells[i]
		s := c.Last()
		k, runs := p.clockOf(c, s, p.today())
		if s.Is != Here || !runs {
			continue
		}
		key := by(c, s)
		if _, seen := at[key]; !seen {
			at[key] = len(list)
			list = append(list, group{key: key})
		}
		g := &list[at[key]]
		g.clocks = append(g.clocks, k)
	}
	for i := range list {
		slices.SortStableFunc(list[i].clocks, func(a, b clock) int { return cmp.Compare(a.state.Start, b.state.Start) })
	}
	return list
}

// nowhereSaid stands for a place in a finding's key.
const nowhereSaid = "a place not said"

// stands is the container of a cell, that of a lot, or the place.
func stands(c *Cell, s *State) string {
	switch {
	case s.In != "":
		return s.In
	case s.Count > 0:
		return c.Tag
	}
	return cmp.Or(s.Place, nowhereSaid)
}

// kept returns the check of one step of the clocks. A container is told once, by its
// oldest cell: under the most pressing step that this one reached.
func kept(severity string) func(*pass) {
	return func(p *pass) {
		for _, g := range p.clocksHere(stands) {
			p.checked += int64(len(g.clocks))
			if a := g.clocks[0].step; a != nil && a.By.Severity == severity {
				p.findKept(&g, severity)
			}
		}
		if severity == "overdue" {
			p.leftLate()
		}
	}
}

func (p *pass) findKept(g *group, severity string) {
	oldest := &g.clocks[0]
	f := Finding{Subject: g.key, Since: oldest.since()}
	if len(g.key) == triage.ContainerTag.Length() && p.index.boxes[g.key] != nil {
		f.Tags = []string{g.key}
	}
	var n, cells int64
	for i := range g.clocks {
		k := &g.clocks[i]
		cells += k.state.Cells()
		if k.step != nil && k.step.By.Severity == severity {
			n += k.state.Cells()
			f.Tags, f.Entries = union(f.Tags, []string{k.cell.Tag}), append(f.Entries, k.first.Entry)
		}
	}
	f.Text = fmt.Sprintf("%s: %d of %s, the oldest %s", p.nameOf(g.key), n, plural(cells, "cell"), oldest.says(p.today()))
	if cells == 1 {
		f.Text = fmt.Sprintf("%s: %s", p.nameOf(g.key), oldest.says(p.today()))
	}
	p.find(f)
}

// nameOf prints the key of a group.
func (p *pass) nameOf(key string) string {
	if p.index.boxes[key] != nil {
		return triage.SpacedTag(key)
	}
	return key
}

// counts says from when a clock counts, and what that day is.
func counts(s *State) string {
	switch {
	case s.Start == 0:
		return "a day that the log does not have"
	case s.StartBy == "recorded" || s.StartBy == "":
		return s.Start.String() + " (the day of its first entry)"
	}
	return fmt.Sprintf("%s (%s)", s.Start, cmp.Or(startWords[s.StartBy], s.StartBy))
}

// startWords say what the day is from which a clock counts.
var startWords = map[string]string{"waste_on": "the day it became waste", "pulled_on": "the day it was pulled", "stated": "as its container says"}

// since is when the step was reached: of a start that is not known, when it was
// first recorded so.
func (k *clock) since() time.Time {
	if k.state.Start == 0 {
		return k.first.Happened
	}
	return k.step.On.In(k.first.Happened.Location())
}

// says tells the clock of the oldest cell.
func (k *clock) says(day triage.Date) string {
	text := fmt.Sprintf("%s since %s", triage.SpacedTag(k.cell.Tag), counts(k.state))
	if k.state.Start == 0 {
		return text
	}
	return text + fmt.Sprintf(", %s reached on %s, %s before", strings.TrimPrefix(k.step.By.Text(), "after "), k.step.On, plural(int64(day-k.step.On), "day"))
}

// A late is cells that left together, past the last step.
type late struct {
	key    string // tag of the shipment, or the day
	step   *Step
	clocks []clock
}

// leftLate tells what was past its last step when it left, by shipment, else by day.
// What left on the very day is in time.
func (p *pass) leftLate() {
	var list []late
	for i := range p.Cells {
		c := &p.Cells[i]
		for j := 1; j < len(c.Steps); j++ {
			s, was := &c.Steps[j], &c.Steps[j-1].Now
			if s.Now.Is != Out || was.Is != Here {
				continue
			}
			k, runs := p.clockOf(c, was, s.Day()-1)
			if runs && p.within(s.Happened) {
				p.checked++
			}
			if !runs || k.step == nil || k.step.By.Severity != "overdue" {
				continue
			}
			key := cmp.Or(s.Shipment, "left on "+s.Day().String())
			at := slices.IndexFunc(list, func(l late) bool { return l.key == key && (s.Shipment == "" || l.step.Entry == s.Entry) })
			if at < 0 {
				at, list = len(list), append(list, late{key: key, step: s})
			}
			list[at].clocks = append(list[at].clocks, k)
		}
	}
	for i := range list {
		p.findLate(&list[i])
	}
}

func (p *pass) findLate(l *late) {
	oldest := slices.MinFunc(l.clocks, func(a, b clock) int { return cmp.Compare(a.state.Start, b.state.Start) })
	f := Finding{Subject: l.key, Since: oldest.since(), Until: l.step.Happened, Entries: []int64{l.step.Entry}}
	if l.step.Shipment != "" {
		f.Tags = []string{l.step.Shipment}
	}
	for i := range l.clocks {
		f.Tags, f.Entries = append(f.Tags, l.clocks[i].cell.Tag), append(f.Entries, l.clocks[i].first.Entry)
	}
	f.Text = fmt.Sprintf("%s left on %s past the last step, the oldest %s", plural(int64(len(l.clocks)), "cell"), l.step.Day(), oldest.says(l.step.Day()))
	if len(l.clocks) == 1 {
		f.Text = fmt.Sprintf("a cell left on %s past the last step: %s", l.step.Day(), oldest.says(l.step.Day()))
	}
	p.find(f)
}
