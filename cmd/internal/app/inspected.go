package app

import (
	"fmt"
	"io"
	"strings"

	"pouchward/triage"
)

// AskInspection asks for the checks and the count, one question a line. A blank
// answer is a thing that was not looked at.
func AskInspection(act Act, x *Inspection, in io.Reader, out io.Writer) error {
	// Before the questions: what it lacks must not cost the answers.
	if err := act.needWho("an inspection"); err != nil {
		return err
	}
	a := newAsker(in, out)
	fmt.Fprintln(out, "yes, no, or blank: not looked.")
	more := true
	var err error
	for i := 0; i < len(Checks) && more && err == nil; i++ {
		c := Checks[i]
		more, err = a.ask(c.Question, func(text string) string {
			said, err := yesNo(c.Name, text)
			if err != nil {
				return err.Error()
			}
			x.Checks[c.Name] = said
			return ""
		})
	}
	if more && err == nil {
		_, err = a.ask("cells counted (blank: not counted)", func(text string) string {
			if text == "" {
				return ""
			}
			n, err := parseCount(text)
			if err != nil {
				return err.Error()
			}
			x.Found = &n
			return ""
		})
	}
	fmt.Fprintln(out)
	return err
}

func parseCount(text string) (int64, error) {
	m, err := triage.ParseQuantity(text, "", true)
	if err != nil || m < 0 || m%triage.One != 0 {
		return 0, Usage("%q: use a whole number, 0 or more", text)
	}
	return int64(m / triage.One), nil
}

// Lines says in words what an inspection came to.
func (x *Inspected) Lines() (list []string) {
	say := func(format string, args ...any) { list = append(list, fmt.Sprintf(format, args...)) }
	say("%s  expected by the log: %s", x.name(), cellsWord(x.Expected, x.InLots))
	switch {
	case x.Found == nil && x.Scanned == nil:
		say("Not counted.")
	case x.Found != nil && *x.Found != x.Expected:
		say("THE COUNT DIFFERS: found %d, expected %d.", *x.Found, x.Expected)
	case x.Found != nil:
		say("Found %d, as the log has it.", *x.Found)
	}
	if x.Scanned != nil {
		n := x.scannedCells()
		say("Tags of cells scanned: %d of %d; %d missing, %d extra.", n-x.extraCells(), len(x.cells), len(x.Missing), len(x.Extra))
		for _, tag := range x.Missing {
			say("  missing  %s", triage.SpacedTag(tag))
		}
		for _, tag := range x.Extra {
			say("  extra    %s, %s", triage.SpacedTag(tag), x.elsewhere[tag])
		}
		if x.Found != nil && *x.Found != n+x.InLots {
			say("The count and the scan differ: counted %d, scanned %d, %d in lots.", *x.Found, n, x.InLots)
		}
	}
	if x.Late && (x.Found != nil || x.Scanned != nil) {
		say("NOTICE Held against what the log has now, not at the time of the inspection.")
	}
	if x.VolumeL != "" {
		say("Volume stated: %s L; containers by the log: %s", x.VolumeL, litres(x.LogML))
	}
	list = append(list, x.faults()...)
	if len(x.places) > 0 {
		hint := "it knows: " + strings.Join(x.places, "; ")
		if near := triage.Nearest(x.About, x.places); near != "" {
			hint = "did you mean " + near + "?"
		}
		say("NOTICE The log has nothing at a place of that name; %s", hint)
	}
	return list
}

func (x *Inspected) name() string {
	if x.isBox {
		return triage.SpacedTag(x.About)
	}
	return x.About
}

func litres(ml int64) string {
	if ml == 0 {
		return "not known"
	}
	return (triage.Micro(ml) * triage.One / 1000).String() + " L"
}

func (x *Inspected) extraCells() (n int64) {
	for _, tag := range x.Extra {
		if kind, _ := triage.TagNumber(tag); kind == triage.CellTag {
			n++
		}
	}
	return n
}

func cellsWord(cells, lots int64) string {
	word := "cells"
	if cells == 1 {
		word = "cell"
	}
	if lots > 0 {
		return fmt.Sprintf("%d %s, %d in lots", cells, word, lots)
	}
	return fmt.Sprintf("%d %s", cells, word)
}

// faults says which checks were not met and which were not looked at.
func (x *Inspected) faults() (list []string) {
	var not []string
	met := 0
	for _, c := range Checks {
		switch x.Checks[c.Name] {
		case "no":
			list = append(list, "NOT MET  "+c.Question)
		case "yes":
			met++
		default:
			not = append(not, c.Question)
		}
	}
	if met == len(Checks) {
		list = append(list, fmt.Sprintf("Met: all %d checks.", met))
	}
	if x.Checks["quiet"] == "no" {
		list = append(list, "Heat, smell or hiss: pouchward emergency; then pouchward raise TAG --to emergency")
	}
	if len(not) > 0 {
		list = append(list, "Not looked at: "+strings.Join(not, "; "))
	}
	if x.Action == "" && met+len(not) < len(Checks) {
		list = append(list, "No action is recorded: --action says what was done about it.")
	}
	return list
}
