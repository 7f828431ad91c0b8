package review

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"pouchward/triage"
)

// A stay is the time for which one cell stood in one place or container with one
// set of answers. Stays of a cell follow one another; the last has no end.
type stay struct {
	cell     *Cell
	step     *Step // after which it began
	next     *Step // that ended it, nil: it lasts
	from, to time.Time
	in       string // the container, blank: none
	place    string
	state    *State
}

// An index is what several checks look up.
type index struct {
	stays     map[string][]stay // by tag of the cell
	inside    map[string][]stay // by tag of the container, by time
	cells     map[string]*Cell
	boxes     map[string]*Container
	incidents map[string][]*Incident // by tag

	boxesInOrder []string             // tags of those that held something
	photos       map[string]time.Time // when the first of each cell was attached
}

func newIndex(s *Snapshot) *index {
	x := &index{stays: map[string][]stay{}, inside: map[string][]stay{}, cells: map[string]*Cell{}, boxes: map[string]*Container{}, incidents: map[string][]*Incident{}}
	for i := range s.Cells {
		c := &s.Cells[i]
		x.cells[c.Tag] = c
		for _, a := range c.Aliases {
			x.cells[a] = c
		}
		list := staysOf(c, s.Now)
		x.stays[c.Tag] = list
		for _, st := range list {
			if st.in != "" {
				x.inside[st.in] = append(x.inside[st.in], st)
			}
		}
	}
	for _, list := range x.inside {
		slices.SortStableFunc(list, func(a, b stay) int { return cmp.Or(a.from.Compare(b.from), cmp.Compare(a.step.Entry, b.step.Entry)) })
	}
	x.boxesInOrder = slices.Sorted(maps.Keys(x.inside))
	for i := range s.Containers {
		x.boxes[s.Containers[i].Tag] = &s.Containers[i]
	}
	for i := range s.Incidents {
		for _, t := range s.Incidents[i].Tags {
			x.incidents[t] = append(x.incidents[t], &s.Incidents[i])
		}
	}
	x.photos = x.photosOf(s)
	return x
}

// isPackage reports whether a container was an outer packaging at a moment.
func (x *index) isPackage(box string, at time.Time) bool {
	c := x.boxes[box]
	if c == nil {
		return false
	}
	s := c.At(at)
	return s != nil && s.Package
}

// staysOf cuts the life of a cell at every entry after which its place, container or
// answers are others. A late entry counts from when it happened, but never before the
// entry that it follows.
func staysOf(c *Cell, now time.Time) (list []stay) {
	var at time.Time
	for i := range c.Steps {
		s := &c.Steps[i]
		if at = later(at, s.Happened); len(list) > 0 {
			last := &list[len(list)-1]
			if last.next == nil && same(last.state, &s.Now) {
				continue
			}
			if last.next == nil {
				last.to, last.next = at, s
			}
		}
		if s.Now.Is == Here {
			list = append(list, stay{cell: c, step: s, from: at, to: now, in: s.Now.In, place: s.Now.Place, state: &s.Now})
		}
	}
	return lapse(list)
}

// lapse cuts a stay on the day on which the determination that bettered its answers
// no longer holds.
func lapse(list []stay) (cut []stay) {
	for _, s := range list {
		day := s.state.Lapses
		end := (day + 1).In(s.from.Location())
		if day == 0 || !end.Before(s.to) {
			cut = append(cut, s)
			continue
		}
		without := *s.state
		without.Lapses, without.Handling, without.Condition = 0, without.LapsedHandling, without.LapsedCondition
		after := s
		after.from, after.state = later(s.from, end), &without
		if s.from.Before(end) {
			s.to, s.next = end, s.step
			cut = append(cut, s)
		}
		cut = append(cut, after)
	}
	return cut
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func same(a, b *State) bool {
	return b.Is == Here && a.In == b.In && a.Place == b.Place && a.Handling == b.Handling && a.Condition == b.Condition && a.Waste == b.Waste && a.Count == b.Count
}

// overlap returns the time for which two stays lasted together.
func overlap(a, b *stay) (from, to time.Time, ok bool) {
	from, to = later(a.from, b.from), a.to
	if b.to.Before(to) {
		to = b.to
	}
	// What both last begins to count at once.
	return from, to, from.Before(to) || a.next == nil && b.next == nil
}

// apart reports whether a cell is to stand alone: isolated or reacting, or of
// condition damaged or worse.
func (s *State) apart() bool { return s.Handling >= triage.Isolate || s.Condition >= triage.Damaged }

// ended is when a stay was over; zero where it lasts.
func (s *stay) ended() time.Time {
	if s.next == nil {
		return time.Time{}
	}
	return s.to
}
