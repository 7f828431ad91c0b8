package app

import (
	"errors"
	"fmt"

	"pouchward/triage"
)

// recallColumns are the columns of a recall list.
var recallColumns = []string{"part", "serials", "made_from", "made_to", "notice", "read_on"}

// maxRecallBytes bounds a recall list: some hundred thousand notices.
const maxRecallBytes = 16 << 20

// LoadRecalls reads a recall list: CSV with the columns part, notice and
// read_on, and where the notice names them serials, made_from and made_to.
// Every fault is reported; a list with one is not used, since it might be the
// line that matters.
func LoadRecalls(name string) (*triage.RecallList, error) {
	data, err := readSmall(name, maxRecallBytes)
	if err != nil {
		return nil, fmt.Errorf("opening the recall list: %w", err)
	}
	return parseRecalls(name, data)
}

func parseRecalls(name string, data []byte) (*triage.RecallList, error) {
	l, err := readList(data, recallColumns)
	if err != nil {
		return nil, fmt.Errorf("reading the recall list %s: %w", name, err)
	}
	for _, need := range []string{"part", "notice", "read_on"} {
		if !l.has(need) {
			return nil, fmt.Errorf("reading the recall list %s: column %s is missing", name, need)
		}
	}
	var entries []triage.RecallEntry
	var errs []error
	for i := range l.rows {
		e, err := recallEntry(l, &l.rows[i])
		if err != nil {
			errs = append(errs, fmt.Errorf("%s line %d: %w", name, l.rows[i].line, err))
		}
		entries = append(entries, e)
	}
	if err := errors.Join(errs...); err != nil {
		return nil, fmt.Errorf("reading the recall list: %w", err)
	}
	return triage.NewRecallList(entries), nil
}

func recallEntry(l *textList, row *listRow) (e triage.RecallEntry, err error) {
	var errs []error
	date := func(name string) triage.Date {
		text := l.cell(row, name)
		if text == "" {
			return 0
		}
		d, err := triage.ParseDate(text)
		if err != nil {
			errs = append(errs, fmt.Errorf("%s %q: %w", name, text, err))
		}
		return d
	}
	e = triage.RecallEntry{Part: l.cell(row, "part"), Serials: l.cell(row, "serials"), Notice: l.cell(row, "notice"),
		MadeFrom: date("made_from"), MadeTo: date("made_to"), ReadOn: date("read_on")}
	if e.Part == "" || e.Notice == "" || e.ReadOn == 0 && len(errs) == 0 {
		errs = append(errs, errors.New("part, notice and read_on are needed"))
	}
	if e.MadeFrom != 0 && e.MadeTo != 0 && e.MadeFrom > e.MadeTo {
		// No cell would be made in such a time, and each would be cleared.
		errs = append(errs, fmt.Errorf("made_from %s is after made_to %s: exchange them if they are the wrong way round", e.MadeFrom, e.MadeTo))
	}
	return e, errors.Join(errs...)
}
