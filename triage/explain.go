package triage

import (
	"fmt"
	"slices"
	"strings"
)

// An Explained is one rule of any kind as list, explain and later pages print
// it: all read the same record.
type Explained struct {
	ID         string    `json:"id"`
	Kind       string    `json:"kind"` // rule, bar, way, stream, quantity, state, interval, local, together, outer, figure, limit, storage, check or advice
	Title      string    `json:"title"`
	Outcome    string    `json:"outcome"`
	Routes     []string  `json:"routes,omitempty"`
	For        []string  `json:"for,omitempty"`
	When       []string  `json:"when,omitempty"`
	OrWhen     []string  `json:"or_when,omitempty"`
	Do         []string  `json:"do,omitempty"`
	Duties     []DutyDoc `json:"duties,omitempty"`
	LoweredBy  string    `json:"lowered_by,omitempty"`
	Source     string    `json:"source"`
	Basis      string    `json:"basis"`
	Confidence string    `json:"confidence"`
	Note       string    `json:"note,omitempty"`
	Instrument string    `json:"instrument"`
	Edition    string    `json:"edition"`
	From       string    `json:"from,omitempty"`
	Until      string    `json:"until,omitempty"`
	NotSeen    string    `json:"not_seen,omitempty"`
}

func explainRecord(r *Record, kind, outcome string) Explained {
	return Explained{ID: r.ID, Kind: kind, Title: r.Title, Outcome: outcome, For: r.For, When: r.When, OrWhen: r.OrWhen,
		Source: r.Source, Basis: string(r.Basis), Confidence: r.Confidence, Note: r.Note,
		Instrument: r.Instrument.Title, Edition: r.Instrument.Edition, From: r.From, Until: r.Until, NotSeen: r.Instrument.NotSeen}
}

// Explained returns every rule in force in rulebook order; with a route, only
// its bars and ways.
func (rb *Rulebook) Explained(route string) ([]Explained, error) {
	if route != "" && !slices.Contains(routeWords[:], route) {
		return nil, fmt.Errorf("is none of %s", strings.Join(routeWords[:], ", "))
	}
	var list []Explained
	for _, t := range rb.tables {
		for i := range t.Rules {
			r := &t.Rules[i]
			if route == "" && r.inForce(rb.On) {
				e := explainRecord(&r.Record, "rule", r.outcome())
				e.Do, e.LoweredBy = r.Do, r.LoweredBy
				list = append(list, e)
			}
		}
		for i := range t.Bars {
			b := &t.Bars[i]
			if b.inForce(rb.On) && (route == "" || slices.Contains(b.Routes, route)) {
				e := explainRecord(&b.Record, "bar", "closes "+strings.Join(b.Closes, ", "))
				e.Routes = b.Routes
				list = append(list, e)
			}
		}
		for i := range t.Ways {
			w := &t.Ways[i]
			if w.inForce(rb.On) && (route == "" || slices.Contains(w.Routes, route)) {
				e := explainRecord(&w.Record, "way", "class "+w.Class)
				e.Routes = w.Routes
				for i := range w.Duties {
					e.Duties = append(e.Duties, w.Duties[i].Document())
				}
				list = append(list, e)
			}
		}
		for i := range t.Streams {
			x := &t.Streams[i]
			if route == "" && x.inForce(rb.On) {
				e := explainRecord(&x.Record, "stream", "waste "+strings.Join(x.Waste, ", ")+" in "+x.Country+x.origin()+": "+strings.Join(x.Codes, "; "))
				for i := range x.Duties {
					e.Duties = append(e.Duties, x.Duties[i].Document())
				}
				list = append(list, e)
			}
		}
		for i := range t.Quantities {
			if q := &t.Quantities[i]; route == "" && q.inForce(rb.On) {
				list = append(list, explainRecord(&q.Record, "quantity", q.limit()))
			}
		}
		for i := range t.States {
			if x := &t.States[i]; route == "" && x.inForce(rb.On) {
				list = append(list, explainRecord(&x.Record, "state", x.Text))
			}
		}
		for i := range t.Intervals {
			if x := &t.Intervals[i]; route == "" && rb.Interval(x.ID) == x { // a house interval stands for the shipped one
				list = append(list, explainRecord(&x.Record, "interval", x.outcome()))
			}
		}
		for i := range t.Locals {
			if x := &t.Locals[i]; route == "" && x.inForce(rb.On) {
				list = append(list, explainRecord(&x.Record, "local", x.outcome()))
			}
		}
		for i := range t.Togethers {
			if x := &t.Togethers[i]; x.inForce(rb.On) && (route == "" || slices.Contains(x.Routes, route)) {
				e := explainRecord(&x.Record, "together", x.outcome())
				e.Routes = x.Routes
				list = append(list, e)
			}
		}
		for i := range t.Outers {
			if x := &t.Outers[i]; route == "" && x.inForce(rb.On) {
				list = append(list, explainRecord(&x.Record, "outer", x.Level+", tare "+x.Tare+", at most "+x.MaxGross))
			}
		}
		if route == "" {
			list = append(list, rb.explainRest(t)...)
		}
		for i := range t.Advice {
			a := &t.Advice[i]
			if route == "" && a.inForce(rb.On) {
				e := explainRecord(&a.Record, "advice", strings.Join(a.Classes, ", "))
				e.Do = append(slices.Clone(a.Do), a.Caution...)
				list = append(list, e)
			}
		}
	}
	return list, nil
}

