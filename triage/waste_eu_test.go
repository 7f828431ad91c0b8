package triage

import (
	"slices"
	"strings"
	"testing"
)

// The codes of the list of waste by date, country and origin: transport-road-un-eu 3.3, T40, T42.
func TestWasteCodesByDateAndOrigin(t *testing.T) {
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ day, country, origin, reading, want string }{
		{"2026-12-08", "DE", "trade", "", "16 06 05"},
		{"2026-12-09", "DE", "trade", "", "16 06 07*"},
		{"2026-12-08", "FR", "municipal", "", "20 01 33*|20 01 34"},
		{"2026-12-09", "FR", "municipal", "", "20 01 43*"},
		{"2026-12-08", "NL", "", "", "16 06 05|20 01 33*|20 01 34"},
		{"2026-12-09", "NL", "", "", "16 06 07*|20 01 43*"},
		{"2026-12-09", "GB", "trade", "", "16 06 05"},
		{"2026-12-09", "GB", "municipal", "", "20 01 33*|20 01 34"},
		{"2026-12-09", "AT", "trade", "signs=leaking", "16 06 07*"},
		// Nickel and sodium: the annex of Delegated Decision (EU) 2025/934, restated in a public lookup table.
		{"2026-12-08", "AT", "trade", "chemistry=nimh series=3", "no code given"},
		{"2026-12-08", "AT", "municipal", "chemistry=na-ion", "no code given"},
		{"2026-12-09", "AT", "trade", "chemistry=nimh series=3", "16 06 08*"},
		{"2026-12-09", "AT", "municipal", "chemistry=nimh series=3", "20 01 42*"},
		{"2026-12-09", "AT", "trade", "chemistry=na-ion", "16 06 10*|16 06 12"},
		{"2026-12-09", "AT", "municipal", "chemistry=na-ion", "20 01 42*|20 01 44"},
		{"2026-12-09", "AT", "", "chemistry=na-ion", "16 06 10*|16 06 12|20 01 42*|20 01 44"},
		{"2026-12-08", "AT", "trade", "chemistry=", "16 06 05|no code given"},
		{"2026-12-09", "AT", "trade", "chemistry=", "16 06 07*|16 06 08*|16 06 10*|16 06 12"},
		{"2026-12-09", "AT", "trade", "chemistry=li-metal fit=packed-with", "16 06 07*"},
		// A battery still in its device: 16 02 13* and 20 01 35* have hazardous components, batteries marked in 16 06 among
		// them (waste collections of German agencies).
		{"2026-12-08", "DE", "trade", "fit=installed", "16 02 13*|16 02 14"},
		{"2026-12-09", "DE", "trade", "fit=installed", "16 02 13*"},
		{"2026-12-08", "DE", "municipal", "fit=installed", "20 01 35*|20 01 36"},
		{"2026-12-09", "DE", "municipal", "fit=installed signs=swollen", "20 01 35*"},
		{"2026-12-09", "DE", "", "fit=installed", "16 02 13*|20 01 35*"},
		{"2026-12-08", "DE", "trade", "fit=installed chemistry=nimh series=3", "16 02 13*|16 02 14"},
		{"2026-12-09", "DE", "municipal", "fit=installed chemistry=na-ion", "20 01 35*"},
		{"2026-12-09", "DE", "trade", "fit=installed purpose=reuse", ""},
		{"2026-12-08", "DE", "trade", "fit=", "16 06 05|16 02 13*|16 02 14"},
		{"2026-12-09", "DE", "trade", "fit=ur", "16 06 07*|16 02 13*"},
		{"2026-12-09", "GB", "trade", "fit=installed", "16 02 13*|16 02 14"},
		{"2026-12-09", "GB", "municipal", "fit=installed", "20 01 35*|20 01 36"},
		{"2026-12-09", "GB", "trade", "fit=", "16 06 05|16 02 13*|16 02 14"},
		{"2026-12-09", "CH", "trade", "", ""},
		{"2026-12-09", "", "trade", "", "universal waste"},
	} {
		rb, err := tables.On(day(t, c.day))
		if err != nil {
			t.Fatal(err)
		}
		v := &Verdict{}
		rb.Judge(&Case{Reading: usReading(t, c.reading), On: rb.On, Country: c.country, Origin: c.origin}, v)
		codes := v.WasteCodes()
		var want []string
		if c.want != "" {
			want = strings.Split(c.want, "|")
		}
		ok := len(codes) == len(want)
		for i := range want {
			ok = ok && slices.ContainsFunc(codes, func(s string) bool { return strings.HasPrefix(s, want[i]) })
		}
		if !ok {
			t.Errorf("%+v: codes %q", c, codes)
		}
	}
}

// What the shop owes by date and fit: each duty once and its source beside.
func TestWasteDutiesByDateAndFit(t *testing.T) {
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	const device = "A whole device across a border" // Delegated Regulation (EU) 2024/3229, second-hand
	for _, c := range []struct{ day, country, origin, reading, has, hasNot string }{
		{"2026-12-08", "DE", "trade", "fit=installed", "which of the two codes|" + device, "Treat it as hazardous waste"},
		{"2026-12-09", "DE", "trade", "fit=installed", "Treat it as hazardous waste|" + device, "which of the two codes"},
		{"2026-12-09", "DE", "municipal", "", "Treat it as hazardous waste|From 2026-12-09 never to a country outside the OECD", device},
		{"2026-12-09", "DE", "trade", "chemistry=na-ion", "unless its maker shows that it holds no hazardous substance", "Treat it as hazardous waste:"},
		// gov.uk, battery waste: retailer and distributor responsibilities; netregs.org.uk, portable batteries.
		{"2026-12-09", "GB", "trade", "", "Those in equipment do not count|collection point at all premises|by you or by a registered carrier", "move them yourself|which of the two codes"},
		{"2026-12-09", "GB", "trade", "fit=installed", "which of the two codes", ""},
	} {
		rb, err := tables.On(day(t, c.day))
		if err != nil {
			t.Fatal(err)
		}
		v := &Verdict{}
		rb.Judge(&Case{Reading: usReading(t, c.reading), On: rb.On, Country: c.country, Origin: c.origin}, v)
		var texts []string
		for _, d := range v.wasteDuties() {
			if slices.Contains(texts, d.Text) {
				t.Errorf("%+v: %q is owed twice", c, d.Text)
			}
			texts = append(texts, d.Text)
		}
		all := strings.Join(texts, "\n")
		for _, want := range strings.Split(c.has, "|") {
			if !strings.Contains(all, want) {
				t.Errorf("%+v: no %q in\n%s", c, want, all)
			}
		}
		for _, not := range strings.Split(c.hasNot, "|") {
			if not != "" && strings.Contains(all, not) {
				t.Errorf("%+v: %q in\n%s", c, not, all)
			}
		}
	}
}

// The German law of batteries changed on 2025-10-07: a line of its own on each side of the day.
func TestGermanLineByDate(t *testing.T) {
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	for on, want := range map[string]string{"2025-10-06": "take-back system", "2025-10-07": "producer responsibility organisation"} {
		rb, err := tables.On(day(t, on))
		if err != nil {
			t.Fatal(err)
		}
		v := &Verdict{}
		rb.Judge(&Case{Reading: usReading(t, ""), On: rb.On, Country: "DE"}, v)
		if lines := v.StateLines(); len(lines) != 2 || !strings.Contains(lines[1], want) {
			t.Errorf("%s: %q, want %q in the second", on, lines, want)
		}
	}
}
