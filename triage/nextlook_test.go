package triage

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// Each case is a moment just before, at and after a look is due. The schedule is
// common practice.
func TestNextLook(t *testing.T) {
	rb := shipped(t)
	h := Hours{Opens: 540, Closes: 1080, Closed: [7]bool{time.Sunday: true}}
	const wed = "2026-11-25 14:00"
	for _, c := range []struct {
		handling      Handling
		since, looked string
		again         int
		want, by      string
	}{
		{Isolate, wed, "", 0, "2026-11-25 15:00", "recheck-first"},
		{Isolate, wed, wed, 0, "2026-11-25 15:00", "recheck-first"},
		{Isolate, wed, "2026-11-25 14:59:59", 0, "2026-11-25 15:00", "recheck-first"},
		{Isolate, wed, "2026-11-25 15:00", 0, "2026-11-25 18:00", "recheck-end-of-day"},
		{Isolate, wed, "2026-11-25 17:59:59", 0, "2026-11-25 18:00", "recheck-end-of-day"},
		{Isolate, wed, "2026-11-25 18:00", 0, "2026-11-26 09:00", "recheck-next-opening"},
		{Isolate, wed, "2026-11-26 08:59:59", 0, "2026-11-26 09:00", "recheck-next-opening"},
		{Isolate, wed, "2026-11-26 09:00", 0, "2026-11-26 14:00", "recheck-one-day"},
		{Isolate, wed, "2026-11-26 13:59:59", 0, "2026-11-26 14:00", "recheck-one-day"},
		{Isolate, wed, "2026-11-26 14:00", 0, "2026-12-02 14:00", "recheck-weekly"},
		{Isolate, wed, "2026-12-02 13:59:59", 0, "2026-12-02 14:00", "recheck-weekly"},
		{Isolate, wed, "2026-12-02 14:00", 0, "2026-12-09 14:00", "recheck-weekly"},
		{Isolate, wed, "2028-11-25 14:00", 0, "2028-11-29 14:00", "recheck-weekly"},
		// A look before the class began settles nothing.
		{Isolate, wed, "2026-11-20 10:00", 0, "2026-11-25 15:00", "recheck-first"},
		{Hold, wed, "", 0, "2026-11-25 18:00", "recheck-end-of-day"},
		{Hold, wed, "2026-11-25 18:00", 0, "2026-11-26 14:00", "recheck-one-day"},
		{Hold, wed, "2026-11-26 14:00", 0, "2026-12-02 14:00", "recheck-weekly"},
		{Emergency, wed, "", 0, "2026-11-25 15:00", "recheck-reacting"},
		{Emergency, wed, "2026-11-25 14:59:59", 0, "2026-11-25 15:00", "recheck-reacting"},
		{Emergency, wed, "2026-11-25 15:00", 0, "2026-11-25 16:00", "recheck-reacting"},
		{Emergency, wed, "2026-11-26 03:30", 0, "2026-11-26 04:00", "recheck-reacting"},
		{Retire, wed, "", 0, "", ""},
		{Sound, wed, wed, 0, "", ""},
		// Over a closed Sunday: what falls due while the shop is closed stays due.
		{Isolate, "2026-11-28 17:30", "", 0, "2026-11-28 18:00", "recheck-end-of-day"},
		{Isolate, "2026-11-28 17:30", "2026-11-28 18:00", 0, "2026-11-28 18:30", "recheck-first"},
		{Isolate, "2026-11-28 17:30", "2026-11-28 18:30", 0, "2026-11-29 17:30", "recheck-one-day"},
		{Isolate, "2026-11-28 17:30", "2026-11-29 17:30", 0, "2026-11-30 09:00", "recheck-next-opening"},
		// The verdict's own time wins where it is earlier.
		{Isolate, wed, wed, 10, "2026-11-25 14:10", ""},
		{Isolate, wed, "", 10, "2026-11-25 14:10", ""},
		{Isolate, wed, wed, 60, "2026-11-25 15:00", "recheck-first"},
		{Isolate, wed, wed, 61, "2026-11-25 15:00", "recheck-first"},
		{Isolate, wed, "2026-11-25 15:00", 10, "2026-11-25 15:10", ""},
		{Sound, wed, wed, 30, "2026-11-25 14:30", ""},
		// Days with 25 and with 23 hours, and a time of day that comes twice or not at all.
		{Isolate, "2026-10-24 14:00", "2026-10-25 12:59", 0, "2026-10-25 13:00", "recheck-one-day"},
		{Isolate, "2026-10-24 14:00", "2026-10-26 09:00", 0, "2026-10-31 14:00", "recheck-weekly"},
		{Hold, "2026-03-28 14:00", "2026-03-28 18:00", 0, "2026-03-29 15:00", "recheck-one-day"},
		{Hold, "2026-03-22 02:30", "2026-03-24 09:00", 0, "2026-03-29 01:30", "recheck-weekly"},
		{Emergency, "2026-03-29 01:30", "", 0, "2026-03-29 03:30", "recheck-reacting"},
	} {
		berlin := zone(t, "Europe/Berlin")
		w := Watch{Handling: c.handling, Since: clock(t, c.since, berlin), Looked: clock(t, c.looked, berlin), LookAgainMin: c.again}
		at, by := rb.NextLook(w, h)
		id := ""
		if by != nil {
			id = by.ID
		}
		if !at.Equal(clock(t, c.want, berlin)) || at.IsZero() != (c.want == "") || id != c.by {
			t.Errorf("%s since %q, looked %q, again %d: got %s by %q, want %q by %q", c.handling, c.since, c.looked, c.again, at, id, c.want, c.by)
		}
	}
}

