package triage

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// owed lists the duties of a way that a reading owes; with an open fact a duty is owed.
func owed(w *Way, f *Facts) []*Duty {
	var list []*Duty
	for i := range w.Duties {
		if t, _ := w.Duties[i].when.eval(f); t != No {
			list = append(list, &w.Duties[i])
		}
	}
	return list
}

const (
	paxIon   = "LITHIUM ION BATTERIES\u2014FORBIDDEN FOR TRANSPORT ABOARD PASSENGER AIRCRAFT"
	paxMetal = "LITHIUM METAL BATTERIES\u2014FORBIDDEN FOR TRANSPORT ABOARD PASSENGER AIRCRAFT"
	noVessel = "LITHIUM BATTERIES\u2014FORBIDDEN FOR TRANSPORT ABOARD AIRCRAFT AND VESSEL"
)

// usDutyCases are the published and derived cases whose answer is a duty. has and hasNot are "kind|text" where text
// stands in the duty's words, cap or text.
var usDutyCases = []struct {
	id, source, way, reading string
	has, hasNot              []string
}{
	{"P10", "PHMSA letter 16-0172 (2017)", "us-small-metal", "kind=coin chemistry=li-metal lithium_g=0.9 fit=installed purpose=reuse",
		[]string{"mark|only button cells in equipment", "mark|UN3091"}, []string{"mark|UN3090", "gross-cap|30 kg"}},
	{"P20", "PHMSA letter of 9 May (law-firm note)", "us-small-ion", "kind=enclosed parallel=2 purpose=reuse", []string{"mark|UN3480"}, []string{"mark|UN3481"}},
	{"P22", "PHMSA letter 25-0074 (2025)", "us-regulated", "fit=installed purpose=reuse nominal_v=36 rated_mah=14500 series=10 ocv_v=36",
		[]string{"paper|UN3481, Lithium ion batteries contained in equipment including lithium ion polymer batteries, 9"}, nil},
	{"P24", "training-firm help desk", "us-regulated", "fit=installed purpose=reuse nominal_v=36 rated_mah=14500 series=10 ocv_v=36",
		[]string{"label|class 9", "paper|UN3481", "packaging|adequate strength"}, []string{"packaging|Packing Group II"}},
	{"P26", "text of 2019-03-06 quoted in a trade article", "us-small-ion", "purpose=reuse", []string{"mark|" + paxIon, "mark|CARGO AIRCRAFT ONLY"}, []string{"mark|" + noVessel, "paper|", "telephone|", "training|", "label|"}},
	{"X02", "transport-us 7b", "us-ground-ion", "label_wh=20.01 purpose=reuse", []string{"mark|" + noVessel, "mark|UN3480"}, []string{"mark|" + paxIon, "paper|", "label|"}},
	{"X04", "transport-us 7b", "us-recycling", "label_wh=60.01", []string{"packaging|A UN specification packaging is not asked", "label|class 9", "paper|UN3480", "telephone|", "training|", "record|2 years"}, []string{"packaging|Packing Group"}},
	{"X08", "transport-us 7b", "us-small-ion", "purpose=reuse", []string{"gross-cap|30 kg"}, nil},
	{"X08-equipment", "49 CFR 173.185(c)(1)(vii)", "us-small-ion", "purpose=reuse fit=packed-with", []string{"packaging|1.2 m"}, []string{"gross-cap|"}},
	{"X10", "transport-us 7b", "us-small-ion", "purpose=reuse fit=installed", []string{"mark|at most two packages, each with at most four cells or two batteries"}, []string{"packaging|1.2 m"}},
	{"X16", "transport-us 7b", "us-damaged", "signs=swollen label_wh=15", []string{"one-per-outer|1 item", "packaging|Packing Group I:", "packaging|No fibreboard", "packaging|non-combustible",
		"mark|Damaged/defective lithium ion battery", "label|class 9", "paper|UN3480, ", "telephone|", "training|"}, []string{"paper|UN3481", "mark|metal battery"}},
	{"X18", "transport-us 7b", "us-damaged", "signs=swollen fit=installed", []string{"paper|UN3481, Lithium ion batteries contained in equipment"}, []string{"paper|UN3480"}},
	{"X28", "transport-us 7b", "us-damaged", "signs=swollen", []string{"packaging|4G"}, []string{"packaging|fibreboard (4G) or"}},
	{"metal-damaged", "49 CFR 173.185(f)(4)", "us-damaged", "signs=dented chemistry=li-metal lithium_g=1", []string{"mark|Damaged/defective lithium metal battery", "paper|UN3090, Lithium metal batteries including lithium alloy batteries, 9"}, []string{"mark|lithium ion"}},
	{"metal-pax", "49 CFR 173.185(c)(1)(iii)", "us-small-metal", "purpose=reuse chemistry=li-metal lithium_g=1", []string{"mark|" + paxMetal}, []string{"mark|" + paxIon}},
	{"five-kilograms", "49 CFR 173.185(c)(1)(iii)", "us-small-ion", "purpose=reuse fit=installed", []string{"mark|more than 5 kg net"}, nil},
	{"fit-open", "DESIGN 1: an open fact owes every duty", "us-small-ion", "purpose=reuse fit=", []string{"mark|UN3480", "mark|UN3481", "gross-cap|30 kg", "packaging|1.2 m"}, nil},
	{"own-van", "issue 3: a printed note for cells without a fault, no way", "us-small-ion", "purpose=reuse", []string{"note|Materials of Trade"}, nil},
	{"own-van-damaged", "transport-us 4: do not offer it", "us-damaged", "signs=swollen", nil, []string{"note|Materials of Trade"}},
	{"full-outer", "49 CFR 173.185(b)(3)(ii)", "us-regulated", "purpose=reuse label_wh=70", []string{"packaging|Packing Group II: metal (4A, 4B, 4N)", "packaging|(4G)", "record|UN 38.3"}, []string{"gross-cap|"}},
	{"full-packed-with", "49 CFR 173.185(b)(3)(iii)", "us-regulated", "purpose=reuse label_wh=70 fit=packed-with", []string{"packaging|With equipment", "packaging|3H2"}, []string{"packaging|5H1"}},
	{"with-list", "49 CFR 173.185(b)(3)(iii)(A)-(B): as specified in (b)(3)(ii)", "us-regulated", "purpose=reuse label_wh=70 fit=packed-with", []string{"packaging|(4G)"}, []string{"packaging|adequate strength"}},
	{"closing", "49 CFR 173.22(a)(4)(i)-(ii)", "us-regulated", "purpose=reuse label_wh=70", []string{"packaging|closing instructions", "record|at least 90 days"}, nil},
	{"closing-equipment", "49 CFR 173.185(b)(4): no specification packaging", "us-regulated", "purpose=reuse label_wh=70 fit=installed", nil, []string{"packaging|closing instructions", "record|at least 90 days"}},
	{"closing-damaged", "49 CFR 173.22(a)(4)(i)-(ii)", "us-damaged", "signs=swollen fit=installed", []string{"packaging|closing instructions", "record|at least 90 days"}, nil},
	{"leakproof", "49 CFR 173.185(b)(1), 173.24(b)(1), (b)(4), (f)(1)(ii), 173.24a(a)(3)", "us-damaged", "signs=swollen", []string{"packaging|closures leakproof", "packaging|nothing stuck to the outside"}, []string{"note|does not leak"}},
	{"overpack-damaged", "49 CFR 173.25(a)(2), (a)(4)", "us-damaged", "signs=swollen", []string{"mark|OVERPACK"}, nil},
	{"overpack-recycling", "49 CFR 173.25(a)(2), (a)(4): no specification packaging is required", "us-recycling", "label_wh=60.01", []string{"mark|In an overpack"}, []string{"mark|OVERPACK"}},
	{"overpack-full", "49 CFR 173.25(a)(4)", "us-regulated", "purpose=reuse label_wh=70", []string{"mark|OVERPACK"}, nil},
	{"overpack-equipment", "49 CFR 173.25(a)(2), (a)(4)", "us-regulated", "purpose=reuse label_wh=70 fit=installed", []string{"mark|In an overpack"}, []string{"mark|OVERPACK"}},
	{"telephone", "49 CFR 172.604(a)-(b), 172.201(d)", "us-damaged", "signs=swollen", []string{"telephone|area code", "telephone|no number that calls back", "telephone|right after the description", "telephone|name or contract number", "telephone|current information"}, nil},
	{"training", "49 CFR 172.702(d), 172.704(a)(1)-(4), (c)-(d)", "us-damaged", "signs=swollen", []string{"training|tested", "training|security awareness", "training|trainer's name and address", "training|preceding 3 years", "training|90 days after employment"}, nil},
	{"certification", "49 CFR 172.204(a)(1)", "us-recycling", "label_wh=60.01", []string{"paper|This is to certify that the above-named materials are properly classified, described, packaged, marked and labeled, and are in proper condition for transportation according to the applicable regulations of the Department of Transportation."}, nil},
	{"english", "49 CFR 172.201(a)(2), 172.304(a)(1), 172.602(b)(1)", "us-damaged", "signs=swollen", []string{"paper|All of it legible and in English", "paper|legible and in English, to be read away", "mark|durable, in English"}, nil},
	{"unfolded", "49 CFR 173.185(c)(3)(i)", "us-small-ion", "purpose=reuse", []string{"mark|on one side of the package itself, not folded"}, nil},
	{"address", "49 CFR 172.301(d)(1)-(2)", "us-damaged", "signs=swollen", []string{"mark|Not owed by highway alone without a change of motor carrier"}, nil},
	{"placard", "49 CFR 172.504(f)(9)", "us-damaged", "signs=swollen", []string{"note|No class 9 placard is owed in domestic carriage"}, nil},
	{"permit", "49 CFR 173.22a(a)-(c), 172.301(c), 172.203(a)", "us-damaged", "signs=swollen", []string{"note|DOT-SP", "packaging|is party to"}, nil},
	{"own-van-duties", "49 CFR 173.6(a)(7), (b)(2), (c)(1), (c)(4), (d)", "us-small-ion", "purpose=reuse", []string{"note|30 kg gross a package and 200 kg a vehicle", "note|the driver told", "note|our rule"}, nil},
	{"type-open", "49 CFR 173.185(a)(1): asked of each; that (f) does not is our reading", "us-damaged", "signs=swollen type_tested=", []string{"note|ask the maker or the authority"}, nil},
	{"type-failed", "49 CFR 173.185(a)(1)", "us-damaged", "signs=swollen type_tested=no", []string{"note|ask the maker or the authority"}, nil},
	{"type-proven", "49 CFR 173.185(a)(1)", "us-damaged", "signs=swollen type_tested=yes", nil, []string{"note|ask the maker or the authority"}},
	{"battery-unmarked", "49 CFR 173.185(a)(5), text of 2026", "us-damaged", "signs=swollen type_tested=yes series=2 nominal_v=7.7 ocv_v=7.6 wh_marked=no", []string{"note|ask the maker or the authority"}, nil},
	{"breached", "49 CFR 172.101(c)(9), 172.205(a); 40 CFR 262.14(a), 262.20", "us-damaged", "signs=leaking", []string{"paper|hazardous waste manifest", "paper|the word Waste before the shipping name", "paper|RQ"}, nil},
	{"punctured", "49 CFR 172.101(c)(9), 172.205(a); 40 CFR 262.14(a), 262.20", "us-damaged", "signs=punctured quiet_h=48 warm=no", []string{"paper|hazardous waste manifest"}, nil},
	{"intact", "40 CFR 273.13(a)(2): universal waste; 171.8: no manifest, no hazardous waste", "us-damaged", "signs=swollen", nil, []string{"paper|manifest", "paper|RQ"}},
}

