package papers

import (
	"fmt"
	"strconv"
	"strings"

	"pouchward/exports"
	"pouchward/triage"
)

// packing is the packing list, one part a package.
func (x *Shipment) packing() Sheet {
	s := Sheet{Title: "packing list"}
	for i := range x.Packages {
		s.Blocks = append(s.Blocks, Together(x.packageList(i)))
	}
	if len(x.Packages) == 0 {
		s.Blocks = append(s.Blocks, Para("Nothing is packed."))
	}
	return s
}

func (x *Shipment) packageList(i int) []Block {
	p := &x.Packages[i]
	state := "open, not weighed"
	if p.Closed {
		state = "closed"
	}
	head := Heading(fmt.Sprintf("Package %s: %s, %s", triage.SpacedTag(p.Tag), x.order(i), state))
	return []Block{head, Para(p.outerText() + ". UN number: " + known(p.UN) + "."), p.cellsTable(), p.totals()}
}

func (p *Package) cellsTable() *Table {
	t := &Table{Columns: []Column{{Head: "inner no.", Chars: 5, Right: true}, {Head: "cell", Chars: 7}, {Head: "description"}, {Head: "V", Chars: 5, Right: true},
		{Head: "Ah", Chars: 6, Right: true}, {Head: "Wh", Chars: 7, Right: true}, {Head: "cells", Chars: 5, Right: true}, {Head: "mass g", Chars: 7, Right: true}, {Head: "condition", Chars: 12}}}
	for i := range p.Cells {
		c := &p.Cells[i]
		inner := "none"
		if p.Inner {
			inner = strconv.Itoa(i + 1)
		}
		t.Rows = append(t.Rows, []string{inner, triage.SpacedTag(c.Tag), c.describe(), c.number(triage.NominalV, 1), c.number(triage.RatedMah, 1000), c.rating(), c.count(), c.mass(), c.V.Condition.String()})
	}
	return t
}

// unread is what a cell of a table holds where nothing is known.
const unread = "?"

// describe says what it is: kind, chemistry, and whether in equipment.
func (c *Cell) describe() string {
	var parts []string
	for _, f := range []triage.FactID{triage.FKindSaid, triage.FFamily} {
		if word := c.fact(f); word != "" {
			parts = append(parts, word)
		}
	}
	switch c.fact(triage.FFit) {
	case "installed":
		parts = append(parts, "in equipment")
	case "packed-with":
		parts = append(parts, "with equipment")
	case "":
		parts = append(parts, "in equipment or not: ?")
	}
	for _, f := range []triage.FieldID{triage.Part, triage.Device} {
		if v := &c.V.Reading[f]; v.State == triage.Known && v.Text != "" {
			parts = append(parts, v.Text)
		}
	}
	if len(parts) == 0 {
		return NotKnown
	}
	return strings.Join(parts, ", ")
}

// number is a reading divided by so many, "?" where it is not known.
func (c *Cell) number(f triage.FieldID, parts triage.Micro) string {
	v := &c.V.Reading[f]
	if v.State != triage.Known {
		return unread
	}
	return (v.Num / parts).String()
}

func (c *Cell) rating() string {
	if e := c.V.Facts[triage.FEnergy]; e.State == triage.Known {
		return e.Hi.Rounded(2).String()
	}
	return unread
}

// count is how many cells are in it, in series and parallel.
func (c *Cell) count() string {
	s, p := &c.V.Reading[triage.Series], &c.V.Reading[triage.Parallel]
	switch {
	case s.State == triage.Known && p.State == triage.Known:
		return (s.Num / triage.One * p.Num).String()
	case c.fact(triage.FUnit) == "cell":
		return "1"
	}
	return unread
}

func (c *Cell) mass() string {
	if m := c.V.Facts[triage.FScaleMass]; m.State == triage.Known {
		return m.Hi.Rounded(1).String()
	}
	return unread
}

// totals are count, rating and masses, with the check of the masses.
func (p *Package) totals() Form {
	var cells []*Cell
	for i := range p.Cells {
		cells = append(cells, &p.Cells[i])
	}
	weighed, unweighed := p.scale()
	scale := exports.Amount(weighed, 1e6) + " kg"
	if unweighed > 0 {
		scale += fmt.Sprintf(" of %d cells; %d never weighed", len(cells)-unweighed, unweighed)
	}
	f := Form{{Label: "Count, rating", Value: plural(len(p.Cells), "cell") + ", " + wh(cells)},
		{Label: "Gross, tare, net", Value: fmt.Sprintf("gross %s, tare %s, net %s", kg(p.GrossMg), kg(p.TareMg), kg(p.NetMg))},
		{Label: "Cells by the scale", Value: scale}, {Label: "Check of the masses", Value: p.check(weighed, unweighed)}}
	if p.Note != "" {
		f = append(f, Field{Label: "Note", Value: p.Note})
	}
	f = append(f, Field{Label: "Seal or tape no."})
	if p.Closed {
		return append(f, Field{Label: "Packed by, checked by", Value: known(p.PackedBy) + ", " + known(p.CheckedBy)})
	}
	return append(f, Field{Label: "Packed by"}, Field{Label: "Checked by, another person"})
}

// scale adds up what the scale said of the cells.
func (p *Package) scale() (mg int64, unweighed int) {
	for i := range p.Cells {
		if m := p.Cells[i].V.Facts[triage.FScaleMass]; m.State == triage.Known {
			mg += int64(m.Hi / 1000)
		} else {
			unweighed++
		}
	}
	return mg, unweighed
}

// check holds gross less tare against the cells: within 2 % (common practice, as at
// the closing).
func (p *Package) check(weighed int64, unweighed int) string {
	diff := p.GrossMg - p.TareMg - weighed
	switch {
	case p.GrossMg == 0 || p.TareMg == 0:
		return "open: gross or tare is " + NotKnown
	case unweighed > 0:
		return "open: cells that were never weighed are in it"
	case max(diff, -diff)*50 > weighed:
		return "DIFFERS: gross less tare is " + kg(p.GrossMg-p.TareMg) + ", the cells weigh " + kg(weighed) + ", more than 2 % apart (common practice)"
	}
	return "gross less tare is " + kg(p.GrossMg-p.TareMg) + ", within 2 % of the cells (common practice)"
}
