package triage

import (
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the zones of the tests, wherever they run

	"pgregory.net/rapid"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

// clock reads "2026-11-25 14:00" or "... 14:00:01" on the clock of a zone.
func clock(t testing.TB, text string, loc *time.Location) time.Time {
	t.Helper()
	if text == "" {
		return time.Time{}
	}
	if len(text) == len("2026-11-25 14:00") {
		text += ":00"
	}
	at, err := time.ParseInLocation(time.DateTime, text, loc)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func TestParseAmount(t *testing.T) {
	for text, want := range map[string]amount{"1 min": {1, minutes}, "24 h": {1440, minutes}, "1 day": {1, days}, "7 days": {7, days},
		"9 months": {9, months}, "1 year": {12, months}, "100 years": {1200, months}, "end of day": {1, endOfDay}, "next opening": {1, nextOpening}} {
		if got, err := parseAmount(text); err != nil || got != want {
			t.Errorf("%q: got %v, %v; want %v", text, got, err, want)
		}
	}
	for _, text := range []string{"", "1", "h", "0 h", "-1 h", "+1 h", "01 h", "1.5 h", "1h", "1  h", " 1 h", "1 hs", "1 week", "10000 h", "1 h\n", "End of day"} {
		if got, err := parseAmount(text); err == nil || !strings.Contains(err.Error(), `"10 min"`) {
			t.Errorf("%q: got %v, %v; want an error that names the forms", text, got, err)
		}
	}
	for _, text := range []string{"1201 months", "101 years"} {
		if got, err := parseAmount(text); err == nil || !strings.Contains(err.Error(), "100 years") {
			t.Errorf("%q: got %v, %v; want an error", text, got, err)
		}
	}
}

// 29 February and the ends of short months: the earlier side.
func TestAddMonths(t *testing.T) {
	for _, c := range []struct {
		from string
		n    int
		want string
	}{
		{"2025-05-31", 9, "2026-02-28"}, {"2025-05-31", 11, "2026-04-30"}, {"2025-05-31", 12, "2026-05-31"},
		{"2024-02-29", 12, "2025-02-28"}, {"2024-02-29", 48, "2028-02-29"}, {"2025-11-30", 3, "2026-02-28"}, {"2027-11-30", 3, "2028-02-29"},
		{"2026-01-28", 1, "2026-02-28"}, {"2025-12-01", 1, "2026-01-01"}, {"2026-03-31", -1, "2026-02-28"}, {"2026-01-31", -2, "2025-11-30"},
	} {
		if got := day(t, c.from).addMonths(c.n); got != day(t, c.want) {
			t.Errorf("%s and %d months: got %s, want %s", c.from, c.n, got, c.want)
		}
	}
}

// Where the clocks go back a time comes twice, where they go forward not at all.
func TestClockOn(t *testing.T) {
	for _, c := range []struct{ zone, on, at, want string }{
		{"Europe/Berlin", "2026-10-25", "02:30", "2026-10-25T00:30:00Z"},
		{"Europe/Berlin", "2026-10-25", "01:59", "2026-10-24T23:59:00Z"},
		{"Europe/Berlin", "2026-10-25", "03:00", "2026-10-25T02:00:00Z"},
		{"Europe/Berlin", "2026-10-25", "18:00", "2026-10-25T17:00:00Z"},
		{"Europe/Berlin", "2026-10-26", "02:30", "2026-10-26T01:30:00Z"},
		{"Europe/Berlin", "2026-03-29", "02:30", "2026-03-29T00:30:00Z"},
		{"Europe/Berlin", "2026-03-29", "01:59", "2026-03-29T00:59:00Z"},
		{"Europe/Berlin", "2026-03-29", "03:00", "2026-03-29T01:00:00Z"},
		{"America/New_York", "2026-11-01", "01:30", "2026-11-01T05:30:00Z"},
		{"America/New_York", "2026-03-08", "02:30", "2026-03-08T06:30:00Z"},
		{"Australia/Lord_Howe", "2026-04-05", "01:45", "2026-04-04T14:45:00Z"},
		{"UTC", "2026-03-29", "02:30", "2026-03-29T02:30:00Z"},
	} {
		at, err := time.Parse("15:04", c.at)
		if err != nil {
			t.Fatal(err)
		}
		of := time.Duration(at.Hour())*time.Hour + time.Duration(at.Minute())*time.Minute
		if got := clockOn(day(t, c.on), of, zone(t, c.zone)).UTC().Format(time.RFC3339); got != c.want {
			t.Errorf("%s %s %s: got %s, want %s", c.zone, c.on, c.at, got, c.want)
		}
	}
}

func TestFirstOpenMinute(t *testing.T) {
	h := Hours{Opens: 540, Closes: 1080, Closed: [7]bool{time.Sunday: true}}
	berlin := zone(t, "Europe/Berlin")
	for _, c := range []struct {
		from   string
		minute int
		want   string
	}{
		{"2026-11-25 17:59:59", h.Closes, "2026-11-25 18:00"}, {"2026-11-25 18:00", h.Closes, "2026-11-26 18:00"},
		{"2026-11-28 18:00", h.Closes, "2026-11-30 18:00"}, {"2026-11-28 18:00", h.Opens, "2026-11-30 09:00"},
		{"2026-11-29 12:00", h.Closes, "2026-11-30 18:00"}, {"2026-11-25 08:59", h.Opens, "2026-11-25 09:00"},
	} {
		if got := h.first(clock(t, c.from, berlin), c.minute); !got.Equal(clock(t, c.want, berlin)) {
			t.Errorf("%s, minute %d: got %s, want %s", c.from, c.minute, got, c.want)
		}
	}
}

// What is taken to be no longer never ends later, on whatever day it starts.
func TestNoLongerNeverEndsLater(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"30 min", "1 h", true}, {"1 h", "1 h", true}, {"61 min", "1 h", false}, {"24 h", "1 day", false}, {"1 day", "24 h", false},
		{"22 h", "1 day", true}, {"1 day", "26 h", true}, {"23 h", "1 day", false}, {"11 months", "1 year", true}, {"12 months", "1 year", true},
		{"13 months", "1 year", false}, {"350 days", "12 months", true}, {"364 days", "12 months", true}, {"365 days", "12 months", false},
		{"1 month", "30 days", false}, {"1 month", "32 days", true}, {"27 days", "1 month", true}, {"28 days", "1 month", false},
		{"1 min", "end of day", false}, {"1 min", "next opening", false}, {"end of day", "1 day", false}, {"end of day", "end of day", true},
		{"end of day", "next opening", false},
	} {
		a, errA := parseAmount(c.a)
		b, errB := parseAmount(c.b)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		if got := a.noLonger(b); got != c.want {
			t.Errorf("%s no longer than %s: %t, want %t", c.a, c.b, got, c.want)
		}
	}
	zones := []*time.Location{time.UTC, zone(t, "Europe/Berlin"), zone(t, "America/New_York"), zone(t, "Australia/Lord_Howe")}
	units := map[amountUnit][]int{minutes: {1, 60, 1380, 1440, 1500, 40000, 43200, 600000}, days: {1, 2, 27, 28, 29, 30, 31, 59, 89, 364, 366}, months: {1, 2, 3, 12, 36}}
	met := 0
	rapid.Check(t, func(t *rapid.T) {
		drawAmount := func(label string) amount {
			u := rapid.SampledFrom([]amountUnit{minutes, days, months}).Draw(t, label+" unit")
			return amount{rapid.SampledFrom(units[u]).Draw(t, label), u}
		}
		a, b := drawAmount("a"), drawAmount("b")
		from := time.Unix(rapid.Int64Range(946684800, 4102444800).Draw(t, "from"), 0).In(rapid.SampledFrom(zones).Draw(t, "zone"))
		if !a.noLonger(b) {
			return
		}
		met++
		if x, y := a.after(from, 1, Hours{}), b.after(from, 1, Hours{}); x.After(y) {
			t.Fatalf("%v after %s is %s, %v is %s", a, from, x, b, y)
		}
		if x, y := a.afterDate(DateOf(from), 1), b.afterDate(DateOf(from), 1); x > y {
			t.Fatalf("%v after %s is %s, %v is %s", a, DateOf(from), x, b, y)
		}
		if x, y := a.afterDate(DateOf(from), -1), b.afterDate(DateOf(from), -1); x < y {
			t.Fatalf("%v before %s is %s, %v is %s", a, DateOf(from), x, b, y)
		}
	})
	if met < 100 {
		t.Errorf("only %d pairs were compared", met)
	}
}
