package exports

import (
	"fmt"
	"io"
	"strings"

	"pouchward/triage"
)

// Lines are what puts a cell into which class, for the wall: the titles of the
// rules in force, house rules among them, the worst class first.
type Lines struct {
	Classes []ClassLines
	Note    string
}

// ClassLines are those of one class.
type ClassLines struct {
	Word, Verb string
	Signs      []string
}

// linesNote says how the lists are read. What no rule covers is never better than
// hold.
const linesNote = "The worst line counts. * = published sign; the rest is common practice or a rule of the house (pouchward rules explain names each source). A sign not looked for, a voltage or temperature not taken: HOLD at the least. "

// NewLines gathers the lines from the rules.
func NewLines(rb *triage.Rulebook) (*Lines, error) {
	list, err := rb.Explained("")
	if err != nil {
		return nil, err
	}
	x := &Lines{Note: linesNote + triage.LocalFirst}
	for _, class := range []triage.Handling{triage.Emergency, triage.Isolate, triage.Hold} {
		k := triage.Case{On: rb.On, Raises: []triage.Raise{{Handling: class}}}
		var v triage.Verdict
		rb.Judge(&k, &v) // of nothing but the raise: the words of the class
		c := ClassLines{}
		c.Word, c.Verb = Strength(&v)
		for _, e := range list {
			rule := rb.RuleByID(e.ID)
			if e.Kind != "rule" || rule == nil || rule.Handling != class.String() {
				continue
			}
			sign := Clean(rule.Title)
			if rule.Basis == triage.Published {
				sign += " *"
			}
			c.Signs = append(c.Signs, sign)
		}
		x.Classes = append(x.Classes, c)
	}
	return x, nil
}

// Text writes the lines, one class below the other.
func (x *Lines) Text(w io.Writer) error {
	var b strings.Builder
	for _, c := range x.Classes {
		fmt.Fprintf(&b, " %s   %s\n", c.Word, c.Verb)
		for _, s := range c.Signs {
			for i, l := range Wrap(s, width-6) {
				lead := "   - "
				if i > 0 {
					lead = "     "
				}
				fmt.Fprintln(&b, lead+l)
			}
		}
	}
	for _, l := range Wrap(x.Note, width-2) {
		fmt.Fprintln(&b, " "+l)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
