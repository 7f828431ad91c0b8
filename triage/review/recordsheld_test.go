package review

import (
	"flag"
	"fmt"
	"maps"
	"os"
	"slices"
	"sync"
	"testing"
	"time"

	"pouchward/triage"
)

// What the tests of this package made the checks find, and which limits they asked for.
var (
	everFound = map[string]bool{}
	everAsked = map[[2]string]bool{} // check, limit
	everMu    sync.Mutex             // checks run beside one another
)

// TestMain watches every check while the tests run, and in the end holds what they did
// against the records: each check was found by a test, and each limit of a record was
// asked for.
func TestMain(m *testing.M) {
	flag.Parse()
	for id, look := range looks {
		looks[id] = func(p *pass) {
			p.asked = func(c *triage.Check, limit string) {
				everMu.Lock()
				defer everMu.Unlock()
				everAsked[[2]string{c.ID, limit}] = true
			}
			look(p)
			everMu.Lock()
			defer everMu.Unlock()
			if len(p.findings) > 0 {
				everFound[id] = true
			}
		}
	}
	code := m.Run()
	if code == 0 && wholeRun() {
		for _, fault := range unheld() {
			fmt.Fprintln(os.Stderr, fault)
			code = 1
		}
	}
	os.Exit(code)
}

// wholeRun reports whether every test of the package ran.
func wholeRun() bool {
	for _, name := range []string{"test.run", "test.skip", "test.list", "test.fuzz"} {
		if f := flag.Lookup(name); f != nil && f.Value.String() != "" {
			return false
		}
	}
	return !testing.Short()
}

func unheld() (faults []string) {
	for _, c := range shippedChecks() {
		if c.Unseen != "" {
			continue
		}
		if !everFound[c.ID] {
			faults = append(faults, c.ID+": no test of this package has it find anything")
		}
		for _, limit := range slices.Sorted(maps.Keys(c.Limits)) {
			if !everAsked[[2]string{c.ID, limit}] {
				faults = append(faults, c.ID+": its limit "+limit+" was asked for by no check in any test")
			}
		}
		for _, key := range slices.SortedFunc(maps.Keys(everAsked), func(a, b [2]string) int { return slices.Compare(a[:], b[:]) }) {
			if _, ok := c.Limits[key[1]]; key[0] == c.ID && !ok {
				faults = append(faults, c.ID+": a check asked for the limit "+key[1]+", which its record does not have")
			}
		}
	}
	return faults
}

// shippedChecks are those of the day of the tests.
func shippedChecks() []*triage.Check {
	tables, err := triage.Embedded()
	if err != nil {
		panic(err)
	}
	rb, err := tables.On(triage.DateOf(time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)))
	if err != nil {
		panic(err)
	}
	return rb.Checks()
}

// Each check of the records has its function and each function its record; what a log
// cannot show has none.
func TestEveryCheckHasItsFunction(t *testing.T) {
	records := map[string]bool{}
	for _, c := range shippedChecks() {
		switch has := looks[c.ID] != nil; {
		case c.Unseen == "" && !has:
			t.Errorf("%s has no function", c.ID)
		case c.Unseen != "" && has:
			t.Errorf("%s cannot be seen in a log, and has a function", c.ID)
		}
		records[c.ID] = true
	}
	for _, id := range slices.Sorted(maps.Keys(looks)) {
		if !records[id] {
			t.Errorf("the function of %s has no record", id)
		}
	}
	// A name in two of the lists would hide one of two functions.
	if n := len(cellLooks) + len(readingLooks) + len(recordLooks) + len(stockLooks); n != len(looks) {
		t.Errorf("%d functions under %d names", n, len(looks))
	}
}
