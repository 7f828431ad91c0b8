package triage

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// spaced is a UN number as the UN rules write it.
var spaced = regexp.MustCompile(`UN (\d{4})`)

// unNumbers lists the UN numbers in a wording.
func unNumbers(words string) []string {
	var list []string
	for _, m := range spaced.FindAllStringSubmatch(words, -1) {
		list = append(list, "UN"+m[1])
	}
	return list
}

// unNumberFault holds an open way to one UN number: that of the verdict, once on the mark and once on the paper.
func unNumberFault(w *Way, v *Verdict) string {
	marks, papers := 0, 0
	for _, d := range owed(w, &v.Facts) {
		for _, un := range unNumbers(d.Words) {
			switch {
			case un != v.UN():
				return "names " + un + " and the cell is " + v.UN()
			case d.Kind == "mark":
				marks++
			case d.Kind == "paper":
				papers++
			}
		}
	}
	want := 1
	if strings.HasPrefix(w.ID, "adr-sp") {
		want = 0 // special provisions 636 and 670: the words of the mark alone
	}
	wantPapers := 0
	if w.class >= RouteRecycling {
		wantPapers = 1
	}
	if marks != want || papers != wantPapers {
		return fmt.Sprintf("%d marks and %d description lines with the UN number, want %d and %d", marks, papers, want, wantPapers)
	}
	return ""
}

func TestUNDutiesAgree(t *testing.T) {
	rb, day, all := embeddedBook(t), usDate(t), everyApproval(t)
	var v Verdict
	n := map[string]int{}
	for _, condition := range []string{"", "signs=swollen", "recalled=yes", "signs=smoking quiet_h=24"} {
		for _, size := range usAxes.size[:11] {
			for _, rest := range []string{"", "purpose=reuse", "purpose=return", "type_tested=no mass_g=70", "parallel=2", "parallel=2 wh_marked=no type_tested=no"} {
				for _, fit := range usAxes.fit[:3] {
					overrides := strings.Join([]string{condition, size, rest, fit}, " ")
					rb.Judge(&Case{Reading: usReading(t, overrides), On: day, InHand: all}, &v)
					for _, route := range unRoutes {
						for _, w := range usOpenWays(&v.Routes[route]) {
							n[w.ID]++
							if fault := unNumberFault(w, &v); fault != "" {
								t.Errorf("%s, %s, %s: %s", overrides, route, w.ID, fault)
							}
						}
					}
				}
			}
		}
	}
	for _, table := range unTables(t) {
		for i := range table.Ways {
			if n[table.Ways[i].ID] == 0 {
				t.Errorf("%s was never open: its duties were not compared", table.Ways[i].ID)
			}
		}
	}
	t.Logf("%v", n)
}

