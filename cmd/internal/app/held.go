package app

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// What an earlier entry found holds a cell, although the reading that showed it
// may be gone from the look at hand: a thickness not taken again, a field
// corrected, a whole assessment retracted. Only a determination lets go of it,
// so that lowering always takes two and always leaves a reason.

// held is one such hold.
type held struct {
	entry     int64
	at        time.Time
	id        string // of the rule that fired, or what else put it up
	rule      *triage.Rule
	handling  triage.Handling
	condition triage.ConditionClass
	casing    triage.Waste
}

// quietHours is how long a cell that reacted stays an emergency: 24 h without a
// sign (common practice, as in the handling table).
const quietHours triage.Micro = 24_000_000

// saysQuiet reports whether a look found the cell quiet that long, and cool.
func saysQuiet(r *triage.Reading) bool { return r[triage.QuietH].State == triage.Known && r.Settled() }

// takeRaise adds a raise; a retracted one holds like the others.
func (c *Cell) takeRaise(e *logbook.Entry, id, handling, condition string) error {
	h := held{entry: e.Number, at: e.Happened, id: id}
	var ok bool
	if h.condition, ok = triage.ConditionByName(condition); !ok {
		return fmt.Errorf("the condition %q is not one that this program knows", condition)
	}
	if h.handling, ok = triage.HandlingByName(handling); !ok && handling != "" {
		return fmt.Errorf("the handling %q is not one that this program knows", handling)
	}
	switch {
	case handling == "" && h.condition >= triage.Damaged:
		h.handling = triage.Isolate
	case h.handling == triage.Emergency:
		c.out = false // what reacts is here, whatever was recorded
	}
	c.raised = append(c.raised, h)
	return nil
}

// holds lists all that holds the cell, whether or not a determination let go.
func (c *Cell) holds(shop *Shop) []held {
	list := slices.Clone(c.raised)
	for i := range c.found {
		f := &c.found[i]
		unknown := false
		for _, id := range f.body.Findings {
			rule := shop.Rulebook.RuleByID(id)
			if rule == nil {
				unknown = unknown || id != "raise"
				continue
			}
			if _, condition := rule.Outcome(); condition >= triage.Damaged {
				h := newHold(f, id, rule, condition)
				h.at = c.reactedAt(shop, f, &h, list)
				list = append(list, h)
			}
			if rule.Casing() == triage.CasingBreached {
				list = append(list, held{entry: f.entry, at: f.at, id: id, rule: rule, casing: rule.Casing()})
			}
		}
		if unknown && f.condition >= triage.Damaged { // a rule of a house file that is not at hand, or one that ended
			list = append(list, newHold(f, fmt.Sprintf("entry-%d", f.entry), nil, f.condition))
		}
	}
	// What an entry said and no rule that is known explains: a rule that is no
	// longer there, a row that may have shifted, an entry made late.
	decided := c.decided(shop)
	for _, f := range mergeFound(c.found, c.said) {
		switch {
		case f.body.Found == "worse": // somebody said so, as by a raise
			list = append(list, newHold(&f, "raise", nil, max(f.condition, triage.Damaged)))
		case f.condition >= triage.Damaged && !c.explained(&f, list, decided):
			list = append(list, newHold(&f, fmt.Sprintf("entry-%d", f.entry), nil, f.condition))
		}
	}
	return list
}

// reactedAt is when what reacted did so: a look that only carries an earlier sign on
// does not begin its quiet day anew.
func (c *Cell) reactedAt(shop *Shop, f *found, h *held, list []held) time.Time {
	i := slices.IndexFunc(list, func(x held) bool { return x.id == h.id && x.condition == triage.Reacting })
	if h.condition != triage.Reacting || i < 0 {
		return f.at
	}
	j := slices.IndexFunc(c.looks, func(l look) bool { return l.entry.Number == f.entry })
	if j < 0 || slices.Contains(firedAlone(shop, &c.looks[j].reading), h.id) {
		return f.at
	}
	return list[i].at
}

func newHold(f *found, id string, rule *triage.Rule, condition triage.ConditionClass) held {
	h := held{entry: f.entry, at: f.at, id: id, rule: rule, handling: triage.Isolate, condition: condition}
	if condition == triage.Reacting {
		h.handling = triage.Emergency
	}
	return h
}

// mergeFound puts what entries found and said into their order.
func mergeFound(a, b []found) []found {
	list := slices.Concat(a, b)
	slices.SortStableFunc(list, func(a, b found) int { return cmp.Compare(a.entry, b.entry) })
	return list
}

