package triage

import (
	"slices"
	"strings"
	"testing"
	"time"
)

// What is agreed of each interval stands a second time here. The sources stand
// in the table; all but the two of the United States are common practice.
func TestShippedIntervals(t *testing.T) {
	want := map[string]string{
		"recheck-reacting":      "recheck of emergency: every 1 h (due)",
		"recheck-first":         "recheck of isolate: after 1 h (due)",
		"recheck-end-of-day":    "recheck of hold, isolate: at the end of day (due)",
		"recheck-next-opening":  "recheck of isolate: at the next opening (due)",
		"recheck-one-day":       "recheck of hold, isolate: after 24 h (due)",
		"recheck-weekly":        "recheck of hold, isolate: every 7 days (due)",
		"accumulation-notice":   "accumulation: after 9 months (notice)",
		"accumulation-due":      "accumulation: after 11 months (due)",
		"accumulation-year":     "accumulation: after 12 months (overdue)",
		"us-accumulation-year":  "accumulation in US: after 12 months (overdue)", // 40 CFR 273.15(a)
		"round-weekly":          "inspection: every 7 days (due)",
		"us-training-hazmat":    "training in US: every 3 years (overdue)", // 49 CFR 172.704(c)(2)
		"training-refresher":    "training: every 1 year (notice)",
		"emergency-number-test": "emergency-number: every 90 days (due)",
		"receipt-wait":          "receipt: after 30 days (overdue)",
		"recall-list-age":       "recall-list: every 30 days (due)",
		"local-rule-open":       "local-rule: after 60 days (overdue)",
		"rulebook-ahead":        "rulebook: 60 days ahead (notice)",
		"incident-ask-again":    "incident: after 1 day (due)",
		"made-safe-wait":        "secured: after 10 min (due)",
	}
	rb := shipped(t)
	seen := 0
	for _, what := range intervalWords {
		list := rb.Intervals(what)
		if len(list) == 0 {
			t.Errorf("no interval about %s", what)
		}
		for _, i := range list {
			seen++
			if got := i.outcome(); got != want[i.ID] {
				t.Errorf("%s: got %q, agreed %q", i.ID, got, want[i.ID])
			}
			if law := strings.HasPrefix(i.ID, "us-"); law != (i.Basis == Published) {
				t.Errorf("%s has basis %s", i.ID, i.Basis)
			}
			if rb.Interval(i.ID) != i {
				t.Errorf("%s is not found by its id", i.ID)
			}
		}
	}
	if seen != len(want) {
		t.Errorf("%d intervals, %d agreed", seen, len(want))
	}
	if rb.Interval("no-such") != nil || len(rb.Intervals("no-such")) != 0 {
		t.Error("an interval that is not there was found")
	}
	// How old the list may be for its silence to count is the same number.
	if got := rb.Interval("recall-list-age").Next(100); got != 100+RecallDays {
		t.Errorf("the list is up after %d days, its silence counts for %d", got-100, RecallDays)
	}
}

