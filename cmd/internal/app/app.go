// Package app holds one function per user action, shared by the command line
// and, later, the bench page. It reads no flags and draws no screens; it opens
// files, calls intake and triage, and hands results to exports.
package app

import (
	"errors"
	"fmt"
)

// Exit codes of the program.
const (
	ExitDone     = 0
	ExitFailed   = 1
	ExitUsage    = 2
	ExitFindings = 3 // done, but fields were refused, or findings are open
	ExitLog      = 4 // the log, or a proof, does not verify
)

// An ExitError carries the exit code of an error. An error without one is
// ExitFailed.
type ExitError struct {
	Code int
	Err  error
}

// Error implements error.
func (e *ExitError) Error() string { return e.Err.Error() }

// Unwrap returns the error inside.
func (e *ExitError) Unwrap() error { return e.Err }

// Usage returns an error that exits with ExitUsage.
func Usage(format string, args ...any) error {
	return &ExitError{ExitUsage, fmt.Errorf(format, args...)}
}

// ErrRefused is the outcome of a run that was done but had refused fields.
var ErrRefused = &ExitError{ExitFindings, errors.New("some fields were refused; the verdicts treat them as not known")}

// ErrLogFails is the outcome of a verification that found something.
var ErrLogFails = &ExitError{ExitLog, errors.New("the log does not verify")}

// Findings is the outcome of a review with so many critical or major findings that are
// open and that nobody has answered.
func Findings(n int) error {
	if n == 1 {
		return &ExitError{ExitFindings, errors.New("a critical or major finding is open and not signed off")}
	}
	return &ExitError{ExitFindings, fmt.Errorf("%d critical or major findings are open and not signed off", n)}
}

// ErrDoNotOffer is the outcome of papers that say so and nothing else.
var ErrDoNotOffer = &ExitError{ExitFindings, errors.New("a cell of the shipment may not be offered; the sheet says which, and what to do")}
