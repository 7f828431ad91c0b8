package app

import (
	"slices"
	"time"

	"pouchward/triage"
	"pouchward/triage/review"
)

// reviewTables are the tables that a review is made for.
var reviewTables = []string{"findings", "ledger"}

// WantsReview reports whether the export holds what a review finds. A review holds the
// whole log in memory; without one an export streams.
func (x *ExportAsk) WantsReview() bool {
	switch x.Format {
	case "ics":
		return false
	case "pdf", "pack":
		return true
	}
	return x.Review || slices.ContainsFunc(x.Tables, func(name string) bool { return slices.Contains(reviewTables, name) })
}

// asOf is the moment for which the export is made: the last entry, or the beginning
// of the day judged for where that is later. The minute at which it is made is not in
// it, so that the same log and day give the same bytes.
func (e *exporter) asOf() time.Time {
	if e.survey.latest.After(e.moment) {
		return e.survey.latest.In(e.moment.Location())
	}
	return e.moment
}

// reviewed reviews the log over the period of the export, where that is asked for.
func (e *exporter) reviewed() error {
	if !e.ask.WantsReview() {
		return nil
	}
	r, err := e.makeReview()
	e.review = e.people.report(r)
	return err
}

func (e *exporter) makeReview() (*review.Report, error) {
	at, p := e.asOf(), e.place
	p.Now = func() time.Time { return at }
	ask := &ReviewAsk{Rules: e.day, DespiteDamage: e.damage != ""}
	last := triage.DateOf(at)
	if e.to != 0 && e.to < last {
		ask.To, last = e.to.String(), e.to
	}
	switch {
	case e.from != 0:
		ask.From = e.from.String()
	case !e.survey.began.IsZero(): // all entries are asked for, not a year
		ask.From = min(triage.DateOf(e.survey.began), last).String()
	}
	r, err := newReviewReader(e.shop, p, ask)
	if err != nil {
		return nil, err
	}
	if err := r.heed(e.report, ask); err != nil {
		return nil, err
	}
	r.upTo = e.report.Tree.Size
	if err := r.readLog(e.log, ask); err != nil {
		return nil, err
	}
	return review.Run(r.s, r.s.Entries.Root), nil
}

// report returns a review that names nobody but by codes.
func (p *people) report(r *review.Report) *review.Report {
	if p == nil || r == nil {
		return r
	}
	out := *r
	out.Findings = slices.Clone(r.Findings)
	for i := range out.Findings {
		f := &out.Findings[i]
		f.Subject, f.Text = p.within(f.Subject), p.within(f.Text)
		f.Signed, f.Stale = p.signOff(f.Signed), p.signOff(f.Stale)
	}
	out.Clean, out.Untold = p.untold(r.Clean), p.untold(r.Untold)
	return &out
}

func (p *people) signOff(s *review.SignOff) *review.SignOff {
	if s == nil {
		return nil
	}
	out := *s
	out.Who, out.Reason = p.code(s.Who), p.within(s.Reason)
	return &out
}

func (p *people) untold(list []review.Clean) []review.Clean {
	list = slices.Clone(list)
	for i := range list {
		list[i].Untold = p.within(list[i].Untold)
	}
	return list
}
