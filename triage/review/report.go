package review

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"pouchward/triage"
)

// A Finding is one matter that a reviewer would ask about.
type Finding struct {
	Check   *triage.Check
	Subject string    // what it is about: a tag, a place, a name; with the check it is the key of sign-offs
	Tags    []string  // of cells, containers and shipments that it touches
	Entries []int64   // that it rests on, in order, each once
	Since   time.Time // when it began
	Until   time.Time // when it was over; zero: it is open
	Text    string    // what was found, plain clauses with figures and dates, without a full stop at the end
	Signed  *SignOff  // nil: nobody answered it, or what was answered has changed
	Stale   *SignOff  // an answer that no longer counts

	texts int // how much was found of the subject
}

// Open reports whether it is so at the moment reviewed for.
func (f *Finding) Open() bool { return f.Until.IsZero() }

// Key is check and subject, by which a finding is signed off.
func (f *Finding) Key() string { return f.Check.ID + " " + f.Subject }

// Presses reports whether it keeps a review from ending well: critical or major, open,
// and not signed off.
func (f *Finding) Presses() bool { return f.Check.Rank() <= 1 && f.Open() && f.Signed == nil }

// A Clean is a check that found nothing.
type Clean struct {
	Check   *triage.Check
	Checked int64  // of what Check.Counts names; 0: there was nothing to go through
	Untold  string // what could not be told, blank for nothing
}

// A Report is what a review gives.
type Report struct {
	Snapshot *Snapshot
	Findings []Finding // worst first
	Clean    []Clean   // in the order of the records
	Untold   []Clean   // checks with findings, and what they could not tell besides
	Unseen   []*triage.Check
	Ledger   *Ledger
	Sample   Sample
}

// Pressing counts the findings that keep a review from ending well.
func (r *Report) Pressing() (n int) {
	for i := range r.Findings {
		if r.Findings[i].Presses() {
			n++
		}
	}
	return n
}

// Run reviews a snapshot. seed chooses the sample.
func Run(s *Snapshot, seed string) *Report {
	r := &Report{Snapshot: s, Ledger: NewLedger(s), Sample: NewSample(s, seed)}
	x := newIndex(s)
	var passes []*pass
	for _, c := range s.Rules.Checks() {
		if c.Unseen != "" {
			r.Unseen = append(r.Unseen, c)
			continue
		}
		passes = append(passes, &pass{Snapshot: s, index: x, check: c, ledger: r.Ledger})
	}
	lookAll(passes)
	for _, p := range passes {
		c := p.check
		for i := range p.findings {
			if f := &p.findings[i]; f.texts > mostTexts {
				f.Text += fmt.Sprintf("; and %d more", f.texts-mostTexts)
			}
		}
		switch x := (Clean{c, p.checked, strings.Join(p.untold, "; ")}); {
		case len(p.findings) == 0:
			r.Clean = append(r.Clean, x)
		case x.Untold != "":
			r.Untold = append(r.Untold, x)
		}
		r.Findings = append(r.Findings, p.findings...)
	}
	for i := range r.Findings {
		r.Findings[i].sign(s)
	}
	slices.SortStableFunc(r.Findings, worse)
	return r
}

// atOnce is how many checks run beside one another: this package asks nothing of the
// machine, and a shop's has a few processors.
const atOnce = 4

// lookAll runs the checks. Each writes into its
// own pass and nowhere else, so that the order in which they run changes nothing.
func lookAll(passes []*pass) {
	var next atomic.Int64
	var workers sync.WaitGroup
	for range atOnce {
		workers.Go(func() {
			for i := next.Add(1) - 1; i < int64(len(passes)); i = next.Add(1) - 1 {
				p := passes[i]
				if look := looks[p.check.ID]; look != nil {
					look(p)
				} else {
					p.untold = append(p.untold, "this program has no function for it")
				}
			}
		})
	}
	workers.Wait()
}

// worse puts the worst first.
func worse(a, b Finding) int {
	over := func(f *Finding) int {
		if f.Open() {
			return 0
		}
		return 1
	}
	return cmp.Or(cmp.Compare(a.Check.Rank(), b.Check.Rank()), cmp.Compare(over(&a), over(&b)), a.Since.Compare(b.Since),
		cmp.Compare(a.Check.ID, b.Check.ID), cmp.Compare(a.Subject, b.Subject))
}

// sign finds the sign-off of a finding. The last word counts; it answers the entries
// that it names and no later one.
func (f *Finding) sign(s *Snapshot) {
	for i := range slices.Backward(s.SignOffs) {
		x := &s.SignOffs[i]
		if x.Void || x.Check != f.Check.ID || x.Subject != f.Subject {
			continue
		}
		more := slices.ContainsFunc(f.Entries, func(n int64) bool { return !slices.Contains(x.Entries, n) })
		if more || x.Until != 0 && x.Until < triage.DateOf(s.Now) {
			f.Stale = x
		} else {
			f.Signed = x
		}
		return
	}
}
