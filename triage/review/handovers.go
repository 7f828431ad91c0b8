package review

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/triage"
)

// sentUnaccepted looks for hand-overs to which the consignee had not said yes, or not
// any more, or not to all that went. It is over when the consignee took it, or it came
// back: nothing can be asked then. A paper attached does not end it, since no log can
// tell what stands on it.
func sentUnaccepted(p *pass) {
	var undated, unclassed int64
	p.departures(func(d *departure) {
		why, entries := d.unaccepted()
		n := p.sentBeyond(d, &why, &entries)
		if len(why) > 0 {
			p.find(Finding{Subject: d.ship.Tag, Tags: d.tags(), Entries: append(entries, d.step.Entry), Since: d.step.Happened, Until: d.ended(),
				Text: d.name() + ": " + strings.Join(why, "; ")})
		}
		if !p.within(d.step.Happened) {
			return
		}
		unclassed += n
		if d.handover().Until == 0 {
			undated++
		} else if n == 0 {
			p.checked++
		}
	})
	p.cannotTell(undated, "hand-overs whose acceptance names no last day")
	p.cannotTell(unclassed, "packages of which no condition is recorded")
}

// unaccepted says what the consignee's yes lacks, without regard to what went.
func (d *departure) unaccepted() (why []string, entries []int64) {
	h := d.handover()
	switch by, ref := unsaid(h.AcceptedBy), unsaid(h.Ref); {
	case by && ref:
		return []string{"no acceptance by the consignee is recorded"}, nil
	case by:
		why = append(why, "who at the consignee accepted it is not recorded, reference "+h.Ref)
	case ref:
		why = append(why, h.AcceptedBy+" accepted it under no reference")
	}
	if h.Until != 0 && h.Until < d.step.Day() {
		why = append(why, fmt.Sprintf("the acceptance %s had run out on %s", h.Ref, h.Until))
	}
	return why, nil
}

// sentBeyond adds the conditions of cells that went and that the acceptance does not
// name, as the package was closed and as the cells were known. n counts the packages of
// which neither says anything.
func (p *pass) sentBeyond(d *departure, why *[]string, entries *[]int64) (n int64) {
	h := d.handover()
	if unsaid(h.AcceptedBy) && unsaid(h.Ref) {
		return 0 // there is nothing to hold it against
	}
	went := map[triage.ConditionClass][]string{}
	for i := range d.step.Packages {
		pack := &d.step.Packages[i]
		told := len(pack.Conditions) > 0
		for _, c := range pack.Conditions {
			if !slices.Contains(h.Accepts, c) {
				went[c] = union(went[c], []string{pack.Tag})
			}
		}
		for _, tag := range pack.Cells {
			s, entry := d.leftAs(p.index.cells[tag])
			if s == nil {
				continue
			}
			told = true
			if !slices.Contains(h.Accepts, s.Condition) {
				went[s.Condition] = union(went[s.Condition], []string{tag})
				*entries = append(*entries, entry)
			}
		}
		if !told {
			n++
		}
	}
	for c := triage.Undamaged; c <= triage.Reacting; c++ {
		if tags := went[c]; len(tags) > 0 {
			*why = append(*why, fmt.Sprintf("the acceptance %s is for %s, and %s went: %s", h.Ref, conditionWords(h.Accepts), c, tagList(tags)))
		}
	}
	return n
}

func conditionWords(list []triage.ConditionClass) string {
	if len(list) == 0 {
		return "no condition"
	}
	var words []string
	for _, c := range list {
		words = append(words, c.String())
	}
	return strings.Join(words, ", ")
}

// kept reports whether the record of a hand-over still has to be kept: what it lacks
// is of no matter after that.
func (p *pass) kept(d *departure) bool {
	return p.today() < d.step.Day()+triage.Date(p.limit("keep_days"))
}

// shipmentRecord looks for hand-overs of which the log does not say to whom, by whom,
// when and how much. Whether the consignee's address stands with its name is not judged.
func shipmentRecord(p *pass) {
	p.departures(func(d *departure) {
		if p.within(d.step.Happened) {
			p.checked++
		}
		if lacks := d.lacks(); len(lacks) > 0 && p.kept(d) {
			p.find(Finding{Subject: d.ship.Tag, Tags: d.tags(), Entries: []int64{d.step.Entry}, Since: d.step.Happened,
				Text: d.name() + ", not recorded: " + strings.Join(lacks, ", ")})
		}
	})
}

func (d *departure) lacks() (list []string) {
	h := d.handover()
	var uncounted, unweighed int
	for i := range d.step.Packages {
		if len(d.step.Packages[i].Cells) == 0 {
			uncounted++
		}
		if d.step.Packages[i].NetMg <= 0 {
			unweighed++
		}
	}
	for _, x := range []struct {
		lacks bool
		what  string
	}{
		{unsaid(d.step.Consignee), "who receives it"},
		{unsaid(h.Carrier), "who carries it"},
		{d.step.Offered == 0 && h.At.IsZero(), "the day of the hand-over"},
		{len(d.step.Packages) == 0, "what is in it"},
		{uncounted > 0, fmt.Sprintf("how many cells are in %d of its packages", uncounted)},
		{unweighed > 0, fmt.Sprintf("the net mass of %d of its packages", unweighed)},
	} {
		if x.lacks {
			list = append(list, x.what)
		}
	}
	return list
}

// paperCopy looks for hand-overs that owed papers and have none attached. A certificate
// is the consignee's receipt and a photo is of a package: neither is the copy.
func paperCopy(p *pass) {
	var unknown int64
	p.departures(func(d *departure) {
		if d.step.Handover == nil {
			if p.within(d.step.Happened) {
				unknown++
			}
			return
		}
		if !d.step.Handover.Papers {
			return
		}
		if p.within(d.step.Happened) {
			p.checked++
		}
		if p.kept(d) && !slices.ContainsFunc(p.Files, func(f File) bool { return f.What == "paper" && d.owns(&f) }) {
			p.find(Finding{Subject: d.ship.Tag, Tags: d.tags(), Entries: []int64{d.step.Entry}, Since: d.step.Happened,
				Text: d.name() + " with papers, and no copy of them is attached"})
		}
	})
	p.cannotTell(unknown, "hand-overs that do not say whether papers went along")
}

// owns reports whether a file belongs to this hand-over: by the entry that it is
// attached to, or by when it was. What came back and went again has papers of its own
// each time.
func (d *departure) owns(f *File) bool {
	at := f.Entry
	if f.OfEntry != 0 {
		at = f.OfEntry
	}
	if at <= d.first || d.next != 0 && at >= d.next {
		return false
	}
	if slices.ContainsFunc(d.ship.Steps, func(s ShipmentStep) bool { return s.Entry == f.OfEntry }) {
		return true
	}
	return slices.ContainsFunc(d.tags(), func(t string) bool { return slices.Contains(f.Tags, t) })
}
