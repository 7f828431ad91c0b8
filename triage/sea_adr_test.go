package triage

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// UN rules: by sea and by European road.
var unRoutes = []Route{Sea, ADRRoad}

// unPrefix begins the id of every way of a route.
var unPrefix = map[Route]string{Sea: "sea-", ADRRoad: "adr-"}

// An approvalCase is one line of testdata/cases/approvals.tsv: what stands open once an approval, a scheme or a
// tested packaging is in hand. open lists every open way, the lightest first.
type approvalCase struct {
	routeCase
	open, inHand string
}

// loadApprovalCases reads the cases with something in hand; "all" is every way of the tables that asks for something.
func loadApprovalCases(t *testing.T) []approvalCase {
	t.Helper()
	var list []approvalCase
	seen := map[string]bool{}
	for _, row := range rows(t, "approvals.tsv") {
		c := approvalCase{routeCase{row["id"], row["basis"], row["source"], row["route"], row["want"], "", row["reading"]}, row["open"], row["in_hand"]}
		if seen[c.id] || c.source == "" || !slices.Contains([]string{"published", "derived", "memory"}, c.basis) {
			t.Fatalf("approvals.tsv: %q is blank or used twice, or source or basis is missing", c.id)
		}
		seen[c.id] = true
		list = append(list, c)
	}
	return list
}

// hand lists the ids that a case has in hand.
func (c *approvalCase) hand(t *testing.T) []string {
	if c.inHand == "all" {
		return everyApproval(t)
	}
	return strings.Fields(c.inHand)
}

func everyApproval(t testing.TB) []string {
	t.Helper()
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	for _, table := range tables {
		for i := range table.Ways {
			if w := &table.Ways[i]; w.Approval != nil {
				ids = append(ids, w.ID)
			}
		}
	}
	if len(ids) == 0 {
		t.Fatal("no way asks for anything")
	}
	return ids
}

// differs says how an answer departs from a case, "" when it does not.
func (c *approvalCase) differs(v *Verdict) string {
	if d := c.routeCase.differs(v); d != "" {
		return d
	}
	route, err := word("route", c.route, routeWords[:])
	if err != nil {
		return err.Error()
	}
	if a := &v.Routes[route]; a.Class <= RouteCritical || c.open != "" {
		var open []string
		for _, w := range usOpenWays(a) {
			open = append(open, w.ID)
		}
		if got := strings.Join(open, " "); got != c.open {
			return fmt.Sprintf("%s: open %q, want %q (%s)", c.route, got, c.open, c.source)
		}
	}
	return ""
}

func TestApprovalCases(t *testing.T) {
	rb, day := embeddedBook(t), usDate(t)
	list := loadApprovalCases(t)
	var v Verdict
	for _, c := range list {
		rb.Judge(&Case{Reading: usReading(t, c.reading), On: day, InHand: c.hand(t)}, &v)
		if d := c.differs(&v); d != "" {
			t.Errorf("%s: %s\n\treading %s, in hand %s", c.id, d, c.reading, c.inHand)
		}
	}
	t.Logf("%d cases", len(list))
}

// TestUNEveryAnswerIsDefined sweeps every combination, with nothing and with everything in hand.
func TestUNEveryAnswerIsDefined(t *testing.T) {
	rb, day, all := embeddedBook(t), usDate(t), everyApproval(t)
	var v Verdict
	n, laterOnly, lighter, heavier := 0, 0, 0, 0
	eachUSReading(t, func(overrides string, r *Reading) {
		for _, hand := range [][]string{nil, all} {
			rb.Judge(&Case{Reading: *r, On: day, InHand: hand}, &v)
			for _, route := range unRoutes {
				n++
				if fault := unFault(route, &v, hand != nil); fault != "" && !t.Failed() {
					t.Errorf("%s, %s, in hand %v: %s (class %s, way %q)", overrides, route, hand, fault, v.Routes[route].Class, wayID(&v.Routes[route]))
				}
			}
			us, adr := v.Routes[USHighway].Class, v.Routes[ADRRoad].Class
			switch {
			case us <= RouteCritical && adr > RouteCritical:
				t.Fatalf("%s: %s by US highway and %s by ADR: the tables had no such cell", overrides, us, adr)
			case adr <= RouteCritical && us > RouteCritical:
				laterOnly++
			case us < adr && adr <= RouteCritical:
				lighter++
			case adr < us && us <= RouteCritical:
				heavier++
			}
		}
	})
	if laterOnly == 0 || lighter == 0 || heavier == 0 {
		t.Errorf("ADR alone %d, lighter by US highway %d, lighter by ADR %d: want some of each", laterOnly, lighter, heavier)
	}
	t.Logf("%d answers; lawful by ADR and not by US highway %d, lighter by US highway %d, lighter by ADR %d", n, laterOnly, lighter, heavier)
}

// unFault says what is wrong with the answer on one route whatever the reading, "" for nothing.
func unFault(route Route, v *Verdict, inHand bool) string {
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
	case a.Class == RouteGroundOnly:
		return "a US highway size"
	case inHand && a.Class == RouteApproval:
		return "on approval with everything in hand"
	case v.Condition == Reacting && a.Class != RouteForbidden:
		return "reacting, and not forbidden"
	case v.Condition == Liable && a.Class < RouteCritical:
		return "liable, and lighter than critical"
	case v.Condition == Liable && !inHand && a.Class < RouteApproval:
		return "liable, and open with nothing in hand"
	case (v.Condition == Damaged || v.Condition == RecalledCell) && a.Class < RouteDamaged:
		return "damaged or recalled, and lighter than damaged"
	case v.Condition == Undetermined && a.Class <= RouteApproval:
		return "undetermined, and open"
	}
	for _, w := range usOpenWays(a) {
		switch {
		case w.routes != 1<<route || w.forClasses>>v.Condition&1 == 0 || !strings.HasPrefix(w.ID, unPrefix[route]):
			return "open by " + w.ID + ", which is not for this route or condition"
		case w.Approval != nil && !inHand:
			return "open by " + w.ID + " with nothing in hand"
		case v.Condition >= Damaged && w.class < RouteDamaged:
			return "open by " + w.ID + ", too light"
		}
	}
	return ""
}

