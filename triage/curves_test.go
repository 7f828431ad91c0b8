package triage

import (
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"
)

func TestCurvesSayWhereTheyComeFrom(t *testing.T) {
	all := mustTables(t).info
	if len(all) != int(curveCount) {
		t.Fatalf("%d curves, want %d", len(all), curveCount)
	}
	files, err := fs.Glob(curveFS, "curves/*.csv")
	if err != nil || len(files) != len(all) {
		t.Errorf("%d curve files for %d curves (%v)", len(files), len(all), err)
	}
	notice, err := fs.ReadFile(curveFS, "curves/LICENSE-PyBaMM.txt")
	if err != nil || !strings.Contains(string(notice), "Copyright (c) 2018, the PyBaMM team.") {
		t.Errorf("the notice that BSD-3-Clause data must carry is missing: %v", err)
	}
	for i, c := range all {
		if c.ID != CurveID(i) || c.Title == "" || c.Source == "" || c.Limit == 0 {
			t.Errorf("%s: %+v", c.File, c)
		}
		if !strings.Contains(c.Licence, "BSD-3-Clause") && c.ID != CurveClosedForm {
			t.Errorf("%s: licence %q", c.File, c.Licence)
		}
	}
	got, _ := ChargeInterval(ChargeQuery{CellV: toMicro(3.8), Limit: toMicro(4.4), NickelExcluded: true})
	if c := got.Curves.Curves(); len(c) != 1 || c[0].ID != CurveCobalt {
		t.Errorf("curves of a 4.40 V cell: %+v", c)
	}
}

// One valid file, one thing broken: loading fails with file, line and column, and reports every finding.
func TestBrokenCurveFileFails(t *testing.T) {
	const name = "curves/ocv-lco-4v20-ai2020.csv"
	good, err := fs.ReadFile(curveFS, name)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, old, new, want string }{
		{"not a number", "0.5,3.7925", "0.5,3.79x", name + ":56:2: volts \"3.79x\""},
		{"NaN", "0.5,3.7925", "0.5,NaN", name + ":56:2: volts \"NaN\""},
		{"infinite", "0.5,3.7925", "0.5,Inf", name + ":56:2: volts \"Inf\""},
		{"NaN charge", "0.5,3.7925", "NaN,3.7925", name + ":56:1: soc \"NaN\""},
		{"volts fall", "0.5,3.7925", "0.5,3.70", name + ":56:2: volts \"3.70\" does not rise"},
		{"charge repeats", "0.5,3.7925", "0.49,3.7925", name + ":56:1: soc \"0.49\" does not rise"},
		{"over 1", "1.0,4.2", "1.1,4.2", name + ":106:1: soc \"1.1\""},
		{"one column", "0.5,3.7925", "0.5", name + ":56:1: want soc,volts"},
		{"no heading", "soc,volts", "a,b", name + ":5:1: want a comment or the heading"},
		{"cut short", "1.0,4.2", "", name + ": want at least 10 rows from soc 0 to 1, have 100"},
		{"no licence", "# Licence:", "# Terms:", name + ": the header lacks"},
		{"no source", "# Source:", "# From:", name + ": the header lacks"},
		{"two findings", "0.5,3.7925\n0.51,3.796", "0.5,x\n0.51,y", name + ":57:2: volts \"y\""},
	} {
		broken := fstest.MapFS{}
		for id := range curveCount {
			file := "curves/" + curveFiles[id].file
			text, err := fs.ReadFile(curveFS, file)
			if err != nil {
				t.Fatal(err)
			}
			broken[file] = &fstest.MapFile{Data: text}
		}
		if _, err := loadCurves(broken); err != nil {
			t.Fatal(err)
		}
		text := strings.Replace(string(good), c.old, c.new, 1)
		if text == string(good) {
			t.Fatalf("%s: nothing was broken", c.name)
		}
		broken[name] = &fstest.MapFile{Data: []byte(text)}
		if _, err := loadCurves(broken); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q", c.name, err, c.want)
		}
		delete(broken, name)
		if _, err := loadCurves(broken); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("missing file: error %v", err)
		}
	}
}
