package triage

import "fmt"

// A HouseInterval makes a shipped interval stricter: it names its id, and one of
// every, after and ahead.
type HouseInterval struct {
	ID    string `toml:"id"`
	Every string `toml:"every"`
	After string `toml:"after"`
	Ahead string `toml:"ahead"`
	Note  string `toml:"note"`
}

// intervals turns the intervals of the house into records of its table and
// returns what is wrong with them.
func (h *House) intervals(shipped Tables) []error {
	known := map[string]*Interval{}
	var ids []string
	for _, t := range shipped {
		for i := range t.Intervals {
			known[t.Intervals[i].ID] = &t.Intervals[i]
			ids = append(ids, t.Intervals[i].ID)
		}
	}
	var errs []error
	seen := map[string]bool{}
	for _, x := range h.Intervals {
		s := known[x.ID]
		switch {
		case s == nil:
			errs = append(errs, slip(fmt.Sprintf("interval %q: no such interval", x.ID), x.ID, ids))
			continue
		case seen[x.ID]:
			errs = append(errs, fmt.Errorf("interval %s stands there twice", x.ID))
			continue
		}
		seen[x.ID] = true
		i := x.over(s)
		if err := i.compile(h.table); err != nil {
			errs = append(errs, fmt.Errorf("interval %s: %w", x.ID, err))
			continue
		}
		if err := i.tightens(s); err != nil {
			errs = append(errs, err)
		}
		h.table.Intervals = append(h.table.Intervals, i)
	}
	return errs
}

// over returns the shipped interval with the time of the house.
func (x *HouseInterval) over(s *Interval) Interval {
	i := *s
	i.Every, i.After, i.Ahead, i.Note = x.Every, x.After, x.Ahead, x.Note
	i.Basis, i.Confidence, i.shipped = HouseRule, "read", s
	i.Source = "house interval; shipped: " + s.Text() + " (" + s.Source + ")"
	return i
}

// tightens refuses a time that could be up later than the shipped one's. What
// comes once may be made to come again and again, not the other way round.
func (i *Interval) tightens(s *Interval) error {
	again := i.Every != "" && s.After != "" && s.What == "recheck"
	if i.key() != s.key() && !again {
		return fmt.Errorf("interval %s: the shipped one says %q, so write %s, not %s", s.ID, s.Text(), s.key(), i.key())
	}
	stricter, only := i.amount.noLonger(s.amount), "a house interval may only be shorter"
	switch {
	case s.Ahead != "":
		stricter, only = s.amount.noLonger(i.amount), "a house interval may only tell earlier"
	case s.amount.unit >= endOfDay:
		only = "a closing or an opening may come at any moment, so no other time is surely shorter"
	}
	if !stricter {
		return fmt.Errorf("loosens the shipped interval %s from %q to %q: refused; %s", s.ID, s.Text(), i.Text(), only)
	}
	return nil
}
