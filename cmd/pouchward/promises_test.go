package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// Every promise of DEVELOPERS.md names tests that there are.
func TestPromisesNameTheirTests(t *testing.T) {
	there := map[string]bool{}
	defined := regexp.MustCompile(`(?m)^func ((?:Test|Fuzz|Benchmark)\w+)\(`)
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		text, err := os.ReadFile(path)
		for _, m := range defined.FindAllSubmatch(text, -1) {
			there[string(m[1])] = true
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile("../../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	_, table, ok := strings.Cut(string(text), "\n## Promises\n")
	if !ok {
		t.Fatal("DEVELOPERS.md has no promises")
	}
	table, _, _ = strings.Cut(table, "\n## ")
	rows, name := 0, regexp.MustCompile("`((?:Test|Fuzz|Benchmark)\\w+)`")
	for line := range strings.SplitSeq(table, "\n") {
		if !strings.HasPrefix(line, "| ") || strings.HasPrefix(line, "| promise ") {
			continue
		}
		rows++
		names := name.FindAllStringSubmatch(line, -1)
		if len(names) == 0 {
			t.Errorf("no test shows it: %s", line)
		}
		for _, m := range names {
			if !there[m[1]] {
				t.Errorf("there is no test %s, which is to show: %s", m[1], line)
			}
		}
	}
	if rows < 20 {
		t.Errorf("%d promises read", rows)
	}
}
