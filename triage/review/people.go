package review

import (
	"fmt"
	"slices"
	"time"

	"pouchward/triage"
)

// onePairOfHands looks for packages that were checked by who packed them, or by
// nobody. It is past once the package was opened again, or has left. In a shop of one
// it is the custom, and told as what was not checked.
func onePairOfHands(p *pass) {
	var alone, nameless int64
	for i := range p.Shipments {
		s := &p.Shipments[i]
		for j := range s.Steps {
			st := &s.Steps[j]
			at := slices.IndexFunc(st.Packages, func(x Package) bool { return x.Tag == st.Package })
			if st.Did != "closed" || at < 0 {
				continue
			}
			pack, in := &st.Packages[at], p.within(st.Happened)
			one := triage.SamePerson(pack.PackedBy, pack.CheckedBy) || !triage.NamesSomebody(pack.CheckedBy)
			switch {
			case !one && triage.NamesSomebody(pack.PackedBy):
				if in {
					p.checked++
				}
				continue
			case !one:
				if in {
					nameless++
				}
				continue
			case p.Solo:
				if in {
					alone++
				}
				continue
			}
			if in {
				p.checked++
			}
			text := fmt.Sprintf("package %s was packed and checked by %s, closed on %s", triage.SpacedTag(pack.Tag), said(pack.PackedBy), minute(st.Happened))
			if !triage.NamesSomebody(pack.CheckedBy) {
				text = fmt.Sprintf("package %s was packed by %s and checked by nobody, closed on %s", triage.SpacedTag(pack.Tag), said(pack.PackedBy), minute(st.Happened))
			}
			p.find(Finding{Subject: pack.Tag, Tags: []string{pack.Tag, s.Tag}, Entries: []int64{st.Entry}, Since: st.Happened, Until: closedUntil(s, j), Text: text})
		}
	}
	p.cannotTell(alone, "packages with no second person, in a shop of one (solo in the house file)")
	p.cannotTell(nameless, "packages of which nobody is named as packer")
}

// closedUntil is when a package closed at the jth step was opened or closed anew, or
// left; zero where it stands here as it was. What came back stands here again.
func closedUntil(s *Shipment, j int) (at time.Time) {
	for i := range s.Steps[j+1:] {
		st := &s.Steps[j+1+i]
		switch {
		case (st.Did == "reopened" || st.Did == "closed") && st.Package == s.Steps[j].Package:
			return st.Happened
		case st.Did == "dispatched":
			at = st.Happened
		case st.Did == "refused":
			at = time.Time{}
		}
	}
	return at
}

// notInformed looks for people who handled cells in the period and had no training on
// record by then. Being told once is what is asked, so none runs out here; one not
// passed tells nothing. A training given later makes it past.
func notInformed(p *pass) {
	var names spelling
	var nameless int64
	for i := range p.People {
		x := &p.People[i]
		if x.First.Entry == 0 {
			continue
		}
		if !triage.NamesSomebody(x.Name) {
			nameless += x.Entries
			continue
		}
		p.checked++
		told := slices.ContainsFunc(p.Trainings, func(t Training) bool {
			return !t.Void && !t.Failed && t.given() <= x.First.Day() && triage.SamePerson(t.Name, x.Name)
		})
		if told {
			continue
		}
		// The first entry of all, so that the finding rests on the same one tomorrow.
		began := x.First
		if x.Began.Entry != 0 {
			began = x.Began
		}
		name := names.of(x.Name)
		p.find(Finding{Subject: name, Entries: []int64{began.Entry}, Since: began.Happened, Until: p.trainedAfter(name, x.First.Day()),
			Text: fmt.Sprintf("%s has handled cells since %s, no training on record by %s", name, minute(began.Happened), x.First.Day())})
	}
	p.cannotTell(nameless, "entries about cells under no name")
}
