package exports

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"pouchward/triage"
)

// A PartReport is what the log knows of the label of a part number.
type PartReport struct {
	Part        string
	Cells       int
	Assessments int
	Facts       []triage.PartFact
}

// partCare stands under what is told of a part.
const partCare = "Label facts of other cells, not read off the one before you: its own label counts more. Nothing measured or seen is among them."

// Part writes the label facts of a part as a table.
func Part(w io.Writer, r *PartReport) error {
	c := card{width: width}
	fmt.Fprintf(&c.b, "Part %s: %s on record, from %s looked at.\n", Clean(r.Part), plural(r.Cells, "cell"), plural(r.Assessments, "assessment"))
	const line = "%-20s %3s  %-8s %-12s %s\n"
	fmt.Fprintf(&c.b, line, "FIELD", "N", "MEDIAN", "SPREAD", "OFFERED")
	const indent = 48
	for i := range r.Facts {
		p := &r.Facts[i]
		offered := "no: " + p.Why
		if p.Offered {
			offered = strings.TrimSuffix(p.Text(p.Value)+", "+p.Why, ", ")
		}
		median, spread := "", ""
		if triage.Fields[p.Field].Type != triage.WordField {
			median, spread = p.Text(p.Median), p.Spread()
		}
		for j, l := range Wrap(offered, c.width-indent) {
			if j > 0 {
				fmt.Fprintf(&c.b, "%*s%s\n", indent, "", l)
				continue
			}
			fmt.Fprintf(&c.b, line, triage.Fields[p.Field].Name, fmt.Sprint(p.N), median, spread, l)
		}
	}
	if len(r.Facts) == 0 {
		fmt.Fprintln(&c.b, "No label fact is on record.")
	}
	c.item("CARE", partCare)
	_, err := io.WriteString(w, c.b.String())
	return err
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

type partJSON struct {
	Part        string         `json:"part"`
	Cells       int            `json:"cells"`
	Assessments int            `json:"assessments"`
	Facts       []partFactJSON `json:"facts"`
}

type partFactJSON struct {
	Field    string          `json:"field"`
	Unit     string          `json:"unit,omitempty"`
	N        int             `json:"n"`
	Median   any             `json:"median,omitempty"` // of a number
	Smallest any             `json:"smallest,omitempty"`
	Largest  any             `json:"largest,omitempty"`
	Values   []partValueJSON `json:"values"`
	Offered  any             `json:"offered"` // null: not offered
	Why      string          `json:"why,omitempty"`
}

type partValueJSON struct {
	Value any `json:"value"`
	Cells int `json:"cells"`
}

// MarshalJSON writes words as strings and numbers as numbers in the unit of
// their field.
func (r *PartReport) MarshalJSON() ([]byte, error) {
	out := partJSON{r.Part, r.Cells, r.Assessments, []partFactJSON{}}
	for i := range r.Facts {
		p := &r.Facts[i]
		d := &triage.Fields[p.Field]
		value := func(v triage.Micro) any {
			if d.Type == triage.WordField {
				return p.Text(v)
			}
			return json.Number(p.Text(v))
		}
		f := partFactJSON{Field: d.Name, Unit: d.Unit, N: p.N, Why: p.Why}
		if d.Type != triage.WordField {
			f.Median, f.Smallest, f.Largest = value(p.Median), value(p.Values[0].Value), value(p.Values[len(p.Values)-1].Value)
		}
		for _, v := range p.Values {
			f.Values = append(f.Values, partValueJSON{value(v.Value), v.Cells})
		}
		if p.Offered {
			f.Offered = value(p.Value)
		}
		out.Facts = append(out.Facts, f)
	}
	return json.Marshal(out)
}

// A PartCount is a part number on record, as triage.PartKey spells it.
type PartCount struct {
	Part        string `json:"part"`
	Assessments int64  `json:"assessments"`
}

// Parts writes the part numbers on record.
func Parts(w io.Writer, list []PartCount) error {
	var b strings.Builder
	t := table{head: []string{"PART", "ASSESSMENTS"}, right: []bool{false, true}}
	for _, p := range list {
		t.rows = append(t.rows, []string{p.Part, fmt.Sprint(p.Assessments)})
	}
	t.write(&b)
	if len(list) == 0 {
		fmt.Fprintln(&b, "No assessment on record names a part number (--part).")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// fromPart says which label facts nobody read off this cell.
func (c *card) fromPart(opt CardOptions) {
	if len(opt.FromPart) > 0 {
		c.item("PART", fmt.Sprintf("%s from part memory, %s on record; not read off this cell.", strings.Join(opt.FromPart, ", "), plural(opt.PartCells, "cell")))
	}
}
