// Command licences lists the modules in the binary with the licence that each brings,
// and writes their texts, which must travel with the program. It is run from the top of
// the repository, through .ci/licences.
//
// A licence is told by sentences of its text. A module without a text that is known and
// allowed is an error: somebody must read it.
package main

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// platforms are those that releases are built for: a module may be in one alone.
var platforms = []string{"linux/amd64", "linux/arm64", "windows/amd64", "darwin/arm64"}

// kinds are the licences that are known, by sentences that stand in no other.
var kinds = []struct {
	name  string
	has   []string
	tests bool // allowed in tests alone
}{
	{"GPL", []string{"GNU GENERAL PUBLIC LICENSE"}, true},
	{"MPL-2.0", []string{"Mozilla Public License"}, true},
	{"Apache-2.0", []string{"Apache License", "Version 2.0"}, false},
	{"OFL-1.1", []string{"SIL OPEN FONT LICENSE Version 1.1"}, false},
	{"FTL", []string{"The FreeType Project LICENSE"}, false},
	{"CC-BY-3.0", []string{"Creative Commons Attribution 3.0"}, false},
	{"CC-BY-4.0", []string{"Creative Commons Attribution 4.0 International Public License"}, false},
	{"BSL-1.0", []string{"Boost Software License - Version 1.0"}, false},
	{"ISC", []string{"Permission to use, copy, modify, and/or distribute this software for any purpose"}, false},
	{"MIT", []string{"Permission is hereby granted, free of charge", "The above copyright notice and this permission notice"}, false},
	{"BSD-3-Clause", []string{"Redistribution and use in source and binary forms", "may be used to endorse or promote"}, false},
	{"BSD-2-Clause", []string{"Redistribution and use in source and binary forms"}, false},
	{"public domain", []string{"The author disclaims copyright to this source code"}, false},
}

// chosen are the files of a module that offers a choice of licences.
var chosen = map[string][]string{"github.com/golang/freetype": {"LICENSE", "licenses/ftl.txt", "AUTHORS", "CONTRIBUTORS"}}

var licenceFile = regexp.MustCompile(`(?i)^(.*[-_.])?(licen[cs]e|copying|notice)([-_.].*)?$`)

// A module is one that is in the binary.
type module struct {
	path, version, dir string
	kinds              []string
	texts              []text
}

type text struct{ name, body string }

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "licences:", err)
		os.Exit(1)
	}
}

func run() error {
	list, err := modules()
	if err != nil {
		return err
	}
	goroot, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return err
	}
	list = append(list, &module{path: "the Go standard library and runtime", dir: strings.TrimSpace(string(goroot))})
	var bad []error
	for _, m := range list {
		bad = append(bad, m.read())
	}
	if err := errors.Join(bad...); err != nil {
		return err
	}
	return write(list)
}

// modules are those of the packages that are in the binary of some platform.
func modules() (list []*module, err error) {
	for _, p := range platforms {
		system, processor, _ := strings.Cut(p, "/")
		cmd := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}}\t{{.Version}}\t{{.Dir}}{{end}}{{end}}", "./cmd/pouchward")
		cmd.Env = append(os.Environ(), "GOOS="+system, "GOARCH="+processor, "CGO_ENABLED=0")
		cmd.Stderr = os.Stderr
		out, err := cmd.Output()
		if err != nil {
			return nil, fmt.Errorf("listing the modules for %s: %w", p, err)
		}
		for line := range strings.Lines(string(out)) {
			f := strings.Split(strings.TrimSpace(line), "\t")
			if len(f) == 3 && !slices.ContainsFunc(list, func(m *module) bool { return m.path == f[0] }) {
				list = append(list, &module{path: f[0], version: f[1], dir: f[2]})
			}
		}
	}
	slices.SortFunc(list, func(a, b *module) int { return cmp.Compare(a.path, b.path) })
	return list, nil
}

// read finds the licences of a module.
func (m *module) read() error {
	names, err := m.files()
	if err != nil {
		return err
	}
	for _, name := range names {
		data, err := os.ReadFile(filepath.Join(m.dir, name))
		if err != nil {
			return err
		}
		body := strings.TrimSpace(strings.Map(plain, strings.ToValidUTF8(strings.ReplaceAll(string(data), "\r\n", "\n"), "?")))
		m.texts = append(m.texts, text{name, body})
		if strings.Contains(strings.ToUpper(name), "3RD-PARTY") {
			continue // a list of what others wrote, some of it in no program: its text travels
		}
		flat := strings.Join(strings.Fields(body), " ")
		for _, k := range kinds {
			if slices.ContainsFunc(k.has, func(s string) bool { return !strings.Contains(flat, s) }) {
				continue
			}
			if k.tests {
				return fmt.Errorf("%s: %s is %s, which is not for the binary", m.path, name, k.name)
			}
			if !slices.Contains(m.kinds, k.name) {
				m.kinds = append(m.kinds, k.name)
			}
			break
		}
	}
	if len(m.kinds) == 0 {
		return fmt.Errorf("%s: no licence that is known in %v: read it, then name it in .ci/tools/licences", m.path, names)
	}
	return nil
}

// plain leaves out what moves a printer or a terminal.
func plain(r rune) rune {
	if r < ' ' && r != '\n' && r != '\t' || r >= 0x7f && r < 0xa0 {
		return -1
	}
	return r
}

// files are the files of a module that hold licences, at most two folders down.
func (m *module) files() (names []string, err error) {
	if list := chosen[m.path]; list != nil {
		return list, nil
	}
	if m.version == "" { // the standard library: its folders are not ours to go through
		return []string{"LICENSE"}, nil
	}
	err = fs.WalkDir(os.DirFS(m.dir), ".", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == "testdata" || strings.Count(path, "/") > 1):
			return fs.SkipDir
		case !d.IsDir() && filepath.Ext(path) != ".go" && licenceFile.MatchString(d.Name()):
			names = append(names, path)
		}
		return nil
	})
	return names, err
}

// write writes the list, then the texts; a text that several modules share stands once.
func write(list []*module) error {
	var b bytes.Buffer
	b.WriteString("Modules in this program, each with its licence. The texts follow.\n\n")
	for _, m := range list {
		fmt.Fprintf(&b, "%-42s %-38s %s\n", m.path, m.version, strings.Join(m.kinds, ", "))
	}
	var bodies []string
	of := map[string][]string{}
	for _, m := range list {
		for _, t := range m.texts {
			if of[t.body] == nil {
				bodies = append(bodies, t.body)
			}
			of[t.body] = append(of[t.body], m.path+" "+t.name)
		}
	}
	for _, body := range bodies {
		fmt.Fprintf(&b, "\n%s\n%s\n\n%s\n", strings.Repeat("=", 80), strings.Join(of[body], "\n"), body)
	}
	lines := strings.Split(strings.ReplaceAll(b.String(), "\t", "    "), "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	_, err := os.Stdout.WriteString(strings.Join(lines, "\n"))
	return err
}
