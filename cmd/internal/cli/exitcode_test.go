package cli

import (
	"bytes"
	"database/sql"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// edit edits a log behind its back.
func edit(t *testing.T, path, statement string) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("DROP TRIGGER entries_no_update; " + statement); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

// The exit code of what was done all the same, and is not to be relied on as it stands.
func TestExitCodes(t *testing.T) {
	dir := t.TempDir()
	house, sheet := filepath.Join(dir, "house.toml"), filepath.Join(dir, "again.csv")
	for name, text := range map[string]string{house: "[shop]\nsite = \"Back room\"\n", sheet: "tag,signs\nJEHCF7,none\n",
		filepath.Join(dir, "cert.txt"): "An invented certificate.\n"} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, args := range [][]string{{"log", "init", "--site", "Back room"}, {"assess", "--record", "--signs", "swollen"},
		{"attach", "JEHCF7", filepath.Join(dir, "cert.txt")}} {
		if r := runIn(dir, args...); r.code != 0 {
			t.Fatalf("%v: %s", args, r.err)
		}
	}
	path := filepath.Join(dir, "pouchward.db")
	steps := []struct {
		before    func()
		args      string
		code      int
		out, tell string // on standard output, on standard error
	}{
		{args: "assess --tag JEHCF7 --signs none", out: "ISOLATE NOW"},
		{args: "sort " + sheet, out: "isolate"},
		{args: "log show 2", out: "isolate"},
		{args: "assess --signs smoking --on 2026-13-01", code: 2, out: "GET AWAY NOW", tell: "not a date"},
		{args: "assess --signs smoking stray", code: 2, out: "GET AWAY NOW", tell: "stray"},
		{args: "export --format csv --out " + filepath.Join(dir, "whole"), out: "entries, verified\n"},
		{before: func() { _ = os.RemoveAll(path + ".files") }, args: "export --format csv --out " + filepath.Join(dir, "lacking"), code: 4,
			out: "1 of 1 attached file NOT", tell: "the export is whole"},
		{before: func() {
			edit(t, path, `UPDATE entries SET bytes = CAST(replace(CAST(bytes AS TEXT), '"handling":"isolate"', '"handling":"retire"') AS BLOB) WHERE n = 2`)
		}, args: "log show 2", code: 4, out: "NOTICE these are not the bytes", tell: "entry 2 is not as it was recorded"},
		{args: "log history JEHCF7", code: 4, out: "NOTICE these are not the bytes", tell: "entry 2"},
		{before: func() { edit(t, filepath.Join(dir, "torn.db"), `UPDATE entries SET bytes = x'00' WHERE n = 2`) },
			args: "assess --tag JEHCF7 --signs none --log " + filepath.Join(dir, "torn.db"), code: 4, out: "HOLD", tell: "NOTICE The verdict is of this reading alone"},
		{args: "sort " + sheet + " --log " + filepath.Join(dir, "torn.db"), code: 4, out: "hold", tell: "could not be asked"},
		{args: "assess --tag JEHCF7 --signs none --log " + sheet, code: 1, out: "HOLD", tell: "is not a log"},
		{args: "sort " + sheet + " --log " + sheet, code: 1, out: "hold", tell: "is not a log"},
	}
	if r := runIn(dir, "log", "backup", filepath.Join(dir, "torn.db")); r.code != 0 {
		t.Fatal(r.err)
	}
	for _, s := range steps {
		if s.before != nil {
			s.before()
		}
		args := strings.Fields(s.args)
		var out, errOut bytes.Buffer
		if !strings.Contains(s.args, "--log ") {
			args = append(args, "--log", path)
		}
		r := ran{Main(args, strings.NewReader(""), &out, &errOut, promiseNow), out.String(), errOut.String()}
		if r.code != s.code || !strings.Contains(r.out, s.out) || !strings.Contains(r.err, s.tell) {
			t.Errorf("%s: exit code %d, want %d\n%s\n%s", s.args, r.code, s.code, r.out, r.err)
		}
	}
}
