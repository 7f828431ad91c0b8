package app

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// lines says of each cell of a package what is on record of it. Of a shipment that
// left that is what held when it left, with what came since beside it: a later look
// at a cell that is back is no word on what travelled. In the shop it is what is in
// the package today, with what was taken out of it.
func (s *shipmentBody) lines(l *logbook.Log, p *exports.ShipPackage, left *logbook.Entry, entries []*logbook.Entry) error {
	tell := s.toldInShop
	if left != nil {
		tell = func(l *logbook.Log, p *exports.ShipPackage, _ []*logbook.Entry) error {
			return s.toldAsLeft(l, p, left.Number)
		}
	}
	if err := tell(l, p, entries); err != nil {
		return err
	}
	for _, list := range [][]exports.ShipCell{p.Lines, p.Gone} {
		slices.SortFunc(list, func(a, b exports.ShipCell) int { return cmp.Compare(triage.TagKey(a.Tag), triage.TagKey(b.Tag)) })
	}
	return nil
}

func shipCell(tag string, s *logbook.State) exports.ShipCell {
	return exports.ShipCell{Tag: tag, Condition: s.Condition, Handling: s.Handling, Wh: float64(s.MicroWh) / 1e6, G: float64(s.MilliGram) / 1e3}
}

// toldAsLeft tells the cells of a package by what the entry that handed them over said.
func (s *shipmentBody) toldAsLeft(l *logbook.Log, p *exports.ShipPackage, left int64) error {
	for _, tag := range p.Tags {
		c, course, err := courseOf(l, tag)
		if err != nil {
			return err
		}
		was := course.at(left)
		x := shipCell(tag, was)
		x.Since = c.sinceLeft(s.About, course, was, left)
		p.Lines = append(p.Lines, x)
	}
	return nil
}

// sinceLeft says what is otherwise today of a cell that left.
func (c *Cell) sinceLeft(shipment string, course course, was *logbook.State, left int64) (list []string) {
	is := course.at(course.last())
	put := func(format string, args ...any) { list = append(list, fmt.Sprintf(format, args...)) }
	if is.Handling != was.Handling || is.Condition != was.Condition {
		put("%s, %s, entry %d", exports.HandlingText(is.Handling), is.Condition, course.since(left, func(s *logbook.State) bool {
			return s.Handling == is.Handling && s.Condition == is.Condition
		}))
	}
	if is.MilliGram > 0 && is.MilliGram != was.MilliGram {
		put("weighed %s g, entry %d", exports.Amount(is.MilliGram, 1000), course.since(left, func(s *logbook.State) bool { return s.MilliGram == is.MilliGram }))
	}
	if is.MicroWh > 0 && is.MicroWh != was.MicroWh {
		put("%s Wh, entry %d", exports.Amount(is.MicroWh, 1e6), course.since(left, func(s *logbook.State) bool { return s.MicroWh == is.MicroWh }))
	}
	switch {
	case is.Is == logbook.Here:
		put("back in stock, entry %d", course.since(left, func(s *logbook.State) bool { return s.Is == logbook.Here }))
	case is.Is == logbook.Out && c.sent != "" && c.sent != shipment:
		put("left again in shipment %s", triage.SpacedTag(c.sent))
	}
	return list
}

// toldInShop tells what is in a package of a shipment in the shop, and what is no
// longer in it.
func (s *shipmentBody) toldInShop(l *logbook.Log, p *exports.ShipPackage, entries []*logbook.Entry) error {
	here := map[string]bool{}
	if err := l.Contents(p.Tag, func(h *logbook.Held) error {
		here[h.Tag] = true
		return nil
	}); err != nil {
		return err
	}
	closed, packed, err := boxed(entries, p.Tag)
	if err != nil {
		return err
	}
	if !p.Closed {
		closed = 0
	}
	for tag := range here {
		if !slices.Contains(packed, tag) {
			packed = append(packed, tag)
		}
	}
	for _, tag := range packed {
		c, course, err := courseOf(l, tag)
		if err != nil {
			return err
		}
		x := shipCell(tag, course.at(course.last()))
		switch {
		case here[tag]:
			x.Since = course.sinceClosed(closed, slices.Contains(p.Tags, tag))
			p.Lines = append(p.Lines, x)
		case !here[c.Tag]: // merged with another that is in it: that one is told
			x.Since = []string{course.movedOut(p.Tag)}
			p.Gone = append(p.Gone, x)
		}
	}
	return nil
}