// usRouteDutyCases are duties of one route alone.
var usRouteDutyCases = []struct {
	id, source, way, route, reading string
	has, hasNot                     []string
}{
	{"vessel-damaged", "49 CFR 172.203(i)(1), (4)", "us-damaged", "us-vessel", "signs=swollen purpose=reuse", []string{"DAMAGED/DEFECTIVE", "the shipper's name"}, []string{"LITHIUM BATTERIES FOR RECYCLING", "or to the carrier"}},
	{"vessel-damaged-recycling", "49 CFR 172.203(i)(4): both", "us-damaged", "us-vessel", "signs=swollen", []string{"DAMAGED/DEFECTIVE", "LITHIUM BATTERIES FOR RECYCLING", "LITHIUM BATTERIES FOR DISPOSAL"}, nil},
	{"vessel-full-recycling", "49 CFR 172.203(i)(1), (4)", "us-regulated", "us-vessel", "label_wh=70", []string{"LITHIUM BATTERIES FOR RECYCLING", "the shipper's name"}, []string{"DAMAGED/DEFECTIVE", "or to the carrier"}},
	{"vessel-full", "49 CFR 172.203(i)(1), (4)", "us-regulated", "us-vessel", "label_wh=70 purpose=reuse", []string{"the shipper's name"}, []string{"LITHIUM BATTERIES FOR"}},
	{"vessel-small", "49 CFR 173.185(c): subpart C of part 172 is not asked", "us-small-ion", "us-vessel", "", nil, []string{"LITHIUM BATTERIES FOR RECYCLING", "the shipper's name"}},
	{"highway-damaged", "49 CFR 172.203(i): by water", "us-damaged", "us-highway", "signs=swollen", nil, []string{"DAMAGED/DEFECTIVE", "the shipper's name"}},
	{"rail-full", "49 CFR 172.203(i): by water", "us-regulated", "us-rail", "label_wh=70", nil, []string{"LITHIUM BATTERIES FOR", "the shipper's name"}},
}

