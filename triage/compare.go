package triage

import (
	"fmt"
	"slices"
	"strings"
)

// A RuleChange is a rule or duty in force on one of two days and not on the
// other.
type RuleChange struct {
	ID     string `json:"id"`
	Kind   string `json:"kind"`   // rule, bar, way, advice, stream, quantity, state, interval, local, figure, limit, storage, check or duty
	Change string `json:"change"` // begins or ends
	On     string `json:"on"`     // first day in force, or last
	Title  string `json:"title"`
	Source string `json:"source"`
	Note   string `json:"note,omitempty"`
}

// CompareDays lists what begins or ends between two days, in table order: ends
// before begins.
func (ts Tables) CompareDays(from, to Date) []RuleChange {
	var ends, begins []RuleChange
	add := func(c RuleChange, f, u Date) {
		was, is := inForce(from, f, u), inForce(to, f, u)
		switch {
		case was && !is:
			c.Change, c.On = "ends", u.String()
			if from > to {
				c.On = f.String()
			}
			ends = append(ends, c)
		case is && !was:
			c.Change, c.On = "begins", f.String()
			if from > to {
				c.On = u.String()
			}
			begins = append(begins, c)
		}
	}
	duties := func(r *Record, list []Duty, f, u Date) {
		if !inForce(from, f, u) || !inForce(to, f, u) {
			return // they come and go with their record
		}
		for i := range list {
			d := &list[i]
			if d.from != 0 || d.until != 0 {
				add(RuleChange{ID: r.ID, Kind: "duty", Title: d.Text, Source: d.Source, Note: d.Note}, max(d.from, f), earlier(d.until, u))
			}
		}
	}
	for _, t := range ts {
		codes := map[string]string{}
		for i := range t.Streams {
			codes[t.Streams[i].ID] = " (" + strings.Join(t.Streams[i].Codes, "; ") + ")"
		}
		t.eachRecord(func(kind string, r *Record) {
			add(RuleChange{ID: r.ID, Kind: kind, Title: r.Title + codes[r.ID], Source: r.Source, Note: r.Note}, max(r.from, t.from), earlier(r.until, t.until))
		})
		for i := range t.Ways {
			w := &t.Ways[i]
			duties(&w.Record, w.Duties, max(w.from, t.from), earlier(w.until, t.until))
		}
		for i := range t.Streams {
			s := &t.Streams[i]
			duties(&s.Record, s.Duties, max(s.from, t.from), earlier(s.until, t.until))
		}
	}
	return append(ends, begins...)
}

// earlier returns the earlier of two last days, of which 0 is none.
func earlier(a, b Date) Date {
	if a == 0 || b != 0 && b < a {
		return b
	}
	return a
}

// An AnswerChange is one answer of a cell that differs between two rulebooks.
type AnswerChange struct {
	Answer string `json:"answer"`
	From   string `json:"from"`
	To     string `json:"to"`
	Why    string `json:"why"`
	Source string `json:"source,omitempty"`
}

// Changed lists the answers of v that differ in w, the same cell's verdict under
// another rulebook.
func (v *Verdict) Changed(w *Verdict) []AnswerChange {
	var list []AnswerChange
	plain := func(answer, from, to string) {
		if from != to {
			list = append(list, AnswerChange{Answer: answer, From: from, To: to, Why: "by the rules of " + w.On.String()})
		}
	}
	plain("handling", v.Handling.String(), w.Handling.String())
	plain("condition", v.Condition.String(), w.Condition.String())
	plain("size", v.Size.String(), w.Size.String())
	plain("waste", v.Waste.String(), w.Waste.String())
	if a, b := v.WasteCodes(), w.WasteCodes(); !slices.Equal(a, b) {
		c := AnswerChange{Answer: "waste codes", From: strings.Join(a, "; "), To: strings.Join(b, "; ")}
		if len(w.Streams) > 0 {
			c.Why, c.Source = w.Streams[0].Title, w.Streams[0].Source
		}
		list = append(list, c)
	}
	for r := range NumRoutes {
		a, b := &v.Routes[r], &w.Routes[r]
		if from, to := a.answer(), b.answer(); from != to {
			why, source := w.RouteWhy(r)
			list = append(list, AnswerChange{Answer: r.String(), From: from, To: to, Why: why, Source: source})
		}
	}
	return list
}

// answer is the class, and for an open answer the way.
func (a *RouteAnswer) answer() string {
	if a.Way != nil {
		return fmt.Sprintf("%s (%s)", a.Class, a.Way.ID)
	}
	return a.Class.String()
}
