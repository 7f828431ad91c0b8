package triage

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
)

var (
	idForm = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)
	// No screen may call a cell safe, dead or OK; "unsafe" is said of a reading.
	bannedWords = regexp.MustCompile(`(?i)\b(safe|safely|dead|ok|okay)\b`)
)

// Lint reports what is wrong with tables taken together: ids used twice, a rule
// without source, basis or confidence, words that are never printed, an advice
// class without words of strength. All faults are reported.
func (ts Tables) Lint() error {
	var errs []error
	seen := map[string]string{}
	record := func(t *Table, r *Record) {
		at := func(format string, args ...any) {
			errs = append(errs, fmt.Errorf("%s, %s: %s", t.Name, r.ID, fmt.Sprintf(format, args...)))
		}
		if !idForm.MatchString(r.ID) {
			at("the id is not lower-case words joined by hyphens")
		}
		if other, dup := seen[r.ID]; dup {
			at("the id is used already, in %s", other)
		}
		seen[r.ID] = t.Name
		if r.Title == "" || r.Source == "" {
			at("lacks title or source")
		}
		switch r.Basis {
		case Published, CommonPractice, HouseRule:
		default:
			at("basis %q is none of published, common-practice, house", r.Basis)
		}
		switch r.Confidence {
		case "read", "second-hand", "memory":
		default:
			at("confidence %q is none of read, second-hand, memory", r.Confidence)
		}
		if len(r.OrWhen) > 0 && len(r.When) == 0 {
			at("has a second list of conditions but no first")
		}
	}
	words := func(t *Table, id string, texts ...string) {
		for _, text := range texts {
			if w := bannedWords.FindString(text); w != "" {
				errs = append(errs, fmt.Errorf("%s, %s: prints %q in %q", t.Name, id, w, text))
			}
		}
	}
	instruments, orders := map[string]bool{}, map[int]string{}
	for _, t := range ts {
		in := &t.Instrument
		if in.ID == "" || in.Authority == "" || in.Title == "" || in.Edition == "" || in.ReadOn == "" {
			errs = append(errs, fmt.Errorf("%s: the instrument lacks id, authority, title, edition or read_on", t.Name))
		}
		instruments[in.ID] = true
		for i := range t.Rules {
			r := &t.Rules[i]
			record(t, &r.Record)
			words(t, r.ID, append(r.Do, r.Title)...)
			if len(r.When) == 0 {
				errs = append(errs, fmt.Errorf("%s, %s: a rule without conditions fires on every cell", t.Name, r.ID))
			}
		}
		for i := range t.Bars {
			record(t, &t.Bars[i].Record)
			words(t, t.Bars[i].ID, t.Bars[i].Title)
		}
		for i := range t.Ways {
			w := &t.Ways[i]
			record(t, &w.Record)
			words(t, w.ID, w.Title)
			for _, d := range w.Duties {
				words(t, w.ID, d.Text)
			}
			if w.Confidence == "memory" && w.class < RouteDamaged {
				errs = append(errs, fmt.Errorf("%s, %s: a way from memory alone may not be a light one", t.Name, w.ID))
			}
		}
		for i := range t.Streams {
			x := &t.Streams[i]
			record(t, &x.Record)
			words(t, x.ID, append(x.Codes, x.Title)...)
			for _, d := range x.Duties {
				words(t, x.ID, d.Text)
			}
		}
		for i := range t.Quantities {
			record(t, &t.Quantities[i].Record)
		}
		for i := range t.States {
			record(t, &t.States[i].Record)
			words(t, t.States[i].ID, t.States[i].Text)
		}
		for i := range t.Intervals {
			record(t, &t.Intervals[i].Record)
			words(t, t.Intervals[i].ID, t.Intervals[i].Title)
		}
		for i := range t.Locals {
			l := &t.Locals[i]
			record(t, &l.Record)
			words(t, l.ID, l.Title, l.Line())
			if other, dup := orders[l.Order]; dup {
				errs = append(errs, fmt.Errorf("%s, %s: order %d is that of %s", t.Name, l.ID, l.Order, other))
			}
			orders[l.Order] = l.ID
		}
		for i := range t.Togethers {
			record(t, &t.Togethers[i].Record)
			words(t, t.Togethers[i].ID, t.Togethers[i].Title)
		}
		for i := range t.Outers {
			record(t, &t.Outers[i].Record)
			words(t, t.Outers[i].ID, t.Outers[i].Title)
		}
		for i := range t.Figures {
			record(t, &t.Figures[i].Record)
			words(t, t.Figures[i].ID, t.Figures[i].Title)
		}
		for i := range t.Limits {
			record(t, &t.Limits[i].Record)
			words(t, t.Limits[i].ID, t.Limits[i].Title, t.Limits[i].Name)
		}
		for i := range t.Storages {
			s := &t.Storages[i]
			record(t, &s.Record)
			words(t, s.ID, s.Title, s.Text, s.Question)
		}
		for i := range t.Checks {
			c := &t.Checks[i]
			record(t, &c.Record)
			words(t, c.ID, c.Title, c.Counts, c.Clean, c.Closes, c.Unseen)
		}
		for i := range t.Advice {
			a := &t.Advice[i]
			record(t, &a.Record)
			words(t, a.ID, append(append(a.Do, a.Caution...), a.Title, a.Verb)...)
		}
	}
	errs = append(errs, ts.lintStrength()...)
	errs = append(errs, ts.lintBars(seen)...)
	return errors.Join(errs...)
}

// lintStrength checks that each handling class has exactly one advice with a
// word of strength, so that a card says it once.
func (ts Tables) lintStrength() []error {
	var count [len(handlingWords)]int
	for _, t := range ts {
		for i := range t.Advice {
			for h := range count {
				if a := &t.Advice[i]; a.Verb != "" && a.classes>>h&1 == 1 && len(a.When) == 0 {
					count[h]++
				}
			}
		}
	}
	var errs []error
	for h, n := range count {
		if n != 1 {
			errs = append(errs, fmt.Errorf("handling class %s has %d pieces of advice with a word of strength, not one", Handling(h), n))
		}
	}
	return errs
}

// lintBars checks that a bar closes, and a togetherness allows, ways that exist.
func (ts Tables) lintBars(ids map[string]string) []error {
	var errs []error
	for _, t := range ts {
		for i := range t.Togethers {
			for _, w := range t.Togethers[i].Allows {
				if _, ok := ids[w]; !ok {
					errs = append(errs, fmt.Errorf("%s, %s: allows %q, which no table has", t.Name, t.Togethers[i].ID, w))
				}
			}
		}
		for i := range t.Bars {
			for _, c := range t.Bars[i].Closes {
				if _, ok := ids[c]; !ok && c != "all" {
					errs = append(errs, fmt.Errorf("%s, %s: closes %q, which no table has", t.Name, t.Bars[i].ID, strings.TrimSpace(c)))
				}
			}
		}
	}
	return errs
}
