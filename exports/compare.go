package exports

import (
	"fmt"
	"io"
	"strings"

	"pouchward/triage"
)

// A ChangedCell is one cell whose answers differ between two days.
type ChangedCell struct {
	Row     int
	Tag     string
	Changes []triage.AnswerChange
}

// RuleComparison prints what changes between the rules of two days, and which of
// the compared cells it touches.
func RuleComparison(w io.Writer, from, to string, rules []triage.RuleChange, cells []ChangedCell, compared int) error {
	c := card{width: width}
	fmt.Fprintf(&c.b, "Rules of %s against %s\n", from, to)
	c.rule("-")
	if len(rules) == 0 {
		c.item("RULES", "None begins or ends.")
	}
	for _, r := range rules {
		when := "last day " + r.On
		if r.Change == "begins" {
			when = "from " + r.On
		}
		c.item(strings.ToUpper(r.Change), fmt.Sprintf("%s (%s), %s: %s", r.ID, r.Kind, when, r.Title))
		c.item("", "["+r.Source+"]")
	}
	if compared > 0 {
		c.rule("-")
		for _, x := range cells {
			for i, ch := range x.Changes {
				label := ""
				if i == 0 {
					label = Clean(x.Tag)
					if label == "" {
						label = fmt.Sprintf("row %d", x.Row)
					}
					label = pad(label, 10)
				}
				c.item(label, fmt.Sprintf("%s: %s -> %s. %s.", ch.Answer, none(ch.From), none(ch.To), upperFirst(ch.Why)))
				if ch.Source != "" {
					c.item("", "["+ch.Source+"]")
				}
			}
		}
		fmt.Fprintf(&c.b, "%d of %d cells change an answer.\n", len(cells), compared)
	}
	c.item("CARE", triage.LocalFirst)
	_, err := io.WriteString(w, c.b.String())
	return err
}

func none(s string) string {
	if s == "" {
		return "none"
	}
	return s
}
