package triage

import (
	"strings"
	"testing"
)

// What the waste law of the United States asks of a cell, by the state of its casing.
func TestUSWasteDuties(t *testing.T) {
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	rb, err := tables.On(day(t, "2026-11-27"))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		id, source, reading string
		has, hasNot         []string
	}{
		{"where-to", "40 CFR 262.14(a)(5)", "signs=leaking", []string{"shipment|Very small quantity generator: see that it reaches a facility", "shipment|A universal waste handler as such is none", "record|which facility took it"}, []string{"shipment|No hazardous waste manifest is asked."}},
		{"thousand", "40 CFR 262.14(a)(4)", "signs=leaking", []string{"time-limit|1,000 kg"}, nil},
		{"manifest", "49 CFR 172.205(a), (e)(5), 172.101(c)(9); 40 CFR 262.20", "signs=leaking", []string{"shipment|EPA Form 8700-22", "shipment|The word Waste", "record|3 years from the day the first carrier took it"}, nil},
		{"marking", "40 CFR 262.32(b); 49 CFR 172.301(a)(2)", "signs=leaking", []string{"shipment|HAZARDOUS WASTE\u2014Federal Law Prohibits Improper Disposal. If found, contact the nearest police or public safety authority or the U.S. Environmental Protection Agency."}, nil},
		{"determination", "40 CFR 262.11(f)", "signs=leaking", []string{"record|3 years from the day it was last sent off"}, nil},
		{"hundred", "40 CFR 260.10: less than or equal to 100 kg", "signs=leaking", []string{"record|100 kg or less: very small"}, nil},
		{"received", "40 CFR 273.18(g)", "signs=leaking", []string{"shipment|regional EPA office at once, with the sender's name, address and telephone"}, nil},
		{"rejected", "40 CFR 273.18(f)", "signs=swollen", []string{"shipment|Refuse what another handler sent", "shipment|No hazardous waste manifest is asked."}, []string{"shipment|regional EPA office", "shipment|8700-22"}},
		{"treating", "40 CFR 273.11(b)", "signs=swollen", []string{"activity|no such treatment"}, nil},
		{"unknown", "40 CFR 273.13(a)(2)", "signs=cracked", []string{"shipment|Settle whether the casing is breached"}, []string{"shipment|No hazardous waste manifest is asked."}},
	} {
		var v Verdict
		rb.Judge(&Case{Reading: usReading(t, c.reading), On: rb.On, Country: "US"}, &v)
		printed := "\n"
		for _, s := range v.Streams {
			for _, d := range v.Owed(s.Duties, "") {
				printed += d.Kind + "|" + d.Text + "\n"
			}
		}
		has := func(want string) bool {
			kind, text, _ := strings.Cut(want, "|")
			for line := range strings.Lines(printed) {
				if strings.HasPrefix(line, kind+"|") && strings.Contains(line, text) {
					return true
				}
			}
			return false
		}
		for _, w := range c.has {
			if !has(w) {
				t.Errorf("%s: %q is not there (%s) in %s", c.id, w, c.source, printed)
			}
		}
		for _, w := range c.hasNot {
			if has(w) {
				t.Errorf("%s: %q is there and should not be (%s)", c.id, w, c.source)
			}
		}
	}
}