// explained reports whether a hold that stood when the entry was written, or
// came with it, gives the condition that it says.
func (c *Cell) explained(f *found, list []held, decided []decision) bool {
	until := slices.IndexFunc(decided, func(d decision) bool { return d.entry.Number > f.entry })
	if until < 0 {
		until = len(decided)
	}
	return slices.ContainsFunc(list, func(h held) bool {
		if h.entry > f.entry || h.condition < f.condition {
			return false
		}
		h, stands := c.letGo(h, decided[:until], f.entry, time.Time{})
		return stands && h.condition >= f.condition
	})
}

// standing returns the holds of which nobody let go, with what they come to now.
// quiet is the time of a look at hand that finds the cell quiet long enough, the
// zero time for none.
func (c *Cell) standing(shop *Shop, quiet time.Time) []held {
	decisions := c.decided(shop)
	var list []held
	for _, h := range c.holds(shop) {
		if h, stands := c.letGo(h, decisions, math.MaxInt64, quiet); stands {
			list = append(list, h)
		}
	}
	return list
}

// decided returns the determinations that stand on the day judged for.
func (c *Cell) decided(shop *Shop) []decision {
	return slices.DeleteFunc(slices.Clone(c.decisions), func(d decision) bool {
		x := d.determination()
		return x.Lacks(shop.day(), shop.solo()) != ""
	})
}

// letGo applies the determinations, and the looks up to an entry, to a hold and
// reports whether any of it stands.
func (c *Cell) letGo(h held, decisions []decision, upTo int64, quiet time.Time) (held, bool) {
	if c.mistaken(h.entry, decisions) {
		return h, false
	}
	calm := int64(0)
	if h.condition == triage.Reacting {
		if calm = c.calmAfter(&h, upTo); calm == 0 {
			if !h.longPast(quiet) {
				return h, true
			}
			calm = math.MaxInt64 // of the look at hand: nobody decided after it
		}
		h.handling, h.condition = triage.Isolate, triage.Liable
	}
	for i := range decisions {
		d := &decisions[i]
		if d.entry.Number < max(h.entry, calm) || !slices.ContainsFunc(d.body.Lowers, func(l loweredRule) bool { return l.Rule == h.id }) {
			continue
		}
		if h.loweredWith(d.body.Expert) {
			return h, false
		}
		if h.condition == triage.Liable {
			h.condition = triage.Damaged // settled by a person; what it did stays
		}
	}
	return h, true
}

// mistaken reports whether two people said, after an entry, that one was a slip:
// it must have been corrected or retracted.
func (c *Cell) mistaken(entry int64, decisions []decision) bool {
	return (c.fixed[entry] || c.void[entry] != 0) && slices.ContainsFunc(decisions, func(d decision) bool {
		return d.entry.Number > entry && slices.Contains(d.body.Mistaken, entry)
	})
}

// loweredWith reports whether a determination may let go of a hold.
func (h *held) loweredWith(expert bool) bool {
	switch {
	case h.rule != nil:
		return h.rule.LoweredWith(expert)
	case h.id == "raise" || h.id == "determination":
		return true
	}
	return expert
}

// calmAfter returns the first look after a hold, up to an entry, that says that
// the cell was quiet long enough, 0 for none.
func (c *Cell) calmAfter(h *held, upTo int64) int64 {
	first := int64(0)
	for i := range c.looks {
		l := &c.looks[i]
		if l.entry.Number > h.entry && l.entry.Number <= upTo && saysQuiet(&l.reading) && h.longPast(l.entry.Happened) && (first == 0 || l.entry.Number < first) {
			first = l.entry.Number
		}
	}
	return first
}

// longPast reports whether a time is a day or more after the hold: whatever a
// look says, the cell was not quiet for longer than since it was put up.
func (h *held) longPast(at time.Time) bool {
	return !at.IsZero() && hoursBetween(h.at, at) >= quietHours
}

// determination returns a decision as the judging takes it.
func (d *decision) determination() triage.Determination {
	x := triage.Determination{Criteria: d.body.Criteria, Reason: d.body.Reason, By: d.entry.Who, Second: d.body.Second, Expert: d.body.Expert,
		On: triage.DateOf(d.entry.Local(d.entry.Happened))}
	if d.body.Until != "" {
		x.Until, _ = triage.ParseDate(d.body.Until) // checked when it was written; 0 never lapses
		if x.Until == 0 {
			x.Until = 1 // what cannot be read has lapsed
		}
	}
	for _, l := range d.body.Lowers {
		a := triage.Aside{Rule: l.Rule}
		if f, ok := triage.FactByName(l.Fact); ok && l.From != nil && l.To != nil {
			a.Fact, a.Seen = f, triage.Fact{State: triage.Known, Lo: *l.From, Hi: *l.To}
		}
		x.SetsAside = append(x.SetsAside, a)
	}
	return x
}
