package triage

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func accruals(list []Accrual) string {
	var parts []string
	for _, a := range list {
		parts = append(parts, fmt.Sprintf("%s %s %s", a.On, a.By.ID, a.By.Severity))
	}
	return strings.Join(parts, "; ")
}

// Twelve months: 40 CFR 273.15(a), 273.35(a) in the United States, elsewhere
// common practice; nine and eleven: common practice.
func TestAccumulation(t *testing.T) {
	rb := shipped(t)
	for _, c := range []struct{ start, country, want string }{
		{"2025-11-25", "US", "2026-08-25 accumulation-notice notice; 2026-10-25 accumulation-due due; 2026-11-25 us-accumulation-year overdue"},
		{"2025-11-25", "", "2026-08-25 accumulation-notice notice; 2026-10-25 accumulation-due due; 2026-11-25 us-accumulation-year overdue"},
		{"2025-11-25", "DE", "2026-08-25 accumulation-notice notice; 2026-10-25 accumulation-due due; 2026-11-25 accumulation-year overdue"},
		{"2025-11-25", "GB", "2026-08-25 accumulation-notice notice; 2026-10-25 accumulation-due due; 2026-11-25 accumulation-year overdue"},
		{"2025-05-31", "US", "2026-02-28 accumulation-notice notice; 2026-04-30 accumulation-due due; 2026-05-31 us-accumulation-year overdue"},
		{"2024-02-29", "US", "2024-11-29 accumulation-notice notice; 2025-01-29 accumulation-due due; 2025-02-28 us-accumulation-year overdue"},
	} {
		if got := accruals(rb.Accumulation(day(t, c.start), c.country)); got != c.want {
			t.Errorf("%s in %q: got %s, want %s", c.start, c.country, got, c.want)
		}
	}
	// A start that is not known has reached every step.
	list := rb.Accumulation(0, "DE")
	if got := accruals(list); got != "1970-01-02 accumulation-notice notice; 1970-01-02 accumulation-due due; 1970-01-02 accumulation-year overdue" {
		t.Errorf("no start: %s", got)
	}
	// What the house has made shorter for everywhere comes before the law, and does not give way to it.
	house := houseBook(t, "[[interval]]\nid = \"accumulation-year\"\nafter = \"6 months\"\n")
	if got := accruals(house.Accumulation(day(t, "2025-11-25"), "US")); got != "2026-05-25 accumulation-year overdue; 2026-08-25 accumulation-notice notice; 2026-10-25 accumulation-due due; 2026-11-25 us-accumulation-year overdue" {
		t.Errorf("house: %s", got)
	}
}

// firstOf returns the first day of each severity.
func firstOf(list []Accrual) map[string]Date {
	first := map[string]Date{}
	for _, a := range list {
		if d, ok := first[a.By.Severity]; !ok || a.On < d {
			first[a.By.Severity] = a.On
		}
	}
	return first
}

func TestAStricterHouseNeverAccumulatesLonger(t *testing.T) {
	base := shipped(t)
	var books []*Rulebook
	for _, line := range []string{"accumulation-notice\"\nafter = \"8 months", "accumulation-due\"\nafter = \"300 days", "accumulation-year\"\nafter = \"364 days",
		"us-accumulation-year\"\nafter = \"11 months", "us-accumulation-year\"\nafter = \"1 day"} {
		books = append(books, houseBook(t, "[[interval]]\nid = \""+line+"\"\n"))
	}
	rapid.Check(t, func(t *rapid.T) {
		start := Date(rapid.Int32Range(18000, 24000).Draw(t, "start"))
		country := rapid.SampledFrom([]string{"", "US", "DE", "GB", "CH"}).Draw(t, "country")
		was := base.Accumulation(start, country)
		if !slices.IsSortedFunc(was, func(a, b Accrual) int { return int(a.On - b.On) }) {
			t.Fatalf("not by day: %s", accruals(was))
		}
		is := firstOf(rapid.SampledFrom(books).Draw(t, "house").Accumulation(start, country))
		for severity, d := range firstOf(was) {
			if is[severity] == 0 || is[severity] > d {
				t.Fatalf("%s from %s in %s: %s with the house, %s shipped", severity, start, country, is[severity], d)
			}
		}
		for severity, d := range firstOf(base.Accumulation(0, country)) {
			if d > firstOf(was)[severity] {
				t.Fatalf("%s: an unknown start is later than %s", severity, start)
			}
		}
	})
}