func TestUSRouteDutyCases(t *testing.T) {
	rb, day := embeddedBook(t), usDate(t)
	var v Verdict
	for _, c := range usRouteDutyCases {
		rb.Judge(&Case{Reading: usReading(t, c.reading), On: day}, &v)
		at := slices.Index(routeWords[:], c.route)
		ways := usOpenWays(&v.Routes[at])
		i := slices.IndexFunc(ways, func(w *Way) bool { return w.ID == c.way })
		if i < 0 {
			t.Errorf("%s: %s is not open", c.id, c.way)
			continue
		}
		printed := ""
		for _, o := range v.Facts.Owing(ways[i], Route(at), day) {
			printed += o.Text + " " + o.Words + "\n"
		}
		for _, w := range c.has {
			if !strings.Contains(printed, w) {
				t.Errorf("%s: %q is not owed (%s)", c.id, w, c.source)
			}
		}
		for _, w := range c.hasNot {
			if strings.Contains(printed, w) {
				t.Errorf("%s: %q is owed and should not be (%s)", c.id, w, c.source)
			}
		}
		if n := strings.Count(printed, "the IMDG Code applies too"); n > 1 {
			t.Errorf("%s: the IMDG Code is named %d times", c.id, n)
		}
	}
}

func TestUSDutyCases(t *testing.T) {
	rb, day := embeddedBook(t), usDate(t)
	var v Verdict
	for _, c := range usDutyCases {
		rb.Judge(&Case{Reading: usReading(t, c.reading), On: day}, &v)
		i := slices.IndexFunc(usOpenWays(&v.Routes[USHighway]), func(w *Way) bool { return w.ID == c.way })
		if i < 0 {
			t.Errorf("%s: %s is not open by highway (%s)", c.id, c.way, v.Routes[USHighway].Class)
			continue
		}
		duties := owed(usOpenWays(&v.Routes[USHighway])[i], &v.Facts)
		has := func(want string) bool {
			kind, text, _ := strings.Cut(want, "|")
			return slices.ContainsFunc(duties, func(d *Duty) bool {
				return d.Kind == kind && strings.Contains(d.Words+"\n"+d.AtMost+"\n"+d.Text, text)
			})
		}
		for _, w := range c.has {
			if !has(w) {
				t.Errorf("%s: no duty %q (%s)", c.id, w, c.source)
			}
		}
		for _, w := range c.hasNot {
			if has(w) {
				t.Errorf("%s: duty %q is owed and should not be (%s)", c.id, w, c.source)
			}
		}
	}
	t.Logf("%d cases", len(usDutyCases))
}

