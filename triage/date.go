package triage

import (
	"fmt"
	"time"
)

// Date is a calendar day, counted from 1970-01-01. The zero value is no date.
type Date int32

// ParseDate reads an ISO 8601 calendar date, 2026-11-25. Other orders of day
// and month are refused: 03/04/2026 means two different days.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return 0, fmt.Errorf("not a date in the form 2026-11-25")
	}
	if t.Year() < 1980 || t.Year() > 2200 {
		return 0, fmt.Errorf("year %d is outside 1980-2200", t.Year())
	}
	return DateOf(t), nil
}

// DateOf returns the calendar day that t shows on its own clock.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	return Date(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// String prints the date as 2026-11-25, or nothing for no date.
func (d Date) String() string {
	if d == 0 {
		return ""
	}
	return d.In(time.UTC).Format(time.DateOnly)
}

// In returns the beginning of the day in a zone: midnight on its clock.
func (d Date) In(zone *time.Location) time.Time {
	y, m, day := time.Unix(int64(d)*86400, 0).UTC().Date()
	return time.Date(y, m, day, 0, 0, 0, 0, zone)
}
