package papers

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/triage"
)

// transport is the sheet of the transport paper: its description lines where the
// ways ask for one, else that they ask for none, with the source.
func (x *Shipment) transport() Sheet {
	s := Sheet{Title: "transport paper"}
	owed := false
	for _, g := range x.alike(func(p *Package) []triage.DutyDoc { return p.Papers }) {
		p := &x.Packages[g[0]]
		s.Blocks = append(s.Blocks, Heading(x.names(g)))
		switch {
		case p.stays() || len(p.Ways) == 0:
			s.Blocks = append(s.Blocks, Para("No description line: as it stands it cannot go (sheet 1), and what goes on a paper is "+NotKnown+"."))
		case !p.owesPaper():
			s.Blocks = append(s.Blocks, Para(p.noPaper()))
		default:
			owed = true
			s.Blocks = append(s.Blocks, x.lines(g)...)
		}
	}
	if len(x.Packages) == 0 {
		s.Blocks = append(s.Blocks, Para("Nothing is packed, so nothing is said of a paper."))
	}
	if owed {
		s.Blocks = append(s.Blocks, x.signing()...)
	}
	return s
}

// owesPaper reports whether a way of the package asks for a paper.
func (p *Package) owesPaper() bool {
	return slices.ContainsFunc(p.Papers, func(d triage.DutyDoc) bool { return d.Kind == "paper" })
}

// noPaper says that none is asked, with what the ways say of it.
func (p *Package) noPaper() string {
	var why []string
	for _, w := range p.Ways {
		text := "[" + w.Source + "]"
		for i := range w.Duties {
			if d := &w.Duties[i]; d.Kind == "note" && (strings.Contains(d.Text, "no shipping paper") || strings.Contains(d.Text, "no transport document")) {
				text = d.Text + " [" + d.Source + "]"
			}
		}
		why = append(why, w.ID+": "+text)
	}
	return "No description line: the way asks for no transport paper. " + strings.Join(why, " ")
}

// lines are what goes on the paper for packages that owe the same: the words of the
// rule, with counts and masses beside them.
func (x *Shipment) lines(group []int) []Block {
	p := &x.Packages[group[0]]
	var list []Block
	t := &Table{Columns: []Column{{Head: "goes on the paper", Chars: 34}, {Head: "why"}}}
	for _, d := range p.Papers {
		if d.Words != "" && d.Kind == "paper" && !certifies(&d) {
			t.Rows = append(t.Rows, []string{d.Words, d.Text + " [" + d.Source + "]"})
		}
	}
	t.Rows = append(t.Rows, x.amounts(group)...)
	for _, d := range p.Papers {
		switch {
		case d.Kind == "telephone":
			t.Rows = append(t.Rows, []string{"Emergency telephone: " + known(x.Phone), d.Text + " [" + d.Source + "]"})
		case d.Words == "":
			t.Rows = append(t.Rows, []string{"(by hand)", d.Text + " [" + d.Source + "]"})
		}
	}
	list = append(list, t)
	if strings.Contains(p.UN, " and ") {
		list = append(list, Para("Two UN numbers are in one package: how the quantity is parted between the lines is "+NotKnown+" here."))
	}
	return list
}

// amounts are the number and type of the packages, and the total quantity.
func (x *Shipment) amounts(group []int) (rows [][]string) {
	var kinds []string
	n := map[string]int{}
	var net int64
	open := false
	equipment := false
	for _, i := range group {
		p := &x.Packages[i]
		if n[p.outerText()]++; n[p.outerText()] == 1 {
			kinds = append(kinds, p.outerText())
		}
		net, open = net+p.NetMg, open || !p.Closed
		equipment = equipment || slices.ContainsFunc(p.Cells, func(c Cell) bool { return c.fact(triage.FFit) != "loose" })
	}
	for i, k := range kinds {
		kinds[i] = fmt.Sprintf("%d x %s", n[k], k)
	}
	quantity := kg(net) + " net"
	why := "gross less tare, from the packing list"
	switch {
	case open:
		quantity, why = NotKnown, "a package is open and not weighed"
	case equipment:
		why += "; equipment counts in it, and the mass of the cells alone is " + NotKnown
	}
	return [][]string{{strings.Join(kinds, "; "), "number and type of packages"}, {"Total quantity: " + quantity, why}}
}

// certifies reports whether a duty gives the words over the signature: they come
// after all that they speak of, not among the description lines.
func certifies(d *triage.DutyDoc) bool {
	return strings.HasPrefix(d.Words, "This is to certify") || strings.HasPrefix(d.Words, "I hereby declare")
}

// certification are the words over the signature, each once, with their rule; where
// no rule gives any, that they are the form's.
func (x *Shipment) certification() (list []Block) {
	seen := map[string]bool{}
	for i := range x.Packages {
		p := &x.Packages[i]
		for _, d := range p.Papers {
			if certifies(&d) && !p.stays() && !seen[d.Words+d.Text] {
				seen[d.Words+d.Text] = true
				list = append(list, Para(d.Words), Para(d.Text+" ["+d.Source+"]"))
			}
		}
	}
	if list == nil {
		list = []Block{Para("The words of a certification or declaration are those of the carrier's form; they are not held here.")}
	}
	return list
}

// signing are the lines to sign on.
func (x *Shipment) signing() []Block {
	list := append([]Block{Heading("To sign")}, x.certification()...)
	return append(list, Para("Who signs has been trained for it. No packing group belongs to these entries."),
		Form{{Label: "From, with address", Value: known(x.Site), Write: true}, {Label: "To, with address", Value: known(x.Consignee), Write: true},
			{Label: "Certified or declared by, name"}, {Label: "Signature"}, {Label: "Date signed"}, {Label: "Accepted by the carrier on"}})
}
