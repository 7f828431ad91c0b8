package triage

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func determined(on Date, rules ...string) Determination {
	var asides []Aside
	for _, r := range rules {
		asides = append(asides, Aside{Rule: r})
	}
	return Determination{SetsAside: asides, Criteria: "cd", Reason: "mark is print, not a dent", By: "MK", Second: "LS", On: on}
}

func TestDeterminationLowersOnlyWhatItMay(t *testing.T) {
	rb := shipped(t)
	for _, c := range []struct {
		name, reading string
		d             Determination
		want          Handling
		wantCondition ConditionClass
	}{
		{"dent, two people", "dented=yes", determined(rb.On, "dented"), Sound, Undamaged},
		{"percent swelling", "thickness_mm=4.45 nominal_thickness_mm=4", determined(rb.On, "swelling-5", "swelling-10"), Sound, Undamaged},
		{"only one of two lines", "thickness_mm=4.45 nominal_thickness_mm=4", determined(rb.On, "swelling-10"), Hold, Undetermined},
		{"cannot", "dented=nr", determined(rb.On, "undiagnosable"), Sound, Undamaged},
		{"swelling by eye needs an expert", "swollen=yes", determined(rb.On, "swollen"), Isolate, Damaged},
		{"swelling by eye, expert", "swollen=yes", Determination{SetsAside: []Aside{{Rule: "swollen"}}, Criteria: "c", Reason: "r", By: "X", Second: "Y", Expert: true, On: rb.On}, Sound, Undamaged},
		{"never a recall", "recalled=yes", Determination{SetsAside: []Aside{{Rule: "recalled"}}, Criteria: "c", Reason: "r", By: "X", Second: "Y", Expert: true, On: rb.On}, Isolate, RecalledCell},
		{"never a leak", "leaking=yes", Determination{SetsAside: []Aside{{Rule: "leaking"}}, Criteria: "c", Reason: "r", By: "X", Second: "Y", Expert: true, On: rb.On}, Isolate, Damaged},
		{"never wet", "wet=yes", determined(rb.On, "wet"), Isolate, Damaged},
		{"never smoke", "smoking=yes", determined(rb.On, "smoking"), Emergency, Reacting},
		{"liable to damaged", "smoking=yes quiet_h=24", determined(rb.On, "smoke-liable"), Isolate, Damaged},
		{"one sign of two", "dented=yes rocks=yes", determined(rb.On, "dented"), Isolate, Damaged},
	} {
		var v Verdict
		rb.Judge(&Case{Reading: read(t, plain, c.reading), On: rb.On}, &v)
		for i, a := range c.d.SetsAside {
			c.d.SetsAside[i] = v.Aside(a.Rule)
		}
		rb.Judge(&Case{Reading: read(t, plain, c.reading), On: rb.On, Determinations: []Determination{c.d}}, &v)
		if v.Handling != c.want || v.Condition != c.wantCondition {
			t.Errorf("%s: got %s, %s; want %s, %s", c.name, v.Handling, v.Condition, c.want, c.wantCondition)
		}
	}
}

// A determination covers the number that was judged: a worse one that comes in
// later counts again, a better one does not.
func TestADeterminationCoversTheValueThatWasJudged(t *testing.T) {
	rb := shipped(t)
	for _, c := range []struct {
		judged, later string
		want          Handling
	}{
		{"thickness_mm=4.45 nominal_thickness_mm=4", "thickness_mm=4.45 nominal_thickness_mm=4", Sound},
		{"thickness_mm=4.45 nominal_thickness_mm=4", "thickness_mm=4.44 nominal_thickness_mm=4", Sound},
		{"thickness_mm=4.45 nominal_thickness_mm=4", "thickness_mm=4.46 nominal_thickness_mm=4", Isolate},
		{"ocv_v=2.4", "ocv_v=2.4", Sound},
		{"ocv_v=2.4", "ocv_v=2.39", Isolate},
		{"dented=yes", "thickness_mm=4.45 nominal_thickness_mm=4", Isolate}, // nobody judged it
	} {
		var v Verdict
		rb.Judge(&Case{Reading: read(t, plain, c.judged), On: rb.On}, &v)
		d := determined(rb.On)
		for _, r := range rb.rules {
			d.SetsAside = append(d.SetsAside, v.Aside(r.ID))
		}
		rb.Judge(&Case{Reading: read(t, plain, c.later), On: rb.On, Determinations: []Determination{d}}, &v)
		if v.Handling != c.want {
			t.Errorf("judged at %s, then %s: got %s, want %s", c.judged, c.later, v.Handling, c.want)
		}
	}
}

