package app

import (
	"slices"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
)

// Split records that one tag stood for two cells: the other gets a tag of its
// own, and all that was seen holds both until each was assessed.
func (r *Recording) Split(shop *Shop, act Act, tag, other, reason string) (*Outcome, *Outcome, error) {
	var second *Outcome
	first, err := r.onCell(shop, tag, func(tx *logbook.Tx, c *Cell, o *Outcome) (err error) {
		if err := c.known(); err != nil {
			return err
		}
		issued := other == ""
		if issued {
			other, err = tx.IssueTag(triage.CellTag)
		} else if other, err = ReadTag(other); err == nil {
			other, err = cellTag(other)
		}
		if err != nil {
			return err
		}
		if list, err := tx.History(other); err != nil {
			return err
		} else if n := namedBy(list); n > 0 {
			return Usage("tag %s stands for another cell already (entry %d): take a new strip", triage.SpacedTag(other), n)
		}
		second = &Outcome{Shop: shop, Tag: other}
		d, err := r.draft(shop, act, "split", tieBody{Cell: c.Tag, Other: other, Reason: reason, Issued: issued}, c.Tag, other)
		if err != nil {
			return err
		}
		c.secured = securedBody{} // of which of the two it was done is not known
		twin := *c
		twin.Tag, twin.tags = other, append(slices.Clone(c.tags), other)
		for i, x := range []struct {
			c *Cell
			o *Outcome
		}{{c, o}, {&twin, second}} {
			if i == 1 {
				x.c.State = logbook.State{Since: c.State.Since, Looked: c.State.Looked, Handling: c.State.Handling}
			}
			x.o.Verdict = x.c.judge(shop)
			x.c.State = x.c.after(shop, x.o.Verdict, d.Happened, false)
			x.o.Is = x.c.State
			d.Now = append(d.Now, x.c.State)
		}
		o.note("Each is held to what was seen of the two: assess both.")
		return o.append(tx, d)
	})
	return first, second, err
}

// namedBy returns the entry that gave a tag to something, 0 for none: a block of
// printed tags gives them to nobody.
func namedBy(list []*logbook.Entry) int64 {
	for _, e := range list {
		if e.Kind != "record" {
			return e.Number
		}
	}
	return 0
}

// Merge records that two tags stand for one cell: the first stays, the other
// becomes another tag of it that still scans. What was seen under either holds.
func (r *Recording) Merge(shop *Shop, act Act, tag, other, reason string) (*Outcome, error) {
	other, err := ReadTag(other)
	if err != nil {
		return nil, err
	}
	if other, err = cellTag(other); err != nil {
		return nil, Usage("%v", err)
	}
	return r.onCell(shop, tag, func(tx *logbook.Tx, c *Cell, o *Outcome) error {
		if err := c.known(); err != nil {
			return err
		}
		gone, err := readCell(tx, other)
		if err != nil {
			return err
		}
		if gone.Tag == c.Tag {
			first, _ := ReadTag(tag) // onCell read it
			if first == other {
				return Usage("%s was given twice; a merge takes the two tags that stand for one cell", triage.SpacedTag(other))
			}
			return Usage("%s and %s are tags of one cell already", triage.SpacedTag(first), triage.SpacedTag(other))
		}
		if len(gone.Entries) == 0 {
			return Usage("nothing is recorded of %s; the strip can be thrown away", triage.SpacedTag(other))
		}
		body := tieBody{Cell: c.Tag, Other: gone.Tag, Reason: strings.TrimSpace(reason)}
		body.Handling, body.Condition = worseOf(&c.State, &gone.State)
		d, err := r.draft(shop, act, "merge", body, c.Tag, gone.Tag)
		if err != nil {
			return err
		}
		c.Entries, c.tags = mergeEntries(append(c.Entries, gone.Entries...)), append(c.tags, gone.tags...)
		if err := c.again(); err != nil {
			return err
		}
		if start := gone.State.Start; start != "" && (c.State.Start == "" || start < c.State.Start) {
			c.State.Start, c.State.StartBy = start, gone.State.StartBy // the earlier clock runs on
		}
		if err := c.add(tx, &d); err != nil {
			return err
		}
		o.Verdict = c.judge(shop)
		c.State = c.after(shop, o.Verdict, d.Happened, false)
		d.Now = []logbook.State{c.State, {Tag: gone.Tag, Is: logbook.Alias, In: c.Tag}}
		o.note("%s is another tag of %s from now on.", triage.SpacedTag(gone.Tag), triage.SpacedTag(c.Tag))
		return o.append(tx, d)
	})
}

// worseOf returns the worse handling and condition of two states.
func worseOf(a, b *logbook.State) (handling, condition string) {
	ha, _ := triage.HandlingByName(a.Handling)
	hb, _ := triage.HandlingByName(b.Handling)
	ca, _ := triage.ConditionByName(a.Condition)
	cb, _ := triage.ConditionByName(b.Condition)
	return max(ha, hb).String(), max(ca, cb).String()
}