// unDutyCases are cases whose answer is a duty, as usDutyCases.
var unDutyCases = []struct {
	id, source, way, reading string
	has, hasNot              []string
}{
	{"sea-T12", "transport-air-sea T12", "sea-small-ion", "purpose=reuse fit=packed-with", []string{"mark|UN 3481", "packaging|1.2 m"}, []string{"gross-cap|", "paper|", "label|"}},
	{"sea-30-kg", "transport-air-sea line 92", "sea-small-ion", "purpose=reuse", []string{"gross-cap|30 kg", "mark|UN 3480", "note|no dangerous goods declaration"}, []string{"mark|UN 3481"}},
	{"sea-97", "transport-air-sea line 97", "sea-regulated", "purpose=reuse label_wh=150", []string{"paper|UN 3480, LITHIUM ION BATTERIES, 9", "paper|emergency response", "label|9A", "packaging|Packing Group II", "note|category A", "paper|F-A, S-I"}, []string{"note|category C", "paper|, (E)"}},
	{"sea-T24", "transport-air-sea T24", "sea-regulated", "label_wh=150", []string{"label|9A", "paper|UN 3480, WASTE LITHIUM ION BATTERIES, 9"}, []string{"paper|UN 3480, LITHIUM"}},
	{"sea-99", "transport-air-sea line 99", "sea-recycling", "type_tested=no", []string{"mark|LITHIUM BATTERIES FOR RECYCLING", "mark|LITHIUM BATTERIES FOR DISPOSAL", "packaging|strong outer packaging up to 30 kg", "gross-cap|30 kg", "label|9A", "paper|WASTE"}, []string{"packaging|tested to Packing Group II"}},
	{"sea-101-over", "transport-air-sea line 100", "sea-recycling", "type_tested=no label_wh=20.000001", []string{"packaging|tested to Packing Group II"}, []string{"gross-cap|", "packaging|strong outer packaging up to 30 kg"}},
	{"sea-102", "transport-air-sea line 102", "sea-recycling", "type_tested=no fit=installed", []string{"packaging|on a pallet"}, []string{"gross-cap|", "packaging|tested to Packing Group II"}},
	{"sea-111", "transport-air-sea line 111", "sea-damaged", "signs=swollen", []string{"packaging|alone in an inner packaging", "packaging|must not leak", "packaging|thermal insulation", "packaging|vent", "packaging|Packing Group II", "mark|DAMAGED/DEFECTIVE LITHIUM-ION BATTERIES", "paper|Transport in accordance with special provision 376"}, []string{"packaging|absorbent", "one-per-outer|", "mark|LITHIUM METAL"}},
	{"sea-T42", "transport-air-sea T42, line 87", "sea-damaged", "signs=swollen", []string{"note|category C, on deck only"}, []string{"note|category A"}},
	{"sea-leaking", "transport-air-sea line 111", "sea-damaged", "signs=leaking", []string{"packaging|absorbent"}, nil},
	{"sea-112", "transport-air-sea line 112", "sea-critical-p911", "signs=smoking quiet_h=24", []string{"packaging|Packing Group I,", "packaging|100 °C, 200 °C", "packaging|take the highest"}, []string{"packaging|Packing Group II"}},
	{"adr-T08", "transport-road T8, T10: the mark and its exception", "adr-small-ion", "purpose=reuse fit=installed", []string{"mark|at most two packages, each with at most four cells or two batteries"}, []string{"packaging|1.2 m", "paper|"}},
	{"adr-T12", "transport-road T12", "adr-damaged", "signs=leaking", []string{"packaging|absorbent"}, []string{"packaging|Packing Group I,"}},
	{"adr-T20", "transport-road T20", "adr-damaged", "signs=swollen mass_g=30000.000001", []string{"one-per-outer|1 item"}, nil},
	{"adr-T20-at", "transport-road T20", "adr-damaged", "signs=swollen mass_g=30000", nil, []string{"one-per-outer|"}},
	{"adr-T20-open", "DESIGN 1: an open fact owes the duty", "adr-damaged", "signs=swollen nominal_v= rated_mah=", []string{"one-per-outer|1 item"}, nil},
	{"adr-T22", "transport-road T22", "adr-critical-p911", "signs=smoking quiet_h=24", []string{"packaging|100 °C, 200 °C for a moment", "note|transport category 0", "paper|Transport category 0", "paper|Transport in accordance with special provision 376", "note|Keep out of road tunnels"}, []string{"note|1000 points", "paper|calculated value", "note|With orange plates"}},
	{"adr-T24", "transport-road T24", "adr-sp636-ion", "type_tested=no mass_g=70", []string{"net-cap|333 kg", "note|500 g", "mark|LITHIUM BATTERIES FOR DISPOSAL", "gross-cap|30 kg"}, []string{"paper|", "label|", "note|1000 points.", "mark|UN"}},
	{"adr-T28", "transport-road T28", "adr-recycling", "type_tested=no", []string{"packaging|Heavier: Packing Group II", "gross-cap|30 kg"}, nil},
	{"adr-T30", "transport-road T30", "adr-recycling", "type_tested=no label_wh=21", []string{"packaging|Packing Group II", "label|9A", "paper|UN 3480 WASTE LITHIUM ION BATTERIES, 9, (E)"}, []string{"gross-cap|"}},
	{"adr-T32", "transport-road T32", "adr-sp670", "type_tested=no fit=installed", []string{"net-cap|333 kg", "packaging|strong outer packagings"}, []string{"paper|", "label|"}},
	{"adr-T34", "transport-road T34", "adr-regulated", "purpose=reuse label_wh=70", []string{"note|1000 points", "paper|UN 3480 LITHIUM ION BATTERIES, 9, (E)", "note|category E"}, []string{"paper|WASTE", "note|transport category 0"}},
	{"adr-T36", "transport-road T36", "adr-small-ion", "purpose=reuse", []string{"mark|100 mm wide x 70 mm high", "note|telephone number after 2026-12-31"}, nil},
	{"adr-damaged-line", "transport-road 2.7.3", "adr-damaged", "signs=swollen", []string{"paper|UN 3480 WASTE LITHIUM ION BATTERIES, 9, (E)", "paper|Transport in accordance with special provision 376", "note|1000 points"}, nil},
	{"adr-return-line", "transport-road 2.7.3", "adr-damaged", "purpose=return", []string{"paper|UN 3480 LITHIUM ION BATTERIES, 9, (E)", "note|Recalled"}, []string{"paper|WASTE"}},
	{"adr-authority", "transport-air-sea line 116; ADR 2025 special provision 677: the statement with its supplement", "adr-critical-authority", "signs=smoking quiet_h=24", []string{"paper|copy of the authority's approval", "paper|Transport category 0"}, []string{"paper|calculated value"}},
	{"adr-damaged-category", "ADR 2025 special provision 677: of what is liable to react alone", "adr-damaged", "signs=swollen", nil, []string{"paper|Transport category 0", "note|transport category 0"}},
	{"adr-points-paper", "ADR 2025 5.4.1.1.1 (f), note 1; 5.4.1.1.3.2", "adr-recycling", "", []string{"paper|calculated value (points) for each transport category", "paper|an estimate will not do"}, nil},
	{"adr-points-paper-regulated", "ADR 2025 5.4.1.1.1 (f), note 1", "adr-regulated", "purpose=reuse label_wh=70", []string{"paper|calculated value (points) for each transport category"}, nil},
	{"adr-points-paper-damaged", "ADR 2025 5.4.1.1.1 (f), note 1", "adr-damaged", "signs=swollen", []string{"paper|calculated value (points) for each transport category"}, nil},
	{"adr-points-mass", "ADR 2025 1.1.3.6.3: articles without their packagings", "adr-recycling", "", []string{"note|without their packagings"}, []string{"note|gross mass"}},
	{"adr-tunnel", "ADR 2025 8.6.4, 1.1.3.6.2: with orange plates alone", "adr-damaged", "signs=swollen", []string{"note|With orange plates (over 1000 points): keep out of road tunnels of category E"}, []string{"note|Keep out of road tunnels"}},
	{"adr-overpack", "ADR 2025 5.1.2.1 (a)(i): language of the word", "adr-recycling", "", []string{"mark|English, French or German"}, nil},
	{"adr-p909-codes", "ADR 2025 4.1.4.1, P909 (1)", "adr-recycling", "type_tested=no label_wh=21", []string{"packaging|box (4A, 4B, 4N, 4C1, 4C2, 4D, 4F, 4G, 4H2)"}, []string{"packaging|4H1"}},
	{"sea-p909-codes", "ADR 2025 4.1.4.1, P909 (1), the parallel text", "sea-recycling", "type_tested=no label_wh=21", []string{"packaging|box (4A, 4B, 4N, 4C1, 4C2, 4D, 4F, 4G, 4H2)"}, []string{"packaging|4H1"}},
	{"adr-packed-with", "ADR 2025 P903, special provision 188: what equipment is", "adr-small-ion", "purpose=reuse fit=packed-with", []string{"note|Beside a charger or other equipment they are cells alone: UN 3480"}, nil},
	{"adr-packed-with-not", "likewise", "adr-small-ion", "purpose=reuse fit=installed", nil, []string{"note|Beside a charger"}},
	{"sea-packed-with", "ADR 2025 P903, the parallel text", "sea-damaged", "signs=swollen fit=packed-with", []string{"note|Beside a charger or other equipment they are cells alone: UN 3480"}, nil},
	{"sea-waste", "IMDG 2.0.5, from memory", "sea-damaged", "signs=swollen", []string{"paper|the notice, the consent and the movement document"}, nil},
	{"sea-waste-not", "IMDG 2.0.5, from memory: waste alone", "sea-damaged", "purpose=return", nil, []string{"paper|movement document"}},
	{"adr-fit-open", "DESIGN 1: an open fact owes every duty", "adr-small-ion", "purpose=reuse fit=", []string{"mark|UN 3480", "mark|UN 3481", "gross-cap|30 kg"}, nil},
	{"adr-size-open", "DESIGN 1: an open fact owes every duty", "adr-recycling", "type_tested=no nominal_v= rated_mah=", []string{"packaging|tested to Packing Group II", "gross-cap|30 kg"}, nil},
}

