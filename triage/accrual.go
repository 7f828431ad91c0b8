package triage

import (
	"cmp"
	"slices"
)

// An Accrual is a day on which a step of the accumulation time is reached.
type Accrual struct {
	On Date
	By *Interval
}

// Accumulation returns the steps for waste that counts from a day, in a country
// (blank is US, the federal baseline), by day. A step that holds everywhere gives
// way to the country's own step of the same severity, unless it comes first. Where
// the start is not known every step has been reached: 1970-01-02.
func (rb *Rulebook) Accumulation(start Date, country string) []Accrual {
	if country == "" {
		country = BaselineCountry
	}
	var own, all []Accrual
	for _, i := range rb.intervals {
		switch {
		case i.What != "accumulation":
		case i.Country == "":
			all = append(all, Accrual{i.Next(start), i})
		case i.Country == country || i.Country == "EU" && inUnion(country):
			own = append(own, Accrual{i.Next(start), i})
		}
	}
	for _, a := range all {
		if !slices.ContainsFunc(own, func(o Accrual) bool { return o.By.Severity == a.By.Severity && o.On <= a.On }) {
			own = append(own, a)
		}
	}
	slices.SortStableFunc(own, func(a, b Accrual) int {
		return cmp.Or(cmp.Compare(a.On, b.On), cmp.Compare(slices.Index(severityWords, a.By.Severity), slices.Index(severityWords, b.By.Severity)))
	})
	return own
}
