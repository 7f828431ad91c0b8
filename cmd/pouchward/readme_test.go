package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pouchward/cmd/internal/cli"
)

// Every command of the README works, and prints what stands under it. A block
// that shows no output is only run. UPDATE_SCRIPTS=1 rewrites what stands under them,
// as it does for the scripts.
func TestReadmeBlocks(t *testing.T) {
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(root, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	if err := os.CopyFS("testdata/demo", os.DirFS(filepath.Join(root, "testdata/demo"))); err != nil {
		t.Fatal(err)
	}
	ran, now := 0, string(text)
	for _, block := range strings.Split(string(text), "```console\n")[1:] {
		block, _, _ = strings.Cut(block, "```")
		for _, part := range strings.Split("\n"+block, "\n$ ")[1:] {
			line, want, _ := strings.Cut(part, "\n")
			args := words(line)
			if len(args) > 3 && args[0] == "go" && args[1] == "run" {
				args = args[2:] // this test stands in for go run
			}
			if args[0] != "pouchward" && args[0] != "./cmd/pouchward" {
				continue
			}
			ran++
			if args[1] == "log" && args[2] == "init" {
				forgetLog(t) // the README's set-up has made one
			}
			var out bytes.Buffer
			code := cli.Main(args[1:], strings.NewReader(""), &out, &out, readmeClock)
			// A review that finds something says so by its exit code.
			if code != 0 && !(code == 3 && args[1] == "review") {
				t.Errorf("%s: exit %d\n%s", line, code, out.String())
			}
			if want = strings.TrimRight(want, "\n"); want != "" && strings.TrimRight(out.String(), "\n") != want {
				t.Errorf("%s\nprints\n%s\nthe README says\n%s", line, out.String(), want)
				now = strings.Replace(now, "$ "+line+"\n"+want+"\n", "$ "+line+"\n"+strings.TrimRight(out.String(), "\n")+"\n", 1)
			}
		}
	}
	if os.Getenv("UPDATE_SCRIPTS") != "" && now != string(text) {
		if err := os.WriteFile(filepath.Join(root, "README.md"), []byte(now), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if ran < 4 {
		t.Errorf("only %d commands of the README were run", ran)
	}
}

// readmeClock is the minute at which the README was written.
func readmeClock() time.Time { return time.Date(2026, 11, 26, 12, 0, 0, 0, time.UTC) }

// The blocks that list commands with a word beside each are run too, one after the
// other, over a log in which the tags and the entry that they name exist.
func TestReadmeLists(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	sound := "--signs none --recalled no --cell-c 22 --ambient-c 21 --ocv-v 3.80 --chemistry li-ion --series 1 --parallel 1 --nominal-v 3.85 --rated-mah 5200 --fit loose --purpose recycle"
	before := map[string][]string{
		"pouchward assess": {"log init --site Invented", "container add --tag K3T2 --kind tin", "assess --tag K9CT4N --signs dented --record",
			"assess --tag F2XE9R --signs dented --part PX-4300 --record", "train LS --topic gloves", "train LS --topic sand", "train LS --topic meters",
			"train LS --topic tape", "train LS --topic alarms", "train LS --topic doors", "train LS --topic keys"},
		"pouchward ship": {"log init --site Invented", "assess --tag JEHCF7 " + sound + " --record", "secure JEHCF7 --all"},
	}
	answers := map[string]string{"inspect": "yes\n", "incident": "F2XE9R\n"} // the first; the others are left blank
	lists := 0
	for _, block := range strings.Split("\n"+string(text), "\n```")[1:] {
		block, ok := strings.CutPrefix(block, "\npouchward ")
		if !ok {
			continue
		}
		lists++
		t.Chdir(t.TempDir())
		writeFile(t, "front.jpg", "\xff\xd8\xff\xe0\x00\x10JFIF\x00\x01")
		name, _, _ := strings.Cut(block, " ")
		for _, line := range before["pouchward "+name] {
			typed(t, "pouchward "+line, "")
		}
		for line := range strings.SplitSeq(strings.TrimSpace("pouchward "+block), "\n") {
			line, _, _ = strings.Cut(line, "  ") // what stands beside it
			// Of the two ends of a shipment only one can come.
			log, err := os.ReadFile("pouchward.db")
			if err != nil {
				t.Fatal(err)
			}
			typed(t, line, answers[words(line)[1]]+strings.Repeat("\n", 40))
			if strings.Contains(line, "ship refused") {
				writeFile(t, "pouchward.db", string(log))
			}
		}
	}
	if lists != len(before) {
		t.Errorf("%d lists of commands in the README, want %d", lists, len(before))
	}
}

func forgetLog(t *testing.T) {
	t.Helper()
	logs, err := filepath.Glob("pouchward.db*")
	if err != nil || len(logs) == 0 {
		t.Fatalf("no log was made before (%v)", err)
	}
	for _, name := range logs {
		if err := os.RemoveAll(name); err != nil {
			t.Fatal(err)
		}
	}
}

func typed(t *testing.T, line, in string) {
	t.Helper()
	var out bytes.Buffer
	if code := cli.Main(words(line)[1:], strings.NewReader(in), &out, &out, readmeClock); code != 0 {
		t.Errorf("%s: exit %d\n%s", line, code, out.String())
	}
}

func writeFile(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// words splits a command line at spaces, double quotes kept together.
func words(line string) (out []string) {
	for i, part := range strings.Split(line, `"`) {
		if i%2 == 1 {
			out = append(out, part)
			continue
		}
		out = append(out, strings.Fields(part)...)
	}
	return out
}
