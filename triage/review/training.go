package review

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"pouchward/triage"
)

// A signature is a name under the packing, the check or the hand-over of packages.
type signature struct {
	name, did string
	step      *ShipmentStep
	tags      []string
	of        string // what was packed, checked or handed over
}

// signatures lists them in the order of the entries of each shipment. A package that
// left and whose closing the log does not have counts with its hand-over.
func (p *pass) signatures() (list []signature) {
	for i := range p.Shipments {
		s := &p.Shipments[i]
		closed := map[string]bool{}
		sign := func(st *ShipmentStep, pack *Package) {
			tags, of := []string{pack.Tag, s.Tag}, "package "+triage.SpacedTag(pack.Tag)
			list = append(list, signature{pack.PackedBy, "packed", st, tags, of}, signature{pack.CheckedBy, "checked", st, tags, of})
			closed[pack.Tag] = true
		}
		for j := range s.Steps {
			st := &s.Steps[j]
			for k := range st.Packages {
				pack := &st.Packages[k]
				if st.Did == "closed" && st.Package == pack.Tag || st.Did == "dispatched" && !closed[pack.Tag] {
					sign(st, pack)
				}
			}
			if st.Did == "dispatched" {
				list = append(list, signature{st.Who, "handed over", st, []string{s.Tag}, "shipment " + triage.SpacedTag(s.Tag)})
			}
		}
	}
	return list
}

// A spelling finds the first way in which a person's name was written, so that one
// person is one subject.
type spelling []string

func (x *spelling) of(name string) string {
	i := slices.IndexFunc(*x, func(s string) bool { return triage.SamePerson(s, name) })
	if i < 0 {
		*x = append(*x, strings.TrimSpace(name))
		i = len(*x) - 1
	}
	return (*x)[i]
}

// untrained looks for names whose training was not on record, or had run out, on the
// day. Which topics a person needs is not judged. A training given later makes it past.
func untrained(p *pass) {
	var nameless int64
	var names spelling
	for _, x := range p.signatures() {
		in := p.within(x.step.Happened)
		if !triage.NamesSomebody(x.name) {
			if in {
				nameless++
			}
			continue
		}
		if in {
			p.checked++
		}
		name := names.of(x.name)
		holds, last := p.trainedOn(name, x.step.Day())
		if holds {
			continue
		}
		f := Finding{Subject: name, Tags: x.tags, Entries: []int64{x.step.Entry}, Since: x.step.Happened, Until: p.trainedAfter(name, x.step.Day()),
			Text: fmt.Sprintf("%s %s %s on %s, ", name, x.did, x.of, minute(x.step.Happened))}
		switch {
		case last == nil:
			f.Text += "no training on record by that day"
		case last.Failed:
			f.Text += fmt.Sprintf("the training on %s of %s not passed", last.Topic, last.given())
		default:
			f.Text += fmt.Sprintf("the last training on record, on %s, had run out: given %s, until %s", last.Topic, last.given(), p.runsOut(last))
		}
		if last != nil {
			f.Entries = append(f.Entries, last.Entry)
		}
		p.find(f)
	}
	p.cannotTell(nameless, "names left out under packings, checks and hand-overs")
}

// given is the day of a training; where the entry does not say it, its own.
func (t *Training) given() triage.Date { return cmp.Or(t.Given, t.Day()) }

// trainedOn reports whether any training of a person holds on a day. The last on a
// topic counts: one that was not passed takes back the one before. last is that given
// last, nil for none.
func (p *pass) trainedOn(name string, day triage.Date) (holds bool, last *Training) {
	topics := map[string]*Training{}
	for i := range p.Trainings {
		t := &p.Trainings[i]
		if t.Void || t.given() > day || !triage.SamePerson(t.Name, name) {
			continue
		}
		topic := strings.ToLower(t.Topic)
		if old := topics[topic]; old == nil || t.given() >= old.given() {
			topics[topic] = t
		}
		if last == nil || t.given() >= last.given() {
			last = t
		}
	}
	for _, t := range topics {
		holds = holds || !t.Failed && day <= p.runsOut(t)
	}
	return holds, last
}

// runsOut is the last day on which a training counts: its own, else that of the
// interval of the country that is most binding, the shorter of two.
func (p *pass) runsOut(t *Training) triage.Date {
	if t.Until != 0 {
		return t.Until
	}
	var by *triage.Interval
	country := cmp.Or(p.Country, triage.BaselineCountry)
	weight := func(i *triage.Interval) int { return slices.Index([]string{"notice", "due", "overdue"}, i.Severity) }
	for _, i := range p.Rules.Intervals("training") {
		if i.Country != "" && i.Country != country {
			continue
		}
		if by == nil || weight(i) > weight(by) || weight(i) == weight(by) && i.Next(t.given()) < by.Next(t.given()) {
			by = i
		}
	}
	if by == nil {
		return t.given() // nothing says that it holds longer
	}
	return by.Next(t.given())
}

// trainedAfter is when a person was trained after a day; zero where nobody did.
func (p *pass) trainedAfter(name string, day triage.Date) (at time.Time) {
	for i := range p.Trainings {
		t := &p.Trainings[i]
		if t.Void || t.Failed || t.given() <= day || !triage.SamePerson(t.Name, name) {
			continue
		}
		if m := t.given().In(p.Now.Location()); at.IsZero() || m.Before(at) {
			at = m
		}
	}
	return at
}