func TestADeterminationThatDoesNotStand(t *testing.T) {
	rb := shipped(t)
	good := determined(rb.On, "dented")
	for _, c := range []struct {
		name  string
		spoil func(*Determination)
		want  string
	}{
		{"no person", func(d *Determination) { d.By = "" }, "names no person"},
		{"no second", func(d *Determination) { d.Second = "" }, "second person"},
		{"the same twice", func(d *Determination) { d.Second = d.By }, "second person"},
		{"the same, spelled otherwise", func(d *Determination) { d.Second = " m. k." }, "second person"},
		{"no criteria", func(d *Determination) { d.Criteria = "" }, "criteria"},
		{"other criteria", func(d *Determination) { d.Criteria = "az" }, "criteria"},
		{"no reason", func(d *Determination) { d.Reason = " " }, "reason"},
		{"lapsed", func(d *Determination) { d.Until = rb.On - 1 }, "lapsed"},
		{"of tomorrow", func(d *Determination) { d.On = rb.On + 1 }, "after the day"},
	} {
		d := good
		c.spoil(&d)
		var v Verdict
		rb.Judge(&Case{Reading: read(t, plain, "dented=yes"), On: rb.On, Determinations: []Determination{d}}, &v)
		if v.Handling != Isolate || len(v.Rejected) != 1 || !strings.Contains(v.Rejected[0], c.want) {
			t.Errorf("%s: %s, %v", c.name, v.Handling, v.Rejected)
		}
	}
	// One person is enough only where the house says so.
	d := good
	d.Second = ""
	var v Verdict
	rb.Judge(&Case{Reading: read(t, plain, "dented=yes"), On: rb.On, Determinations: []Determination{d}, Solo: true}, &v)
	if v.Handling != Sound {
		t.Errorf("solo: %s", v.Handling)
	}
}

func TestRaisingTakesOneHand(t *testing.T) {
	rb := shipped(t)
	var v Verdict
	rb.Judge(&Case{Reading: read(t, plain), On: rb.On, Raises: []Raise{{Handling: Emergency}}}, &v)
	if v.Handling != Emergency || v.Condition != Reacting || v.Routes[USHighway].Class != RouteForbidden {
		t.Errorf("raised: %s, %s, %s", v.Handling, v.Condition, v.Routes[USHighway].Class)
	}
	// A raise never lowers.
	rb.Judge(&Case{Reading: read(t, plain, "swollen=yes"), On: rb.On, Raises: []Raise{{Handling: Hold, Condition: Undetermined}}}, &v)
	if v.Handling != Isolate || v.Condition != Damaged {
		t.Errorf("raised to less: %s, %s", v.Handling, v.Condition)
	}
}

func TestMergeCarriesBadNewsAndLabels(t *testing.T) {
	rb := shipped(t)
	older := read(t, plain, "swollen=yes thickness_mm=4.2 ocv_v=3.85 recalled=yes")
	newer := read(t, "signs=none cell_c=22 ambient_c=21 recalled=no ocv_v=3.84 thickness_mm=4.4")
	m := Merge(&older, &newer, 26*One)
	for f, want := range map[FieldID]string{Swollen: "1", Recalled: "1", EarlierOcvV: "3.85", EarlierH: "26", EarlierThicknessMm: "4.2", RatedMah: "5000"} {
		v := m[f]
		got := v.Num.String()
		if Fields[f].Type == YesNoField {
			got = "0"
			if v.Num == 1 {
				got = "1"
			}
		}
		if v.State != Known || got != want {
			t.Errorf("%s: %v %s, want %s", Fields[f].Name, v.State, got, want)
		}
	}
	if m[Fit].State != Blank {
		t.Error("where the cell is carried over")
	}
	var v Verdict
	rb.Judge(&Case{Reading: newer, Earlier: &older, HoursBetween: 26 * One, On: rb.On}, &v)
	if v.Handling != Isolate || v.Condition != RecalledCell {
		t.Errorf("judged over the merge: %s, %s", v.Handling, v.Condition)
	}
	// A no, a temperature and a voltage do not carry over.
	empty := Reading{}
	rb.Judge(&Case{Reading: empty, Earlier: &older, HoursBetween: One, On: rb.On}, &v)
	if v.Facts[FPackVolts].State == Known || v.Facts[FRise].State == Known || v.Facts[FPunctured].State == Known {
		t.Error("a no, a temperature or a voltage was carried over")
	}
}

