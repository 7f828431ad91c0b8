package triage

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// airApprovals are all the ways by air that ask for an approval.
func airApprovals(t testing.TB) (ids []string) {
	for _, w := range airTable(t).Ways {
		if w.Approval != nil {
			ids = append(ids, w.ID)
		}
	}
	return ids
}

func airTable(t testing.TB) *Table {
	t.Helper()
	data, err := ruleFiles.ReadFile("rules/air.toml")
	if err != nil {
		t.Fatal(err)
	}
	table, err := ParseTable("air.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// airDutyCases are the published and derived cases whose answer is a duty. has and hasNot are "kind|text" where text
// stands in the duty's words, cap or text. A way on approval is taken as approved.
var airDutyCases = []struct {
	id, source, on, route, way, reading string
	has, hasNot                         []string
}{
	{"T08", "transport-air-sea T08: carrier page, PI 967 section II", testDay, "air-cargo", "air-967-ii", "purpose=reuse fit=installed",
		[]string{"mark|UN3481", "mark|at most four cells or two batteries", "paper|Lithium ion batteries in compliance with Section II of PI967", "paper|Not owed where the battery mark is not",
			"net-cap|5 kg", "count-cap|0 spare sets", "packaging|3 m", "advice|25 % or less as the device shows", "training|instructed"},
		[]string{"label|", "paper|declaration", "packaging|1.2 m", "packaging|Packing Group", "telephone|"}},
	{"T10", "transport-air-sea T10: button cells in equipment", testDay, "air-passenger", "air-970-ii", "purpose=reuse fit=installed kind=coin chemistry=li-metal lithium_g=0.9",
		[]string{"mark|Not owed by a package with only button cells in equipment", "mark|UN3091", "paper|PI970"}, []string{"label|", "advice|"}},
	{"T20", "transport-air-sea T20: section IB with declaration", testDay, "air-cargo", "air-965-ib", "purpose=reuse parallel=2 " + chargeLow,
		[]string{"paper|UN3480, Lithium ion batteries", "paper|IB", "paper|Cargo Aircraft Only", "label|class 9", "label|CARGO AIRCRAFT ONLY", "label|120 mm x 110 mm", "mark|UN3480", "mark|OVERPACK",
			"net-cap|10 kg", "packaging|1.2 m", "packaging|3 m", "packaging|strong rigid outer", "training|fully trained"}, []string{"packaging|Packing Group II:", "paper|in compliance"}},
	{"T04", "transport-air-sea T04 and table 1.3", testDay, "air-cargo", "air-965-ia", "purpose=reuse label_wh=25 " + chargeLow,
		[]string{"packaging|Packing Group II: metal (4A, 4B, 4N)", "net-cap|35 kg", "label|class 9", "label|CARGO AIRCRAFT ONLY", "paper|packing instruction 965", "note|30 %"},
		[]string{"mark|battery mark", "paper|IB", "packaging|1.2 m", "packaging|3 m", "net-cap|10 kg"}},
	{"T38-passenger", "transport-air-sea T38: carrier page, PI 969 section I", testDay, "air-passenger", "air-969-i", "purpose=reuse fit=packed-with chemistry=li-metal lithium_g=1.5",
		[]string{"net-cap|5 kg", "note|Beside other equipment they are cells alone: UN3090", "record|Elsewhere: keep a copy of the declaration for at least 3 months", "paper|UN3091, Lithium metal batteries packed with equipment", "paper|packing instruction 969", "packaging|Packing Group II", "label|class 9", "count-cap|2 spare sets"},
		[]string{"label|CARGO AIRCRAFT ONLY", "net-cap|35 kg", "advice|", "paper|Cargo Aircraft Only"}},
	{"T38-cargo", "transport-air-sea line 69: label of cargo aircraft only above 5 kg", testDay, "air-cargo", "air-969-i", "purpose=reuse fit=packed-with chemistry=li-metal lithium_g=1.5",
		[]string{"net-cap|35 kg", "label|Over 5 kg net"}, []string{"net-cap|5 kg"}},
	{"966-ii", "transport-air-sea lines 20-26", testDay, "air-passenger", "air-966-ii", "purpose=reuse fit=packed-with " + chargeLow,
		[]string{"net-cap|5 kg", "count-cap|2 spare sets", "packaging|1.2 m", "packaging|3 m", "mark|UN3481", "paper|Lithium ion batteries in compliance with Section II of PI966", "note|30 %", "note|Beside a charger or other equipment they are cells alone: UN3480"},
		[]string{"record|Elsewhere", "label|", "paper|declaration", "advice|", "mark|Not owed"}},
	{"966-ii-2025", "transport-air-sea line 27: recommended in 2025", "2025-12-31", "air-passenger", "air-966-ii-2025", "purpose=reuse fit=packed-with " + chargeHigh,
		[]string{"advice|a condition from 2026-01-01"}, []string{"note|Keep the charge"}},
	{"966-i-2025", "transport-air-sea line 27: recommended in 2025", "2025-01-01", "air-passenger", "air-966-i-2025", "purpose=reuse fit=packed-with label_wh=25 " + chargeHigh,
		[]string{"advice|a condition from 2026-01-01", "paper|UN3481", "net-cap|5 kg"}, []string{"note|Keep the charge", "mark|battery mark"}},
	{"966-2-7", "transport-air-sea line 30: to 2.7 Wh recommended", "2026-01-01", "air-cargo", "air-966-ii-to-2-7", "purpose=reuse fit=packed-with nominal_v= rated_mah= label_wh=2.7 " + chargeHigh,
		[]string{"advice|recommended, to 2.7 Wh no condition", "net-cap|5 kg"}, []string{"note|Keep the charge"}},
	{"967-i", "transport-air-sea lines 34, 37, 38, 42, 43", testDay, "air-passenger", "air-967-i", "purpose=reuse fit=installed label_wh=25",
		[]string{"paper|UN3481, Lithium ion batteries contained in equipment", "label|class 9", "advice|25 % or less", "packaging|3 m"}, []string{"packaging|1.2 m", "packaging|Packing Group", "label|CARGO"}},
	{"968-ib", "transport-air-sea line 68", testDay, "air-cargo", "air-968-ib", "purpose=reuse chemistry=li-metal lithium_g=0.5",
		[]string{"net-cap|2.5 kg", "mark|UN3090", "paper|IB"}, []string{"note|30 %"}},
	{"old-mark", "transport-air-sea line 49: usable to 2026-12-31", "2026-12-31", "air-cargo", "air-967-ii", "purpose=reuse fit=installed",
		[]string{"note|may be used until 2026-12-31"}, []string{"mark|without a telephone number"}},
	{"old-mark-over", "transport-air-sea line 49", "2027-01-01", "air-cargo", "air-967-ii", "purpose=reuse fit=installed",
		[]string{"mark|without a telephone number"}, []string{"note|may be used until"}},
	{"T02", "transport-air-sea T02: carrier page, both approvals", testDay, "air-cargo", "air-a331-965", "purpose=reuse " + chargeHigh,
		[]string{"paper|written approval of both authorities under special provision A331", "mark|UN3480", "label|CARGO AIRCRAFT ONLY", "packaging|Packing Group II"}, []string{"note|Keep the charge", "note|airline may refuse"}},
	{"T02-large", "transport-air-sea table 1.3: no battery mark in section IA", testDay, "air-cargo", "air-a331-965", "purpose=reuse label_wh=25 " + chargeHigh, nil, []string{"mark|battery mark"}},
	{"T22", "transport-air-sea T22: published answer", testDay, "air-cargo", "air-a183-965", chargeLow,
		[]string{"paper|written approval of both authorities under special provision A183", "note|an airline may refuse", "label|class 9", "paper|UN3480"}, nil},
	{"T22-passenger", "transport-air-sea line 58", testDay, "air-passenger", "air-a183-967", "fit=installed", []string{"net-cap|5 kg", "advice|"}, []string{"net-cap|35 kg", "label|CARGO"}},
	{"T22-cargo-small", "transport-air-sea lines 35, 58", testDay, "air-cargo", "air-a183-967", "fit=installed", []string{"net-cap|35 kg", "net-cap|5 kg"}, nil},
	{"T22-cargo-large", "transport-air-sea lines 34, 58", testDay, "air-cargo", "air-a183-967", "fit=installed label_wh=25", []string{"net-cap|35 kg"}, []string{"net-cap|5 kg", "mark|battery mark"}},
	{"both", "transport-air-sea lines 58, 60", testDay, "air-cargo", "air-a183-a331-966", "fit=packed-with " + chargeHigh,
		[]string{"paper|special provisions A183 and A331"}, []string{"note|Keep the charge"}},
}

func TestAirDutyCases(t *testing.T) {
	var v Verdict
	for _, c := range airDutyCases {
		rb := bookOn(t, c.on)
		rb.Judge(&Case{Reading: usReading(t, c.reading), On: rb.On, InHand: airApprovals(t)}, &v)
		route, err := word("route", c.route, routeWords[:])
		if err != nil {
			t.Fatal(err)
		}
		ways := usOpenWays(&v.Routes[route])
		i := slices.IndexFunc(ways, func(w *Way) bool { return w.ID == c.way })
		if i < 0 {
			t.Errorf("%s: %s is not open by %s (%s)", c.id, c.way, c.route, v.Routes[route].Class)
			continue
		}
		duties := v.Owed(ways[i].Duties, c.route)
		has := func(want string) bool {
			kind, text, _ := strings.Cut(want, "|")
			return slices.ContainsFunc(duties, func(d DutyDoc) bool {
				if strings.HasSuffix(kind, "cap") {
					return d.Kind == kind && d.AtMost == text
				}
				return d.Kind == kind && strings.Contains(d.Words+"\n"+d.Text, text)
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
	t.Logf("%d cases", len(airDutyCases))
}

// TestAirDutiesAgree holds every way, open or on approval, to one UN number and one packing instruction: on the marks,
// on the papers, and that of the verdict; and to the marks and papers that its section has.
func TestAirDutiesAgree(t *testing.T) {
	approvals := airApprovals(t)
	var v Verdict
	n := 0
	for _, on := range []string{"2025-06-30", testDay, "2027-01-01"} {
		rb := bookOn(t, on)
		axes := [][]string{{"purpose=reuse", "purpose=recycle"}, airSize[:10], {"parallel=1", "parallel=2"}, airFit[:3], {chargeLow, chargeHigh}}
		eachCombination(axes, func(overrides string) {
			rb.Judge(&Case{Reading: usReading(t, overrides), On: rb.On, InHand: approvals}, &v)
			for _, route := range airRoutes {
				for _, w := range usOpenWays(&v.Routes[route]) {
					n++
					if fault := airNumbersFault(w, route, &v); fault != "" {
						t.Errorf("%s on %s, %s, %s: %s", overrides, on, route, w.ID, fault)
					}
				}
			}
		})
	}
	if n == 0 {
		t.Error("no way was open")
	}
}

var packingInstruction = regexp.MustCompile(`packing instruction (9[0-9]{2})|PI(9[0-9]{2})`)

func airNumbersFault(w *Way, route Route, v *Verdict) string {
	pi := airPI[v.Facts[FFamily].Text(FFamily)+" "+v.Facts[FFit].Text(FFit)]
	battery, names, lines, statements, caps := 0, 0, 0, 0, 0
	for _, d := range v.Owed(w.Duties, route.String()) {
		for word := range strings.FieldsFuncSeq(d.Words, func(r rune) bool { return r == ' ' || r == ',' }) {
			if strings.HasPrefix(word, "UN3") && word != v.UN() {
				return "names " + word + " and the cell is " + v.UN()
			}
		}
		if d.Kind == "paper" {
			for _, m := range packingInstruction.FindAllStringSubmatch(d.Text+" "+d.Words, -1) {
				if m[1]+m[2] != pi {
					return "names packing instruction " + m[1] + m[2] + ", not " + pi
				}
			}
		}
		switch {
		case d.Kind == "mark" && d.Words == v.UN():
			battery++
		case d.Kind == "mark" && strings.HasSuffix(d.Words, ", "+v.UN()):
			names++
		case d.Kind == "paper" && strings.HasPrefix(d.Words, v.UN()+", "):
			lines++
		case d.Kind == "paper" && strings.Contains(d.Words, "in compliance with"):
			statements++
		case d.Kind == "net-cap":
			caps++
		}
	}
	small := w.class == RouteSmall || strings.HasSuffix(w.ID, "-ib") || w.Approval != nil && v.Size <= Small // an open size owes both
	want := [4]int{0, 1, 1, 0}                                                                               // in full: no battery mark, the name, the line of the declaration
	if small {
		want[0] = 1
	}
	if w.class == RouteSmall {
		want = [4]int{1, 0, 0, 1}
	}
	if got := [4]int{battery, names, lines, statements}; got != want || caps == 0 {
		return fmt.Sprintf("%v battery marks, names, lines and waybill statements, want %v; %d net caps", got, want, caps)
	}
	return ""
}

var capForm = regexp.MustCompile(`^[0-9]+(\.[0-9]+)? (kg|spare sets)$`)

// TestAirTable lints the records: what an inspector reads must be there, and how far each line was read.
func TestAirTable(t *testing.T) {
	table := airTable(t)
	if low := strings.ToLower(string(table.bytes)); strings.Contains(low, "safe") || strings.Contains(low, "dead") {
		t.Error("the table calls something safe or dead")
	}
	for i := range table.Ways {
		w := &table.Ways[i]
		if !strings.HasPrefix(w.ID, "air-") || w.Basis != Published || w.Confidence != "second-hand" || !strings.Contains(w.Source, "ICAO") {
			t.Errorf("%s: id, basis, confidence or source", w.ID)
		}
		if w.Approval != nil && (w.Approval.Name == "" || !strings.Contains(w.Approval.By, "State of Origin and of the State of the Operator")) {
			t.Errorf("%s: approval by %q", w.ID, w.Approval.By)
		}
		if (w.Approval != nil) != (strings.Contains(w.ID, "a183") || strings.Contains(w.ID, "a331")) {
			t.Errorf("%s: approval", w.ID)
		}
		for j := range w.Duties {
			if fault := airDutyFault(&w.Duties[j]); fault != "" {
				t.Errorf("%s: %s: %s", w.ID, fault, w.Duties[j].Text)
			}
		}
	}
}

func airDutyFault(d *Duty) string {
	memory := strings.Contains(d.Source, "from memory")
	named := strings.Contains(d.Text, "name") || strings.Contains(d.Text, "telephone")
	switch {
	case d.Kind == "mark" && d.Words == "" && !named:
		return "mark without words"
	case strings.HasSuffix(d.Kind, "cap") && !capForm.MatchString(d.AtMost):
		return "cap " + d.AtMost
	case d.Confidence == "memory" && !memory:
		return "from memory, and the source does not say so"
	case d.Confidence == "read" && !strings.Contains(d.Source, "49 CFR"):
		return "read, and not in 49 CFR"
	case d.Confidence == "" && !memory && !strings.Contains(d.Source, "second-hand") && d.Source != "common practice" && d.Source != "our reading":
		return "second-hand, and the source does not say so"
	case (d.until != 0 || d.from != 0) && !strings.Contains(d.Text, "telephone"):
		return "dated, and no pair for it"
	}
	return ""
}
