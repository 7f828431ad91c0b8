package exports

import (
	"fmt"
	"strings"

	"pouchward/triage"
)

// notAdvice stands on what speaks of carriage.
const notAdvice = "Check against current rules and your authority; this is not legal advice. "

// routePages prints each route with what it asks for; routes that ask for the
// same share a page.
func (c *card) routePages(v *triage.Verdict, routes []triage.Route) {
	var pages []string
	names := map[string][]string{}
	for _, r := range routes {
		sub := card{width: c.width}
		sub.duties(v, r)
		page := sub.b.String()
		if names[page] == nil {
			pages = append(pages, page)
		}
		names[page] = append(names[page], r.String())
	}
	for _, page := range pages {
		c.rule("-")
		c.item("ROUTE", strings.Join(names[page], ", "))
		c.b.WriteString(page)
	}
	if len(routes) > 0 {
		c.item("CARE", notAdvice+triage.LocalFirst)
	}
}

// duties prints the answer on one route: the way, what goes on and in the
// package, what goes on paper, each with its paragraph.
func (c *card) duties(v *triage.Verdict, r triage.Route) {
	a := &v.Routes[r]
	why, source := v.RouteWhy(r)
	c.item("ANSWER", fmt.Sprintf("%s. %s.", strings.ToUpper(a.Class.String()), upperFirst(why)))
	if source != "" {
		c.item("", "["+source+"]")
	}
	if a.Way == nil || a.Class > triage.RouteApproval {
		for _, m := range a.Maybe {
			c.item("", "Would open "+m.Way.ID+" ("+m.Way.Class+") with: "+needs(m.Missing)+".")
		}
		return
	}
	kind := ""
	for _, d := range v.Owed(a.Way.Duties, r.String()) {
		label := ""
		if d.Kind != kind {
			kind, label = d.Kind, dutyLabels[d.Kind]
		}
		c.duty(label, d.Text, d.Words, d.LetterMM, d.AnyOf, d.Source)
	}
	for _, w := range a.Open {
		c.item("ALSO OPEN", w.ID+" ("+w.Class+"): "+w.Title)
	}
	for _, m := range a.Maybe {
		c.item("LIGHTER", m.Way.ID+" ("+m.Way.Class+") would open with: "+needs(m.Missing)+".")
	}
}

// duty prints one duty with its words and its paragraph.
func (c *card) duty(label, text, words, letterMM string, anyOf []string, source string) {
	c.item(label, text)
	if words != "" {
		text := "Words: " + words
		if letterMM != "" {
			text += " (letters at least " + letterMM + " mm high)"
		}
		c.item("", text)
	}
	if len(anyOf) > 0 {
		c.item("", "One of: "+strings.Join(anyOf, "; "))
	}
	c.item("", "["+source+"]")
}

// dutyLabels are the kinds of duty as a page prints them, ten letters at most.
var dutyLabels = map[string]string{"packaging": "PACKAGING", "one-per-outer": "ONE A BOX", "gross-cap": "GROSS", "net-cap": "NET",
	"count-cap": "COUNT", "mark": "MARK", "label": "LABEL", "paper": "PAPER", "telephone": "TELEPHONE", "advice": "ADVICE",
	"container": "CONTAINER", "activity": "ACTIVITY", "time-limit": "TIME", "release": "RELEASE", "shipment": "SHIPMENT",
	"training": "TRAINING", "record": "RECORD", "note": "NOTE"}

func needs(facts triage.FactSet) string {
	var list []string
	facts.Each(func(f triage.FactID) { list = append(list, triage.FactTable[f].Label) })
	return strings.Join(list, ", ")
}