// TestUNNeverLighter compares neighbours as TestUSNeverLighter does, with everything in hand.
func TestUNNeverLighter(t *testing.T) {
	rb, day, all := embeddedBook(t), usDate(t), everyApproval(t)
	worse := [][]string{
		usAxes.size[0:4], usAxes.size[6:10],
		{"type_tested=yes", "type_tested=no"}, {"type_tested=yes", "type_tested="}, {"type_tested=yes", "type_tested=ur"},
		{"wh_marked=yes", "wh_marked=no"}, {"wh_marked=yes", "wh_marked="}, {"mass_g=70", "mass_g=500.000001"},
		{"purpose=recycle", "purpose=reuse"}, {"purpose=recycle", "purpose="}, {"fit=loose", "fit="}, {"fit=installed", "fit=ur"},
		{"chemistry=li-ion", "chemistry="}, {"parallel=1", "parallel="}, {"parallel=2", "parallel="},
	}
	var v, w Verdict
	n := 0
	for _, base := range []string{"", "purpose=reuse", "parallel=2", "parallel=2 wh_marked=no", "type_tested=no", "parallel=2 type_tested=no wh_marked=no",
		"fit=installed", "fit=installed type_tested=no", "swollen=yes", "recalled=yes parallel=2", "smoking=yes quiet_h=24"} {
		for _, size := range usAxes.size {
			for _, chain := range worse {
				for i := 1; i < len(chain); i++ {
					lightSide, worseSide := size+" "+base+" "+chain[i-1], size+" "+base+" "+chain[i]
					rb.Judge(&Case{Reading: usReading(t, lightSide), On: day, InHand: all}, &v)
					rb.Judge(&Case{Reading: usReading(t, worseSide), On: day, InHand: all}, &w)
					for _, route := range unRoutes {
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

// With every approval and scheme in hand a blank still opens no way and bad news no light one (P1, P2): the scheme of
// SP 636 is the lightest class there is.
func TestInHandPropertiesHold(t *testing.T) {
	rb, all := shipped(t), everyApproval(t)
	judge := func(r Reading) *Verdict {
		v := &Verdict{}
		rb.Judge(&Case{Reading: r, On: rb.On, InHand: all}, v)
		return v
	}
	// A reading drawn blind seldom opens one of these ways: half the draws start at a written case.
	var written []Reading
	for _, c := range loadApprovalCases(t) {
		written = append(written, usReading(t, c.reading))
	}
	opened := 0
	rapid.Check(t, func(t *rapid.T) {
		r := drawReading(t)
		if rapid.Bool().Draw(t, "written") {
			r = rapid.SampledFrom(written).Draw(t, "case")
			f := FieldID(rapid.IntRange(0, int(NumFields)-1).Draw(t, "field"))
			drawField(t, &r, f)
			r.Check()
		}
		before := judge(r)
		for route := range NumRoutes {
			for id := range openWays(before, route) {
				if slices.Contains(all, id) {
					opened++
				}
			}
		}
		if rapid.Bool().Draw(t, "bad news") {
			worse := r
			s := Swollen + FieldID(rapid.IntRange(0, int(Misused-Swollen)).Draw(t, "which"))
			worse[s] = Value{State: Known, Num: 1, Hi: 1}
			worse.Check()
			if w := newlyOpen(before, judge(worse), lightOrAir); w != "" {
				t.Fatalf("bad news opened %s", w)
			}
			return
		}
		group := rapid.SampledFrom(factGroups).Draw(t, "fact")
		if group[0] == Purpose && r[Purpose].State == Known && Fields[Purpose].Words[r[Purpose].Num] == "return" {
			t.Skip("return stands apart")
		}
		if contradicts(&r, group[0]) {
			t.Skip("taking a contradiction away is not missing input")
		}
		blank := r
		for _, f := range group {
			unset(&blank, f, true)
		}
		blank.Check()
		if w := newlyOpen(before, judge(blank), anyWay); w != "" {
			t.Fatalf("blanking %v opened %s", names(group), w)
		}
	})
	if opened == 0 {
		t.Error("no way with an approval was open in any draw: the test shows nothing")
	}
}

// TestUNPastEdition: from the first day of the next edition every verdict says that this one is past.
func TestUNPastEdition(t *testing.T) {
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	for day, want := range map[string]bool{"2026-12-31": false, "2027-01-01": true} {
		d, err := ParseDate(day)
		if err != nil {
			t.Fatal(err)
		}
		rb, err := tables.On(d)
		if err != nil {
			t.Fatal(err)
		}
		for _, id := range []string{"imdg", "adr-road"} {
			if got := slices.ContainsFunc(rb.PastEdition(), func(in *Instrument) bool { return in.ID == id }); got != want {
				t.Errorf("%s on %s: past edition %v, want %v", id, day, got, want)
			}
		}
	}
}

func TestRouteCaseFilesArePresent(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(cases, "*-routes.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"sea-routes.tsv", "adr-routes.tsv"} {
		if !slices.Contains(files, filepath.Join(cases, name)) {
			t.Errorf("%s is missing: its cases would pass by not being read", name)
		}
	}
}
