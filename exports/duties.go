package exports

import (
	"fmt"
	"strings"

	"pouchward/triage"
)

// duties prints what one route asks for: the way, what goes on and in the
// package, what goes on paper, each with its paragraph.
func (c *card) duties(v *triage.Verdict, r triage.Route) {
	c.rule("-")
	a := &v.Routes[r]
	why, source := a.Why()
	c.item("ROUTE", fmt.Sprintf("%s: %s. %s.", r, strings.ToUpper(a.Class.String()), upperFirst(why)))
	if source != "" {
		c.item("", "["+source+"]")
	}
	if a.Way == nil || a.Class > triage.RouteApproval {
		for _, m := range a.Maybe {
			c.item("", "Would open "+m.Way.ID+" ("+m.Way.Class+"): "+needs(m.Missing))
		}
		return
	}
	if un := v.UN(); un != "" {
		c.item("UN", un)
	}
	kind := ""
	for _, d := range v.Owed(a.Way.Duties, r.String()) {
		label := ""
		if d.Kind != kind {
			kind, label = d.Kind, strings.ToUpper(d.Kind)
		}
		if len(label) > 10 {
			c.item(label, "")
			label = ""
		}
		c.item(label, d.Text)
		if d.Words != "" {
			text := "Words: " + d.Words
			if d.LetterMM != "" {
				text += " (letters at least " + d.LetterMM + " mm high)"
			}
			c.item("", text)
		}
		if len(d.AnyOf) > 0 {
			c.item("", "One of: "+strings.Join(d.AnyOf, "; "))
		}
		c.item("", "["+d.Source+"]")
	}
	for _, w := range a.Open {
		c.item("ALSO OPEN", w.ID+" ("+w.Class+"): "+w.Title)
	}
	for _, m := range a.Maybe {
		c.item("LIGHTER", m.Way.ID+" ("+m.Way.Class+") would open with: "+needs(m.Missing))
	}
	c.item("CARE", "Check against current rules and your authority; this is not legal advice.")
}

func needs(facts triage.FactSet) string {
	var list []string
	facts.Each(func(f triage.FactID) { list = append(list, triage.FactTable[f].Label) })
	return strings.Join(list, ", ")
}
