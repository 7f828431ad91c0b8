package exports

import (
	"fmt"
	"io"
	"strings"

	"pouchward/triage"
)

// RuleList prints the rules one a line, under their instrument.
func RuleList(w io.Writer, rb *triage.Rulebook, list []triage.Explained) error {
	var b strings.Builder
	instrument := ""
	for i := range list {
		e := &list[i]
		if e.Instrument != instrument {
			instrument = e.Instrument
			fmt.Fprintf(&b, "\n%s\n  edition %s\n", strings.Join(Wrap(instrument, width), "\n"), e.Edition)
		}
		fmt.Fprintf(&b, "  %-24s %s\n", e.ID, e.Title)
		fmt.Fprintf(&b, "  %24s %s [%s]\n", "", e.Kind+": "+e.Outcome, e.Basis)
	}
	fmt.Fprintf(&b, "\n%d rules in force on %s, rulebook %.12s. pouchward rules explain ID prints one whole.\n", len(list), rb.On, rb.Digest)
	_, err := io.WriteString(w, strings.TrimPrefix(b.String(), "\n"))
	return err
}

// RuleExplained prints one rule whole.
func RuleExplained(w io.Writer, e *triage.Explained) error {
	c := card{width: width}
	c.explained(e)
	_, err := io.WriteString(w, c.b.String())
	return err
}

// RuleRows are one rule whole, as a page shows it.
func RuleRows(e *triage.Explained) (rows []PanelRow) {
	c := card{width: width, rows: &rows}
	c.explained(e)
	return rows
}

func (c *card) explained(e *triage.Explained) {
	c.item("ID", e.ID+" ("+e.Kind+")")
	c.item("TITLE", e.Title)
	c.item("OUTCOME", e.Outcome)
	each := func(label string, lines []string) {
		for _, l := range lines {
			c.item(label, l)
			label = ""
		}
	}
	each("ROUTES", joined(e.Routes))
	each("FOR", joined(e.For))
	each("WHEN", joined(e.When, " and "))
	each("OR WHEN", joined(e.OrWhen, " and "))
	each("DO", e.Do)
	label := "DUTIES"
	for _, d := range e.Duties {
		text := d.Kind + ": " + d.Text
		if d.Words != "" {
			text += " Words: " + d.Words + "."
		}
		if len(d.AnyOf) > 0 {
			text += " One of: " + strings.Join(d.AnyOf, "; ") + "."
		}
		c.item(label, text+" ["+d.Source+"]")
		label = ""
	}
	if e.LoweredBy != "" {
		c.item("LOWERED", "by a determination, "+e.LoweredBy)
	}
	c.item("SOURCE", e.Source)
	c.item("BASIS", e.Basis+"; confidence: "+e.Confidence)
	if e.Note != "" {
		c.item("NOTE", e.Note)
	}
	c.item("FROM", e.Instrument+", edition "+e.Edition)
	if e.NotSeen != "" {
		c.item("NOT SEEN", e.NotSeen)
	}
	c.item("CARE", triage.LocalFirst)
}

func joined(list []string, sep ...string) []string {
	if len(list) == 0 {
		return nil
	}
	return []string{strings.Join(list, append(sep, ", ")[0])}
}

// RuleSources prints each instrument: edition, what was read, what is from
// memory.
func RuleSources(w io.Writer, rb *triage.Rulebook, sources []triage.Source) error {
	c := card{width: width}
	for i, s := range sources {
		if i > 0 {
			c.rule("-")
		}
		c.item("ID", s.ID)
		c.item("TITLE", s.Title)
		c.item("BY", s.Authority)
		edition := s.Edition
		if s.From != "" {
			edition += ", from " + s.From
		}
		if s.KnownUntil != "" {
			edition += ", text known until " + s.KnownUntil
		}
		if s.ReadOn != "" {
			edition += ", read on " + s.ReadOn
		}
		c.item("EDITION", edition)
		c.item("RULES", fmt.Sprintf("%d read in the instrument or an official restatement, %d second-hand, %d from memory", s.Read, s.SecondHand, len(s.Memory)))
		if len(s.Memory) > 0 {
			c.item("MEMORY", strings.Join(s.Memory, ", "))
		}
		if s.NotSeen != "" {
			c.item("NOT SEEN", s.NotSeen)
		}
	}
	fmt.Fprintf(&c.b, "\n%d instruments in force on %s, rulebook %.12s.\n", len(sources), rb.On, rb.Digest)
	_, err := io.WriteString(w, c.b.String())
	return err
}

// HouseSummary says what a house file holds.
func HouseSummary(w io.Writer, name string, h *triage.House, recalls *triage.RecallList) error {
	c := card{width: width}
	t := h.Table()
	c.item("FILE", name+" is in order: nothing is loosened.")
	for i := range t.Rules {
		c.item("RULE", t.Rules[i].ID+": "+strings.Join(t.Rules[i].When, " and "))
	}
	for i := range t.Bars {
		c.item("BAR", t.Bars[i].ID+": closes "+strings.Join(t.Bars[i].Closes, ", "))
	}
	for i := range t.Intervals {
		c.item("INTERVAL", t.Intervals[i].ID+": "+t.Intervals[i].Text())
	}
	for _, a := range h.Approvals {
		c.item("APPROVAL", fmt.Sprintf("%s: number %s, holder %s, until %s", a.Way, a.Number, a.Holder, a.Until))
	}
	for _, p := range h.Permits {
		c.item("PERMIT", fmt.Sprintf("%s, holder %s, until %s: text not checked here", p.Number, p.Holder, p.Until))
	}
	c.shopFacts(&h.Shop)
	if recalls != nil {
		c.item("RECALLS", fmt.Sprintf("%s, newest read on %s", Count(int64(len(recalls.Entries)), "notice"), recalls.ReadOn))
	}
	_, err := io.WriteString(w, c.b.String())
	return err
}

// shopFacts prints what the file says of the shop's hours, numbers and places.
func (c *card) shopFacts(s *triage.Shop) {
	if s.Opens != "" || len(s.ClosedDays) > 0 {
		c.item("HOURS", s.Hours().String())
	}
	number := s.EmergencyNumber
	if s.EmergencyNumberBy != "" {
		number += ", answered by " + s.EmergencyNumberBy
	}
	for _, f := range [...]struct{ label, text string }{{"FIRE", s.FireService}, {"NUMBER", number},
		{"ISOLATION", s.IsolationPlace}, {"STORE", s.StorePlace}, {"CONSIGNEE", s.Consignee}} {
		if f.text != "" {
			c.item(f.label, f.text)
		}
	}
}
