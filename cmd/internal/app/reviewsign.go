package app

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/review"
)

// A SignOff answers a finding of a review.
type SignOff struct {
	Check   string // id of the check
	Subject string // of the finding
	Reason  string
	Until   string // last day on which it counts; blank: 30 days where it is open, without end where it is past
	From    string // first day of the review that shows it; blank: a year before today

	Progress Progress
}

// A SignedOff is what became of it.
type SignedOff struct {
	Finding *review.Finding // as it was signed
	Until   string          // last day on which the answer counts, blank: without end
	Receipt logbook.Receipt
}

// signedFor is how many days an answer to what is still so counts, where nobody said
// (common practice).
const signedFor = 30

// maxSignReason bounds a reason: a page is a paper, to be attached.
const maxSignReason = 1000

// SignOff runs the review, and writes that somebody answers one of its findings as it
// stands now. It takes no finding away.
func (r *Recording) SignOff(shop *Shop, act Act, x SignOff) (*SignedOff, error) {
	b := signOffBody{Check: strings.TrimSpace(x.Check), Subject: strings.TrimSpace(x.Subject), Reason: strings.TrimSpace(x.Reason)}
	if err := act.needWho("a sign-off"); err != nil {
		return nil, err
	}
	switch {
	case !triage.NamesSomebody(act.Who):
		return nil, Usage("a sign-off is answered for by a person, and %q names none: --who INITIALS", act.Who)
	case b.Reason == "":
		return nil, Usage("say why it may stand: --reason \"what was done, or why nothing was\"")
	case len(b.Reason) > maxSignReason:
		return nil, Usage("--reason is longer than %d characters: attach the paper (pouchward attach) and say it in short", maxSignReason)
	}
	if x.Until != "" {
		until, err := triage.ParseDate(x.Until)
		if err != nil {
			return nil, Usage("--until %q: %v", x.Until, err)
		}
		if today := triage.DateOf(r.now()); until < today {
			return nil, Usage("--until %s is over (today is %s): it would answer nothing", until, today)
		}
		b.Until = until.String()
	}
	out := &SignedOff{}
	// Nobody writes between the review and the entry: what is signed is what was found.
	err := r.log.Write(func(tx *logbook.Tx) error {
		report, err := Review(shop, LogPlace{Path: r.log.Path(), Options: logbook.Options{Now: r.now}}, ReviewAsk{From: x.From, Progress: x.Progress})
		if err != nil {
			return err
		}
		if out.Finding, err = findingOf(report, b.Check, b.Subject); err != nil {
			return err
		}
		b.Check, b.Subject, b.Entries = out.Finding.Check.ID, out.Finding.Subject, out.Finding.Entries
		b.About = out.Finding.Key()
		if b.Until == "" && out.Finding.Open() {
			// What goes on makes no new entry: it is asked again.
			b.Until = (triage.DateOf(r.now()) + signedFor).String()
		}
		out.Until = b.Until
		d, err := r.draft(nil, act, "sign-off", b)
		if err != nil {
			return err
		}
		out.Receipt, err = tx.Append(d)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("not signed off: %w", err)
	}
	return out, nil
}

// findingOf finds a finding by check and subject. A subject that is a tag may be typed
// as tags are printed.
func findingOf(report *review.Report, check, subject string) (*review.Finding, error) {
	if tag, _, err := triage.CheckTag(subject); err == nil && !hasSubject(report, check, subject) {
		subject = tag
	}
	var ofCheck, ofSubject, keys []string
	for i := range report.Findings {
		f := &report.Findings[i]
		keys = append(keys, f.Key())
		switch {
		case f.Check.ID == check && f.Subject == subject:
			return f, nil
		case f.Check.ID == check:
			ofCheck = append(ofCheck, f.Key())
		case f.Subject == subject:
			ofSubject = append(ofSubject, f.Key())
		}
	}
	key := strings.TrimSpace(check + " " + subject)
	near := first(append(ofCheck, ofSubject...))
	if near == "" {
		near = triage.Nearest(key, keys)
	}
	switch {
	case near != "":
		return nil, Usage("the review has no finding %q; it has %s", key, near)
	case len(keys) == 0:
		return nil, Usage("the review has no finding %q, nor any other", key)
	}
	return nil, Usage("the review has no finding %q; pouchward review lists what it has", key)
}

// mostNear is how many findings a refusal names.
const mostNear = 6

// first joins names, and counts those that are too many to read.
func first(names []string) string {
	if n := len(names) - mostNear; n > 0 {
		names = append(slices.Clone(names[:mostNear]), fmt.Sprintf("and %d more", n))
	}
	return strings.Join(names, "; ")
}

func hasSubject(report *review.Report, check, subject string) bool {
	return slices.ContainsFunc(report.Findings, func(f review.Finding) bool { return f.Check.ID == check && f.Subject == subject })
}
