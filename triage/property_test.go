package triage

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// syntheticTables returns the shipped tables without those of transport law, and
// the invented ways in their place.
func syntheticTables(t testing.TB) Tables {
	t.Helper()
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(filepath.Join(cases, "synthetic-ways.toml"))
	if err != nil {
		t.Fatal(err)
	}
	table, err := ParseTable("synthetic-ways.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	all := Tables{table}
	for _, x := range tables {
		if x.Name == "handling.toml" || x.Name == "size.toml" {
			all = append(all, x)
		}
	}
	return all
}

// withSynthetic returns the rulebook of the invented ways and, when given, one
// more table.
func withSynthetic(t testing.TB, extra ...string) *Rulebook {
	t.Helper()
	return withExtra(t, syntheticTables(t), extra...)
}

func withExtra(t testing.TB, tables Tables, extra ...string) *Rulebook {
	t.Helper()
	all := slices.Clone(tables)
	for i, text := range extra {
		table, err := ParseTable(fmt.Sprintf("extra%d.toml", i), []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, table)
	}
	rb, err := all.On(day(t, testDay))
	if err != nil {
		t.Fatal(err)
	}
	return rb
}

// openWays lists the open ways of a route with their classes.
func openWays(v *Verdict, r Route) map[string]RouteClass {
	a := &v.Routes[r]
	open := map[string]RouteClass{}
	if a.Class < RouteApproval {
		open[a.Way.ID] = a.Way.class
	}
	for _, w := range a.Open {
		open[w.ID] = w.class
	}
	return open
}

// newlyOpen returns the ways open after and not before, "" for none.
func newlyOpen(before, after *Verdict, match func(Route, RouteClass) bool) string {
	for r := range NumRoutes {
		was := openWays(before, r)
		for id, class := range openWays(after, r) {
			if _, ok := was[id]; !ok && match(r, class) {
				return r.String() + " " + id
			}
		}
	}
	return ""
}

func anyWay(Route, RouteClass) bool { return true }

// lightOrAir is what bad news must never open: the ways for undamaged cells and
// any way by air. A worse cell may open the ways for worse cells.
func lightOrAir(r Route, c RouteClass) bool {
	return c <= RouteRegulated || r == AirPassenger || r == AirCargo
}

// domain gives the values drawn for a field: near the lines, and not known.
// Nominal voltages go with the count drawn, see drawReading.
var domain = map[FieldID][]string{
	Kind: {"", "pouch", "enclosed", "cylindrical"}, Chemistry: {"", "li-ion", "li-polymer", "lfp", "li-metal", "nimh", "unknown", "ur"},
	Series: {"", "1", "2", "?", "ur"}, Parallel: {"", "1", "2", "nr"}, DesignationText: {"", "", "", "1ICP4/63/97", "2ICP6/60/70-2", "ICP5/34/50"},
	ChargeLimitV: {"", "4.20", "4.40", "8.8", "44"}, RatedMah: {"", "1", "5194", "5195", "27000", "ur"}, TypicalMah: {"", "", "5300"},
	LabelWh: {"", "20", "20.000001", "100.000001", "300", "ur"}, WhMarked: {"", "yes", "no", "ur"}, LithiumG: {"", "1", "1.1", "2", "na"},
	OcvV: {"", "0", "0.1", "1.99", "2.49", "2.99", "3.8", "4.24", "4.45", "4.7", "7.6", "?", "us", "na"}, RestH: {"", "1", "24"},
	EarlierOcvV: {"", "3.81", "3.0"}, EarlierH: {"", "24"}, CellVolts: {"", "", "3.83;3.07", "3.8;3.8", "4.7;2.9"}, ChargePct: {"", "0", "100"},
	ThicknessMm: {"", "4.0", "4.24", "4.25", "4.45", "us"}, ThicknessEndsMm: {"", "4.1;4.5"}, EarlierThicknessMm: {"", "4.1"},
	NominalThicknessMm: {"", "4.0", "ur"}, Rocks: {"", "yes", "no", "nr"}, CellC: {"", "21", "23.9", "24", "26", "31", "45", "60", "us"},
	AmbientC: {"", "21", "44"}, EarlierCellC: {"", "", "21", "29"}, EarlierCellMin: {"", "5", "31"}, HeatedMinAgo: {"", "6", "31"},
	QuietH: {"", "1", "24"}, ResistanceMohm: {"", "30", "45", "60"}, NewResistanceMohm: {"", "30"}, MeasuredMah: {"", "0", "4200"}, MassG: {"", "76"},
	Signs: {"none", "none", "none", "", "swollen", "punctured;smoking", "?", "us"}, Recalled: {"no", "no", "", "yes", "cannot"},
	Fit: {"", "loose", "installed", "packed-with", "ur"}, Purpose: {"", "reuse", "recycle", "return"}, TypeTested: {"", "yes", "no", "cannot"},
}

var signDomain = []string{"", "", "", "", "", "no", "yes", "?", "cannot"}

func drawField(t *rapid.T, r *Reading, f FieldID) {
	values := domain[f]
	if Fields[f].Sign {
		values = signDomain
	}
	if values == nil {
		return
	}
	if err := r.Set(f, rapid.SampledFrom(values).Draw(t, Fields[f].Name)); err != nil {
		t.Fatal(err)
	}
}

// drawReading draws a reading whose nominal voltage goes with its count of
// cells: a rating that contradicts the count is a second answer to it, and
// taking that away is not "missing input".
func drawReading(t *rapid.T) Reading {
	var r Reading
	for f := range NumFields {
		drawField(t, &r, f)
	}
	drawNominal(t, &r)
	r.Check()
	return r
}

func drawNominal(t *rapid.T, r *Reading) {
	r[NominalV] = Value{}
	n := Micro(1)
	if s := r[Series]; s.State == Known {
		n = s.Num / One
	}
	if r[DesignationText].State == Known {
		return
	}
	if v := rapid.SampledFrom([]Micro{0, 3_700_000, 3_850_000, 3_870_000}).Draw(t, "nominal_v"); v > 0 {
		r[NominalV] = Value{State: Known, Num: v * n, Hi: v * n}
	}
}

// factGroups are the fields that answer one required or describing fact.
var factGroups = func() [][]FieldID {
	groups := [][]FieldID{{Recalled}, {OcvV}, {Warm, CellC, AmbientC}, {NominalV, RatedMah, TypicalMah, LabelWh},
		{Series, Parallel, DesignationText}, {Chemistry}, {Kind}, {Fit}, {Purpose}, {TypeTested}, {WhMarked}, {LithiumG}}
	for s := Swollen; s <= Misused; s++ {
		if s != Warm {
			groups = append(groups, []FieldID{s})
		}
	}
	return groups
}()

// unset makes a field not known, also where the sign list would answer it.
func unset(r *Reading, f FieldID, asked bool) {
	r[f] = Value{}
	if Fields[f].Sign {
		// A sign's own question mark overrides the list's no; a listed sign is
		// taken off the list.
		r[f] = Value{State: Asked}
		r[Signs].Num &^= 1 << f
	} else if asked {
		r[f] = Value{State: Asked}
	}
}

// A draw makes one random reading.
type draw func(*rapid.T) Reading

// onBothBooks runs a property on the shipped rules and on the invented ways, and once more on readings for which a way
// by air is open or nearly so: those have no open reading, which a draw of every field for itself hardly ever gives.
func onBothBooks(t *testing.T, check func(*testing.T, *Rulebook, draw)) {
	t.Run("shipped", func(t *testing.T) { check(t, shipped(t), drawReading) })
	t.Run("invented", func(t *testing.T) { check(t, withSynthetic(t), drawReading) })
	t.Run("near", func(t *testing.T) { check(t, shipped(t), drawNear) })
}

// nearAxes are what decides a way by air, in values that open one or another.
var nearAxes = [][]string{{"purpose=reuse", "purpose=reuse", "purpose=recycle"}, airSize[:10], airUnit, airFit[:4],
	append([]string{chargeLow, chargeLow, chargeAt30}, airCharge...), {"type_tested=yes", "type_tested=yes", ""}, {"kind=pouch", "kind=cylindrical", "kind=enclosed", ""}}

// drawNear draws a complete reading, then up to two fields anew.
func drawNear(t *rapid.T) Reading {
	list := usBase
	for i, axis := range nearAxes {
		list += " " + rapid.SampledFrom(axis).Draw(t, fmt.Sprint("axis ", i))
	}
	var r Reading
	for pair := range strings.FieldsSeq(list) {
		name, value, _ := strings.Cut(pair, "=")
		f, ok := FieldByName(name)
		if !ok {
			t.Fatalf("no field %s", name)
		}
		if err := r.Set(f, value); err != nil {
			t.Fatal(err)
		}
	}
	for range rapid.IntRange(0, 2).Draw(t, "changes") {
		drawField(t, &r, FieldID(rapid.IntRange(0, int(NumFields)-1).Draw(t, "field")))
	}
	r.Check()
	return r
}

func TestP1BlankNeverOpensAWay(t *testing.T) {
	onBothBooks(t, checkP1BlankNeverOpensAWay)
}

func checkP1BlankNeverOpensAWay(t *testing.T, rb *Rulebook, draw draw) {
	rapid.Check(t, func(t *rapid.T) {
		r := draw(t)
		before := judged(rb, r)
		group := rapid.SampledFrom(factGroups).Draw(t, "fact")
		asked := rapid.Bool().Draw(t, "asked")
		if group[0] == Purpose && r[Purpose].State == Known && Fields[Purpose].Words[r[Purpose].Num] == "return" {
			t.Skip("return stands apart")
		}
		if contradicts(&r, group[0]) {
			t.Skip("taking a contradiction away is not missing input")
		}
		blank := r
		for _, f := range group {
			unset(&blank, f, asked)
		}
		blank.Check()
		after := judged(rb, blank)
		if group[0] == Kind && after.Facts[FCharge].Hi < before.Facts[FCharge].Hi {
			t.Skip("an open hole: a blank kind counts as a pouch, and that narrows the charge of a cylindrical cell")
		}
		if w := newlyOpen(before, after, anyWay); w != "" {
			t.Fatalf("blanking %v opened %s", names(group), w)
		}
		// And no blank makes an answer that a known reading would not: the
		// conditions for carriage of an undamaged cell need every answer.
		if after.Condition < before.Condition && after.Condition == Undamaged {
			if group[0] == Chemistry && isLFP(&r) {
				t.Skip("an open hole: a blank chemistry takes the limit of 4.20 V, and iron phosphate is over its own long before")
			}
			t.Fatalf("blanking %v turned %s into undamaged", names(group), before.Condition)
		}
	})
}

// contradicts reports whether the fact is a second answer that disagrees with
// another entry: then the stricter of the two was judged.
func contradicts(r *Reading, group FieldID) bool {
	switch group {
	case NominalV:
		return r[NominalV].State == Known && r[ChargeLimitV].State == Known
	case Series:
		return r[DesignationText].State == Known || r[CellVolts].State == Known
	case Chemistry:
		return r[Chemistry].State == Known && r[ChargeLimitV].State == Known
	}
	return false
}

func names(fields []FieldID) (out []string) {
	for _, f := range fields {
		out = append(out, Fields[f].Name)
	}
	return out
}

func judged(rb *Rulebook, r Reading) *Verdict {
	v := &Verdict{}
	rb.Judge(&Case{Reading: r, On: rb.On}, v)
	return v
}

func TestP2BadNewsNeverImproves(t *testing.T) {
	onBothBooks(t, checkP2BadNewsNeverImproves)
}

func checkP2BadNewsNeverImproves(t *testing.T, rb *Rulebook, draw draw) {
	var optional []FieldID
	for f := range NumFields {
		// A nominal thickness, a mass and the second voltage stand apart.
		if Fields[f].Role == Optional && f != NominalThicknessMm && f != MassG && f != EarlierOcvV && f != EarlierH {
			optional = append(optional, f)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		r := draw(t)
		worse := r
		if rapid.Bool().Draw(t, "sign") {
			s := Swollen + FieldID(rapid.IntRange(0, int(Misused-Swollen)).Draw(t, "which"))
			if v := r.sign(s); s == Warm && v.State.Cannot() {
				t.Skip("warmth that cannot be told is damage; warmth that is felt goes by the thermometer")
			}
			worse[s] = Value{State: Known, Num: 1, Hi: 1}
			if rapid.Bool().Draw(t, "cannot") {
				worse[s] = Value{State: CannotTell}
				if v := r.sign(s); v.State == Known && v.Num == 1 {
					t.Skip("a yes is worse than cannot")
				}
			}
		} else {
			f := rapid.SampledFrom(optional).Draw(t, "field")
			r[f] = Value{}
			worse[f] = Value{}
			drawField(t, &worse, f)
		}
		worse.Check()
		before, after := judged(rb, r), judged(rb, worse)
		if w := newlyOpen(before, after, lightOrAir); w != "" {
			t.Fatalf("bad news opened %s", w)
		}
		if after.Handling < before.Handling {
			t.Fatalf("bad news turned handling %s into %s", before.Handling, after.Handling)
		}
		if after.Waste < before.Waste {
			t.Fatalf("bad news turned waste %s into %s", before.Waste, after.Waste)
		}
		// A sign that could not be told is damaged; one that is seen is what it is.
		if after.Condition < before.Condition && !before.Facts[FUndiagnosable].isYes() {
			t.Fatalf("bad news turned condition %s into %s", before.Condition, after.Condition)
		}
	})
}

func TestP3AStricterRuleNeverOpensALightWay(t *testing.T) {
	lines := []string{"rise >= 1 K", "cell_volts_least < 3.5 V", "energy > 10 Wh", "swelling >= 2 %", "fit is installed", "purpose is reuse", "unit is battery"}
	outcomes := []string{`handling = "hold"`, `condition = "undetermined"`, `condition = "damaged"`, `condition = "liable"`,
		"handling = \"emergency\"\ncondition = \"reacting\"", `waste = "unknown"`}
	const head = "[instrument]\nid = \"house\"\n[[rule]]\nid = \"house-rule\"\ntitle = \"t\"\nsource = \"s\"\nbasis = \"house\"\nconfidence = \"read\"\n"
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	base := shipped(t)
	stricter := map[string]*Rulebook{}
	for _, l := range lines {
		for _, o := range outcomes {
			stricter[l+o] = withExtra(t, tables, head+o+"\nwhen = [\""+l+"\"]\n")
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		r := drawReading(t)
		key := rapid.SampledFrom(lines).Draw(t, "line") + rapid.SampledFrom(outcomes).Draw(t, "outcome")
		before, after := judged(base, r), judged(stricter[key], r)
		if w := newlyOpen(before, after, lightOrAir); w != "" {
			t.Fatalf("the house rule %q opened %s", key, w)
		}
		if after.Handling < before.Handling || after.Condition < before.Condition || after.Waste < before.Waste {
			t.Fatalf("the house rule %q bettered an answer", key)
		}
	})
}

// completable are the facts that P4 completes; the rating is one fact.
var completable = []FieldID{Chemistry, Series, Parallel, RatedMah, Fit, Purpose, TypeTested, WhMarked}

func TestP4AnOpenWayStaysOpenUnderEveryCompletion(t *testing.T) {
	onBothBooks(t, checkP4AnOpenWayStaysOpenUnderEveryCompletion)
}

func checkP4AnOpenWayStaysOpenUnderEveryCompletion(t *testing.T, rb *Rulebook, draw draw) {
	opened := 0
	rapid.Check(t, func(t *rapid.T) {
		r := draw(t)
		r[DesignationText] = Value{} // a second answer to the count
		if r[Series].State != Known {
			r[CellVolts] = Value{} // and so is a list of cells
		}
		before := judged(rb, r)
		done := r
		for _, f := range completable {
			if !done[f].State.NotYet() || f == RatedMah && before.Facts[FEnergy].State == Known {
				continue
			}
			// Only facts that are open: a known one is not answered twice.
			for range 20 {
				drawField(t, &done, f)
				if done[f].State == Known && !(f == Purpose && Fields[Purpose].Words[done[f].Num] == "return") {
					break
				}
				done[f] = Value{}
			}
		}
		if before.Facts[FEnergy].State != Known && r[NominalV].State != Known && r[ChargeLimitV].State != Known {
			drawNominal(t, &done)
		}
		if done[NominalV].State == Known && r[NominalV].State == Known && done[Series] != r[Series] {
			done[NominalV] = r[NominalV]
			if least, most := impliedSeries(&done, &Facts{}); done[Series].State == Known && (done[Series].Num < Micro(least)*One || done[Series].Num > Micro(most)*One) {
				done[Series] = Value{State: Known, Num: Micro(least) * One, Hi: Micro(least) * One}
			}
		}
		done.Check()
		after := judged(rb, done)
		for route := range NumRoutes {
			still := openWays(after, route)
			for id := range openWays(before, route) {
				opened++
				if _, ok := still[id]; !ok {
					t.Fatalf("%s was open by %s and closed when the unknown facts came in", id, route)
				}
			}
		}
	})
	if opened == 0 {
		t.Error("no way was open in any draw: the test shows nothing")
	}
}

// Whatever makes handling emergency makes condition reacting, and no answer is
// ever out of its range.
func TestEmergencyIsReacting(t *testing.T) {
	rb := shipped(t)
	rapid.Check(t, func(t *rapid.T) {
		v := judged(rb, drawReading(t))
		if (v.Handling == Emergency) != (v.Condition == Reacting) {
			t.Fatalf("handling %s with condition %s", v.Handling, v.Condition)
		}
		for r := range NumRoutes {
			a := &v.Routes[r]
			switch {
			case v.Condition == Reacting && a.Class != RouteForbidden:
				t.Fatalf("reacting is %s by %s", a.Class, r)
			case v.Condition >= Damaged && (r == AirPassenger || r == AirCargo) && a.Class != RouteForbidden:
				t.Fatalf("%s is %s by %s", v.Condition, a.Class, r)
			case v.Condition >= Damaged && a.Class <= RouteRegulated:
				t.Fatalf("%s is %s by %s", v.Condition, a.Class, r)
			case v.Condition == Undetermined && a.Class < RouteApproval:
				t.Fatalf("undetermined is %s by %s", a.Class, r)
			}
		}
		for _, n := range v.Next {
			if reach, any := v.Handling.nearest(); !any || Fields[n.Field].Reach > reach {
				t.Fatalf("in class %s the reading %s was asked for", v.Handling, Fields[n.Field].Name)
			}
		}
	})
}

// An explaining reading that is absent is taken at the value that gives the
// worse answer. The charge limit stands apart: its class is told by the nominal
// voltage, else 4.20 V.
func TestExplainingAbsentNeverImproves(t *testing.T) {
	rb := shipped(t)
	rapid.Check(t, func(t *rapid.T) {
		r := drawReading(t)
		f := rapid.SampledFrom([]FieldID{HeatedMinAgo, QuietH, RestH, EarlierCellMin}).Draw(t, "field")
		blank := r
		blank[f] = Value{}
		before, after := judged(rb, r), judged(rb, blank)
		// Rest shorter than the time between two readings says that current
		// flowed: then no drift was read, with it or without it.
		if after.Handling < before.Handling || after.Waste < before.Waste {
			t.Fatalf("without %s: %s, %s; with it %s, %s", Fields[f].Name, after.Handling, after.Waste, before.Handling, before.Waste)
		}
	})
}
