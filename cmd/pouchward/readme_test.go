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
			var out bytes.Buffer
			code := cli.Main(args[1:], strings.NewReader(""), &out, &out, time.Now)
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