// A start that is not known is due at once, never later and never never.
func TestNextLookWithoutStart(t *testing.T) {
	rb := shipped(t)
	looked := clock(t, "2026-11-25 14:00", time.UTC)
	for _, c := range []struct {
		w    Watch
		want time.Time
		by   string
	}{
		{Watch{Handling: Isolate}, DueNow, "recheck-first"},
		{Watch{Handling: Isolate, LookAgainMin: 10}, DueNow, "recheck-first"},
		{Watch{Handling: Hold, Looked: looked}, looked, "recheck-end-of-day"},
		{Watch{Handling: Emergency, Looked: looked, LookAgainMin: 10}, looked, "recheck-reacting"},
		{Watch{Handling: Sound, LookAgainMin: 10}, DueNow, ""},
		{Watch{Handling: Sound, LookAgainMin: 10, Looked: looked}, looked.Add(10 * time.Minute), ""},
		{Watch{Handling: Sound}, time.Time{}, ""},
		{Watch{Handling: Retire, Looked: looked}, time.Time{}, ""},
	} {
		at, by := rb.NextLook(c.w, Hours{})
		id := ""
		if by != nil {
			id = by.ID
		}
		if !at.Equal(c.want) || id != c.by {
			t.Errorf("%+v: got %s by %q, want %s by %q", c.w, at, id, c.want, c.by)
		}
	}
}

func drawWatch(t *rapid.T, zones []*time.Location) (Watch, Hours) {
	w := Watch{Handling: Handling(rapid.IntRange(int(Sound), int(Emergency)).Draw(t, "class")), LookAgainMin: rapid.SampledFrom([]int{0, 0, 10, 60, 1440}).Draw(t, "again")}
	w.Since = time.Unix(rapid.Int64Range(1767225600, 1830297600).Draw(t, "since"), 0).In(rapid.SampledFrom(zones).Draw(t, "zone"))
	if rapid.Bool().Draw(t, "has looked") {
		w.Looked = w.Since.Add(time.Duration(rapid.SampledFrom([]int{-100, 0, 29, 30, 59, 60, 240, 1439, 1440, 6000, 10079, 10080, 10081, 90000}).Draw(t, "looked")) * time.Minute)
	}
	h := Hours{Opens: rapid.SampledFrom([]int{0, 420, 540}).Draw(t, "opens"), Closes: 1080}
	for d := range h.Closed {
		h.Closed[d] = rapid.Bool().Draw(t, fmt.Sprint("closed ", d))
	}
	return w, h
}

