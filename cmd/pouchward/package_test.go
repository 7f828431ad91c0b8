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

// The exit code of package check: 0 no breach is known, 1 the file cannot be read,
// 2 wrong usage, 3 a breach or a refused value. Invented data.
func TestPackageCheckExitCodes(t *testing.T) {
	const cell = "[[package.cell]]\nsigns = \"none\"\nrecalled = false\ncell_c = 22\nambient_c = 21\nocv_v = 3.8\nchemistry = \"li-ion\"\nseries = 1\nparallel = 1\n" +
		"nominal_v = 3.85\nrated_mah = 3000\nfit = \"loose\"\npurpose = \"reuse\"\ntype_tested = true\nmass_g = 50\n"
	const box = "[[package]]\nlevel = \"strong\"\ntare = \"1 kg\"\ninner = true\n"
	for _, c := range []struct {
		name, file, route, says string
		code                    int
	}{
		{"within every limit", box + cell, "us-highway", "None is known.", 0},
		{"over 30 kg", box + "gross = \"30.1 kg\"\n" + cell, "us-highway", "30.1 kg gross, at most 30 kg", 3},
		{"not weighed", "[[package]]\nlevel = \"strong\"\ninner = true\n" + cell, "us-highway", "gross mass is not known", 3},
		{"a refused value alone", box + "overpack = \"\"\n" + cell + "typical_mah = \"many\"\n", "us-highway", "REFUSED", 3},
		{"no route", box + cell, "", "no route was named", 2},
		{"every route", box + cell, "all", "packages go by one route", 2},
		{"no such route", box + cell, "us-road", "us-road", 2},
		{"no package", "route = \"sea\"\n", "", "describes no package", 1},
		{"no TOML", "[[package\n", "sea", "line 1", 1},
	} {
		name := filepath.Join(t.TempDir(), "p.toml")
		if err := os.WriteFile(name, []byte(c.file), 0o644); err != nil {
			t.Fatal(err)
		}
		var out bytes.Buffer
		args := []string{"package", "check", name, "--on", "2026-11-25", "--route", c.route}
		if code := cli.Main(args, strings.NewReader(""), &out, &out, time.Now); code != c.code || !strings.Contains(out.String(), c.says) {
			t.Errorf("%s: exit %d, want %d with %q; %s", c.name, code, c.code, c.says, out.String())
		}
	}
}
