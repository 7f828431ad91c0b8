package review

import (
	"fmt"
	"time"

	"pouchward/triage"
)

// statesOf cuts the life of a cell at every entry, where staysOf cuts it where it
// changes place or class. A move or a securing that was taken back never was: the
// cell is told where, and as, it was before, until the log says so itself. What a
// look found that was taken back stands in the states as the program kept it.
func statesOf(c *Cell, now time.Time) (list []stay) {
	var at time.Time
	var in, place string
	var unmoved, unsafe, safe bool
	for i := range c.Steps {
		s := &c.Steps[i]
		if at = later(at, s.Happened); len(list) > 0 && list[len(list)-1].next == nil {
			last := &list[len(list)-1]
			last.to, last.next = at, s
		}
		switch {
		case s.Void && s.Move != nil:
			unmoved = true
		case s.Move != nil || s.Shipment != "" || s.Retracts != 0:
			unmoved = false
		}
		switch {
		case s.Void && s.Secured != nil:
			unsafe = unsafe || !safe
		case s.Secured != nil || !s.Now.MadeSafe:
			unsafe = false
		}
		if s.Now.Is != Here {
			continue
		}
		if !unmoved {
			in, place = s.Now.In, s.Now.Place
		}
		state := &s.Now
		if unsafe {
			without := s.Now
			without.MadeSafe, state = false, &without
		}
		safe = state.MadeSafe
		list = append(list, stay{cell: c, step: s, from: at, to: now, in: in, place: place, state: state})
	}
	return lapse(list)
}

// A spell is a time for which something was so of a cell, through all its states.
type spell struct {
	first, last *stay
	from, to    time.Time
	next        *Step // that ended it, nil: it lasts
}

func (s *spell) length() time.Duration { return s.to.Sub(s.from) }

// spells joins the states of which something is so. One that lasted no time at all
// neither makes nor breaks a spell, but for the last.
func spells(list []stay, so func(*stay) bool) (found []spell) {
	joined := false
	for i := range list {
		s := &list[i]
		switch {
		case s.next != nil && !s.from.Before(s.to):
			continue
		case !so(s):
			joined = false
			continue
		}
		if joined && found[len(found)-1].to.Equal(s.from) {
			last := &found[len(found)-1]
			last.last, last.to, last.next = s, s.to, s.next
			continue
		}
		found, joined = append(found, spell{s, s, s.from, s.to, s.next}), true
	}
	return found
}

// ended is when a spell was over; zero where it lasts.
func (s *spell) ended() time.Time { return s.last.ended() }

// on returns the classes that hold on a day: a determination may have lapsed.
func (s *State) on(day triage.Date) (triage.Handling, triage.ConditionClass) {
	if s.Lapses != 0 && s.Lapses < day {
		return s.LapsedHandling, s.LapsedCondition
	}
	return s.Handling, s.Condition
}

// reacts reports whether classes are those of a cell that reacts.
func reacts(h triage.Handling, c triage.ConditionClass) bool {
	return h == triage.Emergency || c == triage.Reacting
}

// quiet reports whether the own readings of a look say that the cell was quiet for
// 24 h and is known not to be warm.
func (l *Look) quiet() bool {
	var r triage.Reading
	for i := range l.Given {
		r[l.Given[i].Field] = l.Given[i].Value
	}
	return r.Settled()
}

// where says where a cell stood.
func (s *stay) where() string {
	switch {
	case s.in != "":
		return "in " + triage.SpacedTag(s.in)
	case s.place != "":
		return "at " + s.place
	}
	return "at a place not said"
}

// span says a length of time in the unit in which a reader thinks of it.
func howLong(d time.Duration) string {
	switch {
	case d < time.Hour:
		return fmt.Sprintf("%d min", d/time.Minute)
	case d < 72*time.Hour:
		return fmt.Sprintf("%d h", d/time.Hour)
	}
	return fmt.Sprintf("%d days", d/(24*time.Hour))
}

// wasHere reports whether a cell was in the shop at a time of the period.
func (p *pass) wasHere(c *Cell) bool {
	for _, s := range p.index.stays[c.Tag] {
		if s.next == nil || triage.DateOf(s.to) >= p.From {
			return true
		}
	}
	return false
}

// lot reports whether a tag stands for cells that were only counted.
func (c *Cell) lot() bool {
	for i := range c.Steps {
		if c.Steps[i].Now.Count > 0 {
			return true
		}
	}
	return false
}
