package app

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"fmt"
	"slices"

	"pouchward/triage"
)

// A demoPlant is a fault that the year holds on purpose, so that a review of the demo
// has something to find: one for each check that can be planted.
type demoPlant struct {
	check   string
	subject string // by which the review names it
	state   string // open or past
	what    string
}

const (
	plantOpen = "open"
	plantPast = "past"
)

// plant notes a fault as it is planted: which tag it gets is known then alone.
func (y *demoYear) plant(check, subject, state, what string) {
	if y.err == nil {
		y.planted = append(y.planted, demoPlant{check, subject, state, what})
	}
}

// demoUnplanted are the checks of which the demo holds no fault, and why.
var demoUnplanted = []struct{ check, why string }{
	{"review-log-damaged", "a log with this fault does not verify, and that of the demo does. Change a byte of a copy and try."},
	{"review-file-gone", "log verify would tell it of every demo. Take a file out of pouchward.db.files and try."},
	{"review-quantity", "five tonnes of cells are no small shop."},
	{"review-breached-mass", "100 kg of breached casings in a month are no small shop."},
	{"review-nobody-reports", "the demo has incidents, and fewer than 500 cells a year."},
}

// plantsTSV lists what was planted, the most severe first. Where the day lies past the
// edition that this program knows of a text, the review says so of every log: that is
// listed too.
func (y *demoYear) plantsTSV() ([]byte, error) {
	rb, err := y.tables.On(y.today)
	if err != nil {
		return nil, err
	}
	list := slices.Clone(y.planted)
	for _, in := range rb.PastEdition() {
		list = append(list, demoPlant{"review-rules-old", in.ID, plantOpen, "no fault of the shop: the day lies past the edition of this text that the program knows"})
	}
	checks := map[string]*triage.Check{}
	for _, c := range rb.Checks() {
		checks[c.ID] = c
	}
	for _, p := range list {
		if checks[p.check] == nil {
			return nil, fmt.Errorf("a fault of the demo is planted for %s, which is no check", p.check)
		}
	}
	slices.SortStableFunc(list, func(a, b demoPlant) int {
		return cmp.Or(cmp.Compare(checks[a.check].Rank(), checks[b.check].Rank()), cmp.Compare(a.state, b.state), cmp.Compare(a.check, b.check), cmp.Compare(a.subject, b.subject))
	})
	var out bytes.Buffer
	fmt.Fprintf(&out, "# INVENTED: the faults that pouchward demo planted in the log of %s, one of a kind.\n", y.today)
	out.WriteString("# A review finds each of them and nothing besides: pouchward review --to " + (y.today - 1).String() + "\n" +
		"# What the day itself owes, and nobody has done yet, comes to it from then on.\n# Not planted:\n")
	for _, x := range demoUnplanted {
		fmt.Fprintf(&out, "#   %s: %s\n", x.check, x.why)
	}
	if len(rb.PastEdition()) == 0 {
		out.WriteString("#   review-rules-old: it is of this program's texts and not of a log; none has ended by the day.\n")
	}
	w := csv.NewWriter(&out)
	w.Comma = '\t'
	_ = w.Write([]string{"rule", "subject", "severity", "state", "what"}) // a Buffer takes all
	for _, p := range list {
		_ = w.Write([]string{p.check, p.subject, checks[p.check].Severity, p.state, p.what})
	}
	w.Flush()
	return out.Bytes(), nil
}
