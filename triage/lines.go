package triage

// A Line is one rule seen as a line that a value has or has not crossed: what
// assess --why prints.
type Line struct {
	Rule    *Rule
	Answer  Tri
	Outcome string // the worst answer it gives
	Limit   string
	Value   string
	// Distance from the value to the line, with its unit; "" where the line is
	// no number or the value is not known.
	Distance string
	Missing  FactSet
}

// Lines returns every handling and condition rule as a line, in rulebook order.
func (rb *Rulebook) Lines(v *Verdict) []Line {
	var lines []Line
	for _, r := range rb.rules {
		if r.Handling == "" && r.Condition == "" {
			continue
		}
		t, missing := r.when.eval(&v.Facts)
		l := Line{Rule: r, Answer: t, Outcome: r.Handling, Missing: missing}
		if l.Outcome == "" {
			l.Outcome = r.Condition
		}
		if c := r.when.decisive(&v.Facts); c != nil {
			x := v.Facts[c.Fact]
			l.Limit, l.Value = FactTable[c.Fact].Label+" "+c.Limit(), x.Text(c.Fact)
			l.Distance = c.distance(x)
		}
		lines = append(lines, l)
	}
	return lines
}

// distance says how far a value lies from the line and on which side.
func (c *Condition) distance(x Fact) string {
	if c.op == isWord || x.State != Known {
		return ""
	}
	unit := " " + FactTable[c.Fact].Unit
	switch {
	case x.Lo >= c.limit:
		return (x.Lo - c.limit).Rounded(3).String() + unit + " above"
	case x.Hi <= c.limit:
		return (c.limit - x.Hi).Rounded(3).String() + unit + " below"
	}
	return "on both sides"
}
