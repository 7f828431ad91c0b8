package triage

import (
	"slices"
	"strings"
	"testing"
)

var airRoutes = []Route{AirPassenger, AirCargo}

// A datedCase is a route case with the day it is judged for.
type datedCase struct {
	routeCase
	on Date
}

// loadDatedCases reads air-dated.tsv: the columns of a route case after one with the day.
func loadDatedCases(t *testing.T) []datedCase {
	t.Helper()
	var list []datedCase
	seen := map[string]bool{}
	for _, row := range rows(t, "air-dated.tsv") {
		c := routeCase{row["id"], row["basis"], row["source"], row["route"], row["want"], row["way"], row["reading"]}
		if seen[c.id] || c.id == "" || c.source == "" || !slices.Contains([]string{"published", "derived", "memory"}, c.basis) {
			t.Fatalf("air-dated.tsv: id %q is blank or used twice, or source or basis %q is missing", c.id, c.basis)
		}
		seen[c.id] = true
		list = append(list, datedCase{c, day(t, row["on"])})
	}
	return list
}

// bookOn returns the rulebook of the shipped tables on a day.
func bookOn(t testing.TB, on string) *Rulebook {
	t.Helper()
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	rb, err := tables.On(day(t, on))
	if err != nil {
		t.Fatal(err)
	}
	return rb
}

func TestAirDatedCases(t *testing.T) {
	books := map[Date]*Rulebook{}
	var v Verdict
	n := map[Date]int{}
	for _, c := range loadDatedCases(t) {
		if books[c.on] == nil {
			books[c.on] = bookOn(t, c.on.String())
		}
		n[c.on]++
		books[c.on].Judge(&Case{Reading: usReading(t, c.reading), On: c.on}, &v)
		if fault := c.differs(&v); fault != "" {
			t.Errorf("%s on %s: %s\n\treading %s", c.id, c.on, fault, c.reading)
		}
	}
	for _, on := range []string{"2025-01-01", "2025-12-31", "2026-01-01", "2026-12-31", "2027-01-01"} {
		if n[day(t, on)] == 0 {
			t.Errorf("no case on %s", on)
		}
	}
	t.Logf("%d days", len(n))
}

// Charges as readings give them: under the limit, over it, on both sides, at either end, and none at all.
const (
	chargeLow      = "charge_limit_v=4.4 rest_h=24 ocv_v=3.6"
	chargeHigh     = "charge_limit_v=4.4 rest_h=24 ocv_v=4.2"
	chargeStraddle = ""
	chargeAt30     = "charge_limit_v=4.300959 rest_h=24 ocv_v=3.699435"
	chargeOver30   = "charge_limit_v=4.300007 rest_h=24 ocv_v=3.699367"
	chargeFrom30   = "charge_limit_v=4.301071 rest_h=24 ocv_v=3.838315"
	chargeAbove30  = "charge_limit_v=4.300539 rest_h=24 ocv_v=3.838197"
)

// The readings above stand exactly at the line and a millionth of a percent beside it: without them no case could
// notice that the limit moved by a step.
func TestAirChargesStandAtTheLine(t *testing.T) {
	for _, c := range []struct {
		reading string
		of      func(Fact) Micro
		want    Micro
	}{
		{chargeAt30, func(f Fact) Micro { return f.Hi }, 30 * One}, {chargeOver30, func(f Fact) Micro { return f.Hi }, 30*One + 1},
		{chargeFrom30, func(f Fact) Micro { return f.Lo }, 30 * One}, {chargeAbove30, func(f Fact) Micro { return f.Lo }, 30*One + 1},
	} {
		r := usReading(t, c.reading)
		if f := Derive(&r)[FCharge]; f.State != Known || c.of(f) != c.want {
			t.Errorf("%s: charge %s to %s %%, want an end at %s: the curves have changed, look for readings anew", c.reading, f.Lo, f.Hi, c.want)
		}
	}
}

