package app

import (
	"cmp"
	"fmt"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/review"
)

// A ReviewAsk says what of a log is reviewed.
type ReviewAsk struct {
	From, To      string      // days; blank: the year up to today
	Site          string      // blank: every site
	Seed          string      // of the sample; blank: the root of the log's tree
	Rules         triage.Date // by the rules of this day; 0: of the last
	DespiteDamage bool
	Unjudged      bool // no cell is judged anew: for what is only drawn
	Progress      Progress
}

// mostTroubles is how many faults of a damaged log a review tells.
const mostTroubles = 1000

// Review verifies a log and reviews what it says up to the end of a day, or up to now
// where that is today. A log that does not verify is reviewed only where that is asked
// for; the report's Troubles then say what is wrong. A file beside the log that is
// missing or changed is no damage to the log: it is a finding (review.File.Wrong).
func Review(shop *Shop, p LogPlace, ask ReviewAsk) (*review.Report, error) {
	r, err := readVerified(shop, p, &ask)
	if err != nil {
		return nil, err
	}
	seed := ask.Seed
	if seed == "" {
		seed = r.s.Entries.Root
	}
	return review.Run(r.s, seed), nil
}

// readVerified verifies a log and takes in its entries on the way, of one state of it.
// What was taken in of a log that does not verify is thrown away: its entries are read
// anew, past what is damaged.
func readVerified(shop *Shop, p LogPlace, ask *ReviewAsk) (*reviewReader, error) {
	r, err := newReviewReader(shop, p, ask)
	if err != nil {
		return nil, err
	}
	r.site = ask.Site
	l, report, err := OpenVerified(p, ask.Progress, r.entry)
	if err != nil {
		return nil, err
	}
	defer l.Close()
	if r.readTo = report.Tree.Size; !report.Sound() {
		if r, err = newReviewReader(shop, p, ask); err != nil {
			return nil, err
		}
	}
	if err := r.heed(report, ask); err != nil {
		return nil, err
	}
	if err := r.readLog(l, ask); err != nil {
		return nil, fmt.Errorf("reviewing the log: %w", err)
	}
	return r, nil
}

// newReviewReader reads the days that are asked for.
func newReviewReader(shop *Shop, p LogPlace, ask *ReviewAsk) (*reviewReader, error) {
	now := p.Now()
	r := newReader(shop, now.Location())
	today := triage.DateOf(now)
	s := r.s
	s.Now, s.To = now, today
	if ask.To != "" {
		var err error
		if s.To, err = triage.ParseDate(ask.To); err != nil {
			return nil, Usage("--to %q: %v", ask.To, err)
		}
		if s.To > today {
			return nil, Usage("--to %s is still to come (today is %s)", s.To, today)
		}
		if s.To < today {
			r.past = true
			s.Now = (s.To + 1).In(now.Location()).Add(-time.Second)
		}
	}
	if ask.From != "" {
		var err error
		if s.From, err = triage.ParseDate(ask.From); err != nil {
			return nil, Usage("--from %q: %v", ask.From, err)
		}
		if s.From > s.To {
			return nil, Usage("--from %s is after --to %s: name the first day and the last", s.From, s.To)
		}
	}
	tables, err := shop.tables()
	if err != nil {
		return nil, err
	}
	r.rules = newRuleDays(tables, s.To)
	on, flag := s.To, "--to"
	if ask.Rules != 0 {
		on, flag = ask.Rules, "--on"
	}
	if s.Rules, err = tables.On(on); err != nil {
		return nil, Usage("%s: %v", flag, err)
	}
	if len(s.Rules.Checks()) == 0 {
		return nil, Usage("%s: no check of a review is in force on %s: choose a later date", flag, on)
	}
	return r, nil
}

// tables are those of the shop: the shipped ones and its own.
func (s *Shop) tables() (triage.Tables, error) {
	tables, err := triage.Embedded()
	if err != nil {
		return nil, fmt.Errorf("loading the embedded rule tables: %w", err)
	}
	list := append(triage.Tables{}, tables...)
	if s.House != nil {
		list = append(list, s.House.Table())
	}
	return list, nil
}

// heed takes over what a verification found.
func (r *reviewReader) heed(report *logbook.Report, ask *ReviewAsk) error {
	var first *logbook.Problem
	for i := range report.Problems {
		x := &report.Problems[i]
		if x.File {
			r.wrongFiles[x.Entry] = x.Text
			continue
		}
		r.trouble(x.Entry, x.Text)
		first = cmp.Or(first, x)
	}
	if r.moreFiles = report.Sound() && report.More > 0; !r.moreFiles && report.More > 0 {
		more := &logbook.Problem{Text: fmt.Sprintf("%d more faults are not told here", report.More)}
		r.trouble(0, more.Text)
		first = cmp.Or(first, more)
	}
	if first != nil && !ask.DespiteDamage {
		where := ""
		if first.Entry > 0 {
			where = fmt.Sprintf("entry %d: ", first.Entry)
		}
		return &ExitError{ExitLog, fmt.Errorf("the log does not verify (%s%s), and a review of it may miss what was changed: pouchward log verify tells all; --despite-damage reviews it all the same",
			where, first.Text)}
	}
	r.s.Verified = true
	return nil
}

// read reads the log into the snapshot.
func (r *reviewReader) read(p LogPlace, ask *ReviewAsk) error {
	return ReadLog(p, func(l *logbook.Log) error {
		if err := r.readLog(l, ask); err != nil {
			return fmt.Errorf("reviewing the log: %w", err)
		}
		return nil
	})
}

func (r *reviewReader) readLog(l *logbook.Log, ask *ReviewAsk) error {
	size, err := r.counted(l)
	if err != nil {
		return err
	}
	r.site = ask.Site
	if r.readTo == 0 {
		r.entries(l, size)
	}
	s := r.s
	if ask.Site != "" && !r.sites[ask.Site] {
		return Usage("--site %q: the log has no entry of it; it has %s", ask.Site, quoted(r.sites))
	}
	if s.Entries.Count == 0 {
		return Usage("--to %s: the log has no entry by then", s.To)
	}
	s.Site = ask.Site
	if s.Site == "" {
		s.Site = r.firstSite
	} else if len(r.sites) > 1 {
		s.Counted = nil // the view knows no sites
	}
	if tree, err := l.TreeAt(size); err == nil { // else the verification has said why
		s.Entries.Root = fmt.Sprintf("%x", tree.Root[:])
	}
	r.finish()
	if ask.Unjudged {
		return nil
	}
	return r.changed(l)
}

// yearBefore is the first day of the year that ends with a day.
func yearBefore(to triage.Date) triage.Date {
	return triage.DateOf(to.In(time.UTC).AddDate(-1, 0, 1))
}
