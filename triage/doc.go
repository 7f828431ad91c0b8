// Package triage judges one pulled lithium-ion cell: readings in, four
// answers and the routes out.
//
// # Terms
//
// A Reading is one set of facts about one cell at one time; any of them may be
// missing. Facts are derived from it (volts per cell, rise over the room,
// swelling, energy). Rules are data, in rules/*.toml: each has conditions over
// facts and an outcome. A Verdict is the strictest outcome of the rules that
// fired, with a Finding for each, and one answer per transport route.
//
// # Guarantees
//
// Never a false all-clear. Logic is three-valued: a fact that is missing is
// unknown, never no, and an unknown never opens a way and never betters an
// answer. Two blanks differ: not yet (it can still be read) and cannot (it
// will never be read; for a sign or the open-circuit voltage that is the
// published criterion "cannot be diagnosed", which counts as damaged).
//
// The package is pure: no clock, file, network, random number or log. The same
// reading, date and rulebook give the same verdict, byte for byte.
//
// # Numbers
//
// Every quantity is a Micro: a whole number of millionths of its base unit (V,
// mAh, Wh, mm, degrees C, K, h, min, mΩ, g, %). Limits are compared in whole
// numbers, so 20.000001 Wh is over 20 Wh. Where a division leaves a remainder
// it is rounded to the side that gives the worse answer.
//
// # Judging
//
// For handling, condition and waste the strictest fired outcome wins. The
// routes follow ten steps, see route.go. A determination (a named person's
// recorded judgement) can take away only the rules that say so in their
// "lowered_by"; raising needs nothing.
//
// # Looking again, and asking
//
// Two kinds of record take no part in judging. An Interval says how often
// something is looked at or how long it may be left; NextLook, Accumulation and
// Interval.Next count from times and days that the caller gives. A day or month
// is one of the calendar, the earlier side where it is short or comes twice; what
// was never done, or since a day not known, is due at once. A Local is a question
// that only the place can answer; LocalBearing picks the one for a verdict.
package triage
