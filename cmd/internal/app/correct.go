package app

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
)

// A Change is a correction or a retraction of one entry.
type Change struct {
	Entry  int64
	Field  string // of a correction
	New    string // blank: it was not measured
	Reason string // one of ChangeReasons
	Note   string
	// Second and Criteria make the linked determination that lets go of what the
	// entry found; without them the class is kept until somebody determines.
	Second   string
	Criteria string
}

// ChangeReasons are why an entry was wrong.
var ChangeReasons = []string{"mistyped", "misread", "wrong-cell", "new-information", "other"}

func (x *Change) check() error {
	if !slices.Contains(ChangeReasons, x.Reason) {
		return Usage("--reason %q is none of %s", x.Reason, strings.Join(ChangeReasons, ", "))
	}
	if x.Reason == "other" && strings.TrimSpace(x.Note) == "" {
		return Usage("--reason other wants a --note that says which")
	}
	return nil
}

// Correct records what a field of an assessment or a recheck should have said.
// The old entry stays. Where the class would be better, it is kept until a
// determination, which Second and Criteria make at once.
func (r *Recording) Correct(shop *Shop, act Act, x Change) (*Outcome, error) {
	f, ok := triage.FieldByName(strings.ReplaceAll(x.Field, "-", "_"))
	if !ok {
		if near := triage.Nearest(x.Field, triage.FieldNames()); near != "" {
			return nil, Usage("--field %q is no reading; did you mean %s? (pouchward fields)", x.Field, near)
		}
		return nil, Usage("--field %q is no reading; pouchward fields lists them", x.Field)
	}
	if f == triage.Tag {
		return nil, Usage("a tag is not corrected: --wrong-cell TAG moves the whole entry to the cell that was meant")
	}
	if _, refused := readGiven([]Given{{f, x.New}}); len(refused) > 0 {
		return nil, Usage("%s", refused[0])
	}
	return r.onEntry(shop, act, x, func(tx *logbook.Tx, c *Cell, o *Outcome, e *logbook.Entry) error {
		i := slices.IndexFunc(c.looks, func(l look) bool { return l.entry.Number == e.Number })
		if i < 0 {
			return Usage("entry %d is a %s; a correction is of a reading of an assessment or a recheck that was not retracted", e.Number, e.Kind)
		}
		old := ""
		for _, g := range c.looks[i].given {
			if g.Field == f {
				old = g.Text
			}
		}
		if old == x.New {
			return Usage("%s of entry %d already reads %q", triage.Fields[f].Name, e.Number, old)
		}
		return r.put(tx, c, o, act, "correction", correctionBody{Entry: e.Number, Field: triage.Fields[f].Name, Old: old, New: x.New, Reason: x.Reason,
			Note: x.Note, Was: [2]string{o.Was.Handling, o.Was.Condition}})
	})
}

// retractable are the kinds of entries that can be taken back.
var retractable = []string{"assessment", "recheck", "raise", "secured", "move", "determination", "correction", "retraction"}

// Retractable reports whether an entry of a kind can be taken back.
func Retractable(kind string) bool { return slices.Contains(retractable, kind) }

// Retract takes an entry back. It stays in the log; what it found holds the cell
// until a determination, which Second and Criteria make at once.
func (r *Recording) Retract(shop *Shop, act Act, x Change) (*Outcome, error) {
	return r.onEntry(shop, act, x, func(tx *logbook.Tx, c *Cell, o *Outcome, e *logbook.Entry) error {
		if !slices.Contains(retractable, e.Kind) {
			return Usage("entry %d is a %s, which is not retracted; %s", e.Number, e.Kind, insteadOf(e.Kind))
		}
		if by := c.void[e.Number]; by != 0 {
			return Usage("entry %d was retracted already, by entry %d", e.Number, by)
		}
		return r.put(tx, c, o, act, "retraction", retractionBody{Entry: e.Number, Reason: x.Reason, Note: x.Note, Was: [2]string{o.Was.Handling, o.Was.Condition}})
	})
}

func insteadOf(kind string) string {
	switch kind {
	case "merge":
		return "split the cells again"
	case "split":
		return "merge the cells again"
	}
	return "write another that says how it is"
}

// onEntry runs fn on the cell that an entry is about, then sees to what the
// change leaves held.
func (r *Recording) onEntry(shop *Shop, act Act, x Change, fn func(*logbook.Tx, *Cell, *Outcome, *logbook.Entry) error) (*Outcome, error) {
	if err := x.check(); err != nil {
		return nil, err
	}
	e, err := r.log.Entry(x.Entry)
	if err != nil {
		return nil, err
	}
	if len(e.Tags) == 0 {
		return nil, Usage("entry %d is a %s about no cell; write another that says how it is", e.Number, e.Kind)
	}
	if e.Kind == "shipment" {
		return nil, Usage("entry %d is a step of a shipment, which is not retracted; write the next one (pouchward ship reopen, move, refused) that says how it is", e.Number)
	}
	return r.onCell(shop, e.Tags[0], func(tx *logbook.Tx, c *Cell, o *Outcome) error {
		if len(e.Tags) > 1 {
			return r.severalTags(e)
		}
		if split := c.splitAfter(e.Number); split > 0 {
			return Usage("entry %d was of two cells, which entry %d split: say how each is now with an assessment, a recheck or a raise", e.Number, split)
		}
		if err := fn(tx, c, o, e); err != nil {
			return err
		}
		return r.settle(tx, c, o, act, x)
	})
}

