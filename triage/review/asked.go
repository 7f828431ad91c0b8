package review

import (
	"fmt"
	"time"

	"pouchward/triage"
)

// rulesOld tells of the instruments in force whose text is known to an earlier day
// only. The verdicts since rest on a text that nobody here has read.
func rulesOld(p *pass) {
	p.checked = int64(len(p.Rules.Tables()))
	for _, in := range p.Rules.PastEdition() {
		until, err := triage.ParseDate(in.KnownUntil)
		if err != nil {
			continue // the rulebook would not have it among them
		}
		f := Finding{Subject: in.ID, Since: (until + 1).In(p.Now.Location()), Text: fmt.Sprintf("%s (%s) is known until %s only", in.ID, in.Title, until)}
		n := 0
		for i := range p.Cells {
			for j := range p.Cells[i].Steps {
				if s := &p.Cells[i].Steps[j]; s.Look != nil && s.Day() > until {
					if n++; n == 1 || s.Entry < f.Entries[0] {
						f.Entries = []int64{s.Entry}
					}
				}
			}
		}
		if n > 0 {
			f.Text += fmt.Sprintf("; %s judged since, the first by entry %d", plural(int64(n), "look"), f.Entries[0])
		}
		p.find(f)
	}
}

// recallList asks how old the shop's list of recalls is. With none nothing is looked
// up: whoever types that a cell is not recalled has to know it.
func recallList(p *pass) {
	f := Finding{Subject: "recall list"}
	if p.Recalls == nil {
		f.Text = "the house file names no recall list (recall_list), so that no part number was looked up"
		p.find(f)
		return
	}
	p.checked = 1
	by := p.Rules.Interval("recall-list-age")
	if by == nil {
		p.cannotTell(1, "recall list: no interval is in force")
		p.checked = 0
		return
	}
	if due := by.Next(p.Recalls.ReadOn); p.today() > due {
		f.Text = "the recall list does not say when it was read"
		if on := p.Recalls.ReadOn; on != 0 {
			f.Since = (due + 1).In(p.Now.Location())
			f.Text = fmt.Sprintf("the recall list was read on %s, %d days ago; it is to be copied %s", on, p.today()-on, by.Text())
		}
		p.find(f)
	}
}

// localOpen looks for questions of local rules that stood without an answer for longer
// than the interval, or whose answer lapsed.
func localOpen(p *pass) {
	by := p.Rules.Interval("local-rule-open")
	for _, q := range p.Rules.Locals() {
		if by == nil {
			p.cannotTell(1, "question %s: no interval is in force", q.ID)
			continue
		}
		p.checked++
		p.questioned(q, by)
	}
}

// questioned goes through the answers to one question. Without one it is open since
// the log began, after one since that lapsed or was asked anew; what was taken back is
// no answer.
func (p *pass) questioned(q *triage.Local, by *triage.Interval) {
	loc := p.Now.Location()
	open := Finding{Subject: q.ID, Since: p.began(), Entries: []int64{p.Entries.First}}
	open.Text = fmt.Sprintf("%s (ask %s) has no answer since the log began on %s", q.Question, q.Ask, triage.DateOf(open.Since))
	wait := true // the interval is waited for; a lapsed answer is none at once, as in the list of what is due
	tell := func(until time.Time) {
		from, end := triage.DateOf(open.Since)+1, triage.DateOf(until) // what lapsed may be answered that day
		if until.IsZero() {
			from, end = from-1, p.today()
		}
		if wait {
			from = by.Next(triage.DateOf(open.Since)) + 1
		}
		if end >= from {
			open.Until = until
			p.find(open)
		}
	}
	var lapses triage.Date // of the answer that holds, 0: it does not lapse
	holds := false
	lapse := func(by time.Time) {
		if holds && lapses != 0 && triage.DateOf(by) >= lapses {
			holds, wait = false, false
			open.Since = lapses.In(loc)
			open.Text = fmt.Sprintf("%s (ask %s): the answer lapsed on %s", q.Question, q.Ask, lapses)
		}
	}
	for i := range p.Answers {
		a := &p.Answers[i]
		if a.Void || a.Question != q.ID {
			continue
		}
		lapse(a.Happened)
		switch {
		case a.Given && !holds:
			tell(a.Happened)
		case !a.Given && holds:
			wait, open.Since = false, a.Happened
			open.Text = fmt.Sprintf("%s (ask %s) was asked anew on %s and has no answer", q.Question, q.Ask, a.Day())
		}
		holds, lapses, open.Entries = a.Given, a.Lapses, []int64{a.Entry}
	}
	if lapse(p.Now); !holds {
		tell(time.Time{})
	}
}

// began is when the log began. Where the first entry is not said, the earliest that is
// known stands for it.
func (p *pass) began() time.Time {
	at := p.Entries.Began
	if !at.IsZero() {
		return at
	}
	at = p.Now
	for i := range p.Cells {
		if s := p.Cells[i].Steps; len(s) > 0 && s[0].Entered.Before(at) {
			at = s[0].Entered
		}
	}
	for i := range p.Containers {
		if s := p.Containers[i].Steps; len(s) > 0 && s[0].Entered.Before(at) {
			at = s[0].Entered
		}
	}
	return at
}
