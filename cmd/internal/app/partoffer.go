package app

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// A PartOffer is what part memory has for one reading. Nothing of it is taken
// over by itself.
type PartOffer struct {
	Memory  *PartMemory
	Facts   []triage.PartFact // offered for label facts that are open in the reading
	Unclear []triage.PartFact // open in the reading, and the labels on record contradict one another
	Against string            // a label fact in which the reading is not like the part: nothing is offered
	Near    []string          // part numbers on record, where this one is not
}

// LookUpPart opens the log for what part memory has for a reading, nil where the
// reading names no part. For a cell that reacts nothing is looked up: its card
// waits for no file.
func LookUpPart(p LogPlace, shop *Shop, given []Given) (o *PartOffer, err error) {
	if !wasGiven(given, triage.Part) && !wasGiven(given, triage.Tag) || Assess(shop, given).Verdict.Handling == triage.Emergency {
		return nil, nil
	}
	err = ReadLog(p, func(l *logbook.Log) error {
		o, err = OfferPart(l, given)
		return err
	})
	return o, err
}

func wasGiven(given []Given, f triage.FieldID) bool {
	return slices.ContainsFunc(given, func(g Given) bool { return g.Field == f && strings.TrimSpace(g.Text) != "" })
}

// OfferPart returns what part memory has for a reading, nil where neither the
// reading nor the record of its cell names a part.
func OfferPart(l *logbook.Log, given []Given) (*PartOffer, error) {
	return offerPart(l, given, func(part string) (*PartMemory, error) { return ReadPart(l, part) })
}

// offerPart is OfferPart with a way to read part memory.
func offerPart(l *logbook.Log, given []Given, read func(part string) (*PartMemory, error)) (*PartOffer, error) {
	reading, _ := readGiven(joined(given)) // refused values are told when it is judged
	cell, merged := &Cell{}, reading
	if tag, err := cellTag(reading[triage.Tag].Text); err == nil {
		if cell, err = readCell(l, tag); err != nil {
			return nil, err
		}
		if n := len(cell.looks); n > 0 {
			known, _, _ := cell.readings(n)
			merged = triage.Merge(&known, &reading, 0)
		}
	}
	part := reading[triage.Part].Text
	if part == "" {
		part = cell.part()
	}
	if part == "" {
		return nil, nil
	}
	m, err := read(part)
	if err != nil {
		return nil, err
	}
	o := &PartOffer{Memory: m}
	if m.Cells == 0 {
		o.Near, err = NearParts(l, part)
		return o, err
	}
	o.weigh(&merged, cell)
	return o, nil
}

// weigh offers what is open in the reading. A cell whose own label, now or at an
// earlier look, contradicts the part is perhaps another part: nothing is offered.
func (o *PartOffer) weigh(r *triage.Reading, cell *Cell) {
	for i := range o.Memory.Facts {
		p := &o.Memory.Facts[i]
		own := []triage.Value{r[p.Field]}
		for j := range cell.looks {
			own = append(own, cell.looks[j].reading[p.Field])
		}
		for _, v := range own {
			if p.Offered && v.State == triage.Known && !p.Agrees(v.Num) {
				o.Facts, o.Unclear = nil, nil
				o.Against = fmt.Sprintf("%s reads %s here, %s on record", triage.Fields[p.Field].Name, p.Text(v.Num), p.Text(p.Value))
				return
			}
		}
		switch {
		case !r[p.Field].FromPart():
		case p.Offered:
			o.Facts = append(o.Facts, *p)
		default:
			o.Unclear = append(o.Unclear, *p)
		}
	}
}

// Take returns the values with those of part memory in the place of the open
// ones, and the names of the fields.
func (o *PartOffer) Take(given []Given) (filled []Given, fields []string) {
	filled = slices.Clone(given)
	for i := range o.Facts {
		p := &o.Facts[i]
		filled = slices.DeleteFunc(filled, func(g Given) bool { return g.Field == p.Field })
		filled = append(filled, Given{p.Field, p.Text(p.Value)})
		fields = append(fields, triage.Fields[p.Field].Name)
	}
	return filled, fields
}

// Says tells the offer in one line, "" where there is nothing to tell of a part
// on record.
func (o *PartOffer) Says() string {
	m := o.Memory
	head := fmt.Sprintf("Part %s (%s on record): ", exports.Clean(m.Part), cellsText(m.Cells))
	switch {
	case m.Cells == 0 && !triage.IsPartNumber(m.Part):
		return head + "a part number has three letters or figures or more, one of them a figure; nothing is kept of it."
	case m.Cells == 0 && len(o.Near) > 0:
		return head + "nothing is known of it; near it: " + exports.Clean(strings.Join(o.Near, ", ")) + "."
	case m.Cells == 0:
		return head + "nothing is known of it."
	case o.Against != "":
		return head + o.Against + ": nothing is offered. Is it the same part?"
	case len(o.Facts) == 0 && len(o.Unclear) == 0:
		return ""
	}
	var has, not []string
	for i := range o.Facts {
		has = append(has, o.Facts[i].Short())
	}
	for i := range o.Unclear {
		not = append(not, o.Unclear[i].Short())
	}
	text := head + strings.Join(has, ", ")
	if len(not) > 0 {
		if len(has) > 0 {
			text += "; "
		}
		text += "not offered: " + strings.Join(not, ", ")
	}
	return text
}

func cellsText(n int) string {
	if n == 1 {
		return "1 cell"
	}
	return fmt.Sprintf("%d cells", n)
}
