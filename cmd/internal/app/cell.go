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

// A Cell is what the log knows of one cell: its entries, read in order. Nothing
// else is kept of it; Cell is derived anew whenever somebody asks.
type Cell struct {
	Tag     string // where the tag asked for is an alias, the tag of the cell
	Entries []*logbook.Entry
	State   logbook.State // what the last entry said; State.Is is blank for none

	void      map[int64]int64 // entries retracted, and the retraction
	looks     []look          // by the time at which they happened
	decisions []decision
	raised    []held
	found     []found
	said      []found          // what each entry says holds after it
	tags      []string         // under which the cell was known
	reach     map[string]int64 // up to which entry each was read
	secured   securedBody
	place, in string         // where the last move put it: a place, or a container
	out       bool           // it left the shop
	sent      string         // in this shipment, blank for another way
	movedAt   time.Time      // the last move
	back      time.Time      // it came back, not taken by the carrier
	fixed     map[int64]bool // entries with a correction
}

// A look is an assessment or a recheck that was not retracted, with its
// corrections.
type look struct {
	entry   *logbook.Entry
	body    assessmentBody
	given   []Given
	reading triage.Reading
	recheck bool
	changes []change
}

// A change is a correction of a look, with the reading before it.
type change struct {
	entry  int64
	before triage.Reading
}

// found are the rules that fired at a look when it was written, whatever has
// become of the look since.
type found struct {
	entry     int64
	at        time.Time // when it happened
	kind      string
	body      assessmentBody
	condition triage.ConditionClass
}

// milder reports whether an entry found less than what it says holds after it.
func (f *found) milder(said *found) bool {
	own, _ := triage.HandlingByName(f.body.Handling)
	h, _ := triage.HandlingByName(said.body.Handling)
	return own < h || f.condition < said.condition
}

// A decision is a determination that was not retracted.
type decision struct {
	entry *logbook.Entry
	body  determinationBody
}

// A historian finds the entries of a tag: a log, or a write to one.
type historian interface {
	History(tag string) ([]*logbook.Entry, error)
}

// remembering asks for the entries of each tag once.
type remembering struct {
	from historian
	seen map[string][]*logbook.Entry
}

func (r *remembering) History(tag string) ([]*logbook.Entry, error) {
	if list, ok := r.seen[tag]; ok {
		return list, nil
	}
	list, err := r.from.History(tag)
	if err == nil {
		r.seen[tag] = list
	}
	return list, err
}

// readCell reads what the log knows of a cell.
func readCell(from historian, tag string) (*Cell, error) {
	h := &remembering{from, map[string][]*logbook.Entry{}}
	tag, err := nameOf(h, tag)
	if err != nil {
		return nil, err
	}
	c := &Cell{Tag: tag}
	if err := c.gather(h, tag, math.MaxInt64, 0); err != nil {
		return nil, err
	}
	c.Entries = mergeEntries(c.Entries)
	return c, c.again()
}

// again derives from the entries what they come to.
func (c *Cell) again() error {
	*c = Cell{Tag: c.Tag, Entries: c.Entries, State: c.State, tags: c.tags, void: map[int64]int64{}, fixed: map[int64]bool{}}
	if err := c.retracted(); err != nil {
		return err
	}
	for _, e := range c.Entries {
		if err := c.take(e); err != nil {
			return fmt.Errorf("entry %d: %w", e.Number, err)
		}
		if err := c.note(e); err != nil {
			return err
		}
	}
	c.sortLooks()
	return nil
}

// note keeps what an entry says holds after it.
func (c *Cell) note(e *logbook.Entry) error {
	states, err := e.Now()
	for i := range states {
		s := &states[i]
		if s.Tag == c.Tag {
			c.State = *s
		}
		if s.Condition != "" && slices.Contains(c.tags, s.Tag) {
			condition, ok := triage.ConditionByName(s.Condition)
			if !ok {
				return fmt.Errorf("entry %d: the condition %q is not one that this program knows", e.Number, s.Condition)
			}
			said := found{entry: e.Number, at: e.Happened, kind: "said", body: assessmentBody{Handling: s.Handling}, condition: condition}
			c.said = append(c.said, said)
			if n := len(c.found); n > 0 && c.found[n-1].entry == e.Number && c.found[n-1].milder(&said) {
				c.found = append(c.found, said) // entered late, it made more of a later look than of its own
			}
		}
	}
	return err
}

// mergeEntries puts entries into their order, each once.
func mergeEntries(list []*logbook.Entry) []*logbook.Entry {
	slices.SortFunc(list, func(a, b *logbook.Entry) int { return cmp.Compare(a.Number, b.Number) })
	return slices.CompactFunc(list, func(a, b *logbook.Entry) bool { return a.Number == b.Number })
}