func TestAnEarlierReadingNeverImproves(t *testing.T) {
	rb := shipped(t)
	rapid.Check(t, func(t *rapid.T) {
		older, newer := drawReading(t), drawReading(t)
		// Label facts of the older reading are answers to open questions; what
		// is known of the newer stays.
		for f := range NumFields {
			if Fields[f].Carries && f != Recalled {
				older[f] = Value{}
			}
		}
		alone := judged(rb, newer)
		var v Verdict
		rb.Judge(&Case{Reading: newer, Earlier: &older, HoursBetween: 25 * One, On: rb.On}, &v)
		if v.Handling < alone.Handling || v.Waste < alone.Waste {
			t.Fatalf("with the earlier reading %s, %s; without %s, %s", v.Handling, v.Waste, alone.Handling, alone.Waste)
		}
	})
}

func TestMeasureNextStopsAtTheClass(t *testing.T) {
	rb := shipped(t)
	next := func(reading string) (names []string) {
		for _, n := range verdict(t, rb, read(t, reading)).Next {
			names = append(names, Fields[n.Field].Name)
		}
		return names
	}
	if got := next("smoking=yes"); len(got) != 0 {
		t.Errorf("asked of a reacting cell: %v", got)
	}
	if got := next("signs=swollen"); !slices.Contains(got, "cell_c") || slices.Contains(got, "ocv_v") || slices.Contains(got, "thickness_mm") {
		t.Errorf("asked of a swollen cell: %v", got)
	}
	got := next("signs=none recalled=no cell_c=22 ambient_c=21")
	if !slices.Contains(got, "ocv_v") || slices.Contains(got, "measured_mah") {
		t.Errorf("asked of a held cell: %v", got)
	}
	// What holds the cell comes first, then the cheapest.
	if got[0] != "ocv_v" || got[1] != "rocks" {
		t.Errorf("in this order: %v", got)
	}
	if got := next("cell_c=22 ambient_c=21"); got[0] != "signs" || slices.Contains(got, "swollen") {
		t.Errorf("fourteen signs are one look: %v", got)
	}
	if got := next("kind=enclosed signs=none recalled=no ocv_v=na cell_c=22 ambient_c=21"); slices.Contains(got, "rocks") || slices.Contains(got, "thickness_mm") {
		t.Errorf("asked of a closed pack: %v", got)
	}
}

func TestDocumentHasTheAgreedNames(t *testing.T) {
	rb := shipped(t)
	data, err := json.Marshal(verdict(t, rb, read(t, plain, "tag=F2XE9R swollen=yes")).Document(rb, nil))
	if err != nil {
		t.Fatal(err)
	}
	var doc map[string]json.RawMessage
	if err := json.Unmarshal(data, &doc); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"tag", "on", "rulebook", "handling", "condition", "size", "waste", "facts", "routes", "do",
		"look_again_min", "measure_next", "questions", "cautions", "error"} {
		if _, ok := doc[name]; !ok {
			t.Errorf("no %s", name)
		}
	}
	for part, want := range map[string]string{"facts": `"energy_wh":19.25`, "handling": `"rule":"swollen","state":"fired"`, "error": "[]",
		"routes": `"air-cargo":{"class":"forbidden"`} {
		if !strings.Contains(string(doc[part]), want) {
			t.Errorf("%s: no %s in %s", part, want, doc[part])
		}
	}
	// The same input, date and rules give the same bytes.
	again, err := json.Marshal(verdict(t, rb, read(t, plain, "tag=F2XE9R swollen=yes")).Document(rb, nil))
	if err != nil || string(again) != string(data) {
		t.Error("two runs differ")
	}
}

