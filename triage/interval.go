package triage

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// An Interval says how often something is looked at, or how long it may be left.
// It takes no part in judging a cell.
type Interval struct {
	Record
	What    string   `toml:"what"`    // one of intervalWords
	Classes []string `toml:"classes"` // handling classes, of a recheck alone
	Country string   `toml:"country"` // whose rule it is, of accumulation and training; blank is everywhere
	// One of the three, such as "1 h", "7 days", "9 months", "end of day".
	Every    string `toml:"every"`    // again and again
	After    string `toml:"after"`    // once
	Ahead    string `toml:"ahead"`    // before a day that is known
	Severity string `toml:"severity"` // notice, due or overdue: what it is once the time is up

	amount  amount
	classes uint8
	shipped *Interval // what a house interval makes stricter, nil for a shipped one
}

// What an interval is about.
var intervalWords = []string{"recheck", "accumulation", "inspection", "training", "emergency-number", "receipt", "incident",
	"local-rule", "recall-list", "secured", "rulebook"}

var severityWords = []string{"notice", "due", "overdue"}

// DueNow is the instant that stands for "at once" where it is not known since
// when something runs: long past, and not the zero time, which is never.
var DueNow = time.Unix(0, 0).UTC()

// dueDay is the same as a day.
const dueDay Date = 1

// Next returns the day on which the interval is up, counted from a day; for
// "ahead", the day from which it is told. From no day it is up at once: the
// answer is 1970-01-02, which is no day of a shop.
func (i *Interval) Next(last Date) Date {
	if last == 0 {
		return dueDay
	}
	return i.amount.afterDate(last, i.sign())
}

// NextTime is Next to the minute, on the clock of last; for the zero time it is
// DueNow. A closing or an opening is that of the usual hours, see Hours.
func (i *Interval) NextTime(last time.Time) time.Time {
	if last.IsZero() {
		return DueNow
	}
	return i.amount.after(last, i.sign(), Hours{})
}

func (i *Interval) sign() int {
	if i.Ahead != "" {
		return -1
	}
	return 1
}

// Interval returns the interval in force of that id, nil for none: the house's
// own where it has made one stricter.
func (rb *Rulebook) Interval(id string) *Interval {
	for _, i := range rb.intervals {
		if i.ID == id {
			return i
		}
	}
	return nil
}

// Intervals returns the intervals in force about something, in rulebook order.
func (rb *Rulebook) Intervals(what string) []*Interval {
	var list []*Interval
	for _, i := range rb.intervals {
		if i.What == what {
			list = append(list, i)
		}
	}
	return list
}

// addInterval puts an interval in force; the house's takes the place of the
// shipped one, whichever table comes first.
func (rb *Rulebook) addInterval(i *Interval) {
	at := slices.IndexFunc(rb.intervals, func(x *Interval) bool { return x.ID == i.ID })
	switch {
	case at < 0:
		rb.intervals = append(rb.intervals, i)
	case i.shipped != nil:
		rb.intervals[at] = i
	}
}

func (i *Interval) compile(t *Table) error {
	errs := []error{i.Record.compile(t)}
	bad := func(is bool, format string, args ...any) {
		if is {
			errs = append(errs, fmt.Errorf(format, args...))
		}
	}
	_, err := word("what", i.What, intervalWords)
	errs = append(errs, err)
	_, err = word("severity", i.Severity, severityWords)
	errs = append(errs, err)
	i.classes, err = bitsOf("handling", i.Classes, handlingWords[:])
	errs = append(errs, err)
	bad((i.What == "recheck") != (len(i.Classes) > 0), "a recheck names classes, and nothing else does")
	bad(len(i.When)+len(i.OrWhen)+len(i.For) > 0, "takes no conditions")
	bad(i.Country != "" && i.What != "accumulation" && i.What != "training", "country is for accumulation and training alone")
	bad(i.Country != "" && (len(i.Country) != 2 || strings.ToUpper(i.Country) != i.Country), "country %q: use two capital letters, or EU", i.Country)
	if len(i.times()) != 1 {
		return errors.Join(append(errs, errors.New("needs one of every, after and ahead"))...)
	}
	if i.amount, err = parseAmount(i.times()[0]); err != nil {
		return errors.Join(append(errs, fmt.Errorf("%s %w", i.key(), err))...)
	}
	bad((i.What == "rulebook") != (i.Ahead != ""), "ahead is for rulebook, and rulebook for ahead")
	bad(i.What == "accumulation" && (i.After == "" || i.amount.unit != days && i.amount.unit != months), "accumulation is after days, months or years")
	bad(i.amount.unit >= endOfDay && (i.What != "recheck" || i.After == ""), "%q is for a recheck, with after", i.times()[0])
	return errors.Join(errs...)
}

// times lists what is given of the three.
func (i *Interval) times() []string {
	return slices.DeleteFunc([]string{i.Every, i.After, i.Ahead}, func(s string) bool { return s == "" })
}

func (i *Interval) key() string {
	switch {
	case i.Every != "":
		return "every"
	case i.After != "":
		return "after"
	}
	return "ahead"
}

// Text says the interval in words: "every 7 days", "after 1 h", "at the end of
// day", "60 days ahead".
func (i *Interval) Text() string {
	switch {
	case i.Ahead != "":
		return i.Ahead + " ahead"
	case i.amount.unit >= endOfDay:
		return "at the " + i.After
	}
	return i.key() + " " + i.times()[0]
}

func (i *Interval) outcome() string {
	text := i.What
	if len(i.Classes) > 0 {
		text += " of " + strings.Join(i.Classes, ", ")
	}
	if i.Country != "" {
		text += " in " + i.Country
	}
	return text + ": " + i.Text() + " (" + i.Severity + ")"
}
