// Package review looks through what a shop's log says of a period and tells what a
// reviewer would ask about. It is pure: the caller makes a Snapshot of the log, and
// Run gives a Report; nothing is kept.
//
// # What it goes by
//
// A check is a record of triage/rules/review.toml ([[check]], triage.Check): id,
// severity, source, what would close a finding, who is asked. Here stands one
// function for each (the table looks, in checks.go). A check that a log cannot show
// has no function and is listed as not looked at.
//
// # What it gives
//
// A finding is one matter: a check, the subject that it is about (a tag, a place, a
// person), the entries that it rests on, in words what was found. It is open, or it
// is past: over, and only to be answered for. Findings are worst first: severity, then
// open before past, then the oldest.
//
// A sign-off answers a finding and never takes it away: it stays in the report with
// the reason. It counts while the finding rests on no entry that was not there when
// it was signed, and until its last day. Nothing is graded or scored.
//
// A check without a finding is clean only where it had something to go through; else
// it says that there was nothing. What could not be told (a mass never taken, a place
// not said) is told beside it: unknown is never counted as in order.
//
// # The period
//
// The snapshot holds the whole log up to its Now. A finding is told when it is open at
// Now, or when it began or ended within From and To. What was over before From is left
// out.
package review
