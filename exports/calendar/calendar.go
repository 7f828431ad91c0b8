// Package calendar writes what is owed as a calendar, RFC 5545.
//
// An event of a day is a DATE, one of a minute a time in UTC, which every calendar
// shows on the clock of who reads it; no time zone has to be described. What is
// overdue stands on the day of the export as an event of that day: in the past
// nobody would see it. Each event has one alarm.
//
// The UID of an event is made from the log, what is owed, and of which tag or
// subject by which rule, so that a later export puts the same matter onto its new
// date; SEQUENCE grows with the day of the export. An export cannot take away what
// was settled since: it is meant for a calendar of its own, which the next one
// replaces.
package calendar

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"pouchward/exports"
	"pouchward/triage"
)

// A Calendar is what is owed.
type Calendar struct {
	Title  string
	Log    string           // name of the log's key
	Made   time.Time        // beginning of the day judged for, on the clock of the shop
	Notice string           // what must be known of the whole, blank: nothing
	Opens  time.Duration    // when the shop opens, from midnight: the alarm of an event of a day
	Events []exports.DueRow // State, When and At as app.Due gives them
}

// ahead is how long before its minute an alarm goes off.
const ahead = "-PT10M"

// Write writes the calendar.
func Write(w io.Writer, c *Calendar) error {
	cal := ics.NewCalendarFor("Pouchward")
	cal.SetProductId("-//Pouchward//export//EN")
	cal.SetMethod(ics.MethodPublish)
	cal.SetXWRCalName(clean(c.title()))
	seen := map[string]int{}
	for i := range c.Events {
		x := &c.Events[i]
		uid := c.uid(x)
		if seen[uid]++; seen[uid] > 1 {
			uid = fmt.Sprintf("%d-%s", seen[uid], uid)
		}
		c.event(cal.AddEvent(uid), x)
	}
	// A line has at most 75 octets (section 3.1).
	return cal.SerializeTo(w, ics.WithNewLineWindows, ics.WithLineLength(75))
}

func (c *Calendar) title() string {
	if c.Notice != "" {
		return "DAMAGED LOG: " + c.Title
	}
	return c.Title
}

// uid is the same for the same matter in every export of a log.
func (c *Calendar) uid(x *exports.DueRow) string {
	parts := []string{c.Log, x.What, x.Tag, x.Subject, x.Rule}
	if x.What == "rulebook" {
		parts = append(parts, x.Text, x.Do) // of which table and of which day
	}
	sum := sha256.Sum256([]byte(strings.Join(parts, "\x00")))
	return hex.EncodeToString(sum[:16]) + "@pouchward"
}

func (c *Calendar) event(e *ics.VEvent, x *exports.DueRow) {
	e.SetDtStampTime(c.Made)
	e.SetSequence(int(triage.DateOf(c.Made)))
	summary, trigger := x.Text, fmt.Sprintf("PT%dM", int(c.Opens.Minutes()))
	if x.Tag != "" {
		summary = triage.SpacedTag(x.Tag) + "  " + summary
	}
	const toTheMinute = len("2006-01-02 15:04")
	switch {
	case x.State == "overdue":
		e.SetAllDayStartAt(c.Made)
		summary = fmt.Sprintf("OVERDUE (%s): %s", x.At, summary)
	case len(x.At) == toTheMinute:
		e.SetStartAt(x.When)
		e.SetEndAt(x.When.Add(15 * time.Minute))
		trigger = ahead
	default:
		e.SetAllDayStartAt(x.When)
	}
	if c.Notice != "" {
		summary = "DAMAGED LOG: " + summary
	}
	e.SetSummary(clean(summary))
	e.SetDescription(clean(c.description(x)))
	if x.Where != "" {
		e.SetLocation(clean(x.Where))
	}
	e.AddCategory(clean(x.What))
	e.SetTimeTransparency(ics.TransparencyTransparent)
	alarm := e.AddAlarm()
	alarm.SetAction(ics.ActionDisplay)
	alarm.SetTrigger(trigger)
	alarm.SetDescription(clean(summary))
}

func (c *Calendar) description(x *exports.DueRow) string {
	lines := []string{c.Notice, x.Text, x.Where}
	if x.Do != "" {
		lines = append(lines, "Do: "+x.Do)
	}
	if x.Rule != "" {
		lines = append(lines, x.Rule+": "+x.Source)
	}
	lines = append(lines, fmt.Sprintf("As the log stood on %s. %s", c.Made.Format(time.DateOnly), triage.LocalFirst))
	var b strings.Builder
	for _, l := range lines {
		if l != "" {
			b.WriteString(l + "\n")
		}
	}
	return strings.TrimSuffix(b.String(), "\n")
}

func clean(s string) string { return exports.CleanText(s) }
