package app

import (
	"errors"

	"pouchward/triage"
)

// errTentative ends a write that was only made to see what would become of it.
var errTentative = errors.New("only tried")

// A Tentative is what an entry would make of a cell.
type Tentative struct {
	Outcome
	Before, After *triage.Verdict
	Last          int64 // the cell's last entry, which it rests on
}

// TryCorrect says what Correct would make of a cell, and writes nothing.
func (r *Recording) TryCorrect(shop *Shop, act Act, x Change) (*Tentative, error) {
	return r.try(func(dry *Recording) (*Outcome, error) { return dry.Correct(shop, act, x) })
}

// TryRetract says what Retract would make of a cell, and writes nothing.
func (r *Recording) TryRetract(shop *Shop, act Act, x Change) (*Tentative, error) {
	return r.try(func(dry *Recording) (*Outcome, error) { return dry.Retract(shop, act, x) })
}

// TryDetermine says what Determine would make of a cell, and writes nothing.
func (r *Recording) TryDetermine(shop *Shop, act Act, tag string, x Ruling) (*Tentative, error) {
	return r.try(func(dry *Recording) (*Outcome, error) { return dry.Determine(shop, act, tag, x) })
}

// TryWrongCell says what WrongCell would make of the cell that the entry stands on and
// of the one that was meant, and writes nothing. Last of the second is 0 where nothing
// was recorded of it yet.
func (r *Recording) TryWrongCell(shop *Shop, act Act, x Change, right string) (from, to *Tentative, err error) {
	dry := *r
	from, to = &Tentative{}, &Tentative{}
	dry.tentative, dry.meant = from, to
	f, t, err := dry.WrongCell(shop, act, x, right)
	if err != nil {
		return nil, nil, err
	}
	from.Outcome, to.Outcome = *f, *t
	from.Receipts, to.Receipts = nil, nil // no entry has these numbers
	return from, to, nil
}

// try runs fn on a recording whose write is given up at its end: by the same way as
// the entry goes, so that what is shown is what would be written.
func (r *Recording) try(fn func(*Recording) (*Outcome, error)) (*Tentative, error) {
	dry, x := *r, &Tentative{}
	dry.tentative = x
	o, err := fn(&dry)
	if err != nil {
		return nil, err
	}
	x.Outcome = *o
	x.Receipts = nil // no entry has these numbers
	return x, nil
}

// written ends a write on a cell. One that is tentative keeps what it came to, and is
// given up.
func (r *Recording) written(shop *Shop, c *Cell) error {
	if r.tentative == nil {
		return nil
	}
	r.tentative.After = c.atWorst(shop)
	return errTentative
}

// begins keeps how a cell stands before a write, nothing where it has no entry.
func (x *Tentative) begins(shop *Shop, c *Cell) {
	if x != nil && len(c.Entries) > 0 {
		x.Before, x.Last = c.atWorst(shop), c.Entries[len(c.Entries)-1].Number
	}
}

// before keeps how a cell stands before a write that is tentative, and refuses a write
// that rests on something else.
func (r *Recording) before(shop *Shop, c *Cell) error {
	r.tentative.begins(shop, c)
	return moved(r.rests, c)
}

// ErrMoved is that a cell has an entry more than the one that a change rests on.
var ErrMoved = errors.New("another entry came in between")

// RestingOn is a recording that writes only where the last entry of the cell is still
// the one that Last of a Tentative named, and of an entry on the wrong cell also that of
// the cell that was meant: within the write, so that no entry comes in between.
func (r *Recording) RestingOn(last, meant int64) *Recording {
	x := *r
	x.rests, x.restsMeant = &last, &meant
	return &x
}

func moved(rests *int64, c *Cell) error {
	last := int64(0)
	if n := len(c.Entries); n > 0 {
		last = c.Entries[n-1].Number
	}
	if rests != nil && *rests != last {
		return ErrMoved
	}
	return nil
}