// The axes of the sweep. Bad conditions go with fewer of the others: what they must be is forbidden.
var (
	airBad     = []string{"swollen=yes", "dented=yes", "cracked=cannot", "recalled=yes", "smoking=yes quiet_h=24", "smoking=yes", "rocks=yes", "purpose=return"}
	airPurpose = []string{"purpose=reuse", "purpose=recycle", "purpose=", "purpose=ur"}
	airSize    = []string{"nominal_v= rated_mah= label_wh=2.7", "nominal_v= rated_mah= label_wh=15", "nominal_v= rated_mah= label_wh=50",
		"nominal_v= rated_mah= label_wh=150", "nominal_v= rated_mah=", "nominal_v=ur rated_mah=ur label_wh=ur",
		"nominal_v= rated_mah= chemistry=li-metal lithium_g=0.5", "nominal_v= rated_mah= chemistry=li-metal lithium_g=1.5",
		"nominal_v= rated_mah= chemistry=li-metal lithium_g=20", "nominal_v= rated_mah= chemistry=li-metal lithium_g=600",
		"nominal_v= rated_mah= chemistry=li-metal", "chemistry=", "chemistry=na-ion", "chemistry=ur", "chemistry=lfp"}
	airUnit   = []string{"parallel=1", "parallel=2", "parallel=2 wh_marked=no", "parallel=2 wh_marked=", "parallel="}
	airFit    = []string{"fit=loose", "fit=installed", "fit=packed-with", "fit=", "fit=ur"}
	airCharge = []string{chargeLow, chargeHigh, chargeStraddle, "ocv_v=", "kind=enclosed ocv_v=na", "ocv_v=0.05"}
	airProof  = []string{"type_tested=yes", "type_tested=no", "type_tested="}
)

// eachCombination calls fn with every combination of the axes, joined.
func eachCombination(axes [][]string, fn func(string)) {
	if len(axes) == 0 {
		fn("")
		return
	}
	for _, x := range axes[0] {
		eachCombination(axes[1:], func(rest string) { fn(strings.TrimSpace(x + " " + rest)) })
	}
}

// TestAirEveryAnswerIsDefined sweeps condition, purpose, size, count, fit, charge and proof, before and after the
// change of 2026, without any approval and with every one in hand.
func TestAirEveryAnswerIsDefined(t *testing.T) {
	sweeps := [][][]string{
		{{"", "recalled="}, airPurpose, airSize, airUnit, airFit, airCharge, airProof},
		{airPurpose, airSize, airFit, airCharge, airBad}, // the bad sign last: it overrides
	}
	approvals := airApprovals(t)
	books := []*Rulebook{bookOn(t, "2025-12-31"), bookOn(t, "2026-01-01")}
	var v Verdict
	n := 0
	check := func(overrides string) {
		r := usReading(t, overrides)
		for _, rb := range books {
			for _, inHand := range [][]string{nil, approvals} {
				rb.Judge(&Case{Reading: r, On: rb.On, InHand: inHand}, &v)
				for _, route := range airRoutes {
					n++
					if fault := airFault(route, &v, inHand != nil); fault != "" && !t.Failed() {
						a := &v.Routes[route]
						t.Errorf("%s on %s, in hand %t, %s: %s (class %s, way %q)", overrides, rb.On, inHand != nil, route, fault, a.Class, wayID(a))
					}
				}
			}
		}
	}
	for _, axes := range sweeps {
		eachCombination(axes, check)
	}
	t.Logf("%d answers", n)
}

