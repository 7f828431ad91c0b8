package triage

import (
	"strings"
	"testing"
)

// What each figure and limit says stands a second time here, with its source.
func TestShippedFiguresAndLimits(t *testing.T) {
	want := map[string]string{
		"gas-hf-yield":       "yield of hf: 20 to 200 mg/Wh",                      // Scientific Reports 7:10018
		"gas-hf-middle":      "middle of hf: 50 mg/Wh",                            // our own, from memory
		"gas-pof3-yield":     "yield of pof3: 15 to 22 mg/Wh",                     // Scientific Reports 7:10018
		"gas-volume":         "gas-volume: 0.3 to 2 L/Wh",                         // from memory
		"gas-co-share":       "share of co: 28 %",                                 // from memory
		"gas-hf-molar":       "molar-mass of hf: 20.006 g/mol",                    // 1.008 + 18.998
		"gas-pof3-molar":     "molar-mass of pof3: 103.968 g/mol",                 // 30.974 + 15.999 + 3 x 18.998
		"gas-co-molar":       "molar-mass of co: 28.01 g/mol",                     // 12.011 + 15.999
		"gas-molar-volume":   "molar-volume: 24.45 L/mol",                         // convention, 25 °C and 1 atm
		"gas-energy-density": "energy-density: 270 Wh/kg",                         // from memory
		"hf-niosh-idlh":      "NIOSH, immediate: 30 ppm of hf, 30 min",            // OSHA sampling sheet quoting NIOSH
		"hf-aegl-3-10min":    "AEGL, emergency: 170 ppm of hf, 139 mg/m3, 10 min", // correction to Larsson et al. 2017
		"hf-aegl-3-60min":    "AEGL, emergency: 44 ppm of hf, 60 min",             // from memory
		"hf-aegl-2-60min":    "AEGL, emergency: 24 ppm of hf, 60 min",             // from memory
		"hf-erpg-2":          "AIHA, emergency: 20 ppm of hf, 60 min",             // PMC6290397, table 3
		"hf-niosh-ceiling":   "NIOSH, ceiling: 6 ppm of hf, 5 mg/m3, 15 min",      // OSHA sampling sheet quoting NIOSH
		"hf-osha-pel":        "OSHA, day: 3 ppm of hf, 480 min",                   // 29 CFR 1910.1000, Table Z-2
		"hf-niosh-rel":       "NIOSH, day: 3 ppm of hf, 2.5 mg/m3, 600 min",       // OSHA sampling sheet quoting NIOSH
		"hf-acgih-ceiling":   "ACGIH, ceiling: 2 ppm of hf",                       // second-hand
		"hf-aegl-1":          "AEGL, emergency: 1 ppm of hf, 480 min",             // second-hand
		"hf-acgih-twa":       "ACGIH, day: 0.5 ppm of hf, 480 min",                // second-hand
		"co-niosh-idlh":      "NIOSH, immediate: 1200 ppm of co, 30 min",          // second-hand
		"co-niosh-ceiling":   "NIOSH, ceiling: 200 ppm of co",                     // OSHA sheet
		"co-osha-pel":        "OSHA, day: 50 ppm of co, 480 min",                  // 29 CFR 1910.1000, Table Z-1
		"co-niosh-rel":       "NIOSH, day: 35 ppm of co, 600 min",                 // OSHA sheet
	}
	rb := shipped(t)
	got := map[string]string{}
	for _, f := range rb.Figures() {
		got[f.ID] = f.outcome()
	}
	for _, gas := range gasWords {
		last := 0.0
		for _, l := range rb.Limits(gas) {
			got[l.ID] = l.outcome()
			if last > 0 && l.PPM > last {
				t.Errorf("%s stands under a lower limit", l.ID)
			}
			last = l.PPM
			if l.Short() == (l.Kind == "day") {
				t.Errorf("%s: one accident and an average of a day are not the same", l.ID)
			}
		}
	}
	for id, text := range want {
		if got[id] != text {
			t.Errorf("%s: got %q, agreed %q", id, got[id], text)
		}
	}
	if len(got) != len(want) {
		t.Errorf("%d figures and limits, %d agreed", len(got), len(want))
	}
}