func TestRouteAlgorithm(t *testing.T) {
	rb := withSynthetic(t)
	for _, c := range []struct{ name, reading, inHand, class, way string }{
		{"lightest of several", "type_tested=yes purpose=recycle", "", "small", "syn-small"},
		{"a bar on one way", "type_tested=yes purpose=recycle fit=installed", "", "recycling", "syn-recycling"},
		{"open beside a lighter maybe", "purpose=recycle", "", "recycling", "syn-recycling"},
		{"a fact that cannot be told closes", "type_tested=cannot purpose=reuse", "", "approval", "syn-permit"},
		{"maybe only", "purpose=reuse", "", "undecided", ""},
		{"undetermined", "type_tested=yes recalled=", "", "undecided", ""},
		{"damaged", "swollen=yes", "", "damaged", "syn-damaged"},
		{"damaged, a required reading open", "swollen=yes ocv_v=", "", "undecided", ""},
		{"damaged, the reading cannot be taken", "swollen=yes ocv_v=us", "", "damaged", "syn-damaged"},
		{"on approval", "smoking=yes quiet_h=24", "", "approval", "syn-permit"},
		{"approval in hand", "smoking=yes quiet_h=24", "syn-permit", "critical", "syn-permit"},
		{"reacting", "smoking=yes", "syn-permit", "forbidden", ""},
		{"no chemistry", "chemistry= purpose=recycle", "", "undecided", ""},
		{"a chemistry without a way", "chemistry=nimh purpose=recycle", "", "undecided", ""},
		{"rating unknown touches no way without a size", "rated_mah= nominal_v= purpose=recycle", "", "recycling", "syn-recycling"},
	} {
		k := &Case{Reading: read(t, plain, "purpose=", c.reading), On: rb.On}
		if c.inHand != "" {
			k.InHand = []string{c.inHand}
		}
		var v Verdict
		rb.Judge(k, &v)
		a := &v.Routes[USHighway]
		way := ""
		if a.Way != nil {
			way = a.Way.ID
		}
		if c.class == "approval" {
			way = c.way // asked, not open
			if a.Way == nil || a.Way.ID != c.way {
				t.Errorf("%s: asks for %v, want %s", c.name, a.Way, c.way)
			}
		}
		if a.Class.String() != c.class || way != c.way {
			t.Errorf("%s: got %s by %q, want %s by %q", c.name, a.Class, way, c.class, c.way)
		}
	}
}

// Equipment is what its cells run (ADR 2025, special provision 188 and P903); a power bank
// runs others and is cells alone (PHMSA letter 16-0125, second-hand). A closed thing that
// is said to be installed opens nothing that is not open when its fit is not known.
func TestAPowerBankIsNotEquipment(t *testing.T) {
	rb := shipped(t)
	const rest = "signs=none cell_c=21 ambient_c=21 recalled=no chemistry=li-ion series=1 parallel=1 nominal_v=3.7 charge_limit_v=4.2 rated_mah=5000 ocv_v=3.7 rest_h=3 type_tested=yes wh_marked=yes purpose=reuse"
	said, open := verdict(t, rb, read(t, rest, "kind=enclosed fit=installed")), verdict(t, rb, read(t, rest, "kind=enclosed"))
	for r := range NumRoutes {
		got, want := &said.Routes[r], &open.Routes[r]
		if r == AirPassenger {
			if got.Class != RouteForbidden {
				t.Errorf("%s: %s", r, got.Class)
			}
			continue
		}
		if got.Class != want.Class || got.Way != want.Way {
			t.Errorf("%s: %s, and %s when its fit is not known", r, got.Class, want.Class)
		}
	}
	if said.Routes[AirCargo].Class != RouteUndecided || said.UN() != "" {
		t.Errorf("air cargo %s, %q", said.Routes[AirCargo].Class, said.UN())
	}
	if !slices.ContainsFunc(said.Questions, func(q Question) bool { return q.Kind == AskPowerBank }) {
		t.Error("nobody asks whether it is a power bank")
	}
	if v := verdict(t, rb, read(t, rest, "kind=pouch-pack fit=installed")); v.Routes[AirCargo].Class != RouteSmall || v.UN() != "UN3481" {
		t.Errorf("a cell in a device: %s, %s", v.Routes[AirCargo].Class, v.UN())
	}
}

func BenchmarkJudge(b *testing.B) {
	rb := shipped(b)
	for _, r := range []struct{ name, reading string }{{"plain", plain}, {"swollen", plain + " swollen=yes"}, {"empty", ""}} {
		b.Run("reading="+r.name, func(b *testing.B) {
			c := &Case{Reading: read(b, r.reading), On: rb.On}
			var v Verdict
			b.ReportAllocs()
			for b.Loop() {
				rb.Judge(c, &v)
			}
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "readings/s")
		})
	}
}
