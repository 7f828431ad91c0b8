package papers

import (
	"fmt"
	"strings"

	"pouchward/triage"
)

// refuse returns the sheet that stands in the place of all others where a cell
// reacts, or is liable to react and has no way.
func (x *Shipment) refuse() (s Sheet, not bool) {
	t := &Table{Columns: []Column{{Head: "in", Chars: 4}, {Head: "cell", Chars: 7}, {Head: "condition", Chars: 12}, {Head: "why"}}}
	reacts := false
	for i := range x.Packages {
		for j := range x.Packages[i].Cells {
			c := &x.Packages[i].Cells[j]
			reacting := c.V.Condition == triage.Reacting || c.V.Handling == triage.Emergency
			if !reacting && (c.V.Condition != triage.Liable || c.Keeps == "") {
				continue
			}
			why, source := c.V.RouteWhy(x.Route)
			reacts = reacts || reacting
			t.Rows = append(t.Rows, []string{triage.SpacedTag(x.Packages[i].Tag), triage.SpacedTag(c.Tag), c.V.Condition.String(), why + " [" + known(source) + "]"})
		}
	}
	if len(t.Rows) == 0 {
		return s, false
	}
	who := strings.Join(x.Authorities, "; ")
	s.Title = "do not offer"
	s.Blocks = []Block{Notice{"DO NOT OFFER THIS SHIPMENT", fmt.Sprintf("%s in it may not be offered by %s. No other paper is printed for it while the log says so.", plural(len(t.Rows), "cell"), x.Route)}, t}
	if reacts {
		s.Blocks = append(s.Blocks, Heading("It reacts: now"), x.emergencySteps(),
			Para("Do not open the package, carry it or take the cell out. What the fire service decides comes first."))
	}
	s.Blocks = append(s.Blocks, Heading("Whom to ask"),
		Form{{Label: "Competent authority", Value: "of the place where it would leave. The rules of this route come from: " + known(who)}},
		Para("A cell that reacts is offered to nobody. For one that is quiet and judged liable to react, ask that authority in writing before anything is packed; its answer, not this sheet, says how it may travel."),
		Form{{Label: "Asked, on"}, {Label: "Whom"}, {Label: "Answer, reference"}})
	return s, true
}

// emergencySteps are the lines of the emergency card.
func (x *Shipment) emergencySteps() Steps {
	var f Steps
	for _, l := range x.Emergency {
		first, rest, _ := strings.Cut(l, " ")
		f = append(f, Field{Label: first, Value: strings.TrimSpace(rest)})
	}
	return f
}