// boxed returns the entry that closed a package last, 0 for none, and the tags that
// were ever packed into it, each once.
func boxed(entries []*logbook.Entry, box string) (closed int64, packed []string, err error) {
	for _, e := range entries {
		if e.Kind != "shipment" {
			continue
		}
		b, err := shipmentOf(e)
		if err != nil {
			return 0, nil, err
		}
		switch {
		case b.Package != box:
		case b.Did == "closed":
			closed = e.Number
		case b.Did == "packed":
			for _, tag := range b.Cells {
				if !slices.Contains(packed, tag) {
					packed = append(packed, tag)
				}
			}
		}
	}
	return closed, packed, nil
}

// A course is what was said of a cell, entry by entry.
type course []stated

type stated struct {
	entry int64
	state logbook.State
}

// courseOf reads a cell, and its course by the tag under which it was packed and by the
// one that it has today.
func courseOf(l *logbook.Log, tag string) (c *Cell, list course, err error) {
	if c, err = readCell(l, tag); err != nil {
		return nil, nil, err
	}
	for _, e := range c.Entries {
		states, err := e.Now()
		if err != nil {
			return nil, nil, err
		}
		for i := range states {
			if s := &states[i]; s.Is != logbook.Alias && (s.Tag == tag || s.Tag == c.Tag) {
				list = append(list, stated{e.Number, *s})
			}
		}
	}
	return c, list, nil
}

func (c course) last() int64 {
	if len(c) == 0 {
		return 0
	}
	return c[len(c)-1].entry
}

// at is what held after an entry; nothing where nothing was said by then.
func (c course) at(entry int64) *logbook.State {
	x := new(logbook.State)
	for i := range c {
		if c[i].entry <= entry {
			x = &c[i].state
		}
	}
	return x
}

// since is the first entry after another from which on something held to this day.
func (c course) since(entry int64, holds func(*logbook.State) bool) (first int64) {
	for i := range slices.Backward(c) {
		if c[i].entry <= entry || !holds(&c[i].state) {
			break
		}
		first = c[i].entry
	}
	return first
}

// sinceClosed says how a cell is not as its package was closed; closed is 0 where
// that is open.
func (c course) sinceClosed(closed int64, with bool) (list []string) {
	if closed == 0 {
		return nil
	}
	is, was := c.at(c.last()), c.at(closed)
	if !with {
		list = append(list, fmt.Sprintf("put in, entry %d, after it was closed", c.since(closed, func(s *logbook.State) bool { return s.In == is.In })))
	}
	if with && (is.Handling != was.Handling || is.Condition != was.Condition) {
		list = append(list, fmt.Sprintf("%s, %s, entry %d (it was closed as %s, %s)", exports.HandlingText(is.Handling), is.Condition,
			c.since(closed, func(s *logbook.State) bool { return s.Handling == is.Handling && s.Condition == is.Condition }), exports.HandlingText(was.Handling), was.Condition))
	}
	return list
}

// movedOut says how a cell got out of a package, and where it is.
func (c course) movedOut(box string) string {
	text := "moved out"
	for i := range c {
		if i > 0 && c[i-1].state.In == box && c[i].state.In != box {
			text = fmt.Sprintf("moved out, entry %d", c[i].entry)
		}
	}
	switch is := c.at(c.last()); {
	case is.Is == logbook.Out:
		text += "; it left the shop"
	case is.In != "":
		text += "; in " + triage.SpacedTag(is.In) + " now"
	case is.Place != "":
		text += "; at " + strings.TrimSpace(is.Place) + " now"
	}
	return text
}
