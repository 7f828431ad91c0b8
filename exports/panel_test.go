package exports

import (
	"bytes"
	"strings"
	"testing"

	"pouchward/triage"
)

// The routes of a panel are the pages of Papers: the same answers, duties and sources,
// each route once.
func TestPanelRoutesAreThePapers(t *testing.T) {
	rb := shipped(t)
	all, err := triage.ParseRoutes([]string{"all"})
	if err != nil {
		t.Fatal(err)
	}
	flat := func(s string) string { return strings.Join(strings.Fields(s), "") }
	for _, words := range []string{"signs=swollen", "signs=none recalled=no ocv_v=3.8 cell_c=21 ambient_c=21 kind=pouch chemistry=li-ion series=1 parallel=1 nominal_v=3.85 rated_mah=3000 fit=loose rocks=no purpose=recycle type_tested=yes mass_g=45"} {
		var k triage.Case
		for _, w := range strings.Fields(words) {
			name, text, _ := strings.Cut(w, "=")
			f, _ := triage.FieldByName(name)
			if err := k.Reading.Set(f, text); err != nil {
				t.Fatal(w, err)
			}
		}
		var v triage.Verdict
		rb.Judge(&k, &v)
		var b bytes.Buffer
		if err := Papers(&b, rb, &v, nil, all); err != nil {
			t.Fatal(err)
		}
		page, seen := flat(b.String()), map[string]int{}
		for _, route := range NewPanel(rb, &v, nil, CardOptions{}).Routes {
			for _, name := range strings.Split(route.Names, ", ") {
				seen[name]++
			}
			if !strings.Contains(page, flat(route.Names)) || len(route.Rows) < 2 {
				t.Errorf("%s: %d rows, or not together in the papers", route.Names, len(route.Rows))
			}
			for _, row := range route.Rows {
				if !strings.Contains(page, flat(row.Label+" "+row.Text)) {
					t.Errorf("%s: the papers do not say %q %q", route.Names, row.Label, row.Text)
				}
			}
		}
		for _, name := range triage.RouteNames() {
			if seen[name] != 1 {
				t.Errorf("%s stands on the panel %d times", name, seen[name])
			}
		}
	}
}
