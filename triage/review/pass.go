package review

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pouchward/triage"
)

// A pass is one check on its way through a snapshot.
type pass struct {
	*Snapshot
	index  *index
	check  *triage.Check
	ledger *Ledger

	findings []Finding
	at       map[string]int // in findings, by subject
	checked  int64
	untold   []string

	asked func(c *triage.Check, limit string) // nil but in the test that holds limits against records
}

// limit is a number of the check's record; a name that it does not have is a slip of
// this package, which a test of the records finds.
func (p *pass) limit(name string) int64 {
	if p.asked != nil {
		p.asked(p.check, name)
	}
	return p.check.Limits[name]
}

// hours is a limit as a duration.
func (p *pass) hours(name string) time.Duration { return time.Duration(p.limit(name)) * time.Hour }

// find adds a finding, unless it was over before the period or began after it. Of one
// subject there is one finding: what more is found of it is added to the first.
func (p *pass) find(f Finding) {
	if !f.Until.IsZero() && triage.DateOf(f.Until) < p.From || !f.Since.IsZero() && triage.DateOf(f.Since) > p.To {
		return
	}
	f.Check = p.check
	at, ok := p.at[f.Subject]
	if !ok {
		if p.at == nil {
			p.at = map[string]int{}
		}
		at = len(p.findings)
		p.at[f.Subject] = at
		p.findings = append(p.findings, Finding{Check: p.check, Subject: f.Subject, Since: f.Since, Until: f.Until})
	}
	p.findings[at].add(&f)
}

// mostTexts is how much of one subject a reader takes in at once.
const mostTexts = 3

// add takes over what else was found of the same subject.
func (f *Finding) add(o *Finding) {
	if o.Since.Before(f.Since) {
		f.Since = o.Since
	}
	if o.Open() || !f.Open() && o.Until.After(f.Until) {
		f.Until = o.Until
	}
	f.Tags = union(f.Tags, o.Tags)
	f.Entries = append(f.Entries, o.Entries...)
	slices.Sort(f.Entries)
	f.Entries = slices.DeleteFunc(slices.Compact(f.Entries), func(n int64) bool { return n == 0 })
	if strings.Contains(f.Text, o.Text) {
		return
	}
	switch f.texts++; {
	case f.texts == 1:
		f.Text = o.Text
	case f.texts <= mostTexts:
		f.Text += "; " + o.Text
	}
}

// union appends what is not there yet. A finding may touch every cell of a shop, so a
// long list is not gone through for each of another.
func union[T comparable](to, from []T) []T {
	if len(to)+len(from) > 64 { // too many to go through for each
		seen := map[T]bool{}
		for _, x := range to {
			seen[x] = true
		}
		for _, x := range from {
			if !seen[x] {
				seen[x] = true
				to = append(to, x)
			}
		}
		return to
	}
	for _, x := range from {
		if !slices.Contains(to, x) {
			to = append(to, x)
		}
	}
	return to
}

// within reports whether a moment lies in the period.
func (p *pass) within(t time.Time) bool {
	d := triage.DateOf(t)
	return d >= p.From && d <= p.To
}

// cannotTell notes what could not be told; n of them, nothing for none. format begins
// with a noun in the plural.
func (p *pass) cannotTell(n int64, format string, args ...any) {
	if n > 0 {
		p.untold = append(p.untold, CountOf(n, fmt.Sprintf(format, args...)))
	}
}

// today is the local day of Now.
func (p *pass) today() triage.Date { return triage.DateOf(p.Now) }

// minute prints a moment.
func minute(t time.Time) string { return t.Format("2006-01-02 15:04") }

// tagList names tags in words, at most eight.
func tagList(tags []string) string {
	var b strings.Builder
	for i, t := range tags {
		if i == 8 {
			fmt.Fprintf(&b, " and %d more", len(tags)-i)
			break
		}
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(triage.SpacedTag(t))
	}
	return b.String()
}

// plural counts in words: 1 cell, 2 cells.
func plural(n int64, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}
