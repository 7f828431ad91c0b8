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
	untold  string // what the check could not tell besides
}

// The states, as the review's page has them.
const (
	findingOpen   = "open"
	findingPast   = "past"
	findingSigned = "answered"
	findingNone   = "nothing found"
	findingEmpty  = "nothing to look at"
	findingUnseen = "not to be seen"
)

func (e *exporter) findingsTable() *table.Table {
	return table.New("findings", "Findings", "What the review of the log found, worst first; then each check that found nothing, with how much it went through; then what a log cannot show.",
		e.findingFields(), func(put func(*findingRow) error) error {
			for _, x := range findingRows(e.review) {
				if err := put(&x); err != nil {
					return err
				}
			}
			return nil
		})
}

func findingRows(r *review.Report) (rows []findingRow) {
	untold := map[*triage.Check]string{}
	for i := range r.Untold {
		untold[r.Untold[i].Check] = r.Untold[i].Untold
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		x := findingRow{check: f.Check, finding: f, untold: untold[f.Check], text: f.Text, state: findingPast}
		switch {
		case f.Signed != nil:
			x.state = findingSigned
		case f.Open():
			x.state = findingOpen
		}
		rows = append(rows, x)
	}
	for i := range r.Clean {
		c := &r.Clean[i]
		x := findingRow{check: c.Check, state: findingNone, text: c.Check.Clean + " (" + strconv.FormatInt(c.Checked, 10) + " " + c.Check.Counts + ")", untold: c.Untold}
		if c.Checked == 0 { // in order cannot be said of it
			x.state, x.text = findingEmpty, "there were no "+c.Check.Counts
		}
		rows = append(rows, x)
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
			return of(x.finding)
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
	answered := func(name, words, text string, kind table.Type, of func(*review.SignOff) table.Value) table.Field[findingRow] {
		return table.Field[findingRow]{Column: table.Column{Name: name, Words: words, Type: kind, Text: text, Width: 10}, Of: func(x *findingRow) table.Value {
			if x.finding == nil || x.finding.Signed == nil {
				return table.Value{}
			}
			return of(x.finding.Signed)
		}}
	}
	severity := text("severity", "severity", "critical: stop and act today; major: this week; minor: at the next round; note: look", 9, func(x *findingRow) string { return x.check.Severity })
	severity.Marks = map[string]table.Mark{"critical": table.Danger, "major": table.Warning, "minor": table.Notice}
	state := text("state", "state", "open, past, answered (its reason stands beside it); nothing found; nothing to look at: in order cannot be said; not to be seen in a log", 13, func(x *findingRow) string { return x.state })
	state.Marks = map[string]table.Mark{findingOpen: table.Warning, findingUnseen: table.Notice}
	return []table.Field[findingRow]{severity, state,
		text("rule", "rule", "id of the check in the rulebook", 24, func(x *findingRow) string { return x.check.ID }),
		text("title", "what is looked for", "the check in words", 36, func(x *findingRow) string { return x.check.Title }),
		text("subject", "subject", "what it is about", 16, found(func(f *review.Finding) string { return f.Subject })),
		{Column: table.Column{Name: "found", Words: "found", Text: "what was found, or how much was gone through", Width: 56}, Of: func(x *findingRow) table.Value { return table.OfText(x.text) }},
		at("since", "since", "when it began", func(f *review.Finding) time.Time { return f.Since }),
		at("until", "until", "when it was over; blank: it is open", func(f *review.Finding) time.Time { return f.Until }),
		text("not_told", "not told", "what the check could not tell: unknown is never counted as in order", 30, func(x *findingRow) string { return x.untold }),
		text("tags", "tags", "cells, containers and shipments that it touches", 20, found(func(f *review.Finding) string { return strings.Join(f.Tags, " ") })),
		text("entries", "entries", "entries that it rests on", 18, found(func(f *review.Finding) string { return numbersText(f.Entries) })),
		text("closes", "closed by", "what would close it", 36, func(x *findingRow) string { return x.check.Closes }),
		text("ask", "who answers", "who answers for it", 18, func(x *findingRow) string { return x.check.Ask }),
		text("answered_by", "answered by", "who answered it, as given", 10, signed(func(s *review.SignOff) string { return s.Who })),
		text("answer", "answer", "why it may stand, in the words of who answered", 36, signed(func(s *review.SignOff) string { return s.Reason })),
		answered("answer_entry", "answer, entry", "the entry of the answer", table.Whole, func(s *review.SignOff) table.Value { return table.OfSome(s.Entry) }),
		answered("answered_until", "answered until", "last day on which the answer counts; blank: no end", table.Date, func(s *review.SignOff) table.Value { return table.OfDate(s.Until) }),
		text("answer_lapsed", "answer no longer counts", "an answer that more was found since, or whose day is over: by whom, and its entry", 20, found(func(f *review.Finding) string {
			if f.Stale == nil {
				return ""
			}
			return f.Stale.Who + ", entry " + strconv.FormatInt(f.Stale.Entry, 10)
		})),
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
