// Package exportstest holds what tests of exports, and of what stands above them,
// share. The program does not import it.
package exportstest

import (
	"os"
	"os/exec"
	"strconv"
	"testing"

	"pouchward/triage"
)

// Rules are the shipped rules of a day.
func Rules(t testing.TB, day string) *triage.Rulebook {
	t.Helper()
	tables, err := triage.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	on, err := triage.ParseDate(day)
	if err != nil {
		t.Fatal(err)
	}
	rb, err := tables.On(on)
	if err != nil {
		t.Fatal(err)
	}
	return rb
}

// Need skips a test that wants what is not installed here. In .ci/run, which sets
// POUCHWARD_CI, it fails.
func Need(t testing.TB, found bool, what string) {
	t.Helper()
	switch {
	case found:
	case os.Getenv("POUCHWARD_CI") != "":
		t.Fatalf("%s is not installed, and POUCHWARD_CI is set", what)
	default:
		t.Skipf("%s is not installed: not looked at with it", what)
	}
}

// Poppler finds a program of poppler, which reads a PDF as a printer would.
func Poppler(t testing.TB, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	Need(t, err == nil, name+" (Debian: poppler-utils)")
	return path
}

// Rows is how many rows the sheets of a benchmark have: POUCHWARD_BENCH_ROWS, else
// 12,000, and the least with -short. Fewer than the least are refused.
func Rows(b testing.TB, least int) int {
	b.Helper()
	text := os.Getenv("POUCHWARD_BENCH_ROWS")
	switch {
	case testing.Short():
		return least
	case text == "":
		return 12_000
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < least {
		b.Fatalf("POUCHWARD_BENCH_ROWS %q: want a number of rows, %d or more", text, least)
	}
	return n
}
