package triage

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
)

// A Check is one thing that a review of a log looks for (package triage/review).
// It takes no part in judging a cell.
type Check struct {
	Record
	Severity string `toml:"severity"` // one of CheckSeverities, worst first
	Counts   string `toml:"counts"`   // what is gone through, in the plural: "cells put into a container"
	Clean    string `toml:"clean"`    // what is said when nothing was found in them, one clause
	Closes   string `toml:"closes"`   // what would close a finding
	Ask      string `toml:"ask"`      // who answers for it
	// Limits are the numbers that it goes by, each named with its unit at the
	// end: after_h, late_pct. The code asks for them by name.
	Limits map[string]int64 `toml:"limits"`
	// Unseen says why a log cannot show it: it is then listed as not looked at,
	// and has no counts, clean and closes.
	Unseen string `toml:"unseen"`
}

// CheckSeverities are how pressing a finding is: stop and act today; act this
// week; put right at the next round; look.
var CheckSeverities = []string{"critical", "major", "minor", "note"}

var limitForm = regexp.MustCompile(`^[a-z]+(_[a-z]+)*_(h|days|pct|count|kg|mg|wh)$`)

// Checks returns the checks in force, in rulebook order.
func (rb *Rulebook) Checks() []*Check { return rb.checks }

// Rank orders severities: 0 is critical.
func (c *Check) Rank() int { return slices.Index(CheckSeverities, c.Severity) }

func (c *Check) compile(t *Table) error {
	errs := []error{c.Record.compile(t), c.noConditions()}
	_, err := word("severity", c.Severity, CheckSeverities)
	errs = append(errs, err)
	texts := []string{c.Counts, c.Clean, c.Closes}
	if c.Unseen != "" {
		if !slices.Equal(texts, []string{"", "", ""}) || len(c.Limits) > 0 {
			errs = append(errs, errors.New("what a log cannot show has no counts, clean, closes or limits"))
		}
	} else if slices.Contains(texts, "") {
		errs = append(errs, errors.New("needs counts, clean and closes; or unseen"))
	}
	if c.Ask == "" {
		errs = append(errs, errors.New("needs ask"))
	}
	for name, n := range c.Limits {
		if !limitForm.MatchString(name) || n < 1 {
			errs = append(errs, fmt.Errorf("limit %s = %d: use a name that ends with its unit (_h, _days, _pct, _count, _kg, _mg, _wh) and a number above 0", name, n))
		}
	}
	return errors.Join(errs...)
}

func (c *Check) outcome() string {
	if c.Unseen != "" {
		return c.Severity + ", not to be seen in a log: " + c.Unseen
	}
	return c.Severity + "; closed by: " + c.Closes
}
