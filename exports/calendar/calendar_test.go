package calendar

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	ics "github.com/arran4/golang-ical"

	"pouchward/exports"
)

var chicago = time.FixedZone("", -6*3600)

func sample() *Calendar {
	day := time.Date(2026, 11, 25, 0, 0, 0, 0, chicago)
	return &Calendar{Title: "Invented, shop; with\\marks", Log: "pouchward-log/0", Made: day, Opens: 9 * time.Hour, Events: []exports.DueRow{
		{When: day.AddDate(0, 0, -3), At: "2026-11-22 10:00", State: "overdue", What: "recheck", Tag: "F2XE9R", Text: "look again: ISOLATE, damaged", Where: "in JEHF", Rule: "look-isolate", Source: "common practice"},
		{When: day.Add(14*time.Hour + 30*time.Minute), At: "2026-11-25 14:30", State: "due", What: "recheck", Tag: "D3N2PN", Text: "look again"},
		{When: day.AddDate(0, 0, 9), At: "2026-12-04", State: "soon", What: "inspection", Subject: "Hinterhof; Schließfach, Ω",
			Text: strings.Repeat("Prüfung des Schließfachs; Έλεγχος, \\ ", 20) + "\nzweite Zeile\x1b[2J\u202e", Do: "pouchward inspect \"...\""},
	}}
}

// The rules of RFC 5545 that a reader relies on, checked on the octets: CRLF and at
// most 75 octets a line (section 3.1), UTF-8 not cut, UID and DTSTAMP in every event
// (3.6.1), ACTION, TRIGGER and DESCRIPTION in every DISPLAY alarm (3.6.6).
func TestOctets(t *testing.T) {
	var b bytes.Buffer
	if err := Write(&b, sample()); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	if !strings.HasSuffix(text, "\r\n") || strings.Count(text, "\n") != strings.Count(text, "\r\n") {
		t.Error("a line does not end with CRLF")
	}
	folded := 0
	for i, line := range strings.Split(strings.TrimSuffix(text, "\r\n"), "\r\n") {
		if len(line) > 75 {
			t.Errorf("line %d has %d octets", i+1, len(line))
		}
		if !utf8.ValidString(line) {
			t.Errorf("line %d cuts a character", i+1)
		}
		if strings.HasPrefix(line, " ") {
			folded++
		}
	}
	if folded < 10 {
		t.Errorf("only %d lines were folded: the test shows nothing", folded)
	}
	for _, want := range []string{"BEGIN:VALARM", "ACTION:DISPLAY", "TRIGGER", "UID:", "DTSTAMP:20261125T060000Z"} {
		if got := strings.Count(text, want); got != 3 {
			t.Errorf("%s stands %d times, want 3", want, got)
		}
	}
	if strings.ContainsAny(text, "\x1b\u202e") {
		t.Error("a control character came through")
	}
}

func parsed(t *testing.T, c *Calendar) []*ics.VEvent {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, c); err != nil {
		t.Fatal(err)
	}
	cal, err := ics.ParseCalendar(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	return cal.Events()
}

func property(e *ics.VEvent, p ics.ComponentProperty) string {
	x := e.GetProperty(p)
	if x == nil {
		return ""
	}
	return x.Value
}

func TestParsedAgain(t *testing.T) {
	c := sample()
	events := parsed(t, c)
	if len(events) != len(c.Events) {
		t.Fatalf("%d events, want %d", len(events), len(c.Events))
	}
	for i, want := range []struct{ start, end, summary, trigger, category string }{
		{"20261125", "", "OVERDUE (2026-11-22 10:00): F2 XE9R  look again: ISOLATE, damaged", "PT540M", "recheck"}, // seen on the day of the export
		{"20261125T203000Z", "20261125T204500Z", "D3 N2PN  look again", "-PT10M", "recheck"},
		{"20261204", "", "", "PT540M", "inspection"},
	} {
		e := events[i]
		if got := property(e, ics.ComponentPropertyDtStart); got != want.start {
			t.Errorf("event %d starts %s, want %s", i, got, want.start)
		}
		if got := property(e, ics.ComponentPropertyDtEnd); got != want.end {
			t.Errorf("event %d ends %s, want %s", i, got, want.end)
		}
		if got := property(e, ics.ComponentPropertySummary); want.summary != "" && got != want.summary {
			t.Errorf("event %d: %q, want %q", i, got, want.summary)
		}
		if got := property(e, ics.ComponentPropertyCategories); got != want.category {
			t.Errorf("event %d is of %q, want %q", i, got, want.category)
		}
		alarms := e.Alarms()
		if len(alarms) != 1 || alarms[0].GetProperty(ics.ComponentPropertyTrigger).Value != want.trigger {
			t.Errorf("event %d has the alarms %v, want %s", i, alarms, want.trigger)
		}
	}
	want := strings.ReplaceAll(strings.ReplaceAll(c.Events[2].Text, "\x1b", "\uFFFD"), "\u202e", "\uFFFD")
	if got := property(events[2], ics.ComponentPropertySummary); got != want {
		t.Errorf("the long text came back as\n%q\nwant\n%q", got, want)
	}
	if got := property(events[2], ics.ComponentPropertyDescription); !strings.HasPrefix(got, want+"\nDo: ") || !strings.HasSuffix(got, "Local codes and licensed practice come first.") {
		t.Errorf("the description came back as %q", got)
	}
}

// A later export moves an event: its UID stays, its number of changes grows.
func TestAgain(t *testing.T) {
	first, c := parsed(t, sample()), sample()
	c.Made = c.Made.AddDate(0, 0, 1)
	c.Events[1].When = c.Events[1].When.AddDate(0, 0, 1)
	c.Events[1].Text = "look again: HOLD"
	later := parsed(t, c)
	seen := map[string]bool{}
	for i := range first {
		uid := property(first[i], ics.ComponentPropertyUniqueId)
		if uid != property(later[i], ics.ComponentPropertyUniqueId) {
			t.Errorf("event %d has another UID", i)
		}
		if seen[uid] {
			t.Errorf("two events have the UID %s", uid)
		}
		seen[uid] = true
		var a, b int
		fmt.Sscan(property(first[i], ics.ComponentPropertySequence), &a)
		fmt.Sscan(property(later[i], ics.ComponentPropertySequence), &b)
		if a < 1 || b != a+1 {
			t.Errorf("event %d: sequence %d, then %d", i, a, b)
		}
	}
}

// Two matters of one kind about one thing are two events.
func TestTwins(t *testing.T) {
	c := sample()
	c.Events = append(c.Events, c.Events[2])
	seen := map[string]bool{}
	for _, e := range parsed(t, c) {
		seen[property(e, ics.ComponentPropertyUniqueId)] = true
	}
	if len(seen) != 4 {
		t.Errorf("%d UIDs of 4 events", len(seen))
	}
}

func TestDamageIsSaid(t *testing.T) {
	c := sample()
	c.Notice = "DAMAGED LOG: does not verify"
	for i, e := range parsed(t, c) {
		if !strings.HasPrefix(property(e, ics.ComponentPropertySummary), "DAMAGED LOG: ") || !strings.HasPrefix(property(e, ics.ComponentPropertyDescription), c.Notice) {
			t.Errorf("event %d does not say that the log is damaged", i)
		}
	}
}
