package papers

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/triage"
)

// marks is the checklist of marks and labels. Packages that owe the same share a
// list, and have each a row to tick.
func (x *Shipment) marks() Sheet {
	s := Sheet{Title: "marks and labels", Blocks: []Block{Para("Tick what is on each package, on a face that shows, and photograph every marked face. Bought marks and labels are not drawn by this program; pouchward label --mark draws words. A shop label is no mark.")}}
	for _, g := range x.alike(func(p *Package) []triage.DutyDoc {
		return slices.Concat(p.Marks, p.Overpack, p.Spared)
	}) {
		s.Blocks = append(s.Blocks, x.marksOf(g)...)
	}
	if len(x.Packages) == 0 {
		s.Blocks = append(s.Blocks, Para("Nothing is packed."))
	}
	return s
}

// alike groups packages, by their places, that owe the same and can go or cannot.
func (x *Shipment) alike(duties func(*Package) []triage.DutyDoc) (groups [][]int) {
	at := map[string]int{}
	for i := range x.Packages {
		p := &x.Packages[i]
		key := fmt.Sprint(p.stays(), p.UN)
		for _, d := range duties(p) {
			key += "\n" + d.Kind + d.Text + d.Words + d.Source
		}
		n, ok := at[key]
		if !ok {
			n = len(groups)
			at[key], groups = n, append(groups, nil)
		}
		groups[n] = append(groups[n], i)
	}
	return groups
}

// names lists packages of a group.
func (x *Shipment) names(group []int) string {
	var list []string
	for _, i := range group {
		list = append(list, triage.SpacedTag(x.Packages[i].Tag))
	}
	word := "Package "
	if len(list) > 1 {
		word = "Packages "
	}
	return word + strings.Join(list, ", ")
}

func (x *Shipment) marksOf(group []int) []Block {
	p := &x.Packages[group[0]]
	list := []Block{Heading(x.names(group) + ": " + known(p.UN))}
	if p.stays() {
		list = append(list, Notice{cannotGo, "As it stands it cannot go by this route (sheet 1). What is listed is what its cells owe that have a way; it is not all."})
	}
	for _, d := range p.Spared {
		list = append(list, Para("Not owed in this consignment, by the exception in it: "+markText(&d)+" ["+d.Source+"]"))
	}
	if len(p.Marks) == 0 {
		return append(list, Para(x.noMarks(p)))
	}
	what := &Table{Columns: []Column{{Head: "", Chars: 2}, {Head: "what", Chars: 32}, {Head: "exact words", Chars: 18}, {Head: "letters, least", Chars: 8}, {Head: "source"}}}
	ticks := &Table{High: true, Columns: []Column{{Head: "package", Chars: 8}}}
	for i, d := range p.Marks {
		letter := string(rune('a' + i))
		what.Rows = append(what.Rows, markRow(letter, &d))
		ticks.Columns = append(ticks.Columns, Column{Head: letter, Chars: 4})
	}
	ticks.Columns = append(ticks.Columns, Column{Head: "photo no.", Chars: 14}, Column{Head: "initials"})
	for _, i := range group {
		row := []string{triage.SpacedTag(x.Packages[i].Tag)}
		for range p.Marks {
			row = append(row, NotTicked)
		}
		ticks.Rows = append(ticks.Rows, append(row, "", ""))
	}
	list = []Block{Together(append(list, what))}
	for _, d := range p.Overpack {
		list = append(list, Para(markText(&d)+" ["+d.Source+"]"))
	}
	return append(list, ticks)
}

// noMarks says why a package has no list.
func (x *Shipment) noMarks(p *Package) string {
	if len(p.Ways) == 0 || p.stays() {
		return "No way is open to it, so what it would bear is " + NotKnown + "."
	}
	if len(p.Spared) > 0 {
		return "No other mark and no label is owed."
	}
	var sources []string
	for _, w := range p.Ways {
		sources = append(sources, w.Source)
	}
	return "The ways of it ask for no mark and no label. [" + strings.Join(sources, "; ") + "]"
}

func markRow(letter string, d *triage.DutyDoc) []string {
	least := "see left"
	if d.LetterMM != "" {
		least = d.LetterMM + " mm"
	}
	words := d.Words
	if len(d.AnyOf) > 0 {
		words = "one of: " + strings.Join(d.AnyOf, " / ")
	}
	if words == "" {
		words = "-"
	}
	return []string{letter, d.Text, words, least, d.Source}
}

// markText is a mark in one line.
func markText(d *triage.DutyDoc) string {
	text := d.Text
	if d.Words != "" {
		text += " Words: " + d.Words + "."
	}
	if d.LetterMM != "" {
		text += " Letters at least " + d.LetterMM + " mm."
	}
	return text
}
