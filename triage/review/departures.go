package review

import (
	"cmp"
	"strings"
	"time"

	"pouchward/triage"
)

// A departure is one hand-over of a shipment, with what came of it. A shipment that
// came back and went again has two.
type departure struct {
	ship  *Shipment
	step  *ShipmentStep  // that says it left
	after []ShipmentStep // later ones; the first by which it came in or back is its own

	// Entries after first and before next belong to this hand-over: first is that
	// by which it came back from the one before, 0 for none; next is the one after.
	first, next int64
}

// departures calls fn for each hand-over of the log.
func (p *pass) departures(fn func(*departure)) {
	for i := range p.Shipments {
		s := &p.Shipments[i]
		var d *departure
		var back int64
		for j := range s.Steps {
			switch st := &s.Steps[j]; st.Did {
			case "refused":
				back = st.Entry
			case "dispatched":
				if d != nil {
					d.next = st.Entry
					fn(d)
				}
				d = &departure{ship: s, step: st, after: s.Steps[j+1:], first: back}
			}
		}
		if d != nil {
			fn(d)
		}
	}
}

// handover is what was said when it left: all blank where the entry says nothing.
func (d *departure) handover() *Handover {
	if d.step.Handover == nil {
		return new(Handover)
	}
	return d.step.Handover
}

// came is the step by which it was no longer on its way: received, or back here. nil:
// it is on its way.
func (d *departure) came() *ShipmentStep {
	for i := range d.after {
		switch d.after[i].Did {
		case "refused", "received", "settled":
			return &d.after[i]
		}
	}
	return nil
}

// ended is when it was no longer on its way; zero where it is.
func (d *departure) ended() time.Time {
	if s := d.came(); s != nil {
		return s.Happened
	}
	return time.Time{}
}

// offered is the day on which it was handed over.
func (d *departure) offered() triage.Date { return cmp.Or(d.step.Offered, d.step.Day()) }

// tags are those of the shipment and its packages.
func (d *departure) tags() []string {
	list := []string{d.ship.Tag}
	for i := range d.step.Packages {
		list = append(list, d.step.Packages[i].Tag)
	}
	return list
}

// name says which hand-over it is: "shipment TAG left on 2026-11-25 09:00".
func (d *departure) name() string {
	return "shipment " + triage.SpacedTag(d.ship.Tag) + " left on " + minute(d.step.Happened)
}

// leftAs returns what held of a cell when it left, and the entry that says so: nil
// where the log has nothing of it. The hand-over itself is not asked, since what is
// out of the shop need have no class.
func (d *departure) leftAs(c *Cell) (*State, int64) {
	if c == nil {
		return nil, 0
	}
	var last *Step
	for i := range c.Steps {
		if s := &c.Steps[i]; s.Entry < d.step.Entry && s.Now.Is == Here {
			last = s
		}
	}
	if last == nil {
		return nil, 0
	}
	s := last.Now
	if s.Lapses != 0 && s.Lapses < d.step.Day() {
		s.Handling, s.Condition, s.Lapses = s.LapsedHandling, s.LapsedCondition, 0
	}
	return &s, last.Entry
}

// bearsOn reports whether what lasted from one moment to another (zero: it lasts) is
// of the period.
func (p *pass) bearsOn(from, until time.Time) bool {
	return (until.IsZero() || triage.DateOf(until) >= p.From) && triage.DateOf(from) <= p.To
}

// unsaid reports whether a text says nothing.
func unsaid(s string) bool {
	s = strings.TrimSpace(s)
	return s == "" || s == "?" || s == "not said"
}

// few joins texts, three at most.
func few(list []string) string {
	if n := len(list) - mostTexts; n > 0 {
		return strings.Join(list[:mostTexts], "; ") + "; and " + plural(int64(n), "more line")
	}
	return strings.Join(list, "; ")
}