// TestUSDutiesAgree holds every open way of every reading to one UN number: on the mark, on the paper, and that of
// the verdict.
func TestUSDutiesAgree(t *testing.T) {
	rb, day := embeddedBook(t), usDate(t)
	var v Verdict
	for _, condition := range []string{"", "signs=swollen"} {
		for _, size := range usAxes.size[:11] {
			for _, rest := range []string{"", "purpose=reuse", "type_tested=no"} {
				for _, fit := range usAxes.fit[:3] {
					overrides := strings.Join([]string{condition, size, rest, fit}, " ")
					rb.Judge(&Case{Reading: usReading(t, overrides), On: day}, &v)
					for _, route := range usRoutes {
						for _, w := range usOpenWays(&v.Routes[route]) {
							if fault := numbersFault(w, &v); fault != "" {
								t.Errorf("%s, %s, %s: %s", overrides, route, w.ID, fault)
							}
						}
					}
				}
			}
		}
	}
}

func numbersFault(w *Way, v *Verdict) string {
	marks, papers := 0, 0
	for _, d := range owed(w, &v.Facts) {
		for word := range strings.FieldsFuncSeq(d.Words, func(r rune) bool { return r == ' ' || r == ',' }) {
			if strings.HasPrefix(word, "UN3") && word != v.UN() {
				return "names " + word + " and the cell is " + v.UN()
			}
		}
		if strings.Contains(d.Words, v.UN()) && d.Kind == "mark" {
			marks++
		}
		if strings.HasPrefix(d.Words, v.UN()) && d.Kind == "paper" {
			papers++
		}
	}
	wantPapers := 0
	if w.class >= RouteRecycling {
		wantPapers = 1
	}
	if marks != 1 || papers != wantPapers {
		return fmt.Sprintf("%d marks and %d description lines with the UN number, want 1 and %d", marks, papers, wantPapers)
	}
	return ""
}