func TestFigureErrors(t *testing.T) {
	const head = "[instrument]\nid = \"x\"\nfrom = \"2025-01-01\"\n"
	const figure = "[[figure]]\nid = \"a\"\nwhat = \"yield\"\ngas = \"hf\"\nlow = 20\nhigh = 200\nunit = \"mg/Wh\"\n"
	const limit = "[[limit]]\nid = \"b\"\nname = \"B\"\ngas = \"hf\"\nkind = \"ceiling\"\nagency = \"NIOSH\"\nppm = 6\n"
	const store = "[[storage]]\nid = \"c\"\nabout = \"amount\"\njurisdiction = \"J\"\nedition = \"E\"\ntext = \"T\"\ncuft = 15\ncounts = \"total\"\n"
	if _, err := ParseTable("t.toml", []byte(head+figure+limit+store)); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ base, from, to, want string }{
		{figure, `what = "yield"`, `what = "smell"`, `what "smell" is no kind of figure`},
		{figure, `unit = "mg/Wh"`, `unit = "g/Wh"`, "yield is in mg/Wh"},
		{figure, `low = 20`, `low = 0`, "needs low and high"},
		{figure, `low = 20`, `low = -20`, "needs low and high"},
		{figure, `high = 200`, `high = 19`, "in order"},
		{figure, `high = 200`, "high = 200\nvalue = 50", "and no value"},
		{figure, "what = \"yield\"", "what = \"middle\"", "needs a value above 0"},
		{figure, `gas = "hf"`, `gas = "he"`, `gas "he" is none of hf`},
		{figure, `gas = "hf"`, "gas = \"hf\"\nwhen = [\"swollen is yes\"]", "takes no conditions"},
		{figure, `low = 20`, `low = "20"`, "line 8"},
		{limit, `kind = "ceiling"`, `kind = "floor"`, `kind "floor" is none of immediate`},
		{limit, `ppm = 6`, `ppm = 0`, "ppm above 0"},
		{limit, `ppm = 6`, "ppm = 6\nmg_m3 = -5", "no negative number"},
		{limit, `agency = "NIOSH"`, ``, "needs a name, an agency"},
		{limit, `name = "B"`, ``, "needs a name, an agency"},
		{limit, `ppm = 6`, "ppm = 6\nfor = [\"damaged\"]", "takes no conditions"},
		{store, `about = "amount"`, `about = "colour"`, `about "colour" is none of amount`},
		{store, `jurisdiction = "J"`, ``, "needs jurisdiction, edition and text"},
		{store, `edition = "E"`, ``, "needs jurisdiction, edition and text"},
		{store, `counts = "total"`, ``, "goes with counts"},
		{store, `cuft = 15`, ``, "goes with counts"},
		{store, `cuft = 15`, `cuft = -15`, "cuft is above 0"},
		{store, `counts = "total"`, `counts = "shelf"`, `counts "shelf" is none of total`},
		{store, `cuft = 15`, "cuft = 15\nquestion = \"Q?\"", "says whom to ask"},
		{store, `cuft = 15`, "cuft = 15\nask = \"A\"", "says whom to ask"},
		{store, `cuft = 15`, "cuft = 15\nlitres = 4", "unknown key"},
	} {
		if !strings.Contains(c.base, c.from) {
			t.Fatalf("test data: no %q", c.from)
		}
		_, err := ParseTable("t.toml", []byte(head+strings.Replace(c.base, c.from, c.to, 1)))
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "t.toml") {
			t.Errorf("%s -> %s: got %v, want %q", c.from, c.to, err, c.want)
		}
	}
}

// The volumes of the fire code text as adopted (WAC 51-54A-0322, 322.2, 322.4.1),
// which prints 0.42 and 0.21 m3 beside them; one rule is a question and is not
// answered; every line that is from memory says so where it is printed.
func TestShippedStorage(t *testing.T) {
	volumes := map[string]struct {
		counts string
		m3     float64
	}{"store-wa-permit": {"total", 0.42}, "store-wa-limited": {"total", 0.42}, "store-wa-container": {"container", 0.21}}
	asked := 0
	for _, s := range shipped(t).Storages() {
		v := volumes[s.ID]
		if s.Counts != v.counts || s.Litres() < (v.m3-0.005)*1000 || s.Litres() > (v.m3+0.005)*1000 {
			t.Errorf("%s: %q of %g L, the text prints %g m3", s.ID, s.Counts, s.Litres(), v.m3)
		}
		delete(volumes, s.ID)
		if s.Question != "" {
			asked++
			if s.ID != "store-lid" || s.Ask != "the fire code official" || strings.Contains(s.outcome(), "answer") {
				t.Errorf("%s asks %q", s.ID, s.outcome())
			}
		}
		if s.Confidence == "memory" && s.Basis == Published && !strings.Contains(s.Text, "from memory") {
			t.Errorf("%s is from memory and does not say so", s.ID)
		}
	}
	if len(volumes) > 0 || asked != 1 {
		t.Errorf("%d volumes are missing, %d questions asked", len(volumes), asked)
	}
}
