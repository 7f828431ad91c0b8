package exports

import (
	"fmt"
	"io"
	"strings"

	"pouchward/triage"
)

// A ShipPlan is what of the stock can go by a route on a day, and what keeps the
// rest.
type ShipPlan struct {
	Route     string        `json:"route"`
	On        string        `json:"on"`
	Stock     int           `json:"cells"`
	Going     int           `json:"going"`
	Free      []ShipFree    `json:"one_reading"`
	Packages  []ShipPlanned `json:"packages"`
	Kinds     []ShipKind    `json:"kinds"`
	Bound     int           `json:"bound"`
	Gap       int           `json:"gap"`
	Left      []ShipLeft    `json:"left"`
	Unsecured []string      `json:"unsecured"` // planned, and to be secured first
	Packed    []string      `json:"packed"`
	Reuse     []string      `json:"kept_for_reuse"`
	Notes     []string      `json:"notes"`
}

// A ShipPlanned is a package of a plan. Its masses are rounded up to the gram.
type ShipPlanned struct {
	Number  int      `json:"number"`
	Outer   string   `json:"outer"`
	Level   string   `json:"level"`
	Kind    string   `json:"kind"`
	Words   string   `json:"-"` // Kind as a person reads it
	UN      string   `json:"un"`
	Wh      float64  `json:"wh"`
	Unrated int      `json:"unrated"`
	NetG    int64    `json:"net_g"`   // at most; 0 not known
	GrossG  int64    `json:"gross_g"` // at most; 0 not known
	Papers  bool     `json:"papers"`
	Phone   bool     `json:"emergency_number"`
	Inner   bool     `json:"inner"`
	Fill    bool     `json:"fill"`
	Tags    []string `json:"tags"`
}

// A ShipKind is what goes together, with the least packages that it needs.
type ShipKind struct {
	Kind     string `json:"kind"`
	Words    string `json:"-"`
	Items    int    `json:"cells"`
	Packages int    `json:"packages"`
	Bound    int    `json:"bound"`
}

// A ShipFree is a reading, or a determination, that alone would free cells if it
// turned out well.
type ShipFree struct {
	Reading string   `json:"reading"`
	Seconds int      `json:"seconds,omitempty"`
	Tags    []string `json:"frees"`
}

// A ShipLeft is what keeps cells.
type ShipLeft struct {
	Why    string   `json:"why"`
	Source string   `json:"source,omitempty"`
	Frees  []string `json:"freed_by,omitempty"`
	Tags   []string `json:"tags"`
}

// mostPlanTags is how many tags of one line of a plan are named; --json has all.
const mostPlanTags = 48

// WriteShipPlan writes a plan at the width of a screen.
func WriteShipPlan(w io.Writer, p *ShipPlan) error {
	c := card{width: width}
	fmt.Fprintf(&c.b, "SHIP PLAN for %s, judged for %s\n", p.Route, p.On)
	c.set(0, fmt.Sprintf("%d of %s can go, in %s. No plan by these ways does with fewer than %d: gap %d.", p.Going, plural(p.Stock, "cell"), plural(len(p.Packages), "package"), p.Bound, p.Gap))
	p.free(&c)
	if len(p.Packages) > 0 {
		c.b.WriteString("\nPACKAGES\n")
	}
	for i := 0; i < len(p.Packages); {
		alike := 1
		for i+alike < len(p.Packages) && p.Packages[i].alike(&p.Packages[i+alike]) {
			alike++
		}
		writePlanned(&c, p.Packages[i:i+alike])
		i += alike
	}
	if len(p.Kinds) > 1 {
		c.b.WriteString("\nKINDS\n")
		for _, k := range p.Kinds {
			c.set(2, fmt.Sprintf("%s in %s (fewest possible %d): %s", plural(k.Items, "cell"), plural(k.Packages, "package"), k.Bound, k.Words))
		}
	}
	p.stays(&c)
	for _, x := range []struct {
		head string
		tags []string
	}{{"SECURE BEFORE PACKING (pouchward secure)", p.Unsecured}, {"IN A PACKAGE ALREADY", p.Packed}, {"KEPT FOR REUSE, not planned", p.Reuse}} {
		if len(x.tags) > 0 {
			fmt.Fprintf(&c.b, "\n%s  %d\n", x.head, len(x.tags))
			c.tags(2, x.tags)
		}
	}
	if len(p.Notes) > 0 {
		c.b.WriteString("\nNOTICE\n")
	}
	for _, n := range p.Notes {
		c.set(2, n)
	}
	c.b.WriteString("\nA plan is no permission. Each cell is judged again when it is packed, closed and\nhanded over. Local codes, the carrier and licensed practice come first.\n")
	_, err := io.WriteString(w, cleanLines(c.b.String()))
	return err
}

