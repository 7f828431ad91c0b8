package triage

import (
	"regexp"
	"testing"
)

var unitAfterNumber = regexp.MustCompile(`^(?:[<>]=? |is )?-?[0-9.]+(?: to -?[0-9.]+)? \S+$`)

// A number that a finding shows stands with its unit, the value and the limit alike,
// in every shipped rule; and so does every number of a reading.
func TestEveryNumberHasItsUnit(t *testing.T) {
	for id := range NumFacts {
		info := &FactTable[id]
		if info.Words != nil {
			continue
		}
		one := Fact{State: Known, Lo: One, Hi: One}
		some := Fact{State: Known, Lo: One, Hi: 2 * One}
		for _, text := range []string{one.Text(id), some.Text(id)} {
			if !unitAfterNumber.MatchString(text) {
				t.Errorf("fact %s prints as %q", info.Name, text)
			}
		}
	}
	numbers := 0
	rb := shipped(t)
	for _, r := range rb.rules {
		for _, list := range [][]Condition{r.when.all, r.when.or} {
			for i := range list {
				if c := &list[i]; FactTable[c.Fact].Words == nil {
					numbers++
					if text := c.Limit(); !unitAfterNumber.MatchString(text) {
						t.Errorf("rule %s prints its limit as %q", r.ID, text)
					}
				}
			}
		}
	}
	if numbers < 30 {
		t.Errorf("%d limits seen", numbers)
	}
	for i := range Fields {
		f := &Fields[i]
		if (f.Type == NumberField || f.Type == ListField) && f.Unit == "" {
			t.Errorf("field %s has no unit", f.Name)
		}
	}
}
