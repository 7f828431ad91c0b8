package triage

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

func changes(list []Change) string {
	var parts []string
	for _, c := range list {
		word := "ends"
		if c.Begins {
			word = "begins"
		}
		parts = append(parts, fmt.Sprintf("%s %s %s/%s", c.On, word, c.Instrument.ID, c.ID))
	}
	return strings.Join(parts, "\n")
}

func TestChanges(t *testing.T) {
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	// The switch of the European waste codes: Delegated Decision (EU) 2025/934.
	var ends, begins []string
	for _, id := range []string{"eu-municipal", "eu-municipal-device", "eu-other-chemistry", "eu-trade", "eu-trade-device"} {
		ends = append(ends, "2026-12-08 ends waste-eu/"+id+"-2026")
	}
	for _, id := range []string{"eu-municipal", "eu-municipal-device", "eu-other-chemistry", "eu-other-chemistry-nickel-municipal",
		"eu-other-chemistry-sodium-municipal", "eu-other-chemistry-sodium-trade", "eu-trade", "eu-trade-device"} {
		begins = append(begins, "2026-12-09 begins waste-eu/"+id)
	}
	slices.Sort(ends)
	want := strings.Join(append(ends, begins...), "\n")
	if got := changes(tables.Changes(day(t, "2026-11-25"), day(t, "2026-12-30"))); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	for _, c := range []struct {
		from, to string
		lines    int
	}{{"2026-12-09", "2026-12-09", 8}, {"2026-12-10", "2026-12-30", 0}, {"2026-12-09", "2026-12-08", 0}} {
		if got := tables.Changes(day(t, c.from), day(t, c.to)); len(got) != c.lines {
			t.Errorf("%s to %s: %d changes, want %d", c.from, c.to, len(got), c.lines)
		}
	}
	// The last known day of a text, and the beginning of an instrument without its records.
	got := changes(tables.Changes(day(t, "2026-12-31"), day(t, "2026-12-31")))
	for _, id := range []string{"adr-road", "air", "imdg"} {
		if !strings.Contains(got, "2026-12-31 ends "+id+"/"+id) {
			t.Errorf("the last known day of %s is not among\n%s", id, got)
		}
	}
	got = changes(tables.Changes(day(t, "2025-01-01"), day(t, "2025-01-01")))
	if !strings.Contains(got, "2025-01-01 begins handling/handling") || strings.Contains(got, "handling/swollen") {
		t.Errorf("the beginning of the instruments is told as\n%s", got)
	}
}

// Changes and CompareDays were written apart and agree on every day.
func TestChangesAgreeWithCompareDays(t *testing.T) {
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	instruments := map[string]bool{}
	for _, table := range tables {
		instruments[table.Instrument.ID] = true
	}
	told := 0
	for d := day(t, "2025-06-01"); d < day(t, "2027-06-01"); d++ {
		var got, want []string
		for _, c := range tables.Changes(d, d) {
			if !instruments[c.ID] {
				got = append(got, fmt.Sprint(c.ID, c.Begins))
			}
		}
		for _, c := range tables.CompareDays(d-1, d) {
			if c.Change == "begins" {
				want = append(want, c.ID+"true")
			}
		}
		for _, c := range tables.CompareDays(d, d+1) {
			if c.Change == "ends" {
				want = append(want, c.ID+"false")
			}
		}
		slices.Sort(got)
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Errorf("%s: Changes %q, CompareDays %q", d, got, want)
		}
		told += len(want)
	}
	if told == 0 {
		t.Error("nothing changes in two years")
	}
}

// What comes and goes with its instrument is told once, what has days of its own by itself.
func TestChangesNameAnInstrumentOnce(t *testing.T) {
	row := func(id, window string) string {
		return "[[rule]]\nid = \"" + id + "\"\nhandling = \"hold\"\nwhen = [\"swollen is yes\"]\n" + window + "\n"
	}
	table, err := ParseTable("t.toml", []byte("[instrument]\nid = \"x\"\nfrom = \"2026-01-01\"\nuntil = \"2026-12-31\"\nknown_until = \"2026-12-31\"\n"+
		row("silent", "")+row("same", "from = \"2026-01-01\"\nuntil = \"2026-12-31\"")+row("wider", "from = \"2025-01-01\"\nuntil = \"2027-12-31\"")+
		row("own", "from = \"2026-01-02\"\nuntil = \"2026-12-30\"")))
	if err != nil {
		t.Fatal(err)
	}
	const want = "2026-01-01 begins x/x\n2026-01-02 begins x/own\n2026-12-30 ends x/own\n2026-12-31 ends x/x"
	if got := changes(Tables{table}.Changes(day(t, "2024-01-01"), day(t, "2028-12-31"))); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}
