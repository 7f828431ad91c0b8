package app

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// A Told is what an incident's entry, or a follow-up, came to.
type Told struct {
	Number   int64 // of the incident
	Open     bool
	WhyOpen  string
	Persons  []Person
	Raised   []*Outcome
	Notes    []string
	Receipts []logbook.Receipt
}

// TellIncident records an incident and, unless it is said that no cell reacted,
// puts every cell that it names up to emergency, in one write.
func (r *Recording) TellIncident(shop *Shop, act Act, x Incident) (*Told, error) {
	b, err := x.body(r.now())
	if err != nil {
		return nil, err
	}
	if from := b.at("started"); !from.IsZero() {
		act.Happened = from
	} else if !act.Happened.IsZero() && b.Said["started"] == notSaid {
		b.Said["started"] = act.Happened.Format(time.RFC3339)
	}
	if to := b.at("ended"); !to.IsZero() && to.Before(act.Happened) {
		return nil, Usage("it ended %s, before it happened", to.Format("2006-01-02 15:04"))
	}
	tags, err := readTags(splitTags(x.Answers["tags"]))
	if err != nil {
		return nil, err
	}
	t := &Told{Open: true, Persons: b.Persons}
	err = r.log.Write(func(tx *logbook.Tx) error {
		n := named{tx: tx, told: t, reacted: b.Said["reacted"] != "no"}
		for _, tag := range tags {
			if err := n.add(tag); err != nil {
				return err
			}
		}
		t.Number = tx.Next()
		b.About = strconv.FormatInt(t.Number, 10)
		d, err := r.draft(nil, act, "incident", b, n.tags...)
		if err != nil {
			return err
		}
		d.Now = n.lots(d.Happened)
		receipt, err := tx.Append(d)
		if err != nil {
			return err
		}
		t.Receipts = append(t.Receipts, receipt)
		if !n.reacted {
			return nil
		}
		return r.raiseAll(tx, shop, act, t, n.cells)
	})
	if err != nil {
		return nil, fmt.Errorf("not recorded: %w", err)
	}
	return t, nil
}

// named gathers the cells that an incident is about.
type named struct {
	tx      *logbook.Tx
	told    *Told
	reacted bool
	tags    []string // of the entry
	cells   []string
	bins    []logbook.State // lots
}

// add adds a tag: a cell, or a container with all that is in it.
func (n *named) add(tag string) error {
	kind, _ := triage.TagNumber(tag)
	if kind == triage.CellTag {
		cell, err := nameOf(n.tx, tag)
		if err != nil {
			return err
		}
		if cell != tag {
			n.told.Notes = append(n.told.Notes, fmt.Sprintf("%s is another tag of %s.", triage.SpacedTag(tag), triage.SpacedTag(cell)))
		}
		n.tags, n.cells = once(n.tags, cell), once(n.cells, cell)
		return nil
	}
	n.tags = once(n.tags, tag)
	h, ok, err := n.tx.HeldAs(tag)
	if err != nil {
		return err
	}
	if kind != triage.ContainerTag || !ok {
		n.told.Notes = append(n.told.Notes, fmt.Sprintf("The log has nothing in %s: name the cells that were in it (pouchward raise TAG --to emergency).", triage.SpacedTag(tag)))
		return nil
	}
	if h.Count > 0 {
		n.bins = append(n.bins, h.State)
	}
	return n.tx.Contents(tag, func(h *logbook.Held) error {
		n.cells = once(n.cells, h.Tag)
		return nil
	})
}

func once(list []string, tag string) []string {
	if slices.Contains(list, tag) {
		return list
	}
	return append(list, tag)
}

// lots says that lots react: they have no entries of their own to be raised by.
func (n *named) lots(at time.Time) (list []logbook.State) {
	if !n.reacted {
		return nil
	}
	for _, s := range n.bins {
		o := &Outcome{Tag: s.Tag, Was: s}
		if s.Handling != triage.Emergency.String() {
			s.Since = at
		}
		s.Handling, s.Condition = triage.Emergency.String(), triage.Reacting.String()
		o.Is = s
		n.told.Raised = append(n.told.Raised, o)
		list = append(list, s)
	}
	return list
}

// raiseAll puts cells up to emergency, each with an entry that names the
// incident.
func (r *Recording) raiseAll(tx *logbook.Tx, shop *Shop, act Act, t *Told, cells []string) error {
	// What the incident's entry says of the tags is read back.
	if err := tx.Flush(); err != nil {
		return err
	}
	body := raiseBody{Handling: triage.Emergency.String(), Condition: triage.Reacting.String(), Note: fmt.Sprintf("incident %d", t.Number)}
	for _, tag := range cells {
		c, err := readCell(tx, tag)
		if err != nil {
			return err
		}
		o := &Outcome{Shop: shop, Tag: c.Tag, Was: c.State}
		if err := r.put(tx, c, o, act, "raise", body); err != nil {
			return err
		}
		o.Is = c.State
		t.Raised = append(t.Raised, o)
		t.Receipts = append(t.Receipts, o.Receipts...)
	}
	return nil
}
