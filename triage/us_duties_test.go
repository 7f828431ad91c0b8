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
	{"full-packed-with", "49 CFR 173.185(b)(3)(iii)", "us-regulated", "purpose=reuse label_wh=70 fit=packed-with", []string{"packaging|With equipment"}, []string{"packaging|3H2"}},
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
			if d.Kind == "mark" && d.Words == "" && !strings.Contains(d.Text, "name and address") {
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