// A stricter house interval never puts a look off, nor does a known start put one
// later than an unknown one, nor anything later than the verdict's own time.
func TestNextLookIsNeverPutOff(t *testing.T) {
	zones := []*time.Location{time.UTC, zone(t, "Europe/Berlin"), zone(t, "America/New_York"), zone(t, "Australia/Lord_Howe")}
	base := shipped(t)
	books := map[string]*Rulebook{}
	for _, line := range []string{"recheck-first\"\nafter = \"30 min", "recheck-first\"\nevery = \"45 min", "recheck-one-day\"\nafter = \"5 h", "recheck-one-day\"\nevery = \"20 h",
		"recheck-weekly\"\nevery = \"5 days", "recheck-weekly\"\nevery = \"100 h", "recheck-reacting\"\nevery = \"7 min"} {
		books[line] = houseBook(t, "[[interval]]\nid = \""+line+"\"\n")
	}
	lines := make([]string, 0, len(books))
	for line := range books {
		lines = append(lines, line)
	}
	rapid.Check(t, func(t *rapid.T) {
		w, h := drawWatch(t, zones)
		line := rapid.SampledFrom(lines).Draw(t, "house")
		at, _ := base.NextLook(w, h)
		house, _ := books[line].NextLook(w, h)
		if at.IsZero() != house.IsZero() || house.After(at) {
			t.Fatalf("%+v: shipped %s, with house %q %s", w, at, line, house)
		}
		unknown := w
		unknown.Since = time.Time{}
		if u, _ := base.NextLook(unknown, h); u.IsZero() != at.IsZero() || u.After(at) {
			t.Fatalf("%+v: without a start %s, with it %s", w, u, at)
		}
		if w.LookAgainMin > 0 && !w.Looked.IsZero() && at.After(w.Looked.Add(time.Duration(w.LookAgainMin)*time.Minute)) {
			t.Fatalf("%+v: %s is later than the verdict asks", w, at)
		}
	})
}

// The schedule a second time, in words of its own: in a zone without changes of
// the clocks, for a shop that is open every day from 09:00 to 18:00.
func TestNextLookKeepsTheSchedule(t *testing.T) {
	rb := shipped(t)
	rapid.Check(t, func(t *rapid.T) {
		w, _ := drawWatch(t, []*time.Location{time.UTC})
		w.LookAgainMin = 0
		s := w.Since
		var points []time.Time
		clockAfter := func(hour int) time.Time {
			at := time.Date(s.Year(), s.Month(), s.Day(), hour, 0, 0, 0, time.UTC)
			for !at.After(s) {
				at = at.Add(24 * time.Hour)
			}
			return at
		}
		weekly := func() {
			for week := 1; week < 20; week++ {
				points = append(points, s.Add(time.Duration(week)*7*24*time.Hour))
			}
		}
		switch w.Handling {
		case Isolate:
			points = append(points, s.Add(time.Hour), clockAfter(18), clockAfter(9), s.Add(24*time.Hour))
			weekly()
		case Hold:
			points = append(points, clockAfter(18), s.Add(24*time.Hour))
			weekly()
		case Emergency:
			for hour := 1; hour < 2000; hour++ {
				points = append(points, s.Add(time.Duration(hour)*time.Hour))
			}
		}
		var want time.Time
		for _, p := range points {
			if p.After(w.Looked) && (want.IsZero() || p.Before(want)) {
				want = p
			}
		}
		if at, _ := rb.NextLook(w, Hours{}); !at.Equal(want) {
			t.Fatalf("%+v: got %s, want %s", w, at, want)
		}
	})
}
