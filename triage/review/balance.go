package review

import (
	"fmt"

	"pouchward/triage"
)

// ledgerBalances looks for what the ledger cannot account for: a line that does not
// come out at zero, a stock view that says something else, a tag that stands twice, a
// container that is not there, a lot that shrank.
func ledgerBalances(p *pass) {
	var last *Month
	for i := range p.ledger.Months {
		last = &p.ledger.Months[i]
		p.checked += int64(len(last.Lines))
	}
	for i := range p.ledger.Differences {
		p.difference(&p.ledger.Differences[i])
	}
	p.twoTags()
	p.noContainer()
	p.shrunk()
	if last != nil {
		p.cannotTell(last.Total.After.Unweighed, "cells in hand without a mass")
		p.cannotTell(last.Total.After.Unrated, "cells in hand without a rating")
	}
	if !p.ledger.Compared {
		p.untold = append(p.untold, "the stock view was not compared: it holds for the present alone")
	}
}

// Name is where it is, in words.
func (w Where) Name() string {
	switch {
	case w.Container != "":
		return triage.SpacedTag(w.Container)
	case w.Place != "":
		return w.Place
	}
	return "no place"
}

// Text says an amount with its signs: count, Wh, kg.
func (a Amount) Text() string {
	return fmt.Sprintf("%s, %s Wh, %s kg", plural(a.Cells, "cell"), millionths(a.MicroWh), millionths(a.MilliGram))
}

func millionths(n int64) string { return triage.Micro(n).Rounded(3).String() }

func (p *pass) difference(d *Difference) {
	f := Finding{Subject: d.Where.Name(), Since: p.Now, Text: fmt.Sprintf("%s: off by %s in %s", d.What, d.Off.Text(), d.Month.String()[:7])}
	if d.Shop {
		f.Subject = "shop"
	}
	if d.Container != "" {
		f.Subject, f.Tags = d.Container, []string{d.Container}
	}
	for i := range p.Cells {
		for _, s := range p.index.stays[p.Cells[i].Tag] {
			at := Where{Container: s.in}
			if s.in == "" {
				at.Place = s.place
			}
			if s.cell.Lot() {
				at = Where{Container: s.cell.Tag}
			}
			if at == d.Where || d.Shop {
				f.Entries = append(f.Entries, s.step.Entry)
				if s.next != nil {
					f.Entries = append(f.Entries, s.next.Entry)
				}
			}
		}
	}
	p.find(f)
}

// twoTags looks for a cell that stands in the shop under more than one tag.
func (p *pass) twoTags() {
	own := map[string]*Cell{}
	for i := range p.Cells {
		c := &p.Cells[i]
		if o := own[c.Tag]; o != nil {
			p.stands(c, o)
		}
		own[c.Tag] = c
	}
	for i := range p.Cells {
		c := &p.Cells[i]
		for _, a := range c.Aliases {
			if o := own[a]; o != nil && o != c {
				p.stands(c, o)
			}
		}
	}
}

// stands finds two cells of the log that are one, where both count.
func (p *pass) stands(c, o *Cell) {
	if c.Last().Cells() == 0 || o.Last().Cells() == 0 {
		return
	}
	a, b := &c.Steps[len(c.Steps)-1], &o.Steps[len(o.Steps)-1]
	p.find(Finding{Subject: c.Tag, Tags: union([]string{c.Tag}, []string{o.Tag}), Entries: []int64{b.Entry, a.Entry}, Since: later(a.Happened, b.Happened),
		Text: fmt.Sprintf("%s counts in the stock and so does %s, another tag of the same cell", triage.SpacedTag(c.Tag), triage.SpacedTag(o.Tag))})
}

// noContainer looks for cells that stood in a container which the log has no more, or
// never had. Which was first is the order of the entries, not the clock.
func (p *pass) noContainer() {
	turns := map[string][]*ContainerStep{}
	for i := range p.Containers {
		turns[p.Containers[i].Tag] = p.Containers[i].turns()
	}
	for i := range p.Cells {
		c := &p.Cells[i]
		if c.Lot() {
			continue
		}
		for _, s := range p.index.stays[c.Tag] {
			if s.in == "" {
				continue
			}
			box := p.index.boxes[s.in]
			f := Finding{Subject: s.in, Tags: []string{s.in, c.Tag}, Entries: []int64{s.step.Entry}, Since: s.from, Until: s.ended()}
			gone := goneWithin(turns[s.in], &s)
			switch {
			case box == nil || len(box.Steps) == 0 || box.Steps[0].Entry > s.step.Entry:
				f.Text = fmt.Sprintf("%s stood in %s from %s, which no entry had recorded", triage.SpacedTag(c.Tag), triage.SpacedTag(s.in), minute(s.from))
			case gone != nil:
				f.Entries, f.Since = append(f.Entries, gone.Entry), later(s.from, gone.Happened)
				f.Text = fmt.Sprintf("%s is in %s by the log, which left at %s", triage.SpacedTag(c.Tag), triage.SpacedTag(s.in), minute(gone.Happened))
			default:
				continue
			}
			p.find(f)
		}
	}
}

// turns are the steps at which a container came or went: few, where it is named often.
func (c *Container) turns() (list []*ContainerStep) {
	for i := range c.Steps {
		if i == 0 || c.Steps[i].Is != c.Steps[i-1].Is {
			list = append(list, &c.Steps[i])
		}
	}
	return list
}

// goneWithin is the step after which a container was not in the shop while a cell stood
// in it by the log, nil for none.
func goneWithin(turns []*ContainerStep, s *stay) (gone *ContainerStep) {
	for _, x := range turns {
		switch {
		case x.Entry <= s.step.Entry:
			gone = nil
			if x.Is != Here {
				gone = x
			}
		case s.next != nil && x.Entry >= s.next.Entry:
			return gone
		case gone == nil && x.Is != Here:
			return x
		}
	}
	return gone
}

// shrunk looks for lots that were counted anew and found smaller without cells that
// were recorded one by one about then.
func (p *pass) shrunk() {
	soon := int64(0)
	for i := range p.ledger.Recounts {
		r := &p.ledger.Recounts[i]
		switch {
		case r.Missing() == 0:
		case r.Soon:
			soon++
		default:
			some := "no cell was"
			if r.Recorded > 0 {
				some = fmt.Sprintf("only %d of its cells may have been", r.Recorded)
			}
			p.find(Finding{Subject: r.Tag, Tags: []string{r.Tag}, Entries: []int64{r.Before, r.Entry}, Since: r.At,
				Text: fmt.Sprintf("the lot in %s was %d at %s and %d at %s, and %s first recorded from %d h before to %d h after: %d not accounted for", triage.SpacedTag(r.Tag),
					r.Was, minute(r.From), r.Is, minute(r.At), some, p.limit("match_h"), p.limit("match_h"), r.Missing())})
		}
	}
	p.cannotTell(soon, "lots found smaller, whose cells may yet be recorded")
}
