package app

import (
	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// History returns what the log holds of a tag: of a cell under every tag that it
// had.
func History(l *logbook.Log, tag string) (*exports.History, error) {
	tag, err := findTag(l, tag)
	if err != nil {
		return nil, err
	}
	if kind, _ := triage.TagNumber(tag); kind == triage.CellTag {
		c, err := readCell(l, tag)
		if err != nil {
			return nil, err
		}
		return &exports.History{Tag: c.Tag, Entries: c.Entries, Void: c.void, Now: c.State}, nil
	}
	list, err := l.History(tag)
	if err != nil {
		return nil, err
	}
	h := &exports.History{Tag: tag, Entries: list}
	held, ok, err := l.HeldAs(tag)
	if ok {
		h.Now = held.State
	}
	return h, err
}
