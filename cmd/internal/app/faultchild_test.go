package app

import (
	"bufio"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"
)

// The tests of killed processes run this same binary again as a child (TestMain), which
// prints a line when it has begun. POUCHWARD_KILLS=1000 is the long run of each of them.

// killsOf is how many processes a test kills.
func killsOf(t testing.TB, few int) int {
	t.Helper()
	text := os.Getenv("POUCHWARD_KILLS")
	if text == "" {
		return few
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		t.Fatalf("POUCHWARD_KILLS=%s is no number of kills", text)
	}
	return n
}

// killMidway starts a child and kills it when wait, which is called when it said that it
// began, returns. It returns what the child printed since, and whether the kill came in
// time.
func killMidway(t testing.TB, cmd *exec.Cmd, wait func()) (lines []string, killed bool) {
	t.Helper()
	var errs strings.Builder
	cmd.Stderr = &errs
	pipe, err := cmd.StdoutPipe()
	if err == nil {
		err = cmd.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	out := bufio.NewReader(pipe)
	if _, err := out.ReadString('\n'); err != nil {
		t.Fatalf("the child did not begin: %v; %s", err, errs.String())
	}
	go func() {
		wait()
		_ = cmd.Process.Kill()
	}()
	rest, _ := io.ReadAll(out)
	if err := cmd.Wait(); err != nil && errs.Len() > 0 {
		t.Fatalf("the child ended by itself: %v; %s", err, errs.String())
	} else {
		killed = err != nil
	}
	all := strings.SplitAfter(string(rest), "\n")
	return all[:len(all)-1], killed // a line that the kill cut is none
}

// upTo waits for a random time.
func upTo(most time.Duration) func() { return func() { time.Sleep(rand.N(most)) } }
