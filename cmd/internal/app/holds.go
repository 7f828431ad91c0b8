package app

import (
	"fmt"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// Holds reads what keeps a cell in its class, the worst first, and what may let
// go of it. It writes nothing and asks for nobody's name.
func Holds(l *logbook.Log, shop *Shop, tag string) (now logbook.State, list []exports.Hold, err error) {
	if tag, err = findTag(l, tag); err != nil {
		return now, nil, err
	}
	if tag, err = cellTag(tag); err != nil {
		return now, nil, Usage("%v", err)
	}
	c, err := readCell(l, tag)
	if err != nil {
		return now, nil, err
	}
	if err := c.known(); err != nil {
		return now, nil, err
	}
	return c.State, c.heldBy(shop), nil
}

// heldBy says what keeps a cell in its class, the worst first.
func (c *Cell) heldBy(shop *Shop) []exports.Hold {
	list := []exports.Hold{}
	for _, x := range c.lowerables(shop, c.judge(shop)) {
		list = append(list, exports.Hold{Rule: x.ID, Title: x.Title, Entry: x.Entry, How: x.how(shop), Can: x.By != "" && !x.Reacts})
	}
	return list
}

// how says in words what lets go of a hold.
func (x *Lowerable) how(shop *Shop) string {
	switch {
	case x.Reacts:
		return "first quiet for 24 h (common practice), and a look that says so"
	case x.By == "expert":
		return "the maker or a technical expert, with a second person (--expert)"
	case x.By != "" && shop.solo():
		return "a determination by one person: solo in the house file"
	case x.By != "":
		return "a determination by two people"
	case x.Entry > 0:
		return fmt.Sprintf("no determination; if the entry was a slip, correct or retract it, then --mistaken %d", x.Entry)
	}
	if rule := shop.Rulebook.RuleByID(x.ID); rule != nil {
		if _, condition := rule.Outcome(); condition < triage.Damaged {
			return "no determination; another reading or another purpose"
		}
	}
	return "no determination"
}
