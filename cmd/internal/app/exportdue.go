package app

import (
	"time"

	"pouchward/triage"
)

// mostAhead is how far a calendar looks ahead: a year.
const mostAhead = 366

// dueAhead is how many days ahead what is due is asked for.
func dueAhead(e *exporter) int {
	if e.to == 0 {
		return mostAhead
	}
	return min(max(int(e.to-e.day), 0), mostAhead)
}

// dayBefore reports whether a day is before that of a moment.
func dayBefore(day triage.Date, at time.Time) bool { return day < triage.DateOf(at) }

// opens is when the shop opens, on its clock.
func (s *Shop) opens() time.Duration {
	var x *triage.Shop
	if s.House != nil {
		x = &s.House.Shop
	}
	return time.Duration(x.Hours().Opens) * time.Minute
}
