package triage

import (
	"bufio"
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// usDay is a day on which the tables tested here are in force.
const usDay = "2026-11-25"

// usBase is a complete reading of one faultless cell of 19.25 Wh; a case overrides some of its fields.
const usBase = "kind=pouch signs=none recalled=no cell_c=22 ambient_c=21 ocv_v=3.80 chemistry=li-ion series=1 parallel=1 " +
	"nominal_v=3.85 rated_mah=5000 fit=loose purpose=recycle type_tested=yes wh_marked=yes"

var usRoutes = []Route{USHighway, USRail, USVessel}

// A routeCase is one line of testdata/cases/us-routes.tsv.
type routeCase struct{ id, basis, source, route, want, way, reading string }

// loadRouteCases reads a case file: a header line, then seven columns parted by tabs.
func loadRouteCases(t *testing.T, path string) []routeCase {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var cases []routeCase
	seen := map[string]bool{}
	lines := bufio.NewScanner(bytes.NewReader(data))
	for n := 1; lines.Scan(); n++ {
		col := strings.Split(lines.Text(), "\t")
		if len(col) != 7 {
			t.Fatalf("%s:%d: %d columns, want 7", path, n, len(col))
		}
		c := routeCase{col[0], col[1], col[2], col[3], col[4], col[5], col[6]}
		if n == 1 {
			if want := (routeCase{"id", "basis", "source", "route", "want", "way", "reading"}); c != want {
				t.Fatalf("%s: header %v, want %v", path, c, want)
			}
			continue
		}
		if seen[c.id] || c.id == "" || c.source == "" || !slices.Contains([]string{"published", "derived", "memory"}, c.basis) {
			t.Fatalf("%s:%d: id %q is blank or used twice, or source or basis %q is missing", path, n, c.id, c.basis)
		}
		seen[c.id] = true
		cases = append(cases, c)
	}
	if err := lines.Err(); err != nil {
		t.Fatal(err)
	}
	return cases
}

// usReading is the base reading with overrides; a field set to nothing is blank.
func usReading(t *testing.T, overrides string) Reading {
	t.Helper()
	var r Reading
	for pair := range strings.FieldsSeq(usBase + " " + overrides) {
		name, value, ok := strings.Cut(pair, "=")
		f, known := FieldByName(name)
		if !ok || !known {
			t.Fatalf("reading %q: no field %q", overrides, name)
		}
		if err := r.Set(f, value); err != nil {
			t.Fatalf("reading %q: %v", overrides, err)
		}
	}
	return r
}

func usDate(t *testing.T) Date {
	t.Helper()
	day, err := ParseDate(usDay)
	if err != nil {
		t.Fatal(err)
	}
	return day
}

// embeddedBook returns the rulebook of usDay over the tables of the program.
func embeddedBook(t *testing.T) *Rulebook {
	t.Helper()
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	rb, err := tables.On(usDate(t))
	if err != nil {
		t.Fatal(err)
	}
	return rb
}

func wayID(a *RouteAnswer) string {
	if a.Way == nil {
		return ""
	}
	return a.Way.ID
}

// differs says how an answer departs from a case, "" when it does not.
func (c *routeCase) differs(v *Verdict) string {
	route, err := word("route", c.route, routeWords[:])
	if err != nil {
		return err.Error()
	}
	a := &v.Routes[route]
	if a.Class.String() != c.want || c.way != "" && wayID(a) != c.way {
		return fmt.Sprintf("%s: %s by way %q, want %s by %q (%s)", c.route, a.Class, wayID(a), c.want, c.way, c.source)
	}
	// The sections of the packing instructions by air exclude one another.
	if strings.HasPrefix(c.route, "air-") && len(a.Open) > 0 {
		return fmt.Sprintf("%s: open by %s and by %s too", c.route, wayID(a), a.Open[0].ID)
	}
	if strings.HasPrefix(c.route, "air-") && a.Class < RouteApproval && len(a.Asked) > 0 {
		return fmt.Sprintf("%s: open by %s, and %s asks for an approval", c.route, wayID(a), a.Asked[0].ID)
	}
	return ""
}

func TestRouteCases(t *testing.T) {
	rb, day := embeddedBook(t), usDate(t)
	files, err := filepath.Glob("../testdata/cases/*-routes.tsv")
	if err != nil || len(files) == 0 {
		t.Fatalf("no route cases: %v", err)
	}
	var cases []routeCase
	for _, name := range files {
		cases = append(cases, loadRouteCases(t, name)...)
	}
	count := map[string]int{}
	var v Verdict
	for _, c := range cases {
		count[c.basis]++
		rb.Judge(&Case{Reading: usReading(t, c.reading), On: day}, &v)
		if d := c.differs(&v); d != "" {
			t.Errorf("%s: %s\n\treading %s", c.id, d, c.reading)
		}
	}
	t.Logf("%d cases: %v", len(cases), count)
}

// The axes of the sweep: for each, the overrides of the base reading. Every combination must get a defined answer.
var usAxes = struct{ condition, purpose, size, unit, fit, tested, marked []string }{
	condition: []string{"", "swollen=yes", "cracked=cannot", "recalled=yes", "smoking=yes quiet_h=24", "smoking=yes", "recalled=", "ocv_v=",
		"recalled=yes smoking=yes quiet_h=24"},
	purpose: []string{"purpose=reuse", "purpose=recycle", "purpose=return", "purpose="},
	size: []string{"nominal_v= rated_mah= label_wh=15", "nominal_v= rated_mah= label_wh=50", "nominal_v= rated_mah= label_wh=250",
		"nominal_v= rated_mah= label_wh=350", "nominal_v= rated_mah=", "nominal_v=ur rated_mah=ur label_wh=ur",
		"nominal_v= rated_mah= chemistry=li-metal lithium_g=0.5", "nominal_v= rated_mah= chemistry=li-metal lithium_g=4",
		"nominal_v= rated_mah= chemistry=li-metal lithium_g=20", "nominal_v= rated_mah= chemistry=li-metal lithium_g=30",
		"nominal_v= rated_mah= chemistry=li-metal", "chemistry=", "chemistry=na-ion", "chemistry=ur"},
	unit:   []string{"parallel=1", "parallel=2", "parallel="},
	fit:    []string{"fit=loose", "fit=installed", "fit=packed-with", "fit=", "fit=ur"},
	tested: []string{"type_tested=yes", "type_tested=no", "type_tested=", "type_tested=ur"},
	marked: []string{"wh_marked=yes", "wh_marked=no", "wh_marked="},
}

// eachUSReading calls fn for every combination of the axes.
func eachUSReading(t *testing.T, fn func(overrides string, r *Reading)) {
	t.Helper()
	x := &usAxes
	axes := [][]string{x.condition, x.purpose, x.size, x.unit, x.fit, x.tested, x.marked}
	at := make([]int, len(axes))
	for {
		var parts []string
		for i, a := range axes {
			parts = append(parts, a[at[i]])
		}
		overrides := strings.Join(parts, " ")
		r := usReading(t, overrides)
		fn(overrides, &r)
		i := 0
		for ; i < len(axes); i++ {
			if at[i]++; at[i] < len(axes[i]) {
				break
			}
			at[i] = 0
		}
		if i == len(axes) {
			return
		}
	}
}

// usOpenWays lists the ways that stand open on a route.
func usOpenWays(a *RouteAnswer) []*Way {
	if a.Class > RouteCritical {
		return nil
	}
	return append([]*Way{a.Way}, a.Open...)
}

func TestUSEveryAnswerIsDefined(t *testing.T) {
	rb, day := embeddedBook(t), usDate(t)
	var v Verdict
	n := 0
	eachUSReading(t, func(overrides string, r *Reading) {
		rb.Judge(&Case{Reading: *r, On: day}, &v)
		for _, route := range usRoutes {
			n++
			if fault := usFault(route, &v); fault != "" && !t.Failed() {
				t.Errorf("%s, %s: %s (class %s, way %q)", overrides, route, fault, v.Routes[route].Class, wayID(&v.Routes[route]))
			}
		}
	})
	t.Logf("%d answers", n)
}

// usFault says what is wrong with the answer on one US route whatever the reading, "" for nothing.
func usFault(route Route, v *Verdict) string {
	a := &v.Routes[route]
	why, _ := v.RouteWhy(route)
	switch {
	case a.Class > RouteForbidden || why == "":
		return "no class or no reason"
	case a.Class <= RouteApproval && a.Way == nil:
		return "open without a way"
	case a.Class > RouteApproval && (a.Way != nil || len(a.Open) > 0):
		return "closed with a way"
	case a.Class == RouteUndecided && !a.NoTable && len(a.Maybe) == 0:
		return "undecided without a question"
	case a.Class == RouteApproval || a.Class == RouteCritical:
		return "no US way is on approval or critical"
	case v.Condition >= Liable && a.Class != RouteForbidden:
		return "liable or reacting, and not forbidden"
	case (v.Condition == Damaged || v.Condition == RecalledCell) && a.Class < RouteDamaged:
		return "damaged or recalled, and lighter than damaged"
	case v.Condition == Undetermined && a.Class < RouteUndecided:
		return "undetermined, and open"
	}
	for _, w := range usOpenWays(a) {
		if w.routes>>route&1 == 0 || w.forClasses>>v.Condition&1 == 0 {
			return "open by " + w.ID + ", which is not for this route or condition"
		}
		if route != USHighway && strings.HasPrefix(w.ID, "us-recycling") {
			return "disposal relief off the highway"
		}
		if route == USVessel && w.class == RouteGroundOnly {
			return "highway and rail size by vessel"
		}
	}
	return ""
}

// TestUSNeverLighter compares neighbours: a larger rating, type proof that is no or open, and a mark that is no or
// open never open a way.
func TestUSNeverLighter(t *testing.T) {
	rb, day := embeddedBook(t), usDate(t)
	worse := [][]string{
		usAxes.size[0:4], usAxes.size[6:10],
		{"type_tested=yes", "type_tested=no"}, {"type_tested=yes", "type_tested="}, {"type_tested=yes", "type_tested=ur"},
		{"wh_marked=yes", "wh_marked=no"}, {"wh_marked=yes", "wh_marked="},
		{"purpose=recycle", "purpose=reuse"}, {"purpose=recycle", "purpose="},
		{"chemistry=li-ion", "chemistry="}, {"parallel=1", "parallel="}, {"parallel=2", "parallel="},
	}
	var v, w Verdict
	n := 0
	judge := func(overrides string, into *Verdict) {
		rb.Judge(&Case{Reading: usReading(t, overrides), On: day}, into)
	}
	for _, base := range []string{"", "purpose=reuse", "parallel=2", "parallel=2 purpose=reuse", "type_tested=no", "parallel=2 type_tested=no",
		"fit=installed", "wh_marked=no", "swollen=yes", "recalled=yes parallel=2"} {
		for _, size := range usAxes.size {
			for _, chain := range worse {
				for i := 1; i < len(chain); i++ {
					lightSide, worseSide := size+" "+base+" "+chain[i-1], size+" "+base+" "+chain[i]
					judge(lightSide, &v)
					judge(worseSide, &w)
					for _, route := range usRoutes {
						n++
						for _, way := range usOpenWays(&w.Routes[route]) {
							if !slices.Contains(usOpenWays(&v.Routes[route]), way) {
								t.Errorf("%s: %s opens under %q, closed under %q", route, way.ID, worseSide, lightSide)
							}
						}
					}
				}
			}
		}
	}
	t.Logf("%d pairs", n)
}

// TestUSLiable wants the bar named: what nobody may send needs its paragraph.
func TestUSLiable(t *testing.T) {
	rb, day := embeddedBook(t), usDate(t)
	var v Verdict
	for _, overrides := range []string{"signs=smoking quiet_h=24", "signs=hissing quiet_h=48 fit=installed type_tested=no", "signs=smoking quiet_h=24 recalled=yes purpose=return"} {
		rb.Judge(&Case{Reading: usReading(t, overrides), On: day}, &v)
		for _, route := range usRoutes {
			if a := &v.Routes[route]; a.Class != RouteForbidden || a.Bar == nil || a.Bar.ID != "us-liable" {
				t.Errorf("%s, %s: class %s, bar %v", overrides, route, a.Class, a.Bar)
			}
		}
	}
}