func (c *Cell) sortLooks() {
	slices.SortStableFunc(c.looks, func(a, b look) int { return a.entry.Happened.Compare(b.entry.Happened) })
}

// maxTies bounds how many splits and merges lead to one cell.
const maxTies = 40

func errTies(tag string) error {
	return fmt.Errorf("more than %d splits and merges lead to tag %s", maxTies, triage.SpacedTag(tag))
}

// nameOf returns the tag by which a cell is known: merges make other tags
// aliases of it.
func nameOf(h historian, tag string) (string, error) {
	for range maxTies {
		ties, err := tiesOf(h, tag, "merge")
		if err != nil {
			return "", err
		}
		i := slices.IndexFunc(ties, func(b tieBody) bool { return b.Other == tag && b.Cell != tag })
		if i < 0 {
			return tag, nil
		}
		tag = ties[i].Cell
	}
	return "", errTies(tag)
}

func tiesOf(h historian, tag, kind string) (ties []tieBody, err error) {
	list, err := h.History(tag)
	for _, e := range list {
		if e.Kind != kind {
			continue
		}
		b := tieBody{entry: e.Number}
		if err := e.Body.Decode(&b); err != nil {
			return nil, fmt.Errorf("entry %d: %w", e.Number, err)
		}
		ties = append(ties, b)
	}
	return ties, err
}

// gather adds the entries of a tag before a number, and those of the tags that
// it was split from or merged with.
func (c *Cell) gather(h historian, tag string, before int64, depth int) error {
	if depth > maxTies {
		return errTies(c.Tag)
	}
	if c.reach[tag] >= before {
		return nil // read already, by another way
	}
	if c.reach == nil {
		c.reach = map[string]int64{}
	}
	c.reach[tag] = before
	list, err := h.History(tag)
	if err != nil {
		return err
	}
	if !slices.Contains(c.tags, tag) {
		c.tags = append(c.tags, tag)
	}
	for _, e := range list {
		if e.Number < before {
			c.Entries = append(c.Entries, e)
		}
	}
	for _, kind := range []string{"split", "merge"} {
		ties, err := tiesOf(h, tag, kind)
		if err != nil {
			return err
		}
		for _, b := range ties {
			other := b.Other // merged: what was known by the other tag is known of this cell
			if kind == "split" {
				other = b.Cell // split: it has the history of the one that it was part of
			}
			if other == tag || b.Cell == b.Other || b.entry >= before {
				continue
			}
			if err := c.gather(h, other, b.entry, depth+1); err != nil {
				return err
			}
		}
	}
	return nil
}

// retracted finds which entries are void: the last word counts, so a retraction
// that was itself retracted voids nothing.
func (c *Cell) retracted() error {
	for _, e := range slices.Backward(c.Entries) {
		if e.Kind != "retraction" || c.void[e.Number] != 0 {
			continue
		}
		var b retractionBody
		if err := e.Body.Decode(&b); err != nil {
			return fmt.Errorf("entry %d: %w", e.Number, err)
		}
		c.void[b.Entry] = e.Number
	}
	return nil
}

// take adds one entry to what is known.
func (c *Cell) take(e *logbook.Entry) error {
	counts := c.void[e.Number] == 0
	switch e.Kind {
	case "assessment", "recheck":
		return c.takeLook(e, counts)
	case "raise":
		var b raiseBody
		if err := e.Body.Decode(&b); err != nil {
			return err
		}
		return c.takeRaise(e, "raise", b.Handling, b.Condition)
	case "determination":
		if !counts {
			return nil
		}
		d := decision{entry: e}
		if err := e.Body.Decode(&d.body); err != nil {
			return err
		}
		c.decisions = append(c.decisions, d)
		if d.body.Condition != "" {
			return c.takeRaise(e, "determination", "", d.body.Condition)
		}
	case "secured":
		if counts {
			return e.Body.Decode(&c.secured)
		}
	case "move":
		var b moveBody
		if err := e.Body.Decode(&b); err != nil || !counts {
			return err
		}
		if !e.Happened.Before(c.movedAt) { // one entered late does not undo a later one
			c.moved(&b)
			c.movedAt = e.Happened
		}
	case "shipment":
		return c.shipped(e)
	case "correction":
		var b correctionBody
		if err := e.Body.Decode(&b); err != nil {
			return err
		}
		if err := c.find(e, assessmentBody{Handling: b.Handling, Condition: b.Condition, Findings: b.Findings}); err != nil {
			return err
		}
		if counts {
			return c.correct(e.Number, &b)
		}
	case "merge":
		var b tieBody
		if err := e.Body.Decode(&b); err != nil {
			return err
		}
		return c.find(e, assessmentBody{Handling: b.Handling, Condition: b.Condition})
	case "split":
		c.secured = securedBody{} // of which of the two it was done is not known
	}
	return nil
}

