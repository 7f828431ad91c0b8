package main

import (
	"bufio"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pouchward/exports/exportstest"
)

// traced runs the program under strace and returns its network calls.
func traced(t *testing.T, dir string, args ...string) string {
	t.Helper()
	calls := filepath.Join(t.TempDir(), "calls")
	cmd := exec.Command("strace", append([]string{"-f", "-qq", "-e", "trace=%network", "-e", "signal=none", "-o", calls, "pouchward"}, args...)...)
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil && cmd.ProcessState.ExitCode() != 3 {
		t.Fatalf("%v: %v\n%s", args, err, out)
	}
	text, err := os.ReadFile(calls)
	if err != nil {
		t.Fatal(err)
	}
	var seen strings.Builder
	for line := range strings.Lines(string(text)) {
		if !strings.Contains(line, "<detached ...>") { // a thread that ended between two looks
			seen.WriteString(line)
		}
	}
	return seen.String()
}

func needsStrace(t *testing.T) {
	exportstest.Need(t, exec.Command("strace", "-qq", "-o", os.DevNull, "true").Run() == nil, "a strace that runs here (Debian: strace)")
}

// No command asks the kernel for a socket: judging, recording, exporting with every
// library that could.
func TestNoCommandUsesTheNetwork(t *testing.T) {
	needsStrace(t)
	dir := t.TempDir()
	for _, line := range []string{
		"demo --dir shop --on 2026-11-25",
		"assess --signs swollen --record --log shop/pouchward.db --house shop/house.toml",
		"export --format xlsx --out shop.xlsx --log shop/pouchward.db --house shop/house.toml",
		"sort shop/intake-today.csv --house shop/house.toml --out sorted.csv",
		"sort sorted.csv --house shop/house.toml --out again.jsonl",
		"due --log shop/pouchward.db --house shop/house.toml",
		"hazard --room-m3 40 --log shop/pouchward.db --house shop/house.toml --out gas.svg",
		"review --log shop/pouchward.db --house shop/house.toml",
		"export --format pack --out pack --log shop/pouchward.db --house shop/house.toml",
		"export --format ics --out due.ics --log shop/pouchward.db --house shop/house.toml",
		"label --wall --out wall.pdf --house shop/house.toml",
		"log verify --log shop/pouchward.db",
	} {
		if calls := traced(t, dir, strings.Fields(line)...); calls != "" {
			t.Errorf("pouchward %s makes network calls:\n%.600s", line, calls)
		}
	}
}

var (
	netAddress = regexp.MustCompile(`inet_(?:addr\(|pton\(AF_INET6, )"([^"]+)"`)
	outward    = regexp.MustCompile(`\b(connect|sendto|sendmsg|sendmmsg)\(`)
)

// The bench page listens, on loopback, and calls nobody.
func TestBenchPageListensOnLoopbackAlone(t *testing.T) {
	needsStrace(t)
	dir := t.TempDir()
	calls := filepath.Join(dir, "calls")
	cmd := exec.Command("strace", "-f", "-qq", "-e", "trace=%network", "-e", "signal=none", "-o", calls, "pouchward", "bench", "--demo", "--addr", "127.0.0.1:0")
	cmd.Dir = dir
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil || !strings.Contains(line, "http://127.0.0.1:") {
		t.Errorf("the page says %q (%v)", line, err)
	}
	// strace hands on no signal: the program is its one child.
	if err := exec.Command("pkill", "-INT", "-P", strconv.Itoa(cmd.Process.Pid)).Run(); err != nil {
		t.Errorf("interrupting the page: %v", err)
	}
	if err := cmd.Wait(); err != nil {
		t.Errorf("the page ends with %v", err)
	}
	text, err := os.ReadFile(calls)
	if err != nil {
		t.Fatal(err)
	}
	bound := 0
	for line := range strings.Lines(string(text)) {
		if outward.MatchString(line) {
			t.Errorf("the page calls out: %s", line)
		}
		if !strings.Contains(line, "bind(") {
			continue
		}
		// Two binds of an unnamed port are how the net package asks the kernel whether
		// it has IPv6; what is listened on is bound last.
		bound++
		if m := netAddress.FindStringSubmatch(line); m == nil || m[1] != "127.0.0.1" && m[1] != "::1" && m[1] != "::ffff:127.0.0.1" {
			t.Errorf("bound to another address: %s", line)
		}
	}
	if bound == 0 {
		t.Errorf("no address was bound; strace saw\n%s", text)
	}
}