func TestIntervalNext(t *testing.T) {
	rb := shipped(t)
	for _, c := range []struct{ id, last, want string }{
		{"round-weekly", "2026-11-25", "2026-12-02"}, {"us-training-hazmat", "2024-02-29", "2027-02-28"}, {"training-refresher", "2024-02-29", "2025-02-28"},
		{"emergency-number-test", "2026-11-25", "2027-02-23"}, {"receipt-wait", "2026-11-25", "2026-12-25"}, {"rulebook-ahead", "2026-12-31", "2026-11-01"},
		{"incident-ask-again", "2026-12-31", "2027-01-01"}, {"made-safe-wait", "2026-11-25", "2026-11-25"}, {"recheck-one-day", "2026-11-25", "2026-11-26"},
	} {
		if got := rb.Interval(c.id).Next(day(t, c.last)); got != day(t, c.want) {
			t.Errorf("%s after %s: got %s, want %s", c.id, c.last, got, c.want)
		}
	}
	berlin := zone(t, "Europe/Berlin")
	for _, c := range []struct{ id, last, want string }{
		{"made-safe-wait", "2026-11-25 23:55", "2026-11-26 00:05"}, {"incident-ask-again", "2026-10-24 14:00", "2026-10-25 14:00"},
		{"recheck-one-day", "2026-10-24 14:00", "2026-10-25 13:00"}, {"recheck-end-of-day", "2026-11-25 14:00", "2026-11-25 18:00"},
	} {
		if got := rb.Interval(c.id).NextTime(clock(t, c.last, berlin)); !got.Equal(clock(t, c.want, berlin)) || got.Location() != berlin {
			t.Errorf("%s after %s: got %s, want %s", c.id, c.last, got, c.want)
		}
	}
	// What was never done is due, not never due.
	for _, what := range intervalWords {
		for _, i := range rb.Intervals(what) {
			if d := i.Next(0); d.String() != "1970-01-02" {
				t.Errorf("%s from no day: %q", i.ID, d)
			}
			if at := i.NextTime(time.Time{}); at.IsZero() || !at.Equal(DueNow) {
				t.Errorf("%s from no time: %s", i.ID, at)
			}
		}
	}
}

func TestIntervalErrors(t *testing.T) {
	const head = "[instrument]\nid = \"x\"\nfrom = \"2025-01-01\"\n[[interval]]\nid = \"a\"\n"
	const good = "what = \"inspection\"\nevery = \"7 days\"\nseverity = \"due\"\n"
	if _, err := ParseTable("t.toml", []byte(head+good)); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ from, to, want string }{
		{`every = "7 days"`, ``, "needs one of every, after and ahead"},
		{`every = "7 days"`, "every = \"7 days\"\nafter = \"1 h\"", "needs one of every, after and ahead"},
		{`every = "7 days"`, `every = "a week"`, `every "a week" is none of the forms`},
		{`every = "7 days"`, `every = 7`, "line 7"},
		{`every = "7 days"`, `after = "end of day"`, `"end of day" is for a recheck`},
		{`every = "7 days"`, `ahead = "7 days"`, "ahead is for rulebook"},
		{`what = "inspection"`, `what = "rulebook"`, "ahead is for rulebook"},
		{`what = "inspection"`, `what = "round"`, `what "round" is none of recheck`},
		{`what = "inspection"`, `what = "recheck"`, "a recheck names classes"},
		{`what = "inspection"`, `what = "accumulation"`, "accumulation is after days, months or years"},
		{`what = "inspection"`, "what = \"inspection\"\nclasses = [\"isolate\"]", "a recheck names classes"},
		{`what = "inspection"`, "what = \"recheck\"\nclasses = [\"isolated\"]", `handling "isolated" is none of`},
		{`what = "inspection"`, "what = \"inspection\"\ncountry = \"US\"", "country is for accumulation and training"},
		{`what = "inspection"`, "what = \"training\"\ncountry = \"usa\"", "two capital letters"},
		{`what = "inspection"`, "what = \"inspection\"\nwhen = [\"swollen is yes\"]", "takes no conditions"},
		{`severity = "due"`, `severity = "late"`, `severity "late" is none of notice, due, overdue`},
		{`severity = "due"`, `colour = "red"`, "unknown key"},
	} {
		if !strings.Contains(good, c.from) {
			t.Fatalf("test data: no %q", c.from)
		}
		_, err := ParseTable("t.toml", []byte(head+strings.Replace(good, c.from, c.to, 1)))
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "t.toml") {
			t.Errorf("%s -> %s: got %v, want %q", c.from, c.to, err, c.want)
		}
	}
}

// houseBook returns the shipped rulebook with a house file.
func houseBook(t testing.TB, text string) *Rulebook {
	t.Helper()
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	h, err := ParseHouse("house.toml", []byte(text), tables)
	if err != nil {
		t.Fatal(err)
	}
	rb, err := append(slices.Clone(tables), h.Table()).On(day(t, testDay))
	if err != nil {
		t.Fatal(err)
	}
	first, err := append(Tables{h.Table()}, tables...).On(day(t, testDay))
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range h.table.Intervals {
		if first.Interval(i.ID).Text() != i.Text() {
			t.Errorf("%s: the order of the tables decides which is in force", i.ID)
		}
	}
	return rb
}

