package exports

import (
	"fmt"

	"pouchward/triage"
)

var triWords = [...]string{"not crossed", "not known", "on both sides", "CROSSED"}

// lines prints every line and the distance to it; the strongest line decides.
func (c *card) lines(rb *triage.Rulebook, v *triage.Verdict) {
	c.rule("-")
	c.item("LINES", "Every line of the rulebook; the strongest that is crossed decides.")
	for _, l := range rb.Lines(v) {
		c.item("", fmt.Sprintf("%s: %s (%s)", l.Rule.ID, triWords[l.Answer], l.Outcome))
		if l.Limit == "" {
			continue
		}
		text := "line: " + l.Limit + "; reads: " + l.Value
		if l.Distance != "" {
			text += ", " + l.Distance
		}
		for _, part := range Wrap(text, c.width-13) {
			fmt.Fprintf(&c.b, "             %s\n", part)
		}
	}
	c.rule("-")
	c.curves(v)
	for i, n := range v.Next {
		label := ""
		if i == 0 {
			label = "NEXT"
		}
		c.item(label, NextText(n))
	}
	c.item("SOURCES", "pouchward rules explain ID prints a rule with its source.")
}
