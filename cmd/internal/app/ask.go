package app

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"pouchward/triage"
)

// asking is the order of the questions: no-touch and decisive first.
var asking = []triage.FieldID{triage.Tag, triage.Signs, triage.Kind, triage.Fit, triage.CellC, triage.AmbientC, triage.HeatedMinAgo,
	triage.Part, triage.Recalled, triage.Chemistry, triage.Series, triage.Parallel, triage.NominalV, triage.RatedMah, triage.LabelWh,
	triage.ChargeLimitV, triage.OcvV, triage.Rocks, triage.ThicknessMm, triage.NominalThicknessMm, triage.Purpose}

// Answers are the values that a person gave, with those of part memory that the
// person took over.
type Answers struct {
	Given     []Given
	FromPart  []string // names of the fields taken over
	PartCells int      // cells of the part on record
}

// Mark notes on an assessment of the answers what was taken over.
func (x *Answers) Mark(a *Assessment) { a.FromPart, a.PartCells = x.FromPart, x.PartCells }

// Take takes over what is offered.
func (x *Answers) Take(o *PartOffer) {
	x.Given, x.FromPart = o.Take(x.Given)
	x.PartCells = o.Memory.Cells
}

// Ask puts plain line questions and returns the answers. A blank answer means
// not measured yet; a sign has no default, so there the word none is asked for.
// It stops when no further reading could change what the hands do, and at the
// end of the input. lookUp, where it is not nil, says what part memory has once
// the part number is known; it is taken over on a yes.
func Ask(shop *Shop, in io.Reader, out io.Writer, lookUp func([]Given) *PartOffer) (x Answers, err error) {
	a := newAsker(in, out)
	fmt.Fprintln(out, "Blank: not measured yet.  ?: not known.  us unsafe, nr not reachable, ur unreadable.")
	for _, f := range asking {
		if wasGiven(x.Given, f) || !worthAsking(shop, x.Given, f) {
			continue
		}
		answer, err := askOne(a, f)
		if err != nil {
			return x, err
		}
		if answer == nil {
			break
		}
		if *answer != "" {
			x.Given = append(x.Given, Given{f, *answer})
		}
		if f == triage.Part && lookUp != nil {
			if err := x.askPart(a, lookUp(x.Given)); err != nil {
				return x, err
			}
		}
	}
	fmt.Fprintln(out)
	return x, nil
}

// askPart offers the label facts of the part with one question. It has no
// default: a label that can be read counts more, so somebody has to choose.
func (x *Answers) askPart(a *asker, o *PartOffer) error {
	if o == nil || o.Says() == "" {
		return nil
	}
	fmt.Fprintf(a.out, "  %s\n", o.Says())
	if len(o.Facts) == 0 {
		return nil
	}
	yes := false
	_, err := a.ask("  Take these over instead of reading the label? (yes, no)", func(text string) string {
		switch strings.ToLower(text) {
		case "yes", "y":
			yes = true
			return ""
		case "no", "n":
			return ""
		}
		return "No default: type yes or no."
	})
	if yes { // the end of the input is not a yes
		x.Take(o)
	}
	return err
}

// worthAsking reports whether the question may still be put: none while the
// cell reacts, none that brings the hands nearer than the class allows.
func worthAsking(shop *Shop, given []Given, f triage.FieldID) bool {
	v := Assess(shop, given).Verdict
	if v.Handling == triage.Emergency {
		return false
	}
	if f == triage.HeatedMinAgo {
		rise := v.Facts[triage.FRise]
		return rise.State == triage.Known && rise.Lo >= 3*triage.One
	}
	if f == triage.NominalThicknessMm {
		return v.Reading[triage.ThicknessMm].State == triage.Known
	}
	return v.Handling < triage.Isolate || triage.Fields[f].Reach < triage.Touch
}

// askOne asks until the answer is accepted; nil is the end of the input.
func askOne(a *asker, f triage.FieldID) (*string, error) {
	var answer string
	ok, err := a.ask(prompt(f), func(text string) (complaint string) {
		if f == triage.Signs {
			if text == "" {
				return "No default for a sign: type none if you looked and saw none, ? if you did not look."
			}
			text = signNumbers(text)
		}
		var r triage.Reading
		if err := r.Set(f, text); err != nil {
			return err.Error()
		}
		if triage.Fields[f].Name == "recalled" && text == "" {
			fmt.Fprintln(a.out, "  Not looked up yet: the cell is held until it is.")
		}
		answer = text
		return ""
	})
	if !ok {
		return nil, err
	}
	return &answer, nil
}

func prompt(f triage.FieldID) string {
	d := &triage.Fields[f]
	if f == triage.Signs {
		var b strings.Builder
		fmt.Fprintln(&b, "Look, listen, smell. Which of these? Numbers or names, or none:")
		for i := triage.Swollen; i <= triage.Misused; i++ {
			fmt.Fprintf(&b, "  %2d %-28s", int(i-triage.Swollen)+1, triage.Fields[i].Label)
			if (i-triage.Swollen)%2 == 1 {
				fmt.Fprintln(&b)
			}
		}
		return b.String() + "signs"
	}
	switch {
	case d.Unit != "":
		return d.Label + " (" + d.Unit + ")"
	case d.Words != nil:
		return d.Label + " (" + strings.Join(d.Words, ", ") + ")"
	}
	return d.Label
}

// signNumbers turns the numbers of the sign list into names.
func signNumbers(text string) string {
	parts := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" ,;+", r) })
	for i, p := range parts {
		if n, err := strconv.Atoi(p); err == nil && n >= 1 && n <= int(triage.Misused-triage.Swollen)+1 {
			parts[i] = triage.Fields[triage.Swollen+triage.FieldID(n-1)].Name
		}
	}
	return strings.Join(parts, ";")
}
