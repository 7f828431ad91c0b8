package app

import (
	"cmp"
	"fmt"
	"math"
	"slices"

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
	id        string // of the rule that fired, or what else put it up
	rule      *triage.Rule
	handling  triage.Handling
	condition triage.ConditionClass
}

// quietHours is how long a cell that reacted stays an emergency: 24 h without a
// sign (common practice, as in the handling table).
const quietHours triage.Micro = 24_000_000

func saysQuiet(r *triage.Reading) bool {
	q := r[triage.QuietH]
	return q.State == triage.Known && q.Num >= quietHours
}

// takeRaise adds a raise; a retracted one holds like the others.
func (c *Cell) takeRaise(e *logbook.Entry, id, handling, condition string) error {
	h := held{entry: e.Number, id: id}
	var ok bool
	if h.condition, ok = triage.ConditionByName(condition); !ok {
		return fmt.Errorf("the condition %q is not one that this program knows", condition)
	}
	if h.handling, ok = triage.HandlingByName(handling); !ok && handling != "" {
		return fmt.Errorf("the handling %q is not one that this program knows", handling)
	}
	if handling == "" && h.condition >= triage.Damaged {
		h.handling = triage.Isolate
	}
	c.raised = append(c.raised, h)
	return nil
}

// holds lists all that holds the cell, whether or not a determination let go.
func (c *Cell) holds(shop *Shop) []held {
	list := slices.Clone(c.raised)
	for i := range c.found {
		f := &c.found[i]
		for _, id := range f.body.Findings {
			rule := shop.Rulebook.RuleByID(id)
			if rule == nil {
				continue
			}
			if _, condition := rule.Outcome(); condition >= triage.Damaged {
				list = append(list, newHold(f.entry, id, rule, condition))
			}
		}
	}
	// What an entry said and no rule that is known explains: a rule that is no
	// longer there, a row that may have shifted, an entry made late.
	decided := c.decided(shop)
	for _, f := range mergeFound(c.found, c.said) {
		if f.condition >= triage.Damaged && !c.explained(&f, list, decided) {
			id := fmt.Sprintf("entry-%d", f.entry)
			if f.body.Found == "worse" {
				id = "raise" // somebody said so, as by a raise
			}
			list = append(list, newHold(f.entry, id, nil, f.condition))
		}
	}
	return list
}

func newHold(entry int64, id string, rule *triage.Rule, condition triage.ConditionClass) held {
	h := held{entry: entry, id: id, rule: rule, handling: triage.Isolate, condition: condition}
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
		h, stands := c.letGo(h, decided[:until], f.entry, false)
		return stands && h.condition >= f.condition
	})
}

// standing returns the holds of which nobody let go, with what they come to now.
func (c *Cell) standing(shop *Shop, quiet bool) []held {
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
		return x.Lacks(shop.Rulebook.On, shop.solo()) != ""
	})
}

// letGo applies the determinations, and the looks up to an entry, to a hold and
// reports whether any of it stands.
func (c *Cell) letGo(h held, decisions []decision, upTo int64, quiet bool) (held, bool) {
	for i := range decisions {
		d := &decisions[i]
		if d.entry.Number > h.entry && slices.Contains(d.body.Mistaken, h.entry) && (c.fixed[h.entry] || c.void[h.entry] != 0) {
			return h, false
		}
	}
	calm := int64(0)
	if h.condition == triage.Reacting {
		if calm = c.calmAfter(h.entry, upTo); calm == 0 {
			if !quiet {
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

// calmAfter returns the first look after an entry, up to another, that says that
// it was quiet long enough, 0 for none.
func (c *Cell) calmAfter(entry, upTo int64) int64 {
	first := int64(0)
	for i := range c.looks {
		l := &c.looks[i]
		if l.entry.Number > entry && l.entry.Number <= upTo && saysQuiet(&l.reading) && (first == 0 || l.entry.Number < first) {
			first = l.entry.Number
		}
	}
	return first
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
		if l.From != nil && l.To != nil {
			a.Seen = triage.Fact{State: triage.Known, Lo: *l.From, Hi: *l.To}
		}
		x.SetsAside = append(x.SetsAside, a)
	}
	return x
}
