package exports

import (
	"fmt"
	"io"
	"strings"

	"pouchward/triage"
)

// A DaySheet is the sheet that is filled by hand while the computer is off, and
// typed in later.
type DaySheet struct {
	Site    string // blank: a line to write on
	Columns []Column
	Ticks   []string // made safe: what to tick
	Looks   []string // when to look again
	Rows    int
	Foot    []string
}

// A Column of the day sheet: the name as pouchward fields prints it, the unit to
// write in, and its share of the width.
type Column struct {
	Name, Unit string
	Width      int // characters
}

// column takes unit and name of a field from its description.
func column(f triage.FieldID, width int) Column {
	d := &triage.Fields[f]
	return Column{d.Name, d.Unit, width}
}

// NewDaySheet gathers the day sheet. The looks again are those of common
// practice for a damaged or suspect cell: about 1 h, closing, opening, 24 h.
func NewDaySheet(site string) *DaySheet {
	s := &DaySheet{
		Site: Clean(site),
		Columns: []Column{column(triage.Tag, 8), {"time", "", 5}, column(triage.Who, 4), column(triage.Signs, 11),
			column(triage.CellC, 6), column(triage.AmbientC, 9), column(triage.OcvV, 6), column(triage.ThicknessMm, 12), {"place", "", 9}},
		Ticks: []string{"T", "B", "F"},
		Looks: []string{"1 h", "close", "open", "24 h"},
		Rows:  20,
	}
	var signs []string
	for f := triage.Swollen; f <= triage.Misused; f++ {
		signs = append(signs, fmt.Sprintf("%d %s", int(f-triage.Swollen)+1, triage.Fields[f].Name))
	}
	s.Foot = []string{
		"signs: none = looked, listened, smelled and found none. Else numbers: " + strings.Join(signs, ", ") + ".",
		"Not known: ? not yet, ni no instrument here, us unsafe, nr not reachable, ur unreadable, na does not apply.",
		"kept: T terminals taped, B bagged alone, F dry fill. Look again (common practice): °C, then s same or w worse.",
		"Not judged yet: keep each cell apart until it is typed in. " + triage.LocalFirst,
		"Smoke, hiss, smell, heat, or a punctured cell: AWAY, WARN, CALL, COUNT.",
	}
	return s
}

// tickWidth and lookWidth are the widths of a tick and of one look again.
const tickWidth, lookWidth = 1, 5

// Text draws the sheet, 108 columns wide: landscape A4 or Letter in a
// fixed-width font of 9 or 10 points. Each row is two lines high, room for a
// hand.
func (s *DaySheet) Text(w io.Writer) error {
	var b strings.Builder
	heads, units, rule, empty := "|", "|", "+", "|"
	add := func(name, unit string, width int) {
		heads += fmt.Sprintf("%-*s|", width, name)
		units += fmt.Sprintf("%-*s|", width, unit)
		rule += strings.Repeat("-", width) + "+"
		empty += strings.Repeat(" ", width) + "|"
	}
	for _, c := range s.Columns {
		add(c.Name, c.Unit, c.Width)
	}
	add("kept", strings.Join(s.Ticks, " "), (tickWidth+1)*len(s.Ticks)-1)
	for _, l := range s.Looks {
		add(l, "°C sw", lookWidth)
	}
	wide := len(rule)
	site := s.Site
	if site == "" {
		site = blank(24)
	}
	title := "DAY SHEET   " + site
	fill := "date ____________  bench ________  sheet ___ of ___"
	if len([]rune(title))+3+len(fill) > wide {
		for _, l := range Wrap(title, wide) {
			fmt.Fprintln(&b, l)
		}
		title = ""
	}
	fmt.Fprintf(&b, "%s%*s\n", title, wide-len([]rune(title)), fill)
	fmt.Fprintf(&b, "%*s\n", wide, "typed in: by ________  on ____________  entries _________ to _________")
	fmt.Fprintf(&b, "%s\n%s\n%s\n%s\n", rule, heads, units, rule)
	for range s.Rows {
		fmt.Fprintf(&b, "%s\n%s\n", empty, rule)
	}
	for _, f := range s.Foot {
		for _, l := range Wrap(f, wide) {
			fmt.Fprintln(&b, l)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}
