package consign

import (
	"fmt"

	"pouchward/triage"
)

// seen is an item with what its verdict says for the route.
type seen struct {
	item      *Item
	un        string
	condition triage.ConditionClass
	facts     triage.Facts
	open      []*triage.Way // the lightest first
	none      Breach        // why there is no open way
	installed bool
	loose     bool
	battery   bool // a battery, or not known to be one cell
	massG     triage.Micro
	netG      triage.Micro
	scaleG    triage.Micro // what a scale said at least; 0 none
	owes      map[*triage.Way][]triage.Owing
}

// judge holds what stays the same while packages of one route are judged.
type judge struct {
	rb       *triage.Rulebook
	route    triage.Route
	together []*triage.Together
	v        triage.Verdict
}

func newJudge(rb *triage.Rulebook, route triage.Route) *judge {
	return &judge{rb: rb, route: route, together: rb.Togethers(route)}
}

// look judges one item. Its case is judged for the day of the rulebook.
func (j *judge) look(it *Item) *seen {
	c := it.Case
	c.On = j.rb.On
	v := &j.v
	j.rb.Judge(&c, v)
	a := &v.Routes[j.route]
	s := &seen{item: it, un: v.UN(), condition: v.Condition, facts: v.Facts, battery: true}
	if a.Way != nil && a.Class < triage.RouteApproval {
		s.open = append(append(make([]*triage.Way, 0, 1+len(a.Open)), a.Way), a.Open...)
	} else {
		why, source := v.RouteWhy(j.route)
		if source == "" {
			source = "the rule tables of " + j.rb.On.String()
		}
		s.none = Breach{Item: it.Tag, Text: fmt.Sprintf("%s by %s: %s", a.Class, j.route, why), Source: source,
			Rule: ruleOf(a), Missing: a.Class == triage.RouteUndecided}
	}
	if f := &s.facts[triage.FFit]; f.State == triage.Known {
		word := triage.Fields[triage.Fit].Words[f.Lo]
		s.installed, s.loose = word == "installed", word == "loose"
	}
	if f := &s.facts[triage.FUnit]; f.State == triage.Known {
		s.battery = triage.FactTable[triage.FUnit].Words[f.Lo] == "battery"
	}
	s.weigh()
	return s
}

// ruleOf names the record that decided a route on which no way is open.
func ruleOf(a *triage.RouteAnswer) string {
	switch {
	case a.Way != nil:
		return a.Way.ID
	case a.Bar != nil:
		return a.Bar.ID
	case a.Closed != nil:
		return a.Closed.ID
	case len(a.Maybe) > 0:
		return a.Maybe[0].Way.ID
	}
	return ""
}

// weigh takes the masses of the item: as given, else as its reading bounds them.
// The bound of a cell in equipment says nothing of the equipment.
func (s *seen) weigh() {
	s.massG, s.netG = max(s.item.MassG, 0), max(s.item.NetG, 0)
	if f := &s.facts[triage.FScaleMass]; f.State == triage.Known {
		s.scaleG = f.Lo
	}
	bound := triage.Micro(0)
	if f := &s.facts[triage.FMass]; f.State == triage.Known {
		bound = f.Hi
	}
	if s.massG == 0 && (!s.installed || s.scaleG > 0) {
		s.massG = bound
	}
	if s.netG == 0 {
		s.netG = s.massG
		if s.netG == 0 {
			s.netG = bound * triage.Micro(s.count())
		}
	}
	// A figure that is given does not outdo the scale.
	s.massG = max(s.massG, s.scaleG)
	if !s.installed {
		s.netG = max(s.netG, s.scaleG)
	}
}

// count returns how many cells or batteries are in the item.
func (s *seen) count() int { return max(s.item.Count, 1) }

// duties returns what the item owes by a way.
func (s *seen) duties(j *judge, w *triage.Way) []triage.Owing {
	if list, ok := s.owes[w]; ok {
		return list
	}
	if s.owes == nil {
		s.owes = map[*triage.Way][]triage.Owing{}
	}
	list := s.facts.Owing(w, j.route, j.rb.On)
	s.owes[w] = list
	return list
}

// opens reports whether a way is open to the item.
func (s *seen) opens(w *triage.Way) bool {
	for _, o := range s.open {
		if o == w {
			return true
		}
	}
	return false
}
