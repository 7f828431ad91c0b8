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
		{"2026-12-09", "AT", "trade", "chemistry=nimh charge_limit_v= nominal_v=1.2 ocv_v=1.3", "no code given"},
		{"2026-12-09", "AT", "trade", "chemistry=", "16 06 07*|no code given"},
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