// TestUSTable lints the records: what an inspector reads must be there, and memory never opens a way.
func TestUSTable(t *testing.T) {
	data, err := ruleFiles.ReadFile("rules/us-49cfr.toml")
	if err != nil {
		t.Fatal(err)
	}
	table, err := ParseTable("us-49cfr.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	if low := strings.ToLower(string(data)); strings.Contains(low, "safe") || strings.Contains(low, "dead") {
		t.Error("the table calls something safe or dead")
	}
	for i := range table.Ways {
		w := &table.Ways[i]
		if !strings.HasPrefix(w.ID, "us-") || w.Basis != Published || w.Confidence != "read" || w.Source == "" {
			t.Errorf("%s: id, basis, confidence or source", w.ID)
		}
		for j := range w.Duties {
			d := &w.Duties[j]
			if d.Kind == "mark" && d.Words == "" && !d.Overpack && !strings.Contains(d.Text, "name and address") {
				t.Errorf("%s: mark without words: %s", w.ID, d.Text)
			}
			if strings.HasSuffix(d.Kind, "cap") && d.AtMost == "" || d.Kind == "one-per-outer" && d.AtMost == "" {
				t.Errorf("%s: cap without a number: %s", w.ID, d.Text)
			}
		}
	}
	for i := range table.Bars {
		if b := &table.Bars[i]; !strings.HasPrefix(b.ID, "us-") || b.Source == "" || b.Confidence == "" {
			t.Errorf("%s: id, source or confidence", b.ID)
		}
	}
}