func TestUNDutyCases(t *testing.T) {
	rb, day, all := embeddedBook(t), usDate(t), everyApproval(t)
	var v Verdict
	for _, c := range unDutyCases {
		r := usReading(t, c.reading)
		if strings.Contains(c.reading, "label_wh=") { // the label's rating alone
			r[NominalV], r[RatedMah] = Value{}, Value{}
		}
		if strings.HasSuffix(c.way, "regulated") && strings.Contains(c.reading, "150") {
			r[Parallel] = Value{State: Known, Num: 2 * One, Hi: 2 * One}
		}
		rb.Judge(&Case{Reading: r, On: day, InHand: all}, &v)
		route := Sea
		if strings.HasPrefix(c.way, unPrefix[ADRRoad]) {
			route = ADRRoad
		}
		i := slices.IndexFunc(usOpenWays(&v.Routes[route]), func(w *Way) bool { return w.ID == c.way })
		if i < 0 {
			t.Errorf("%s: %s is not open (%s)", c.id, c.way, v.Routes[route].Class)
			continue
		}
		duties := owed(usOpenWays(&v.Routes[route])[i], &v.Facts)
		has := func(want string) bool {
			kind, text, _ := strings.Cut(want, "|")
			return slices.ContainsFunc(duties, func(d *Duty) bool {
				return d.Kind == kind && strings.Contains(d.Words+"\n"+strings.Join(d.AnyOf, "\n")+"\n"+d.AtMost+"\n"+d.Text, text)
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
	t.Logf("%d cases", len(unDutyCases))
}

func unTables(t *testing.T) []*Table {
	t.Helper()
	var list []*Table
	for _, name := range []string{"sea.toml", "adr-road.toml"} {
		data, err := ruleFiles.ReadFile("rules/" + name)
		if err != nil {
			t.Fatal(err)
		}
		table, err := ParseTable(name, data)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, table)
	}
	return list
}

// paragraph is a place in a text: a number of the regulation, a special provision or packing instruction, a table.
var paragraph = regexp.MustCompile(`\d\.\d|special provisions? \d|P9\d\d|Table A|chapter 3\.2|EmS Guide|42-24|some marks usable`)

// TestUNTables lints the records: what an inspector reads must be there, and memory never opens a way.
func TestUNTables(t *testing.T) {
	duties := map[string]int{}
	for i, table := range unTables(t) {
		code := []string{"IMDG", "ADR"}[i]
		if low := strings.ToLower(string(table.bytes)); strings.Contains(low, "safe") || strings.Contains(low, "dead") {
			t.Errorf("%s calls something safe or dead", table.Name)
		}
		if table.Instrument.KnownUntil != "2026-12-31" {
			t.Errorf("%s: known_until %q hides the coming edition", table.Name, table.Instrument.KnownUntil)
		}
		for j := range table.Ways {
			w := &table.Ways[j]
			if !strings.HasPrefix(w.ID, unPrefix[unRoutes[i]]) || w.Basis != Published || !strings.HasPrefix(w.Source, code+" ") || w.Note == "" {
				t.Errorf("%s: id, basis, source or note", w.ID)
			}
			if w.Confidence == "memory" || code == "IMDG" && w.Confidence != "second-hand" {
				t.Errorf("%s: confidence %s", w.ID, w.Confidence)
			}
			for k := range w.Duties {
				d := &w.Duties[k]
				confidence := d.Confidence
				if confidence == "" {
					confidence = w.Confidence
				}
				duties[confidence]++
				switch {
				case !slices.Contains([]string{"read", "second-hand", "memory"}, confidence):
					t.Errorf("%s: confidence %q of %q", w.ID, confidence, d.Text)
				case (confidence == "memory") != strings.Contains(d.Source, "from memory"):
					t.Errorf("%s: %q says %q and its source %q", w.ID, d.Text, confidence, d.Source)
				case !strings.HasPrefix(d.Source, code+" ") && !strings.HasPrefix(d.Source, "IMDG,") || !paragraph.MatchString(d.Source):
					t.Errorf("%s: no paragraph in %q", w.ID, d.Source)
				case d.Kind == "mark" && d.Words == "" && d.AnyOf == nil:
					t.Errorf("%s: mark without words: %s", w.ID, d.Text)
				case d.Kind == "mark" && d.LetterMM != "12" && !strings.Contains(d.Text, "battery mark with"):
					t.Errorf("%s: mark without the height of its letters: %s", w.ID, d.Text)
				case (strings.HasSuffix(d.Kind, "cap") || d.Kind == "one-per-outer") && d.AtMost == "":
					t.Errorf("%s: cap without a number: %s", w.ID, d.Text)
				case strings.Contains(d.Words, "\u2014") || strings.Contains(d.Words, "UN3"):
					t.Errorf("%s: wording %q", w.ID, d.Words)
				}
			}
		}
	}
	t.Logf("duties: %v", duties)
}
