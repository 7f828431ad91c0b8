package app

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// A tag may be typed with the space that it is printed with, among others.
func TestSplitTags(t *testing.T) {
	for _, row := range []struct{ text, want string }{
		{"", ""},
		{"JEHCF7", "JEHCF7"},
		{"JE HCF7", "JEHCF7"},
		{"JE HCF7 7T 3JX7", "JEHCF7 7T3JX7"},
		{"2222 JE HCF7; 22 2222,", "2222 JEHCF7 222222"},
		{"JE", "JE"}, // refused when it is read
	} {
		if got := strings.Join(splitTags(row.text), " "); got != row.want {
			t.Errorf("%q: %q, want %q", row.text, got, row.want)
		}
	}
}

// incidentAt tells of an incident and returns its recording, whose clock then
// stands at next.
func incidentAt(t *testing.T, x Incident, now, next time.Time) (*Recording, *Told) {
	t.Helper()
	clock := func() time.Time { return now }
	p := LogPlace{Path: filepath.Join(t.TempDir(), "log.db"), Options: logbook.Options{Now: clock}}
	if _, err := InitLog(p, "Invented Back Room"); err != nil {
		t.Fatal(err)
	}
	rec, err := OpenRecording(p, "")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { rec.Close() })
	told, err := rec.TellIncident(&Shop{Rulebook: rulebook(t)}, Act{}, x)
	if err != nil {
		t.Fatal(err)
	}
	now = next
	return rec, told
}

// The next day is the shop's, not that of UTC; and an end that nobody told is
// that of the writing.
func TestAnIncidentClosesOnALaterLocalDay(t *testing.T) {
	chicago, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	at := func(day, hour, minute int) time.Time { return time.Date(2026, 11, day, hour, minute, 0, 0, chicago) }
	for _, row := range []struct {
		ended    string
		now      time.Time // of the telling
		followUp time.Time
		open     bool
	}{
		{"2026-11-24 17:00", at(24, 17, 30), at(24, 23, 59), true}, // the next day by UTC
		{"2026-11-24 17:00", at(24, 17, 30), at(25, 0, 1), false},
		{"", at(24, 17, 30), at(24, 23, 59), true},
		{"", at(24, 17, 30), at(25, 0, 1), false},
		{"2026-11-25 00:10", at(25, 9, 0), at(25, 23, 0), true}, // over after midnight
		{"2026-11-24 23:50", at(25, 9, 0), at(25, 9, 5), false},
		{"", at(25, 9, 0), at(25, 23, 0), true}, // blank is no better than the worse of both
		{"?", at(25, 9, 0), at(25, 23, 0), true},
	} {
		x := Incident{Answers: map[string]string{"started": "2026-11-24 16:00", "ended": row.ended, "there": "MK"}}
		rec, told := incidentAt(t, x, row.now, row.followUp)
		after, err := rec.Follow(Act{}, FollowUp{Incident: told.Number, Exposure: []string{"MK=none"}, Closed: "yes"})
		if err != nil {
			t.Fatal(err)
		}
		if after.Open != row.open {
			t.Errorf("ended %q, told %s, asked %s: open %v (%s), want %v", row.ended, row.now, row.followUp, after.Open, after.WhyOpen, row.open)
		}
	}
}

// Only the plain no keeps a named cell from being held; a look that says nothing
// of quiet does not let go of it.
func TestAnIncidentHoldsItsCells(t *testing.T) {
	shop := &Shop{Rulebook: rulebook(t)}
	for _, row := range []struct {
		reacted string
		want    triage.Handling
	}{{"", triage.Emergency}, {"?", triage.Emergency}, {"yes", triage.Emergency}, {"no", triage.Sound}} {
		rec := newRecording(t)
		a, err := rec.Judge(shop, typed(t, cleanLook))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := rec.Record(a); err != nil {
			t.Fatal(err)
		}
		tag := a.Verdict.Tag
		told, err := rec.TellIncident(shop, Act{}, Incident{Answers: map[string]string{"tags": tag + " " + tag, "reacted": row.reacted}})
		if err != nil {
			t.Fatal(err)
		}
		if want := 1 + len(told.Raised); len(told.Receipts) != want || len(told.Raised) > 1 {
			t.Errorf("reacted %q: %d entries, want %d", row.reacted, len(told.Receipts), want)
		}
		b, err := rec.Judge(shop, typed(t, "tag="+tag+" "+cleanLook))
		if err != nil {
			t.Fatal(err)
		}
		if b.Verdict.Handling != row.want {
			t.Errorf("reacted %q: a clean look after it is %s, want %s", row.reacted, b.Verdict.Handling, row.want)
		}
	}
}

// An incident that is refused leaves no entry, and neither does its raise.
func TestARefusedIncidentWritesNothing(t *testing.T) {
	rec := newRecording(t)
	before, err := rec.log.Size()
	if err != nil {
		t.Fatal(err)
	}
	long := strings.Repeat("x", 1<<20)
	x := Incident{Answers: map[string]string{"tags": "JEHCF7", "seen": long}}
	if _, err := rec.TellIncident(&Shop{Rulebook: rulebook(t)}, Act{}, x); err == nil {
		t.Error("an entry of more than a megabyte was written")
	}
	after, err := rec.log.Size()
	if err != nil || after != before {
		t.Errorf("%d entries, were %d (%v)", after, before, err)
	}
}

// Who is not asked again counts as not asked, whatever was said before.
func TestExposures(t *testing.T) {
	for _, row := range []struct {
		was  []Person
		give []string
		want []Person
	}{
		{[]Person{{"MK", notSaid}}, []string{"mk=No"}, []Person{{"MK", "none"}}},
		{[]Person{{"MK", notSaid}}, []string{"TB=sore = red"}, []Person{{"MK", notSaid}, {"TB", "sore = red"}}},
		{[]Person{{"MK", "none"}}, []string{"MK="}, []Person{{"MK", notSaid}}},
	} {
		got, err := exposures(row.was, row.give)
		if err != nil || !slices.Equal(got, row.want) {
			t.Errorf("%v: %v (%v), want %v", row.give, got, err, row.want)
		}
	}
	for _, bad := range []string{"none", "=none", "nobody=none", "M K=none"} {
		if got, err := exposures(nil, []string{bad}); err == nil {
			t.Errorf("%q was read as %v", bad, got)
		}
	}
}
