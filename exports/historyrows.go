package exports

import (
	"strings"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// A HistoryRow is one entry of a history as a page shows it.
type HistoryRow struct {
	Entry int64
	At    string // entered, in the zone it was written in
	Kind  string
	Says  string // what it says in a few words
	Seen  string // what a look found, as typed
	By    string // person and bench
	Late  string // when it happened, where that was not when it was entered
	Clock string // how far the machine's clock stood back, blank: not
	Void  int64  // the entry that retracts it, 0 for none
	Is    string // class after it, where it changed or began
	Was   string // class before, where it changed
}

// Rows returns the entries of a history as rows, in order.
func (h *History) Rows() ([]HistoryRow, error) {
	list := make([]HistoryRow, 0, len(h.Entries))
	last := ""
	for _, e := range h.Entries {
		x := HistoryRow{Entry: e.Number, At: e.Local(e.Entered).Format("2006-01-02 15:04"), Kind: e.Kind, Says: strings.Join(says(e), ", "), Seen: seen(e),
			By: strings.Trim(e.Who+", "+e.Bench, ", "), Void: h.Void[e.Number], Clock: strings.TrimPrefix(e.Clock, "-")}
		if gap := e.Entered.Sub(e.Happened); gap > time.Minute || gap < 0 {
			x.Late = lateWord(gap) + "happened " + e.Local(e.Happened).Format("2006-01-02 15:04")
		}
		if err := x.class(e, h.Tag, &last); err != nil {
			return nil, err
		}
		list = append(list, x)
	}
	return list, nil
}

// class tells what an entry made of a tag; last is what held before, and then what
// holds after.
func (x *HistoryRow) class(e *logbook.Entry, tag string, last *string) error {
	states, err := e.Now()
	if err != nil {
		return err
	}
	for i := range states {
		s := &states[i]
		if s.Tag != tag || s.Handling == "" {
			continue
		}
		if now := HandlingText(s.Handling) + ", " + s.Condition; now != *last {
			x.Was, x.Is, *last = *last, now, now
		}
	}
	return nil
}

// StateText says what holds of a tag in one line.
func StateText(s logbook.State) string {
	var b strings.Builder
	_ = StateLine(&b, logbook.State{}, s) // a builder takes all
	text := strings.TrimPrefix(strings.TrimSpace(b.String()), triage.SpacedTag(s.Tag))
	return strings.Join(strings.FieldsFunc(text, func(r rune) bool { return r == '\n' }), " ")
}