// explainRest explains what the packages hazard and review read.
func (rb *Rulebook) explainRest(t *Table) (list []Explained) {
	for i := range t.Figures {
		if x := &t.Figures[i]; x.inForce(rb.On) {
			list = append(list, explainRecord(&x.Record, "figure", x.outcome()))
		}
	}
	for i := range t.Limits {
		if x := &t.Limits[i]; x.inForce(rb.On) {
			list = append(list, explainRecord(&x.Record, "limit", x.outcome()))
		}
	}
	for i := range t.Storages {
		if x := &t.Storages[i]; x.inForce(rb.On) {
			list = append(list, explainRecord(&x.Record, "storage", x.outcome()))
		}
	}
	for i := range t.Checks {
		if x := &t.Checks[i]; x.inForce(rb.On) {
			list = append(list, explainRecord(&x.Record, "check", x.outcome()))
		}
	}
	return list
}

// origin says for which origin and fit a stream is, "" for any.
func (s *Stream) origin() (text string) {
	if s.Origin != "" {
		text = ", from " + s.Origin
	}
	if len(s.Fit) > 0 {
		text += ", " + strings.Join(s.Fit, " or ")
	}
	return text
}

func (q *Quantity) limit() string {
	for _, l := range [...]struct{ word, limit string }{{"under ", q.Under}, {"at most ", q.AtMost}, {"at least ", q.AtLeast}} {
		if l.limit != "" {
			return l.word + l.limit + " (" + q.Measure + ")"
		}
	}
	return q.Measure
}

func (r *Rule) outcome() string {
	var parts []string
	for _, p := range [...]struct{ name, class string }{{"handling", r.Handling}, {"condition", r.Condition}, {"size", r.Size}, {"waste", r.Waste}} {
		if p.class != "" {
			parts = append(parts, p.name+" "+p.class)
		}
	}
	return strings.Join(parts, ", ")
}

// EmergencyLines returns the four lines of the emergency card, what to add, and
// the source.
func (rb *Rulebook) EmergencyLines() (word string, do, caution []string, source string) {
	a := rb.adviceByID("emergency-card")
	return a.Word, a.Do, a.Caution, a.Source
}

// IncidentLines returns what is said to those who were there when a cell
// reacted, and the source.
func (rb *Rulebook) IncidentLines() (do []string, source string) {
	a := rb.adviceByID("incident-exposure")
	return a.Do, a.Source
}

func (rb *Rulebook) adviceByID(id string) *Advice {
	for _, a := range rb.advice {
		if a.ID == id {
			return a
		}
	}
	return new(Advice)
}

// A Source is one instrument with what its rules rest on.
type Source struct {
	ID         string   `json:"id"`
	Authority  string   `json:"authority"`
	Title      string   `json:"title"`
	Edition    string   `json:"edition"`
	From       string   `json:"from,omitempty"`
	Until      string   `json:"until,omitempty"`
	KnownUntil string   `json:"known_until,omitempty"`
	ReadOn     string   `json:"read_on,omitempty"`
	NotSeen    string   `json:"not_seen,omitempty"`
	Read       int      `json:"rules_read"`
	SecondHand int      `json:"rules_second_hand"`
	Memory     []string `json:"rules_from_memory"`
}

// Sources lists the instruments in force, with how far each rule's source was
// read.
func (rb *Rulebook) Sources() []Source {
	var list []Source
	for _, t := range rb.tables {
		in := &t.Instrument
		s := Source{ID: in.ID, Authority: in.Authority, Title: in.Title, Edition: in.Edition, From: in.From, Until: in.Until,
			KnownUntil: in.KnownUntil, ReadOn: in.ReadOn, NotSeen: in.NotSeen, Memory: []string{}}
		t.eachRecord(func(_ string, r *Record) {
			switch {
			case !r.inForce(rb.On):
			case r.Confidence == "read":
				s.Read++
			case r.Confidence == "memory":
				s.Memory = append(s.Memory, r.ID)
			default:
				s.SecondHand++
			}
		})
		list = append(list, s)
	}
	return list
}
