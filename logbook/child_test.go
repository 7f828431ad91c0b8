package logbook

import (
	"bufio"
	"encoding/hex"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

// The tests of several processes run this same binary again: as a child it
// appends entries and prints a line for each that was acknowledged.

func TestMain(m *testing.M) {
	if job := os.Getenv("POUCHWARD_CHILD"); job != "" {
		if err := childJob(strings.Fields(job)); err != nil {
			fmt.Fprintln(os.Stderr, "child:", err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// child starts a child with a job.
func child(job ...string) *exec.Cmd {
	cmd := exec.Command(os.Args[0], "-test.run=^$")
	cmd.Env = append(os.Environ(), "POUCHWARD_CHILD="+strings.Join(job, " "))
	return cmd
}

// childJob appends PATH WRITER COUNT GROUP: COUNT writes of GROUP entries; or
// verifies a file: verify PATH.
func childJob(f []string) error {
	if f[0] == "verify" {
		return childVerify(f[1])
	}
	count, err := strconv.Atoi(f[3])
	if err != nil {
		return err
	}
	group, err := strconv.Atoi(f[4])
	if err != nil {
		return err
	}
	l, err := Open(f[1], Options{Now: time.Now, Busy: time.Minute})
	if err != nil {
		return err
	}
	out := bufio.NewWriter(os.Stdout)
	for i := range count {
		var acked []string
		err := l.Write(func(tx *Tx) error {
			for g := range group {
				tag, err := tx.IssueTag(triage.CellTag)
				if err != nil {
					return err
				}
				b, err := ParseBody(fmt.Appendf(nil, `{"handling":"hold","condition":"undetermined","issued":true,"writer":%q,"write":%d,"group":%d}`, f[2], i, g))
				if err != nil {
					return err
				}
				r, err := tx.Append(Draft{Kind: "assessment", Tags: []string{tag}, Body: b})
				if err != nil {
					return err
				}
				acked = append(acked, fmt.Sprintf("%d %s %s\n", r.Number, hex.EncodeToString(r.Leaf[:]), tag))
			}
			return nil
		})
		if err != nil {
			return err
		}
		for _, line := range acked {
			if _, err := out.WriteString(line); err != nil {
				return err
			}
		}
		if err := out.Flush(); err != nil {
			return err
		}
	}
	return l.Close()
}

func childVerify(path string) error {
	r, err := Verify(path, VerifyOptions{})
	if err != nil {
		return err
	}
	fmt.Printf("verified %v size %d\n", r.Verified(), r.Tree.Size)
	l, err := Open(path, Options{Now: time.Now})
	if err == nil {
		_, err = l.Append(Draft{Kind: "record", Body: Body{[]byte(`{"subject":"training"}`)}})
	}
	fmt.Printf("append: %v\n", err)
	return nil
}

// envInt returns a number from the environment.
func envInt(t testing.TB, name string, usual int) int {
	t.Helper()
	s := os.Getenv(name)
	if s == "" {
		return usual
	}
	n, err := strconv.Atoi(s)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return n
}

// ledger is what children were told to be written.
type ledger map[int64]string // number to "leaf tag"

// read takes the acknowledgements of a child; a line cut by a kill is none.
func (l ledger) read(t *testing.T, out string) int {
	t.Helper()
	lines := strings.SplitAfter(out, "\n")
	for _, line := range lines {
		if !strings.HasSuffix(line, "\n") {
			continue
		}
		number, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
		n, err := strconv.ParseInt(number, 10, 64)
		if err != nil {
			t.Fatalf("a child printed %q", line)
		}
		if was, twice := l[n]; twice {
			t.Fatalf("entry %d was acknowledged twice: %s and %s", n, was, rest)
		}
		l[n] = rest
	}
	return len(lines) - 1
}

// check looks for every acknowledged entry in the log, for groups cut in two,
// and for a tag issued twice, and verifies the log.
func (l ledger) check(t *testing.T, path string, group int) int64 {
	t.Helper()
	r := mustVerify(t, path, VerifyOptions{})
	log, err := OpenReader(path, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	found, inGroup := 0, 0
	tags := map[string]bool{}
	err = log.Entries(2, r.Tree.Size, func(e *Entry) error {
		leaf := e.Leaf()
		if want, ok := l[e.Number]; ok {
			found++
			if got := hex.EncodeToString(leaf[:]) + " " + e.Tags[0]; got != want {
				t.Errorf("entry %d is %s, acknowledged was %s", e.Number, got, want)
			}
		}
		if tags[e.Tags[0]] {
			t.Errorf("tag %s was issued twice", e.Tags[0])
		}
		tags[e.Tags[0]] = true
		var b struct{ Group int }
		if err := e.Body.Decode(&b); err != nil {
			return err
		}
		if b.Group != inGroup {
			t.Errorf("entry %d is %d of its write, want %d: a write was cut in two", e.Number, b.Group, inGroup)
		}
		inGroup = (inGroup + 1) % group
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if found != len(l) || inGroup != 0 {
		t.Errorf("%d of %d acknowledged entries are in the log; the last write has %d of %d entries", found, len(l), inGroup, group)
	}
	return r.Tree.Size
}