// splitAfter returns the first split after an entry, 0 for none.
func (c *Cell) splitAfter(entry int64) int64 {
	for _, e := range c.Entries {
		if e.Kind == "split" && e.Number > entry {
			return e.Number
		}
	}
	return 0
}

func (r *Recording) severalTags(e *logbook.Entry) error {
	return Usage("entry %d is about %d tags; write a new %s for each that was wrong", e.Number, len(e.Tags), e.Kind)
}

// settle says what the cell would be without what the changed entry found, and
// writes the linked determination where two people say so.
func (r *Recording) settle(tx *logbook.Tx, c *Cell, o *Outcome, act Act, x Change) error {
	free := *c
	free.decisions = append(slices.Clone(c.decisions), decision{
		entry: &logbook.Entry{Number: tx.Next(), Draft: logbook.Draft{Who: "one", Happened: r.now()}},
		body:  determinationBody{Mistaken: []int64{x.Entry}, Criteria: "a", Reason: "what it would be", Second: "two"}})
	would := free.judge(o.Shop)
	if would.Handling >= o.Verdict.Handling && would.Condition >= o.Verdict.Condition {
		return nil // nothing is held that would be better
	}
	if x.Criteria == "" && x.Second == "" {
		o.note("By what stands now it would be %s, %s. It is kept at %s, %s until two people say that entry %d was a slip: pouchward determine %s --mistaken %d --criteria ... --reason ... --who ... --second ...",
			strings.ToUpper(would.Handling.String()), would.Condition, strings.ToUpper(o.Verdict.Handling.String()), o.Verdict.Condition, x.Entry, c.Tag, x.Entry)
		return nil
	}
	if err := tx.Flush(); err != nil {
		return err
	}
	if err := act.needWho("a determination"); err != nil {
		return err
	}
	return r.determineIn(tx, c, o, act, Ruling{Mistaken: []int64{x.Entry}, Criteria: x.Criteria, Second: x.Second,
		Reason: fmt.Sprintf("entry %d was %s %s", x.Entry, strings.ReplaceAll(x.Reason, "-", " "), x.Note)})
}

// WrongCell moves an assessment to the cell that was meant: a retraction on the
// one and an assessment on the other, linked by naming one another.
func (r *Recording) WrongCell(shop *Shop, act Act, x Change, right string) (from, to *Outcome, err error) {
	x.Reason = "wrong-cell"
	e, err := r.log.Entry(x.Entry)
	if err != nil {
		return nil, nil, err
	}
	if e.Kind != "assessment" || len(e.Tags) != 1 {
		return nil, nil, Usage("entry %d is a %s; only an assessment is moved to another cell", e.Number, e.Kind)
	}
	right, err = ReadTag(right)
	if err != nil {
		return nil, nil, err
	}
	if right, err = cellTag(right); err != nil || right == e.Tags[0] {
		return nil, nil, Usage("--wrong-cell wants the tag of another cell, not %s", right)
	}
	from, to = &Outcome{Shop: shop}, &Outcome{Shop: shop}
	err = r.log.Write(func(tx *logbook.Tx) error {
		source, err := readCell(tx, e.Tags[0])
		if err != nil {
			return err
		}
		i := slices.IndexFunc(source.looks, func(l look) bool { return l.entry.Number == e.Number })
		if i < 0 {
			return Usage("entry %d was retracted already, by entry %d", e.Number, source.void[e.Number])
		}
		if split := source.splitAfter(e.Number); split > 0 {
			return Usage("entry %d was of two cells, which entry %d split: assess the cell that was meant", e.Number, split)
		}
		given := append(slices.Clone(source.looks[i].given), Given{triage.Tag, right}) // with its corrections
		// The right cell first: what was seen is never on no cell.
		c, err := readCell(tx, right)
		if err != nil {
			return err
		}
		if c.Tag == source.Tag {
			return Usage("%s is another tag of the same cell", triage.SpacedTag(right))
		}
		to.Tag, to.Was = c.Tag, c.State
		r.meant.begins(shop, c)
		if err := moved(r.restsMeant, c); err != nil {
			return err
		}
		a := assess(shop, given, c, e.Happened)
		a.MovedFrom, a.FromPart = e.Number, source.looks[i].body.FromPart
		d, err := r.lookEntry(tx, a, c, false, "")
		if err != nil {
			return err
		}
		to.Is, to.Verdict = d.Now[0], &a.Verdict
		if c.State = to.Is; r.meant != nil {
			r.meant.After = c.atWorst(shop)
		}
		if err := to.append(tx, d); err != nil {
			return err
		}
		wrong, err := readCell(tx, e.Tags[0])
		if err != nil {
			return err
		}
		from.Tag, from.Was = wrong.Tag, wrong.State
		if err := r.before(shop, wrong); err != nil {
			return err
		}
		if err := r.put(tx, wrong, from, act, "retraction", retractionBody{Entry: e.Number, Reason: x.Reason,
			Note: "meant " + right, Was: [2]string{wrong.State.Handling, wrong.State.Condition}}); err != nil {
			return err
		}
		err = r.settle(tx, wrong, from, act, x)
		from.Is = wrong.State
		if err == nil {
			err = r.written(shop, wrong)
		}
		return err
	})
	if err != nil && !errors.Is(err, errTentative) {
		return nil, nil, fmt.Errorf("not recorded: %w", err)
	}
	return from, to, nil
}
