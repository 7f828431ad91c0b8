package app

import (
	"errors"
	"fmt"
	"slices"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// PartMemory is what the log knows of the label of a part number.
type PartMemory struct {
	Part        string // as asked for
	Cells       int    // whose last word on their part is this number
	Assessments int    // that name it, of those looked at
	Facts       []triage.PartFact
}

// partLooks is how many assessments of a part are looked at, the last ones: a
// label of years ago says no more than those.
const partLooks = 500

// ReadPart gathers what the cells of a part have on record. A cell counts once,
// by its last word on each label fact, with corrections applied and retracted
// entries left out. What an assessment took over from part memory is no label
// that was read and does not count again.
func ReadPart(l *logbook.Log, part string) (*PartMemory, error) {
	m := &PartMemory{Part: part}
	if !triage.IsPartNumber(part) {
		return m, nil
	}
	key := triage.PartKey(part)
	list, err := l.OfPart(key, partLooks)
	if err != nil {
		return nil, fmt.Errorf("reading part %s: %w", part, err)
	}
	m.Assessments = len(list)
	h := remembered{l, map[string][]*logbook.Entry{}}
	labels := map[triage.FieldID][]triage.Micro{}
	seen := map[string]bool{}
	counted := map[labelAt]bool{} // a cell split off has the looks of the one that it was part of
	for _, e := range list {
		if len(e.Tags) != 1 || seen[e.Tags[0]] {
			continue
		}
		seen[e.Tags[0]] = true
		cell, err := readCell(h, e.Tags[0])
		if err != nil {
			return nil, fmt.Errorf("reading part %s, cell %s: %w", part, triage.SpacedTag(e.Tags[0]), err)
		}
		if seen[cell.Tag] && cell.Tag != e.Tags[0] || triage.PartKey(cell.part()) != key {
			continue
		}
		seen[cell.Tag] = true
		m.Cells++
		for _, f := range triage.PartFields {
			if v, n := cell.label(f); n > 0 && !counted[labelAt{f, n}] {
				counted[labelAt{f, n}] = true
				labels[f] = append(labels[f], v)
			}
		}
	}
	for _, f := range triage.PartFields {
		if len(labels[f]) > 0 {
			m.Facts = append(m.Facts, triage.NewPartFact(f, labels[f]))
		}
	}
	return m, nil
}

// labelAt is a label fact in an entry.
type labelAt struct {
	field triage.FieldID
	entry int64
}

// remembered reads the history of each tag once: deriving a cell asks for it
// several times.
type remembered struct {
	from historian
	had  map[string][]*logbook.Entry
}

// History returns the entries of a tag.
func (h remembered) History(tag string) ([]*logbook.Entry, error) {
	if list, ok := h.had[tag]; ok {
		return list, nil
	}
	list, err := h.from.History(tag)
	if err == nil {
		h.had[tag] = list
	}
	return list, err
}

// part is the cell's last word on its part number.
func (c *Cell) part() string {
	for _, l := range slices.Backward(c.looks) {
		if p := &l.reading[triage.Part]; p.State == triage.Known {
			return p.Text
		}
	}
	return ""
}

// label is the cell's last word on a label fact and the entry that has it, 0 for
// none.
func (c *Cell) label(f triage.FieldID) (triage.Micro, int64) {
	for _, l := range slices.Backward(c.looks) {
		if v := &l.reading[f]; v.State == triage.Known && !l.tookOver(f) {
			return v.Num, l.entry.Number
		}
	}
	return 0, 0
}

// tookOver reports whether a label fact of a look came from part memory. One
// that was corrected since was read by somebody.
func (l *look) tookOver(f triage.FieldID) bool {
	name := triage.Fields[f].Name
	if !slices.Contains(l.body.FromPart, name) {
		return false
	}
	typed, _ := typedText(l.body.Readings[name])
	return slices.Contains(l.given, Given{f, typed})
}

// Parts lists the part numbers on record, as triage.PartKey spells them.
func Parts(l *logbook.Log) ([]exports.PartCount, error) {
	list := []exports.PartCount{}
	err := l.Parts(func(part string, n int64) { list = append(list, exports.PartCount{Part: part, Assessments: n}) })
	return list, err
}

// nearParts is how many part numbers are named for one that is not on record.
const nearParts = 3

// NearParts returns the part numbers on record that one was probably meant for,
// the nearest first.
func NearParts(l *logbook.Log, part string) (near []string, err error) {
	var parts []string
	if err := l.Parts(func(p string, _ int64) { parts = append(parts, p) }); err != nil {
		return nil, err
	}
	for range nearParts {
		n := triage.Nearest(triage.PartKey(part), parts)
		if n == "" {
			break
		}
		near = append(near, n)
		parts = slices.DeleteFunc(parts, func(p string) bool { return p == n })
	}
	return near, nil
}

// ShowPart reads a part to be shown. One that is not on record is an error that
// names those near it.
func ShowPart(l *logbook.Log, part string) (*exports.PartReport, error) {
	m, err := ReadPart(l, part)
	if err != nil {
		return nil, err
	}
	if m.Cells == 0 {
		o := PartOffer{Memory: m}
		if o.Near, err = NearParts(l, part); err != nil {
			return nil, err
		}
		return nil, errors.New(o.Says() + " pouchward part lists the parts on record")
	}
	return (*exports.PartReport)(m), nil
}
