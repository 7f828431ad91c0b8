package app

import (
	"strings"
	"testing"
)

func TestPlaceName(t *testing.T) {
	for _, c := range []struct{ text, want, refused string }{
		{"", "", ""},
		{"Y1", "Y1", ""},
		{"  Yard \t locker ", "Yard locker", ""},
		{"Kühlraum 電池", "Kühlraum 電池", ""},
		{strings.Repeat("ü", 60), strings.Repeat("ü", 60), ""},
		{strings.Repeat("ü", 61), "", "at most 60 characters"},
		{" \t ", "", "is not blank"},
		{"a\x1b[31mb", "", "no control characters"},
	} {
		got, err := placeName("--to", c.text)
		if got != c.want || (err == nil) != (c.refused == "") {
			t.Errorf("%q: got %q, %v; want %q", c.text, got, err, c.want)
		}
		if err != nil && !strings.Contains(err.Error(), c.refused) {
			t.Errorf("%q: got %v, want %s", c.text, err, c.refused)
		}
	}
}

func TestFits(t *testing.T) {
	long := strings.Repeat("é", longestText)
	for _, c := range []struct {
		body string
		ok   bool
	}{
		{`{"note":"` + long + `"}`, true},
		{`{"note":"` + long + `x"}`, false},
		{`{"a":[{"b":["` + long + `x"]}]}`, false},
		{`{"n":3,"ok":true}`, true},
	} {
		if err := fits([]byte(c.body)); (err == nil) != c.ok {
			t.Errorf("%.30s...: got %v, want accepted %t", c.body, err, c.ok)
		}
	}
}
