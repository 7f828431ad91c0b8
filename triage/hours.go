package triage

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Hours says when somebody is in the shop, on its own clock. The zero Hours is
// what stands in where the house file is silent: 09:00 to 18:00, every day. That
// no day is closed is the cautious side: the next opening is never put off.
type Hours struct {
	Opens, Closes int     // minutes of the day, Opens before Closes
	Closed        [7]bool // by time.Weekday; a week without an open day counts as one without a closed day
}

// The hours of a shop that has not said them: common practice.
const (
	usualOpens  = 9 * 60
	usualCloses = 18 * 60
)

var weekdayWords = []string{"sunday", "monday", "tuesday", "wednesday", "thursday", "friday", "saturday"}

// orUsual fills what is not said.
func (h Hours) orUsual() Hours {
	if h.Opens == 0 && h.Closes == 0 {
		h.Opens, h.Closes = usualOpens, usualCloses
	}
	if !slices.Contains(h.Closed[:], false) {
		h.Closed = [7]bool{}
	}
	return h
}

// String prints the hours as a house file says them: "09:00 to 18:00, closed
// sunday".
func (h Hours) String() string {
	h = h.orUsual()
	text := fmt.Sprintf("%02d:%02d to %02d:%02d", h.Opens/60, h.Opens%60, h.Closes/60, h.Closes%60)
	var closed []string
	for d, is := range h.Closed {
		if is {
			closed = append(closed, weekdayWords[d])
		}
	}
	if len(closed) == 0 {
		return text + ", every day"
	}
	return text + ", closed " + strings.Join(closed, ", ")
}

// NextOpening returns when the shop next opens after a time.
func (h Hours) NextOpening(t time.Time) time.Time { return h.first(t, h.orUsual().Opens) }

// NextClosing returns when the shop next closes after a time, at the end of an open day.
func (h Hours) NextClosing(t time.Time) time.Time { return h.first(t, h.orUsual().Closes) }

// Hours returns the shop's hours, the usual ones where none are given. A nil
// shop has the usual ones.
func (s *Shop) Hours() Hours {
	if s == nil {
		return Hours{}.orUsual()
	}
	h, err := s.hours()
	if err != nil { // ParseHouse refuses such a file
		h = Hours{}
	}
	return h.orUsual()
}

func (s *Shop) hours() (h Hours, err error) {
	var errs []error
	clock := func(key, text string) int {
		t, err := time.Parse("15:04", text)
		if err != nil || len(text) != len("15:04") {
			errs = append(errs, fmt.Errorf("%s %q: use hours and minutes of 24 h, such as 09:00", key, text))
		}
		return t.Hour()*60 + t.Minute()
	}
	switch {
	case s.Opens == "" && s.Closes == "":
	case s.Opens == "" || s.Closes == "":
		errs = append(errs, fmt.Errorf("opens %q, closes %q: give both or neither", s.Opens, s.Closes))
	default:
		h.Opens, h.Closes = clock("opens", s.Opens), clock("closes", s.Closes)
		if len(errs) == 0 && h.Opens >= h.Closes {
			errs = append(errs, fmt.Errorf("opens %s is not before closes %s: a shop open past midnight closes at 23:59", s.Opens, s.Closes))
		}
	}
	for _, d := range s.ClosedDays {
		i := slices.Index(weekdayWords, d)
		switch {
		case i < 0:
			errs = append(errs, slip(fmt.Sprintf("closed_days: %q is none of %s", d, strings.Join(weekdayWords, ", ")), d, weekdayWords))
		case h.Closed[i]:
			errs = append(errs, fmt.Errorf("closed_days: %s stands there twice", d))
		default:
			h.Closed[i] = true
		}
	}
	if !slices.Contains(h.Closed[:], false) {
		errs = append(errs, errors.New("closed_days: no day is left on which somebody looks: name those that are closed"))
	}
	return h, errors.Join(errs...)
}