// airFault says what is wrong with the answer on one route by air, "" for nothing. It is written from the reference
// and not from the table.
func airFault(route Route, v *Verdict, inHand bool) string {
	a := &v.Routes[route]
	why, _ := v.RouteWhy(route)
	switch {
	case a.Class > RouteForbidden || why == "":
		return "no class or no reason"
	case v.Condition >= Damaged && a.Class != RouteForbidden:
		return "better than forbidden and " + v.Condition.String()
	case v.Condition == Undetermined && a.Class < RouteUndecided:
		return "undetermined, and open or on approval"
	case a.Class == RouteGroundOnly || a.Class == RouteDamaged || a.Class == RouteCritical:
		return "a class that air does not know"
	case a.Class <= RouteApproval && a.Way == nil, a.Class > RouteApproval && (a.Way != nil || len(a.Open) > 0):
		return "open without a way, or closed with one"
	case a.Class == RouteUndecided && !a.NoTable && len(a.Maybe) == 0:
		return "undecided without a question"
	case a.Class == RouteApproval && (a.Way.Approval == nil || inHand):
		return "asks for an approval that is none, or is in hand"
	case len(a.Open) > 0 && !inHand:
		return "two sections at once: " + a.Way.ID + ", " + a.Open[0].ID
	}
	for _, w := range usOpenWays(a) {
		if fault := airWayFault(route, w, v); fault != "" {
			return w.ID + ": " + fault
		}
	}
	return ""
}

// airPI is the packing instruction by chemistry and fit.
var airPI = map[string]string{"lithium-ion loose": "965", "lithium-ion packed-with": "966", "lithium-ion installed": "967",
	"lithium-metal loose": "968", "lithium-metal packed-with": "969", "lithium-metal installed": "970"}

// airWayFault says why a way should not stand open, "" when nothing speaks against it.
func airWayFault(route Route, w *Way, v *Verdict) string {
	is := func(f FactID) string { return v.Facts[f].Text(f) }
	fit, family, charge := is(FFit), is(FFamily), v.Facts[FCharge]
	pi := airPI[family+" "+fit]
	under := charge.State == Known && charge.Hi <= 30*One
	approved := strings.Contains(w.ID, "a331") && charge.State == Known && charge.Lo > 30*One
	energy := v.Facts[FEnergy]
	limited := fit == "loose" || fit == "packed-with" && v.On.String() >= "2026-01-01" && !(energy.State == Known && energy.Hi <= 2_700_000)
	recycling := strings.Contains(w.ID, "a183")
	switch {
	case v.Facts[FRequiredOpen].isYes():
		return "a required reading is open"
	case pi == "" || !strings.Contains(w.ID, pi):
		return "wrong for " + family + " " + fit
	case fit == "loose" && route == AirPassenger:
		return "alone on a passenger aircraft"
	case family == "lithium-ion" && limited && !under && !approved:
		return "charge " + is(FCharge) + " under a limit of 30 %"
	case is(FTypeTested) != "yes":
		return "no proof of the type test"
	case family == "lithium-ion" && is(FUnit) != "cell" && is(FWhMarked) != "yes":
		return "no rating on the case"
	case is(FPurpose) != map[bool]string{false: "reuse", true: "recycle"}[recycling]:
		return "for purpose " + is(FPurpose)
	}
	return airSizeFault(w, v, recycling)
}

// airSizeFault holds the section of a way to the size of the cell.
func airSizeFault(w *Way, v *Verdict, recycling bool) string {
	size, limits := v.Facts[FEnergy], [2]Micro{20 * One, 100 * One}
	if v.Facts[FFamily].isWord(lithiumMetal) {
		size, limits = v.Facts[FLithium], [2]Micro{One, 2 * One}
	}
	unit := v.Facts[FUnit]
	limit := limits[0]
	if unit.isWord(unitBattery) {
		limit = limits[1]
	}
	small := strings.Contains(w.ID, "-ii") || strings.HasSuffix(w.ID, "-ib")
	switch {
	case w.Approval != nil:
		if want := map[bool]RouteClass{true: RouteRecycling, false: RouteRegulated}[recycling && !strings.Contains(w.ID, "a331")]; w.class != want {
			return "class " + w.class.String()
		}
		return ""
	case size.State != Known:
		return "size not known"
	case unit.State != Known && size.Hi > limits[0] && size.Lo <= limits[1]:
		return "count not known, and it decides the size"
	case small != (size.Hi <= limit):
		return "wrong section for its size"
	case (w.class == RouteSmall) != strings.Contains(w.ID, "-ii"):
		return "class " + w.class.String()
	}
	return ""
}

