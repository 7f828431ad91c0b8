package review

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"pouchward/triage"
)

// byTime puts records in the order in which they happened: one entered late closes
// nothing that was found after it.
func byTime[T any](list []T, source func(*T) *Source) (sorted []*T) {
	for i := range list {
		sorted = append(sorted, &list[i])
	}
	slices.SortStableFunc(sorted, func(a, b *T) int {
		x, y := source(a), source(b)
		return cmp.Or(x.Happened.Compare(y.Happened), cmp.Compare(x.Entry, y.Entry))
	})
	return sorted
}

// roundsOf are the rounds of each place or container, in the order in which they were
// made. One that was taken back found nothing and closes nothing.
func (p *pass) roundsOf() (abouts []string, rounds map[string][]*Round) {
	rounds = map[string][]*Round{}
	for _, r := range byTime(p.Rounds, func(r *Round) *Source { return &r.Source }) {
		if !r.Void {
			rounds[r.About] = append(rounds[r.About], r)
		}
	}
	return slices.Sorted(maps.Keys(rounds)), rounds
}

// placeTags are the tags of what was gone round: a container's own, none of a place.
func (p *pass) placeTags(about string) []string {
	if p.index.boxes[about] == nil {
		return nil
	}
	return []string{about}
}

func (p *pass) placeName(about string) string {
	if p.index.boxes[about] == nil {
		return about
	}
	return triage.SpacedTag(about)
}

// every is the shortest interval between rounds in force, nil for none.
func (p *pass) every() (by *triage.Interval) {
	for _, i := range p.Rules.Intervals("inspection") {
		if by == nil || i.Next(p.today()) < by.Next(p.today()) {
			by = i
		}
	}
	return by
}

// lateAfter is when something that an interval asks for again is late: the share
// late_pct of it later than it is up.
func (p *pass) lateAfter(by *triage.Interval, from time.Time) time.Time {
	up := by.NextTime(from)
	return up.Add(up.Sub(from) * time.Duration(p.limit("late_pct")) / 100)
}

// counted and scanned differences of a round; an Extra or Missing tag is one of tags.
func (r *Round) countDiffers() bool { return r.Found != nil && *r.Found != r.Expected }
func (r *Round) tagsDiffer() bool   { return len(r.Missing)+len(r.Extra) > 0 }

// settles reports whether a later round shows that what differed no longer does. A
// count says nothing of which tags are there, and a scan nothing of cells in lots.
func (r *Round) settles(before *Round) bool {
	if r.countDiffers() || r.tagsDiffer() || before.tagsDiffer() && !r.Scanned {
		return false
	}
	return !before.countDiffers() || r.Found != nil || r.Scanned && r.InLots == 0
}

// countDiffers looks for rounds that did not find what the log had there.
func countDiffers(p *pass) {
	var late, void int64
	for i := range p.Rounds {
		if r := &p.Rounds[i]; r.Void && (r.countDiffers() || r.tagsDiffer()) && p.within(r.Happened) {
			void++
		}
	}
	abouts, rounds := p.roundsOf()
	for _, about := range abouts {
		list := rounds[about]
		for i, r := range list {
			if r.Found == nil && !r.Scanned {
				continue
			}
			if r.countDiffers() || r.tagsDiffer() {
				p.differs(about, r, list[i+1:])
			} else if r.Entered.Sub(r.Happened) > time.Minute && p.within(r.Happened) {
				late++
				continue
			}
			if p.within(r.Happened) {
				p.checked++
			}
		}
	}
	p.cannotTell(late, "rounds entered late, and so held against the log of a later moment")
	p.cannotTell(void, "rounds taken back that had found a difference")
}

