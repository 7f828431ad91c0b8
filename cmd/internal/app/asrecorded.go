package app

import (
	"fmt"

	"pouchward/logbook"
)

// A Holding holds entries against the tree of their log while they are shown: one whose
// bytes were changed by other means is not to be read as a fact.
type Holding struct {
	log  *logbook.Log
	tree logbook.Tree
	err  error // of the tree
	bad  []int64
}

// HoldAgainstTree begins to hold entries of a log against its tree.
func HoldAgainstTree(l *logbook.Log) *Holding {
	h := &Holding{log: l}
	h.tree, h.err = l.Tree()
	return h
}

// Check returns what is to be said of an entry before it is shown, blank for nothing.
func (h *Holding) Check(e *logbook.Entry) string {
	err := h.err
	if err == nil {
		err = h.log.AsRecorded(e, h.tree)
	}
	if err == nil {
		return ""
	}
	h.bad = append(h.bad, e.Number)
	if h.err != nil {
		return fmt.Sprintf("entry %d could not be held against the tree of the log: %v. Do not rely on it; pouchward log verify tells more.", e.Number, err)
	}
	return fmt.Sprintf("these are not the bytes that were recorded: %v. Do not rely on what stands here; pouchward log verify tells more.", err)
}

// Err is what the command ends with.
func (h *Holding) Err() error {
	switch len(h.bad) {
	case 0:
		return nil
	case 1:
		return &ExitError{ExitLog, fmt.Errorf("entry %d is not as it was recorded (pouchward log verify)", h.bad[0])}
	}
	return &ExitError{ExitLog, fmt.Errorf("%d entries are not as they were recorded, the first is %d (pouchward log verify)", len(h.bad), h.bad[0])}
}
