package papers

import (
	"fmt"
	"strings"

	"pouchward/exports"
	"pouchward/triage"
)

// The words of the readiness sheet.
const (
	canGo    = "CAN GO"
	cannotGo = "CANNOT GO"
	away     = "ONE READING AWAY"
	notYet   = "NOT YET"
)

// readiness is the sheet that says what can go.
func (x *Shipment) readiness() Sheet {
	s := Sheet{Title: "readiness"}
	add := func(b ...Block) { s.Blocks = append(s.Blocks, b...) }
	add(x.verdict())
	add(Form{
		{Label: "Route", Value: x.Route.String()},
		{Label: "From", Value: known(x.Site)},
		{Label: "To", Value: known(x.Consignee)},
		{Label: "Holds", Value: fmt.Sprintf("%s in %s", plural(len(x.cells()), "cell"), plural(len(x.Packages), "package"))},
	})
	for _, n := range x.Notices {
		add(Para("NOTICE: " + n))
	}
	add(Heading("Packages"), x.packagesTable(), Heading("Cells, each by itself, judged for "+x.On.String()), x.cellsTable())
	return s
}

// verdict is the answer for the whole of it.
func (x *Shipment) verdict() Notice {
	const yes = "The consignee's yes to these conditions"
	if h := x.Handover; h != nil {
		return Notice{"HANDED OVER", fmt.Sprintf("On %s to %s. All below is judged by the rules of that day, with what the log knew before the hand-over.", h.At, h.Carrier)}
	}
	if list := x.Draft(); len(list) > 0 {
		return Notice{notYet, "This is a draft: " + strings.Join(list, "; ") + "."}
	}
	return Notice{canGo, fmt.Sprintf("Nothing in the log speaks against it by %s on %s. Still open: %s, and what people see to (sheet 7). All of it is judged once more when the hand-over is recorded.", x.Route, x.On, yes)}
}

func (x *Shipment) packagesTable() *Table {
	t := &Table{Columns: []Column{{Head: "no.", Chars: 3, Right: true}, {Head: "package", Chars: 7}, {Head: "packaging", Chars: 14}, {Head: "cells", Chars: 5, Right: true}, {Head: "way, class", Chars: 24}, {Head: "answer"}}}
	for i := range x.Packages {
		p := &x.Packages[i]
		t.Rows = append(t.Rows, []string{fmt.Sprint(i + 1), triage.SpacedTag(p.Tag), p.Outer + " (" + p.Level + ")", fmt.Sprint(len(p.Cells)), p.wayText(), p.answer()})
	}
	return t
}

// wayText names the ways that the package goes by.
func (p *Package) wayText() string {
	var list []string
	for _, w := range p.Ways {
		list = append(list, w.ID+" ("+w.Class+")")
	}
	if len(list) == 0 {
		return "none"
	}
	return strings.Join(list, ", ")
}

// answer says whether the package can go, and why not.
func (p *Package) answer() string {
	var why []string
	for i := range p.Cells {
		if p.Cells[i].Keeps != "" {
			why = append(why, triage.SpacedTag(p.Cells[i].Tag)+" cannot go")
		}
	}
	if len(why) > 3 {
		why = append(why[:3], fmt.Sprintf("and %d cells more", len(why)-3))
	}
	why = append(why, p.Broken...)
	text := canGo
	switch {
	case len(why) > 0:
		text = cannotGo + ": " + strings.Join(append(why, p.Missing...), "; ")
	case !p.Closed && len(p.Cells) == 0:
		text = notYet + ": nothing is in it"
	case !p.Closed:
		text = notYet + ": it is open, and is weighed and judged as a whole when it is closed"
		if len(p.Missing) > 0 {
			text += "; open: " + strings.Join(p.Missing, "; ")
		}
	case len(p.Missing) > 0:
		text = notYet + ": " + strings.Join(p.Missing, "; ")
	}
	for _, n := range p.Notes {
		text += ". " + strings.TrimSuffix(n, ".")
	}
	return text
}

func (x *Shipment) cellsTable() *Table {
	t := &Table{Columns: []Column{{Head: "in", Chars: 4}, {Head: "cell", Chars: 7}, {Head: "hands, condition", Chars: 22}, {Head: "answer"}}}
	for i := range x.Packages {
		p := &x.Packages[i]
		for j := range p.Cells {
			c := &p.Cells[j]
			t.Rows = append(t.Rows, []string{triage.SpacedTag(p.Tag), triage.SpacedTag(c.Tag),
				exports.HandlingText(c.V.Handling.String()) + ", " + c.V.Condition.String(), c.answer()})
		}
	}
	return t
}

// answer says whether the cell by itself can go.
func (c *Cell) answer() string {
	switch {
	case c.Keeps == "" && c.Approval != "":
		return canGo + " on the approval in hand: " + c.Approval + ". Its text is not checked here"
	case c.Keeps == "":
		return canGo
	case c.Lacks != "":
		return away + ", if it turns out well: " + c.Lacks + ". " + c.Keeps
	}
	return cannotGo + ": " + c.Keeps
}