// differs tells the difference of one round.
func (p *pass) differs(about string, r *Round, after []*Round) {
	var what []string
	if r.countDiffers() {
		what = append(what, fmt.Sprintf("found %s, the log had %d", plural(*r.Found, "cell"), r.Expected))
	}
	if len(r.Missing) > 0 {
		what = append(what, "not there: "+tagList(r.Missing))
	}
	if len(r.Extra) > 0 {
		what = append(what, "there and not so in the log: "+tagList(r.Extra))
	}
	f := Finding{Subject: about, Tags: append(p.placeTags(about), append(slices.Clone(r.Missing), r.Extra...)...), Entries: []int64{r.Entry}, Since: r.Happened,
		Text: fmt.Sprintf("%s, round of %s: %s", p.placeName(about), minute(r.Happened), strings.Join(what, ", "))}
	if i := slices.IndexFunc(after, func(x *Round) bool { return x.settles(r) }); i >= 0 {
		f.Until, f.Entries = after[i].Happened, append(f.Entries, after[i].Entry)
		f.Text += ", as the log has it on " + minute(f.Until)
	}
	p.find(f)
}

// faultWords say what a no to each question of a round is.
var faultWords = map[string]string{"closed": "not closed", "sound": "a container not sound", "labelled": "not labelled", "dated": "no date on a label",
	"alone": "something else stored there", "quiet": "heat, a smell or a hiss"}

// A fault is what rounds found at a place from the first no to the next yes.
type fault struct {
	about, check string
	rounds       []*Round // that said no
	right        *Round   // that said yes, nil for none
}

// roundOpen looks for faults that no later round found put right. What was written as
// done about it does not end it, nor does a round that did not look. Put right by the
// next round that was owed, it is in order; later, it is past.
func roundOpen(p *pass) {
	abouts, rounds := p.roundsOf()
	by := p.every()
	var past []*fault
	for _, about := range abouts {
		for _, x := range faultsOf(about, rounds[about]) {
			first := x.rounds[0].Happened
			switch {
			case x.right == nil:
				if p.bearsOn(first, time.Time{}) {
					p.checked++
				}
				p.findFault(x) // before those that are past: a reader sees three
			case p.bearsOn(first, x.right.Happened):
				if p.checked++; by == nil || x.right.Happened.After(p.lateAfter(by, first)) {
					past = append(past, x)
				}
			}
		}
	}
	for _, x := range past {
		p.findFault(x)
	}
	var void int64
	for i := range p.Rounds {
		r := &p.Rounds[i]
		if r.Void && p.within(r.Happened) && slices.Contains(slices.Collect(maps.Values(r.Checks)), "no") {
			void++
		}
	}
	p.cannotTell(void, "rounds taken back that had found a fault")
}

func faultsOf(about string, list []*Round) (faults []*fault) {
	open := map[string]*fault{}
	for _, r := range list {
		for _, check := range slices.Sorted(maps.Keys(r.Checks)) {
			x := open[check]
			switch said := r.Checks[check]; {
			case said == "no" && x == nil:
				x = &fault{about: about, check: check, rounds: []*Round{r}}
				open[check], faults = x, append(faults, x)
			case said == "no":
				x.rounds = append(x.rounds, r)
			case said == "yes" && x != nil:
				x.right = r
				delete(open, check)
			}
		}
	}
	return faults
}

func (p *pass) findFault(x *fault) {
	what := faultWords[x.check]
	if what == "" {
		what = "no to " + x.check
	}
	f := Finding{Subject: x.about, Tags: p.placeTags(x.about), Since: x.rounds[0].Happened, Text: fmt.Sprintf("%s: %s, round of %s", p.placeName(x.about), what, minute(x.rounds[0].Happened))}
	if n := len(x.rounds) - 1; n > 0 {
		f.Text += " and " + plural(int64(n), "later one")
	}
	var action string
	for _, r := range x.rounds {
		f.Entries = append(f.Entries, r.Entry)
		if r.Action != "" {
			action = r.Action
		}
	}
	if action != "" {
		f.Text += ", said to be done: " + action
	}
	if x.right != nil {
		f.Until, f.Entries = x.right.Happened, append(f.Entries, x.right.Entry)
		f.Text += ", put right by the round of " + minute(f.Until)
	}
	p.find(f)
}
