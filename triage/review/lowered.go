package review

import (
	"fmt"
	"slices"
	"time"

	"pouchward/triage"
)

// A class is what is worse the greater it is.
type class struct {
	handling  triage.Handling
	condition triage.ConditionClass
	breached  bool
}

// classAt is what held of a state when an entry was made.
func classAt(s *State, by *Step) class {
	at := by.Entered
	if at.IsZero() {
		at = by.Happened
	}
	h, c := s.on(triage.DateOf(at))
	return class{h, c, s.Waste == triage.CasingBreached}
}

// less reports whether a class is better than another in anything.
func (a class) less(b class) bool {
	return a.handling < b.handling || a.condition < b.condition || !a.breached && b.breached
}

func (a class) String() string {
	text := fmt.Sprintf("%s, %s", a.handling, a.condition)
	if a.breached {
		text += ", casing breached"
	}
	return text
}

// loweredByOne looks for entries that made the class of a cell better on the word of
// one person.
func loweredByOne(p *pass) {
	for i := range p.Cells {
		c := &p.Cells[i]
		last := -1 // the step that says what held before
		for j := range c.Steps {
			s := &c.Steps[j]
			if s.Now.Is == Nowhere || s.Now.Is == Alias {
				continue
			}
			if last >= 0 {
				if was, is := classAt(&c.Steps[last].Now, s), classAt(&s.Now, s); is.less(was) {
					p.lowering(c, last, j, was)
				}
			}
			last = j
		}
	}
}

// lowering judges one entry that made a class better.
func (p *pass) lowering(c *Cell, before, at int, was class) {
	s := &c.Steps[at]
	if p.within(s.Happened) {
		p.checked++
	}
	why := p.onWhoseWord(c, before, s, was)
	if why == "" {
		return
	}
	f := Finding{Subject: c.Tag, Tags: []string{c.Tag}, Entries: []int64{saidFirst(c, before), s.Entry}, Since: s.Happened,
		Text: fmt.Sprintf("%s went from %s to %s on %s by entry %d: %s", triage.SpacedTag(c.Tag), was, classAt(&s.Now, s), minute(s.Happened), s.Entry, why)}
	for j := at + 1; j < len(c.Steps); j++ {
		x := &c.Steps[j]
		up := !classAt(&x.Now, x).less(was)
		settles := !x.Void && (x.Decision != nil || x.Look != nil) && p.onWhoseWord(c, before, x, was) == ""
		if up || settles {
			f.Until = later(s.Happened, x.Happened)
			f.Entries = append(f.Entries, x.Entry)
			break
		}
	}
	p.find(f)
}

// saidFirst is the entry from which the class at a step stood.
func saidFirst(c *Cell, at int) int64 {
	s := &c.Steps[at]
	for i := at - 1; i >= 0 && c.Steps[i].Now.Handling == s.Now.Handling && c.Steps[i].Now.Condition == s.Now.Condition; i-- {
		s = &c.Steps[i]
	}
	return s.Entry
}

// onWhoseWord says what an entry lacks that made a class better, blank where it may.
// It is asked of what was taken back since, too: while it stood people went by it.
func (p *pass) onWhoseWord(c *Cell, before int, s *Step, was class) string {
	is := classAt(&s.Now, s)
	switch {
	case s.Decision != nil && p.twoPeople(s), s.Retracts != 0 && p.restores(c, s):
		return ""
	case s.Decision != nil:
		return "a determination of " + whom(s) + " alone"
	case s.Look == nil:
		return fmt.Sprintf("a %s of %s, without a reading or a second person", s.Kind, whom(s))
	case !s.Look.reads():
		return "a look of " + whom(s) + " without a reading"
	case was.breached && !is.breached:
		return "a look of " + whom(s) + ", where the casing was breached"
	case reacts(was.handling, was.condition):
		calm := s.Look.quiet() && s.Happened.Sub(c.reactedAt(before)) >= p.hours("quiet_h")
		if !calm || is.handling < triage.Isolate || is.condition < min(was.condition, triage.Liable) {
			return fmt.Sprintf("a look of %s, which does not show it quiet for %d h, or makes more of that than isolate, liable", whom(s), p.limit("quiet_h"))
		}
	case was.condition >= triage.Damaged && (is.condition < was.condition || is.handling < min(was.handling, triage.Isolate)):
		return "a look of " + whom(s) + ", where it was " + was.condition.String()
	}
	return ""
}

func whom(s *Step) string {
	if s.Who == "" {
		return "somebody not named"
	}
	return s.Who
}

// restores reports whether a retraction takes back the retraction of what two people
// determined: their word stands again.
func (p *pass) restores(c *Cell, s *Step) bool {
	find := func(n int64) *Step {
		if i := slices.IndexFunc(c.Steps, func(x Step) bool { return x.Entry == n }); i >= 0 {
			return &c.Steps[i]
		}
		return &Step{}
	}
	of := find(find(s.Retracts).Retracts)
	return of.Decision != nil && p.twoPeople(of)
}

// reactedAt is when a cell that reacts at a step last did so: when it began, or when
// somebody put it up anew. A look that only carries the sign on does not begin its
// quiet day anew.
func (c *Cell) reactedAt(at int) (t time.Time) {
	for i := at; i >= 0 && reacts(c.Steps[i].Now.Handling, c.Steps[i].Now.Condition); i-- {
		s := &c.Steps[i]
		t = s.Happened
		if s.Kind == "raise" || s.Kind == "incident" || s.Look != nil && s.Look.Found == "worse" {
			break
		}
	}
	return t
}

// reads reports whether a look read anything of the cell itself: neither what names
// it nor what the memory of parts filled in.
func (l *Look) reads() bool {
	return slices.ContainsFunc(l.Given, func(g Given) bool {
		return g.Field > triage.Who && g.Value.State == triage.Known && !slices.Contains(l.FromPart, triage.Fields[g.Field].Name)
	})
}
