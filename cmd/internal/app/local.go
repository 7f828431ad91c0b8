package app

import (
	"fmt"
	"strings"
	"time"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// A LocalAnswer is what an authority said to a question of local rules; it is
// the body of a record with the subject "local-rule". The last one about a
// question holds.
type LocalAnswer struct {
	Subject   string `json:"subject"`
	About     string `json:"about"` // id of the question
	Question  string `json:"question"`
	Answer    string `json:"answer"` // blank: asked anew, the one before no longer holds
	Authority string `json:"authority,omitempty"`
	Asked     string `json:"asked,omitempty"` // person or office
	Source    string `json:"source,omitempty"`
	AskedOn   string `json:"asked_on,omitempty"`
	Lapses    string `json:"lapses,omitempty"` // day from which it no longer holds
	Reason    string `json:"reason,omitempty"` // of asking anew
}

// maxLocalText bounds each text of an answer: a page is a paper, to be attached.
const maxLocalText = 1000

// AnswerLocal records an answer.
func (r *Recording) AnswerLocal(shop *Shop, act Act, x LocalAnswer) (exports.LocalRow, logbook.Receipt, error) {
	today := triage.DateOf(r.now())
	if err := act.needWho("an answer"); err != nil {
		return exports.LocalRow{}, logbook.Receipt{}, err
	}
	for _, t := range []struct{ flag, text string }{{"--answer", x.Answer}, {"--authority", x.Authority}, {"--asked", x.Asked}, {"--source", x.Source}} {
		if strings.TrimSpace(t.text) == "" {
			return exports.LocalRow{}, logbook.Receipt{}, Usage("an answer without its %s cannot be checked later: give %s", strings.TrimPrefix(t.flag, "--"), t.flag)
		}
	}
	if x.AskedOn == "" {
		x.AskedOn = triage.DateOf(r.at(act.Happened)).String()
	}
	asked, err := triage.ParseDate(x.AskedOn)
	switch {
	case err != nil:
		return exports.LocalRow{}, logbook.Receipt{}, Usage("--asked-on %q: %v", x.AskedOn, err)
	case asked > today:
		return exports.LocalRow{}, logbook.Receipt{}, Usage("--asked-on %s is still to come", x.AskedOn)
	}
	if x.Lapses != "" {
		lapses, err := triage.ParseDate(x.Lapses)
		switch {
		case err != nil:
			return exports.LocalRow{}, logbook.Receipt{}, Usage("--lapses %q: %v", x.Lapses, err)
		case lapses <= asked:
			return exports.LocalRow{}, logbook.Receipt{}, Usage("--lapses %s is not after the day on which it was asked, %s", x.Lapses, x.AskedOn)
		case lapses <= today:
			return exports.LocalRow{}, logbook.Receipt{}, Usage("--lapses %s: an answer that no longer holds is none; ask again", x.Lapses)
		}
	}
	return r.putLocal(shop, act, x)
}

// ReopenLocal records that an answer no longer holds, or was given to another
// question: until the next one the question is open.
func (r *Recording) ReopenLocal(shop *Shop, act Act, id, reason string) (exports.LocalRow, logbook.Receipt, error) {
	if err := act.needWho("asking anew"); err != nil {
		return exports.LocalRow{}, logbook.Receipt{}, err
	}
	if strings.TrimSpace(reason) == "" {
		return exports.LocalRow{}, logbook.Receipt{}, Usage("say why: --reason \"the official has changed\"")
	}
	// What lapses today is due today, for readers that know no more of it.
	return r.putLocal(shop, act, LocalAnswer{About: id, Reason: reason, Lapses: triage.DateOf(r.now()).String()})
}

func (r *Recording) putLocal(shop *Shop, act Act, x LocalAnswer) (row exports.LocalRow, receipt logbook.Receipt, err error) {
	q, err := localByID(shop.Rulebook, x.About)
	if err != nil {
		return row, receipt, err
	}
	for _, text := range []string{x.Answer, x.Authority, x.Asked, x.Source, x.Reason} {
		if len(text) > maxLocalText {
			return row, receipt, Usage("%.30q... is longer than %d characters: attach the paper (pouchward attach) and say it in short", text, maxLocalText)
		}
	}
	x.Subject, x.Question = "local-rule", q.Question
	d, err := r.draft(shop, act, "record", x)
	if err != nil {
		return row, receipt, err
	}
	if receipt, err = r.log.Append(d); err != nil {
		return row, receipt, fmt.Errorf("not recorded: %w", err)
	}
	e := &logbook.Entry{Draft: d, Number: receipt.Number}
	return localRow(q, &answered{LocalAnswer: x, entry: e}, shop.Rulebook.On), receipt, nil
}

func localByID(rb *triage.Rulebook, id string) (*triage.Local, error) {
	var ids []string
	for _, q := range rb.Locals() {
		if q.ID == id {
			return q, nil
		}
		ids = append(ids, q.ID)
	}
	if near := triage.Nearest(id, ids); near != "" {
		return nil, Usage("no question %q; did you mean %s? (pouchward local list)", id, near)
	}
	return nil, Usage("no question %q; pouchward local list shows them", id)
}

// answered is an answer on record.
type answered struct {
	LocalAnswer
	entry *logbook.Entry
}

// holds reports whether it answers its question on a day. What cannot be read
// has lapsed.
func (a *answered) holds(on triage.Date) bool {
	if a == nil || strings.TrimSpace(a.Answer) == "" {
		return false
	}
	lapses, err := triage.ParseDate(a.Lapses)
	return a.Lapses == "" || err == nil && on < lapses
}

// readAnswers reads the last answer to each question.
func readAnswers(l *logbook.Log) (map[string]*answered, error) {
	list, err := l.Latest("local-rule")
	if err != nil {
		return nil, err
	}
	m := map[string]*answered{}
	for _, e := range list {
		a := &answered{entry: e}
		if err := e.Body.Decode(&a.LocalAnswer); err != nil {
			return nil, fmt.Errorf("entry %d: %w", e.Number, err)
		}
		m[a.About] = a
	}
	return m, nil
}

// Locals lists every question with how it stands on a day; without a log, l is
// nil, all are open.
func Locals(l *logbook.Log, rb *triage.Rulebook, on triage.Date) ([]exports.LocalRow, error) {
	answers, began := map[string]*answered{}, ""
	if l != nil {
		var err error
		if answers, err = readAnswers(l); err != nil {
			return nil, err
		}
		first, err := l.Entry(1)
		if err != nil {
			return nil, err
		}
		began = dayOf(first).String()
	}
	var list []exports.LocalRow
	for _, q := range rb.Locals() {
		x := localRow(q, answers[q.ID], on)
		if x.Entry == 0 {
			x.Since = began
		}
		list = append(list, x)
	}
	return list, nil
}

func localRow(q *triage.Local, a *answered, on triage.Date) exports.LocalRow {
	x := exports.LocalRow{ID: q.ID, Question: q.Question, Ask: q.Ask, State: exports.LocalOpen}
	if a == nil {
		return x
	}
	x.Answer, x.Authority, x.Asked, x.AskedOn, x.Source, x.Lapses, x.By, x.Entry =
		a.Answer, a.Authority, a.Asked, a.AskedOn, a.Source, a.Lapses, a.entry.Who, a.entry.Number
	switch {
	case strings.TrimSpace(a.Answer) == "":
		x.Since, x.Lapses, x.Reason = dayOf(a.entry).String(), "", a.Reason
	case a.holds(on):
		x.State, x.Since = exports.LocalAnswered, a.AskedOn
	default:
		x.State, x.Since = exports.LocalLapsed, a.Lapses
	}
	return x
}

// localBusy is how long a card waits for a log that somebody holds.
const localBusy = time.Second

// OpenLocals tells which questions of local rules have an answer on a day. The
// log is read when it is first asked, so that a card without a question does not
// wait for one. Without a log, or with one that cannot be read, none has: a card
// that asks too much does less harm than one that takes an answer for granted.
func OpenLocals(p LogPlace, rb *triage.Rulebook, on triage.Date) (hasAnswer func(id string) bool) {
	var answers map[string]*answered
	read := false
	return func(id string) bool {
		if !read {
			read = true
			p.Busy = localBusy
			_ = ReadLog(p, func(l *logbook.Log) (err error) {
				answers, err = readAnswers(l)
				return err
			})
		}
		return answers[id].holds(on)
	}
}
