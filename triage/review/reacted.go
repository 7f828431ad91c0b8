package review

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pouchward/triage"
)

// reactedUnrecorded looks for cells that were judged an emergency of which no later
// entry tells what became of it.
func reactedUnrecorded(p *pass) {
	for i := range p.Cells {
		c := &p.Cells[i]
		begins := c.reactions()
		if len(begins) > 0 {
			p.checked++
		}
		for j, at := range begins {
			end := len(c.Steps)
			if j+1 < len(begins) {
				end = begins[j+1]
			}
			if p.answersReaction(c, at, end) {
				continue
			}
			first, last := &c.Steps[at], &c.Steps[end-1]
			text := fmt.Sprintf("%s was judged %s, %s on %s, and no incident entry names it and no later look found it quiet", triage.SpacedTag(c.Tag), first.Now.Handling,
				first.Now.Condition, minute(first.Happened))
			if last.Now.Is == Out {
				text += ", and it left the shop"
			}
			p.find(Finding{Subject: c.Tag, Tags: []string{c.Tag}, Entries: []int64{first.Entry, last.Entry}, Since: first.Happened, Text: text})
		}
	}
}

// reactions returns the steps at which a cell began to be an emergency. One that was
// taken back counts: the program holds the cell to it all the same, and so it was.
func (c *Cell) reactions() (begins []int) {
	was := false
	for i := range c.Steps {
		s := &c.Steps[i].Now
		is := reacts(s.Handling, s.Condition)
		if is && !was {
			begins = append(begins, i)
		}
		was = is
	}
	return begins
}

// answersReaction looks for what tells of a reaction that began at a step, before the
// step at which the next one did. An entry that was taken back tells nothing.
func (p *pass) answersReaction(c *Cell, at, end int) bool {
	from := &c.Steps[at]
	for i := at + 1; i < end; i++ {
		s := &c.Steps[i]
		if s.Void || reacts(s.Now.Handling, s.Now.Condition) {
			continue
		}
		switch {
		case s.Look != nil && s.Look.quiet() && s.Happened.Sub(from.Happened) >= p.hours("quiet_h"):
			return true // whatever it says, it was quiet no longer than since it reacted
		case s.Decision != nil && p.twoPeople(s) && slices.Contains(s.Decision.Mistaken, from.Entry):
			return true // two people said why it never was
		}
	}
	// An incident may have been told first, and the cell judged after it.
	least := from.Happened.Add(-p.hours("before_h"))
	var most time.Time
	if end < len(c.Steps) {
		most = c.Steps[end].Happened.Add(-p.hours("before_h"))
	}
	return p.incidentOf(c, least, most)
}

// incidentOf reports whether an incident that was not taken back names the cell and
// happened from one time on and, unless it is zero, before another.
func (p *pass) incidentOf(c *Cell, least, before time.Time) bool {
	for _, tag := range append([]string{c.Tag}, c.Aliases...) {
		for _, x := range p.index.incidents[tag] {
			if !x.Void && !x.Happened.Before(least) && (before.IsZero() || x.Happened.Before(before)) {
				return true
			}
		}
	}
	return false
}

// twoPeople reports whether a determination was made by two, or by the one of a shop
// of one.
func (p *pass) twoPeople(s *Step) bool {
	who, second := strings.TrimSpace(s.Who), strings.TrimSpace(s.Decision.Second)
	return who != "" && (p.Solo || second != "" && !strings.EqualFold(who, second))
}

// answerChanged tells the cells in the shop to which the rules of the day give other
// answers than their last entry has.
func answerChanged(p *pass) {
	for i := range p.Cells {
		if p.Cells[i].Last().Is == Here && !p.Cells[i].lot() {
			p.checked++
		}
	}
	for i := range p.Changed {
		x := &p.Changed[i]
		since := p.Now
		if c := p.index.cells[x.Tag]; c != nil {
			for j := range c.Steps {
				if c.Steps[j].Entry == x.Entry {
					since = c.Steps[j].Happened
				}
			}
		}
		var parts []string
		for j := range x.Changes {
			a := &x.Changes[j]
			if j == mostTexts {
				parts = append(parts, fmt.Sprintf("%d more", len(x.Changes)-j))
				break
			}
			parts = append(parts, fmt.Sprintf("%s %s now, %s then", a.Answer, orNone(a.To), orNone(a.From)))
		}
		p.find(Finding{Subject: x.Tag, Tags: []string{x.Tag}, Entries: []int64{x.Entry}, Since: since,
			Text: fmt.Sprintf("by the rules of %s %s has other answers than on %s: %s", p.today(), triage.SpacedTag(x.Tag), triage.DateOf(since), strings.Join(parts, "; "))})
	}
}

func orNone(text string) string {
	if text == "" {
		return "none"
	}
	return text
}
