package app

import (
	"strconv"
	"strings"
	"time"

	"pouchward/exports/table"
	"pouchward/triage"
	"pouchward/triage/review"
)

// A findingRow is a finding of the review, a check that found nothing, or one that
// a log cannot show: a list that says what was in order says when it was not
// looked at too.
type findingRow struct {
	check   *triage.Check
	state   string
	finding *review.Finding // nil: none
	text    string
}

const (
	findingOpen   = "open"
	findingOver   = "over"
	findingSigned = "signed off"
	findingNone   = "nothing found"
	findingUnseen = "not looked at"
)

func (e *exporter) findingsTable() *table.Table {
	return table.New("findings", "Findings", "What the review of the log found, worst first; then each check that found nothing, with how much it went through; then what a log cannot show.",
		e.findingFields(), func(put func(*findingRow) error) error {
			for _, x := range findingRows(e.ask.Review) {
				if err := put(&x); err != nil {
					return err
				}
			}
			return nil
		})
}

func findingRows(r *review.Report) (rows []findingRow) {
	for i := range r.Findings {
		f := &r.Findings[i]
		x := findingRow{check: f.Check, finding: f, text: f.Text, state: findingOver}
		switch {
		case f.Signed != nil:
			x.state = findingSigned
		case f.Open():
			x.state = findingOpen
		}
		rows = append(rows, x)
	}
	for _, c := range r.Clean {
		text := c.Check.Clean + " (" + strconv.FormatInt(c.Checked, 10) + " " + c.Check.Counts + ")"
		if c.Checked == 0 {
			text = "there were no " + c.Check.Counts
		}
		if c.Untold != "" {
			text += "; not to be told: " + c.Untold
		}
		rows = append(rows, findingRow{check: c.Check, state: findingNone, text: text})
	}
	for _, c := range r.Unseen {
		rows = append(rows, findingRow{check: c, state: findingUnseen, text: c.Unseen})
	}
	return rows
}

func (e *exporter) findingFields() []table.Field[findingRow] {
	text := func(name, words, text string, width int, of func(*findingRow) string) table.Field[findingRow] {
		return table.Field[findingRow]{Column: table.Column{Name: name, Words: words, Text: text, Width: width}, Of: func(x *findingRow) table.Value { return table.OfText(of(x)) }}
	}
	found := func(of func(*review.Finding) string) func(*findingRow) string {
		return func(x *findingRow) string {
			if x.finding == nil {
				return ""
			}
			return e.people.within(of(x.finding))
		}
	}
	at := func(name, words, text string, of func(*review.Finding) time.Time) table.Field[findingRow] {
		return table.Field[findingRow]{Column: table.Column{Name: name, Words: words, Type: table.Time, Text: text}, Of: func(x *findingRow) table.Value {
			if x.finding == nil {
				return table.Value{}
			}
			return table.OfTime(of(x.finding))
		}}
	}
	signed := func(of func(*review.SignOff) string) func(*findingRow) string {
		return found(func(f *review.Finding) string {
			if f.Signed == nil {
				return ""
			}
			return of(f.Signed)
		})
	}
	severity := text("severity", "severity", "critical: stop and act today; major: this week; minor: at the next round; note: look", 9, func(x *findingRow) string { return x.check.Severity })
	severity.Marks = map[string]table.Mark{"critical": table.Danger, "major": table.Warning, "minor": table.Notice}
	state := text("state", "state", "open, over, signed off, nothing found, not looked at", 13, func(x *findingRow) string { return x.state })
	state.Marks = map[string]table.Mark{findingOpen: table.Warning, findingUnseen: table.Notice}
	return []table.Field[findingRow]{severity, state,
		text("check", "check", "id of the check", 24, func(x *findingRow) string { return x.check.ID }),
		text("title", "what is looked for", "the check in words", 36, func(x *findingRow) string { return x.check.Title }),
		text("subject", "subject", "what it is about", 16, found(func(f *review.Finding) string { return f.Subject })),
		{Column: table.Column{Name: "found", Words: "found", Text: "what was found, or how much was gone through", Width: 56}, Of: func(x *findingRow) table.Value { return table.OfText(e.people.within(x.text)) }},
		at("since", "since", "when it began", func(f *review.Finding) time.Time { return f.Since }),
		at("until", "until", "when it was over; blank: it is open", func(f *review.Finding) time.Time { return f.Until }),
		text("tags", "tags", "cells, containers and shipments that it touches", 20, found(func(f *review.Finding) string { return strings.Join(f.Tags, " ") })),
		text("entries", "entries", "entries that it rests on", 18, found(func(f *review.Finding) string { return numbersText(f.Entries) })),
		text("closes", "closed by", "what would close it", 36, func(x *findingRow) string { return x.check.Closes }),
		text("ask", "who answers", "who answers for it", 18, func(x *findingRow) string { return x.check.Ask }),
		text("signed_by", "signed off by", "who answered it", 10, signed(func(s *review.SignOff) string { return s.Who })),
		text("signed_reason", "reason", "why, in the words of who signed", 36, signed(func(s *review.SignOff) string { return s.Reason })),
		text("source", "source", "where the check comes from", 40, func(x *findingRow) string { return x.check.Source }),
		text("basis", "basis", "published, common-practice or house", 16, func(x *findingRow) string { return string(x.check.Basis) }),
	}
}

// numbersText writes numbers with a space between.
func numbersText(list []int64) string {
	words := make([]string, len(list))
	for i, n := range list {
		words[i] = strconv.FormatInt(n, 10)
	}
	return strings.Join(words, " ")
}