// free writes the readings that free most cells.
func (p *ShipPlan) free(c *card) {
	if len(p.Free) == 0 {
		return
	}
	c.b.WriteString("\nONE READING AWAY FROM GOING, if it turns out well\n")
	for i, f := range p.Free {
		if i == 6 {
			fmt.Fprintf(&c.b, "  and %d more (--json)\n", len(p.Free)-i)
			break
		}
		time := ""
		if f.Seconds > 0 {
			time = fmt.Sprintf(", %s a cell", seconds(f.Seconds))
		}
		c.set(2, fmt.Sprintf("%s%s: frees %s: %s", readingText(f.Reading), time, plural(len(f.Tags), "cell"), planTags(f.Tags)))
	}
}

// readingText names a reading in words, with the name by which it is typed; a
// determination is in words already.
func readingText(name string) string {
	id, ok := triage.FieldByName(name)
	if !ok {
		return upperFirst(name)
	}
	return upperFirst(triage.Fields[id].Label) + " (" + name + ")"
}

// set writes text wrapped, the second and later lines set in by two more.
func (c *card) set(indent int, text string) {
	for i, line := range Wrap(text, c.width-indent-2) {
		fmt.Fprintf(&c.b, "%*s%s\n", indent+2*min(i, 1), "", line)
	}
}

// alike reports whether two packages of one cell each read the same but for it.
func (p *ShipPlanned) alike(q *ShipPlanned) bool {
	return len(p.Tags) == 1 && len(q.Tags) == 1 && p.Outer == q.Outer && p.Level == q.Level && p.Kind == q.Kind && p.Inner == q.Inner && p.Fill == q.Fill &&
		p.Papers == q.Papers && p.Phone == q.Phone && (p.NetG > 0) == (q.NetG > 0) && (p.GrossG > 0) == (q.GrossG > 0)
}

// writePlanned writes a package, or several that are alike in one.
func writePlanned(c *card, list []ShipPlanned) {
	p := &list[0]
	number, cells, most, gross := fmt.Sprint(p.Number), plural(len(p.Tags), "cell"), int64(0), int64(0)
	var sum ShipPlanned
	for i := range list {
		x := &list[i]
		sum.Wh, sum.Unrated, sum.NetG, sum.Tags = sum.Wh+x.Wh, sum.Unrated+x.Unrated, sum.NetG+x.NetG, append(sum.Tags, x.Tags...)
		most, gross = max(most, x.NetG), max(gross, x.GrossG)
	}
	netText, grossText := "net not known", "gross not known"
	if most > 0 {
		netText = "net " + Amount(sum.NetG, 1000) + " kg"
	}
	if gross > 0 {
		grossText = "gross " + Amount(gross, 1000) + " kg at most"
	}
	if len(list) > 1 {
		number += fmt.Sprintf(" to %d", list[len(list)-1].Number)
		cells = fmt.Sprintf("%d cells, each alone", len(list))
		grossText += " each"
	}
	c.set(2, fmt.Sprintf("%s  %s (%s): %s, %s, %s, %s", number, p.Outer, p.Level, cells, whText(sum.Wh, int64(sum.Unrated)), netText, grossText))
	c.set(5, p.Words)
	var owed []string
	for _, x := range []struct {
		is   bool
		what string
	}{{p.Inner, "inner packaging round each"}, {p.Fill, "cushioning"}, {p.Papers, "papers"}, {p.Phone, "emergency telephone"}} {
		if x.is {
			owed = append(owed, x.what)
		}
	}
	if len(owed) > 0 {
		c.set(5, "wants: "+strings.Join(owed, ", "))
	}
	c.tags(5, sum.Tags)
}

// stays writes what keeps the rest.
func (p *ShipPlan) stays(c *card) {
	n := 0
	for _, l := range p.Left {
		n += len(l.Tags)
	}
	fmt.Fprintf(&c.b, "\nSTAYS BEHIND  %d\n", n)
	for _, l := range p.Left {
		text := l.Why
		if l.Source != "" {
			text += " (" + l.Source + ")"
		}
		c.set(2, plural(len(l.Tags), "tag")+": "+text)
		c.tags(5, l.Tags)
		if len(l.Frees) > 0 {
			var frees []string
			for _, name := range l.Frees {
				frees = append(frees, lowerFirst(readingText(name)))
			}
			c.set(5, "freed by one of: "+strings.Join(frees, ", "))
		}
	}
}

// tags writes tags in rows, which never break one at its space.
func (c *card) tags(indent int, tags []string) {
	const row = 8
	for i := 0; i < len(tags); i += row {
		if i >= mostPlanTags {
			fmt.Fprintf(&c.b, "%*sand %d more (--json)\n", indent, "", len(tags)-i)
			return
		}
		var list []string
		for _, t := range tags[i:min(i+row, len(tags))] {
			list = append(list, triage.SpacedTag(t))
		}
		fmt.Fprintf(&c.b, "%*s%s\n", indent, "", strings.Join(list, "  "))
	}
}

// planTags writes a few tags within a line.
func planTags(tags []string) string {
	var list []string
	for i, t := range tags {
		if i == 5 {
			list = append(list, fmt.Sprintf("and %d more", len(tags)-i))
			break
		}
		list = append(list, triage.SpacedTag(t))
	}
	return strings.Join(list, ", ")
}
