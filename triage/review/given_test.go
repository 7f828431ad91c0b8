package review

import (
	"slices"
	"strings"
	"testing"

	"pouchward/triage"
)

// give sets fields of a look, "ocv_v=3.7 part=BX-1"; a field without a value is left
// blank.
func give(t *testing.T, l *Look, text string) {
	t.Helper()
	for _, word := range strings.Fields(text) {
		name, value, _ := strings.Cut(word, "=")
		f, ok := triage.FieldByName(name)
		if !ok {
			t.Fatalf("no field %q", name)
		}
		var r triage.Reading
		if err := r.Set(f, value); err != nil && value != "x" { // x stands for what is refused
			t.Fatal(err)
		}
		l.Given = slices.DeleteFunc(l.Given, func(g Given) bool { return g.Field == f })
		if value != "" {
			l.Given = append(l.Given, Given{f, r[f]})
		}
	}
}

// look is a step with a look of a cell that stands in a container.
func (b *builder) look(hours float64, kind, text string, now State) Step {
	b.t.Helper()
	s := Step{Source: b.source(ago(hours), "TO"), Kind: kind, Now: now, Look: &Look{Found: "same", Handling: now.Handling, Condition: now.Condition}}
	give(b.t, s.Look, text)
	return s
}

// of runs the review and compares the subjects of one check alone: for a shop that
// would have to be very large to be in order under every check.
func (b *builder) of(check string, want ...string) (list []*Finding, r *Report) {
	b.t.Helper()
	_, r = b.found()
	var got []string
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Check.ID == check {
			got, list = append(got, f.Subject), append(list, f)
		}
	}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		b.t.Errorf("%s: found %q, want %q", check, got, want)
	}
	return list, r
}

// cleanOf returns what is said of a check without a finding.
func cleanOf(t *testing.T, r *Report, check string) Clean {
	t.Helper()
	for _, c := range r.Clean {
		if c.Check.ID == check {
			return c
		}
	}
	t.Fatalf("%s is not clean", check)
	return Clean{}
}
