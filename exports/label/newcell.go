package label

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// Known is what the log knows of a cell besides its verdict.
type Known struct {
	State logbook.State
	Holds []exports.Hold // what keeps it in its class
	Start string         // of accumulation, with what the day is; blank: no clock runs
	Look  string         // when to look again, blank: nothing is owed
	Where string
	Entry int64 // the last about it
}

// NewCell makes the label of a cell from its verdict. What is not known is said in
// the place where it would stand, with a line to write it on.
func NewCell(v *triage.Verdict, x *Known) *Cell {
	c := &Cell{Tag: x.State.Tag, Class: v.Handling, Look: x.Look,
		AsOf: asOf(x.Entry, v.On)}
	c.Word, c.Verb = exports.Strength(v)
	add := func(name string, must, loud bool, parts ...string) {
		parts = slices.DeleteFunc(parts, func(s string) bool { return s == "" })
		if len(parts) > 0 {
			c.Facts = append(c.Facts, Fact{name, parts, must, loud})
		}
	}
	if do := v.DoLines(); len(do) > 0 {
		add("DO", true, false, do[0])
	}
	if s := &x.State; s.Lapses != "" && s.Lapses >= v.On.String() {
		add("UNTIL", true, true, fmt.Sprintf("%s. From the day after: %s, %s", s.Lapses, exports.HandlingText(s.LapsedHandling), s.LapsedCondition))
	}
	add("WHY", false, false, reasons(v)...)
	add("CARRIAGE", true, false, carriage(v), casingWords[v.Waste])
	add("SIZE", true, false, size(v))
	words, loud := wasteWords(v)
	add("WASTE", true, loud, words)
	if v.Waste != triage.NotWaste {
		since := x.Start
		if since == "" {
			since = "____-__-__ (no day on record)"
		}
		add("SINCE", true, false, since)
	}
	add("HELD BY", false, false, holds(x.Holds)...)
	add("AT", false, false, x.Where)
	add("NOT KNOWN", false, false, strings.Split(exports.NotKnown(v), "; ")...)
	return c
}

// asOf says what a label rests on.
func asOf(entry int64, on triage.Date) string {
	return fmt.Sprintf("By entry %d, %s; a later one counts.", entry, on)
}

var casingWords = map[triage.Waste]string{
	triage.CasingIntact:   "casing intact",
	triage.WasteUnknown:   "casing NOT KNOWN to be whole",
	triage.CasingBreached: "casing BREACHED",
}

// reasons are what made the class, those of the class itself first; what the log
// holds it to last, since it is said by its entry too.
func reasons(v *triage.Verdict) []string {
	var own, milder, raised []string
	for i := range v.HandlingFindings {
		f := &v.HandlingFindings[i]
		switch {
		case f.State != triage.Fired:
		case f.Rule == nil:
			raised = append(raised, "Raised by "+f.By)
		case f.Rule.Handling == v.Handling.String():
			own = append(own, reason(f))
		default:
			milder = append(milder, reason(f))
		}
	}
	return slices.Concat(own, milder, raised)
}

// reason is a finding with its number, where it has one.
func reason(f *triage.Finding) string {
	if f.Shown == nil || strings.HasPrefix(f.Shown.Limit(), "is ") {
		return f.Rule.Title
	}
	return f.Rule.Title + " (" + f.ValueText() + ")"
}

// carriage is the condition. That no aircraft takes it is said; that one might is
// not: a shop label is no permission.
func carriage(v *triage.Verdict) string {
	text := strings.ToUpper(v.Condition.String())
	if v.Routes[triage.AirPassenger].Class == triage.RouteForbidden && v.Routes[triage.AirCargo].Class == triage.RouteForbidden {
		text += ", not by air"
	}
	return text
}

func size(v *triage.Verdict) string {
	if e := v.Facts[triage.FEnergy]; e.State == triage.Known {
		return strings.ToUpper(v.Size.String()) + ", " + e.Text(triage.FEnergy)
	} else if w := e.State.Word(); v.Size == triage.SizeUnknown {
		return "UNKNOWN, " + w + ": ______Wh"
	} else {
		return strings.ToUpper(v.Size.String()) + ", " + w + ": ______Wh"
	}
}

// wasteWords are the words that the waste law wants on a cell, else what it makes of
// it; loud says that they are words to be shown.
func wasteWords(v *triage.Verdict) (text string, loud bool) {
	if v.Waste == triage.NotWaste {
		return "not waste while it is kept for reuse", false
	}
	if words, _ := shownWords(v); len(words) > 0 {
		return words[0], true
	}
	if codes := shownCodes(v); len(codes) > 0 {
		return strings.Join(codes, "; "), false
	}
	return "no table for this country; ask the authority: ____________", false
}

// codesInWords is the greatest number of waste codes that stand on a label with their words.
const codesInWords = 3

// shownCodes are the waste codes of a cell as a label has room for them: of a cell of which little is known they are
// many, and then the numbers alone.
func shownCodes(v *triage.Verdict) []string {
	codes := v.WasteCodes()
	if len(codes) <= codesInWords {
		return codes
	}
	for i, code := range codes {
		if number, _, ok := strings.Cut(code, " ("); ok && code[0] >= '0' && code[0] <= '9' {
			codes[i] = number
		}
	}
	return codes
}

// shownWords are the wordings of which the waste law wants one, with the source.
func shownWords(v *triage.Verdict) (words []string, source string) {
	for _, s := range v.Streams {
		for _, d := range v.Owed(s.Duties, "") {
			if d.Kind == "label" && len(d.AnyOf) > 0 {
				return d.AnyOf, d.Source
			}
		}
	}
	return nil, ""
}

// holds are the entries that hold the cell with the rules that they found.
func holds(list []exports.Hold) (parts []string) {
	rules := map[int64][]string{}
	var entries []int64
	for _, h := range list {
		if h.Entry == 0 {
			continue
		}
		if rules[h.Entry] == nil {
			entries = append(entries, h.Entry)
		}
		rules[h.Entry] = append(rules[h.Entry], h.Rule)
	}
	for _, n := range entries {
		parts = append(parts, fmt.Sprintf("entry %d: %s", n, strings.Join(rules[n], ", ")))
	}
	return parts
}
