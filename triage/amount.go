package triage

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// An amount is a length of time as an interval gives it. Hours are kept as
// minutes and years as months. Minutes are lengths; days and months are dates of
// the calendar, with the same time of day, so a day may have 23 or 25 hours.
type amount struct {
	n    int
	unit amountUnit
}

type amountUnit uint8

const (
	minutes amountUnit = iota
	days
	months
	endOfDay    // the first closing after
	nextOpening // the first opening after
)

var amountForm = regexp.MustCompile(`^([1-9][0-9]{0,3}) (min|h|days?|months?|years?)$`)

// parseAmount reads "10 min", "24 h", "7 days", "9 months", "1 year", "end of
// day" or "next opening".
func parseAmount(text string) (amount, error) {
	switch text {
	case "end of day":
		return amount{1, endOfDay}, nil
	case "next opening":
		return amount{1, nextOpening}, nil
	}
	m := amountForm.FindStringSubmatch(text)
	if m == nil {
		return amount{}, fmt.Errorf("%q is none of the forms \"10 min\", \"24 h\", \"7 days\", \"9 months\", \"1 year\", \"end of day\", \"next opening\"", text)
	}
	n, err := strconv.Atoi(m[1])
	if err != nil {
		return amount{}, err
	}
	var a amount
	switch strings.TrimSuffix(m[2], "s") {
	case "min":
		a = amount{n, minutes}
	case "h":
		a = amount{n * 60, minutes}
	case "day":
		a = amount{n, days}
	case "month":
		a = amount{n, months}
	case "year":
		a = amount{n * 12, months}
	}
	if a.unit == months && a.n > 100*12 {
		return amount{}, fmt.Errorf("%q is more than 100 years", text)
	}
	return a, nil
}

// after returns the instant k times the amount after t, on t's own clock. k may
// be negative, but for a closing or an opening, which is the first after t.
func (a amount) after(t time.Time, k int, h Hours) time.Time {
	switch a.unit {
	case minutes:
		return t.Add(time.Duration(k) * time.Duration(a.n) * time.Minute)
	case endOfDay:
		return h.first(t, h.orUsual().Closes)
	case nextOpening:
		return h.first(t, h.orUsual().Opens)
	}
	hour, minute, sec := t.Clock()
	clock := time.Duration(hour)*time.Hour + time.Duration(minute)*time.Minute + time.Duration(sec)*time.Second + time.Duration(t.Nanosecond())
	return clockOn(a.afterDate(DateOf(t), k), clock, t.Location())
}

// afterDate returns the day k times the amount after d. Less than a day is none,
// and so is a closing or an opening: the earlier side.
func (a amount) afterDate(d Date, k int) Date {
	switch a.unit {
	case minutes:
		return d + Date(k*a.n/(24*60))
	case days:
		return d + Date(k*a.n)
	case months:
		return d.addMonths(k * a.n)
	}
	return d
}

// addMonths returns the same day of the month n months later; where that month
// is too short, its last day: the earlier side.
func (d Date) addMonths(n int) Date {
	y, m, day := d.In(time.UTC).Date()
	last := time.Date(y, m+time.Month(n)+1, 0, 0, 0, 0, 0, time.UTC).Day()
	return DateOf(time.Date(y, m+time.Month(n), min(day, last), 0, 0, 0, 0, time.UTC))
}

// clockOn returns when a clock in a place shows a time of day on a day. Where
// the clocks go back it is the first of the two; where they skip the time it is as
// long before as the clocks skip: the earlier side.
func clockOn(d Date, clock time.Duration, loc *time.Location) time.Time {
	wall := d.In(time.UTC).Add(clock)
	shows := func(t time.Time) bool {
		_, offset := t.Zone()
		return t.Add(time.Duration(offset) * time.Second).Equal(wall)
	}
	t := time.Date(wall.Year(), wall.Month(), wall.Day(), wall.Hour(), wall.Minute(), wall.Second(), wall.Nanosecond(), loc)
	for _, by := range [...]time.Duration{-24 * time.Hour, 24 * time.Hour} {
		_, offset := t.Add(by).Zone()
		c := wall.Add(-time.Duration(offset) * time.Second).In(loc)
		if c.Before(t) && (shows(c) || !shows(t)) {
			t = c
		}
	}
	return t
}

// first returns when the clock first shows a minute of the day after t, on a day
// on which the shop is open.
func (h Hours) first(t time.Time, minute int) time.Time {
	h = h.orUsual()
	for d := DateOf(t); ; d++ {
		at := clockOn(d, time.Duration(minute)*time.Minute, t.Location())
		if at.After(t) && !h.Closed[d.In(time.UTC).Weekday()] {
			return at
		}
	}
}

// noLonger reports whether a never ends later than b, from whatever day it runs.
func (a amount) noLonger(b amount) bool {
	if a.unit == b.unit {
		return a.n <= b.n
	}
	if a.unit >= endOfDay || b.unit >= endOfDay {
		return false // a closing may be a minute away, or three days
	}
	_, most := a.span()
	least, _ := b.span()
	return most <= least
}

// span returns the least and the most minutes that the amount can take. A change
// of the clocks is taken to be two hours at most.
func (a amount) span() (least, most int) {
	const day, shift = 24 * 60, 120
	switch a.unit {
	case minutes:
		return a.n, a.n
	case days:
		return a.n*day - shift, a.n*day + shift
	}
	// Every day of a span with leap years, and with a century that lacks one.
	from := DateOf(time.Date(2095, 1, 1, 0, 0, 0, 0, time.UTC))
	for d := from; d < from+10*366; d++ {
		n := int(d.addMonths(a.n) - d)
		if d == from || n < least {
			least = n
		}
		most = max(most, n)
	}
	return least*day - shift, most*day + shift
}