func TestHouseIntervals(t *testing.T) {
	rb := houseBook(t, "[[interval]]\nid = \"recheck-first\"\nevery = \"30 min\"\n[[interval]]\nid = \"round-weekly\"\nevery = \"1 day\"\nnote = \"Asked by our insurer.\"\n"+
		"[[interval]]\nid = \"rulebook-ahead\"\nahead = \"90 days\"\n[[interval]]\nid = \"us-accumulation-year\"\nafter = \"180 days\"\n")
	for id, want := range map[string]string{"recheck-first": "every 30 min", "round-weekly": "every 1 day", "rulebook-ahead": "90 days ahead",
		"us-accumulation-year": "after 180 days", "recheck-one-day": "after 24 h"} {
		if got := rb.Interval(id).Text(); got != want {
			t.Errorf("%s: got %q, want %q", id, got, want)
		}
	}
	i := rb.Interval("round-weekly")
	if i.Basis != HouseRule || i.Note != "Asked by our insurer." || !strings.HasPrefix(i.Source, "house interval; shipped: every 7 days (common practice") {
		t.Errorf("a house interval says %+v", i.Record)
	}
	list, err := rb.Explained("")
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range []string{"recheck-first", "recheck-one-day"} {
		n := 0
		for _, e := range list {
			if e.ID == id {
				n++
			}
		}
		if n != 1 {
			t.Errorf("%s is listed %d times", id, n)
		}
	}
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ toml, want string }{
		{`id = "recheck-first"` + "\n" + `after = "2 h"`, `loosens the shipped interval recheck-first from "after 1 h" to "after 2 h": refused`},
		{`id = "recheck-first"` + "\n" + `every = "61 min"`, "loosens the shipped interval recheck-first"},
		{`id = "recheck-weekly"` + "\n" + `every = "8 days"`, "loosens the shipped interval recheck-weekly"},
		{`id = "recheck-weekly"` + "\n" + `after = "1 day"`, `says "every 7 days", so write every, not after`},
		{`id = "receipt-wait"` + "\n" + `every = "1 day"`, "so write after, not every"},
		{`id = "recheck-end-of-day"` + "\n" + `after = "1 min"`, "may come at any moment"},
		{`id = "recheck-end-of-day"` + "\n" + `every = "1 min"`, "may come at any moment"},
		{`id = "rulebook-ahead"` + "\n" + `ahead = "30 days"`, "may only tell earlier"},
		{`id = "us-accumulation-year"` + "\n" + `after = "13 months"`, "loosens the shipped interval us-accumulation-year"},
		{`id = "us-accumulation-year"` + "\n" + `after = "365 days"`, "loosens the shipped interval us-accumulation-year"},
		{`id = "recheck-frist"` + "\n" + `after = "1 h"`, "no such interval, did you mean recheck-first?"},
		{`id = "swollen"` + "\n" + `after = "1 h"`, "no such interval"},
		{`id = "recheck-first"`, "interval recheck-first: needs one of every, after and ahead"},
		{`id = "recheck-first"` + "\n" + `after = "soon"`, `interval recheck-first: after "soon" is none of the forms`},
		{`id = "recheck-first"` + "\n" + `severity = "notice"`, "unknown key interval.severity"},
		{"id = \"recheck-first\"\nafter = \"1 min\"\n[[interval]]\nid = \"recheck-first\"\nafter = \"2 min\"", "recheck-first stands there twice"},
	} {
		_, err := ParseHouse("house.toml", []byte("[[interval]]\n"+c.toml+"\n"), tables)
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "house.toml") {
			t.Errorf("%s: got %v, want %q", c.toml, err, c.want)
		}
	}
}