// A charge shown by the device decides nothing by air.
func TestAirShownChargeDecidesNothing(t *testing.T) {
	rb := bookOn(t, testDay)
	var v, w Verdict
	for _, fit := range []string{"loose", "packed-with", "installed"} {
		for _, charge := range []string{chargeLow, chargeHigh, chargeStraddle, "ocv_v=", "kind=enclosed ocv_v=na"} {
			base := "purpose=reuse fit=" + fit + " " + charge
			rb.Judge(&Case{Reading: usReading(t, base), On: rb.On}, &v)
			for _, shown := range []string{"0", "25", "30", "100"} {
				rb.Judge(&Case{Reading: usReading(t, base+" charge_pct="+shown), On: rb.On}, &w)
				for _, route := range airRoutes {
					if v.Routes[route].Class != w.Routes[route].Class || wayID(&v.Routes[route]) != wayID(&w.Routes[route]) {
						t.Errorf("%s: %s %s with %s %% shown, %s without", base, route, w.Routes[route].Class, shown, v.Routes[route].Class)
					}
				}
			}
		}
	}
}

// TestAirNeverLighter compares neighbours: the worse side of each pair is never lighter.
func TestAirNeverLighter(t *testing.T) {
	sizes := airSize
	worse := [][]string{sizes[0:4], sizes[6:10], {chargeLow, chargeAt30, chargeOver30, chargeHigh}, {chargeLow, chargeStraddle}, {chargeLow, "ocv_v="},
		{chargeLow, "kind=enclosed ocv_v=na"}, {"type_tested=yes", "type_tested=", "type_tested=no"}, {"wh_marked=yes", "wh_marked=no"}, {"wh_marked=yes", "wh_marked="},
		{"purpose=reuse", "purpose=", "purpose=ur"}, {"purpose=reuse", "purpose=recycle", "purpose=return"}, {"fit=packed-with", "fit="}, {"fit=installed", "fit="},
		{"parallel=1", "parallel="}, {"chemistry=li-ion", "chemistry="}}
	n := 0
	for _, on := range []string{"2025-12-31", testDay} {
		rb := bookOn(t, on)
		var v, w Verdict
		bases := [][]string{{"purpose=reuse", "purpose=recycle"}, {"fit=loose", "fit=packed-with", "fit=installed"}, {chargeLow, chargeHigh}, sizes[:6], {"parallel=1", "parallel=2"}}
		eachCombination(bases, func(base string) {
			for _, chain := range worse {
				for i := 1; i < len(chain); i++ {
					if strings.Contains(base, "parallel=2") && strings.HasPrefix(chain[i], "parallel") {
						continue // one cell is not the better of two: its limit is the lower
					}
					rb.Judge(&Case{Reading: usReading(t, base+" "+chain[i-1]), On: rb.On}, &v)
					rb.Judge(&Case{Reading: usReading(t, base+" "+chain[i]), On: rb.On}, &w)
					for _, route := range airRoutes {
						n++
						if a, b := v.Routes[route].Class, w.Routes[route].Class; b < a && b < RouteApproval {
							t.Errorf("%s on %s, %s: %s with %q, %s with %q", base, on, route, b, chain[i], a, chain[i-1])
						}
					}
				}
			}
		})
	}
	t.Logf("%d pairs", n)
}

// Both routes by air name A154 for what it forbids: without a way for these conditions the answer would be forbidden
// all the same, and cite nothing.
func TestAirDamagedCitesA154(t *testing.T) {
	rb := bookOn(t, testDay)
	var v Verdict
	for _, condition := range []string{"swollen=yes", "recalled=yes", "purpose=return", "dented=cannot", "smoking=yes quiet_h=24"} {
		for _, fit := range airFit {
			rb.Judge(&Case{Reading: usReading(t, fit+" "+condition), On: rb.On, InHand: airApprovals(t)}, &v)
			for _, route := range airRoutes {
				if a := &v.Routes[route]; a.Class != RouteForbidden || a.Bar == nil || a.Bar.ID != "air-a154" {
					t.Errorf("%s %s, %s: %s, bar %v", condition, fit, route, a.Class, a.Bar)
				}
			}
		}
	}
}