func (c *Cell) takeLook(e *logbook.Entry, counts bool) error {
	l := look{entry: e, recheck: e.Kind == "recheck"}
	if err := e.Body.Decode(&l.body); err != nil {
		return err
	}
	if err := c.find(e, l.body); err != nil || !counts {
		return err
	}
	var err error
	if l.given, err = givenOf(l.body.Readings); err != nil {
		return err
	}
	l.reading, _ = readGiven(l.given) // refused then as now
	c.looks = append(c.looks, l)
	if !e.Happened.Before(c.movedAt) {
		c.out = false // who looks at it has it before them
	}
	return nil
}

// find notes what an entry found; blank where it is still being made.
func (c *Cell) find(e *logbook.Entry, body assessmentBody) error {
	if body.Condition == "" {
		return nil
	}
	condition, ok := triage.ConditionByName(body.Condition)
	if !ok {
		return fmt.Errorf("the condition %q is not one that this program knows", body.Condition)
	}
	body.Findings = slices.Concat(body.Findings, body.AsWritten)
	c.found = append(c.found, found{e.Number, e.Happened, e.Kind, body, condition})
	return nil
}

// foundAfter reports whether something was found after a time, by a look that was
// retracted since too: an entry of that time is a late one.
func (c *Cell) foundAfter(at time.Time) bool {
	return slices.ContainsFunc(c.found, func(f found) bool { return f.at.After(at) })
}

// moved notes where a cell went.
func (c *Cell) moved(b *moveBody) {
	c.place, c.in, c.out, c.sent = "", "", b.Out != "", ""
	if tag, kind, err := triage.CheckTag(b.To); err == nil && kind == triage.ContainerTag && tag == b.To {
		c.in = b.To
	} else {
		c.place = b.To
	}
}

// correct puts the new value in the place of the old one.
func (c *Cell) correct(entry int64, b *correctionBody) error {
	f, ok := triage.FieldByName(b.Field)
	if !ok {
		return fmt.Errorf("the reading %q is not one that this program knows", b.Field)
	}
	c.fixed[b.Entry] = true
	for i := range c.looks {
		l := &c.looks[i]
		if l.entry.Number != b.Entry {
			continue
		}
		l.changes = append(l.changes, change{entry, l.reading})
		l.given = slices.DeleteFunc(slices.Clone(l.given), func(g Given) bool { return g.Field == f })
		if b.New != "" {
			l.given = append(l.given, Given{f, b.New})
		}
		l.reading, _ = readGiven(l.given)
	}
	return nil
}

// givenOf reads the readings of an entry as they were typed.
func givenOf(readings map[string]any) (given []Given, err error) {
	for name, x := range readings {
		text, ok := typedText(x)
		f, known := triage.FieldByName(name)
		if !ok || !known {
			return nil, fmt.Errorf("the reading %q is not one that this program knows", name)
		}
		given = append(given, Given{f, text})
	}
	slices.SortFunc(given, func(a, b Given) int { return cmp.Compare(a.Field, b.Field) })
	return given, nil
}

// typedText is the text of one reading of an entry as it was typed.
func typedText(x any) (text string, ok bool) {
	if m, isMap := x.(map[string]any); isMap {
		x = m["typed"]
	}
	text, ok = x.(string)
	return text, ok
}

// numbers returns the numbers of the looks, by which a verdict says what it
// rests on.
func (c *Cell) numbers() []int64 {
	var list []int64
	for i := range c.looks {
		list = append(list, c.looks[i].entry.Number)
	}
	return list
}

// readings returns, of the first n looks, the readings merged and the last full
// reading with the time at which it was taken.
func (c *Cell) readings(n int) (merged, full triage.Reading, at time.Time) {
	for i := range c.looks[:n] {
		l := &c.looks[i]
		r := l.reading
		c.dayOld(i, &r, l.entry.Happened)
		if i > 0 {
			hours := hoursBetween(at, l.entry.Happened)
			if l.recheck {
				full = lookedAgain(&full, &r, hours)
			}
			r = triage.Merge(&merged, &r, hours)
		}
		if merged = r; !l.recheck || i == 0 {
			full = r
		}
		at = l.entry.Happened
	}
	return merged, full, at
}

// lookedAgain is the full reading after a recheck. One without a reading says
// that all is as it was.
func lookedAgain(last, newer *triage.Reading, hours triage.Micro) triage.Reading {
	for f := range newer {
		if triage.Fields[f].Type != triage.TextField && newer[f].State != triage.Blank {
			return triage.LookAgain(last, newer, hours)
		}
	}
	return *last
}

// hoursBetween is 0 when the clock stood back: no time is known to have passed.
func hoursBetween(from, to time.Time) triage.Micro {
	d := to.Sub(from)
	if from.IsZero() || d < 0 {
		return 0
	}
	return triage.Micro(d / time.Second * 1_000_000 / 3600)
}
