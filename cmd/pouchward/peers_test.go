package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"pouchward/cmd/internal/cli"
	"pouchward/exports/exportstest"
)

// The peers are general tools with which a shop could write its own sorting of a
// sheet: Python's csv module and openpyxl, and the sqlite3 command line. Each applies six thresholds of the
// rulebook, on three readings; pouchward applies all its rules and decides the
// routes. Peers are whole processes, from the file to the file, as people run them.

// peerRules are the six thresholds: rules of triage/rules/handling.toml, in its order.
var peerRules = []string{"rise-3", "rise-5", "rise-10", "volts-under-3", "volts-under-2-5", "capacity-80"}

// peerHead names the columns of the sheet of the peers.
var peerHead = strings.Split("tag,signs,cell_c,ambient_c,recalled,chemistry,series,parallel,nominal_v,charge_limit_v,rated_mah,measured_mah,ocv_v,rest_h,mass_g,fit,purpose,pulled_on", ",")

// peerSheet writes a sheet, CSV or a workbook by its name, of invented rows on which none of our other rules makes
// the hands do anything else: every reading is there, and volts stay above 2 V.
// Values stand on every threshold too, and are halves or whole where they are
// subtracted, so that binary fractions lose nothing.
func peerSheet(name string, rows int) error {
	if strings.HasSuffix(name, ".xlsx") {
		return peerBook(name, rows)
	}
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	defer f.Close()
	w := csv.NewWriter(f)
	if err := w.Write(peerHead); err != nil {
		return err
	}
	for i := range rows {
		if err := w.Write(peerRow(i)); err != nil {
			return err
		}
	}
	w.Flush()
	return errors.Join(w.Error(), f.Close())
}

// peerBook writes them with numbers as numbers.
func peerBook(name string, rows int) error {
	f := excelize.NewFile()
	defer f.Close()
	last, err := excelize.CoordinatesToCellName(len(peerHead), rows+1)
	if err != nil {
		return err
	}
	// The stream writer leaves the dimension at A1, beyond which openpyxl reads nothing.
	if err := f.SetSheetDimension("Sheet1", "A1:"+last); err != nil {
		return err
	}
	w, err := f.NewStreamWriter("Sheet1")
	if err != nil {
		return err
	}
	cells := make([]any, len(peerHead))
	for i := -1; i < rows; i++ {
		row := peerHead
		if i >= 0 {
			row = peerRow(i)
		}
		for c, text := range row {
			if cells[c] = text; peerHead[c] == "pulled_on" {
				continue
			}
			if n, err := strconv.ParseFloat(text, 64); err == nil {
				cells[c] = n
			}
		}
		if err := w.SetRow("A"+strconv.Itoa(i+2), cells); err != nil {
			return err
		}
	}
	return errors.Join(w.Flush(), f.SaveAs(name))
}

// peerRow returns the cells of a row.
func peerRow(i int) []string {
	rises := [...]int{0, 1, 2, 3, 0, 1, 2, 5, 6, 10, 0, 1, 20, 0, 2, 1} // half kelvins
	rise, volts, left := rises[i%len(rises)], 380+i%30, 3500+i*13%800
	if i%11 == 0 {
		volts = 200 + i*7%120
	}
	if i%17 == 0 {
		left = 3340 + i*10%200 // 80 % of 4300 is 3440
	}
	cell := 42 + rise
	return []string{fmt.Sprintf("T%07d", i), "none", fmt.Sprintf("%d.%d", cell/2, cell%2*5), "21", "no", "li-ion", "1", "1", "3.85", "4.40", "4300",
		strconv.Itoa(left), fmt.Sprintf("%d.%02d", volts/100, volts%100), "2", "71", "loose", "recycle", "2026-11-20"}
}

const peerPython = `
import csv, sys

def rows_of(name):
    if name.endswith(".xlsx"):
        import openpyxl
        yield from openpyxl.load_workbook(name, read_only=True).worksheets[0].iter_rows(values_only=True)
    else:
        with open(name, newline="") as f:
            yield from csv.reader(f)

with open(sys.argv[2], "w", newline="") as dst:
    rows, out = rows_of(sys.argv[1]), csv.writer(dst, lineterminator="\n")
    head = list(next(rows))
    out.writerow([*head, "handling", "rules"])
    cell, room, volts, left, rated = [head.index(n) for n in ("cell_c", "ambient_c", "ocv_v", "measured_mah", "rated_mah")]
    for row in rows:
        rise, v = float(row[cell]) - float(row[room]), float(row[volts])
        rules = []
        if rise >= 3: rules.append("rise-3")
        if rise >= 5: rules.append("rise-5")
        if rise >= 10: rules.append("rise-10")
        if v < 3.0: rules.append("volts-under-3")
        if v < 2.5: rules.append("volts-under-2-5")
        if float(row[left]) * 100 < 80 * float(row[rated]): rules.append("capacity-80")
        if rise >= 10: handling = "emergency"
        elif rise >= 5 or v < 2.5: handling = "isolate"
        elif rise >= 3 or v < 3.0: handling = "hold"
        else: handling = "retire"
        out.writerow([*row, handling, ";".join(rules)])
`

// peerSQL imports the sheet into a table and writes the answers of a query; %s are
// sheet, output and columns.
const peerSQL = `.bail on
.import --csv '%s' readings
.headers on
.mode csv
.output '%s'
WITH n AS (SELECT *, CAST(cell_c AS REAL) - CAST(ambient_c AS REAL) AS rise, CAST(ocv_v AS REAL) AS v,
	CAST(measured_mah AS REAL) * 100 < 80 * CAST(rated_mah AS REAL) AS worn FROM readings)
SELECT %s,
	CASE WHEN rise >= 10 THEN 'emergency' WHEN rise >= 5 OR v < 2.5 THEN 'isolate' WHEN rise >= 3 OR v < 3.0 THEN 'hold' ELSE 'retire' END AS handling,
	ltrim(CASE WHEN rise >= 3 THEN ';rise-3' ELSE '' END || CASE WHEN rise >= 5 THEN ';rise-5' ELSE '' END ||
	CASE WHEN rise >= 10 THEN ';rise-10' ELSE '' END || CASE WHEN v < 3.0 THEN ';volts-under-3' ELSE '' END ||
	CASE WHEN v < 2.5 THEN ';volts-under-2-5' ELSE '' END || CASE WHEN worn THEN ';capacity-80' ELSE '' END, ';') AS rules
FROM n;
`

// A peer does the job on a sheet.
type peer struct {
	name, needs string   // needs is what apt installs
	check       []string // a command that ends well where the peer is there
	command     func(sheet, out string) *exec.Cmd
}

// debianPython is the system's: another one earlier in the path may lack a module.
const debianPython = "/usr/bin/python3"

func python(sheet, out string) *exec.Cmd {
	return exec.Command(debianPython, "-c", peerPython, sheet, out)
}

func sqlite(sheet, out string) *exec.Cmd {
	cmd := exec.Command("sqlite3", ":memory:")
	cmd.Stdin = strings.NewReader(fmt.Sprintf(peerSQL, sheet, out, strings.Join(peerHead, ", ")))
	return cmd
}

// peers are who does the same, by what the sheet is.
var peers = map[string][]peer{
	"csv": {{"python", "python3", []string{debianPython, "--version"}, python},
		{"sqlite3", "sqlite3", []string{"sqlite3", "--version"}, sqlite}},
	"xlsx": {{"openpyxl", "python3-openpyxl", []string{debianPython, "-c", "import openpyxl"}, python}},
}

// run runs a command that must be silent and returns what it took, and of a processor.
func run(tb testing.TB, cmd *exec.Cmd) (took, cpu time.Duration) {
	tb.Helper()
	begun := time.Now()
	out, err := cmd.CombinedOutput()
	if err != nil {
		tb.Fatalf("%s: %v\n%.2000s", cmd.Path, err, out)
	}
	return time.Since(begun), cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
}

// missingPeer skips, or fails in CI, where a peer is not installed.
func missingPeer(tb testing.TB, p *peer) {
	tb.Helper()
	exportstest.Need(tb, exec.Command(p.check[0], p.check[1:]...).Run() == nil, p.name+" (Debian: "+p.needs+")")
}

// answers reads what the rows of a CSV, ours or a peer's, came to: the tag, the class,
// and which of the six rules fired.
type answers struct {
	rows                 *csv.Reader
	tag, handling, rules int // columns
}

func openAnswers(tb testing.TB, name, rulesColumn string) *answers {
	tb.Helper()
	f, err := os.Open(name)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { f.Close() })
	a := &answers{rows: csv.NewReader(f)}
	a.rows.ReuseRecord = true
	head, err := a.rows.Read()
	if err != nil {
		tb.Fatal(err)
	}
	a.tag, a.handling, a.rules = slices.Index(head, "tag"), slices.Index(head, "handling"), slices.Index(head, rulesColumn)
	if a.tag < 0 || a.handling < 0 || a.rules < 0 {
		tb.Fatalf("%s has the columns %v", name, head)
	}
	return a
}

// next returns tag, class and rules; io.EOF ends the file.
func (a *answers) next() (list [3]string, err error) {
	row, err := a.rows.Read()
	if err != nil {
		return list, err
	}
	var of []string
	for id := range strings.SplitSeq(row[a.rules], ";") {
		if slices.Contains(peerRules, id) {
			of = append(of, id)
		}
	}
	return [3]string{row[a.tag], row[a.handling], strings.Join(of, ";")}, nil
}

// agree fails where a peer gives another answer than we do, where rows are missing,
// and where a class or a rule is never met, or by every row: then nothing was compared.
func agree(tb testing.TB, name, oursFile, theirsFile string, rows int) {
	tb.Helper()
	ours, theirs := openAnswers(tb, oursFile, "handling_rules"), openAnswers(tb, theirsFile, "rules")
	count := map[string]int{}
	for i := range rows {
		our, err := ours.next()
		their, err2 := theirs.next()
		if err != nil || err2 != nil || our != their {
			tb.Fatalf("%s, row %d: %q, ours %q (%v, %v)", name, i+1, their, our, err2, err)
		}
		count[our[1]]++
		for id := range strings.SplitSeq(our[2], ";") {
			count[id]++
		}
	}
	if _, err := ours.next(); !errors.Is(err, io.EOF) {
		tb.Fatalf("ours goes on after %d rows: %v", rows, err)
	}
	if _, err := theirs.next(); !errors.Is(err, io.EOF) {
		tb.Fatalf("%s goes on after %d rows: %v", name, rows, err)
	}
	for _, word := range append([]string{"retire", "hold", "isolate", "emergency"}, peerRules...) {
		if count[word] == 0 || count[word] == rows {
			tb.Fatalf("%s: %d of %d rows are %s", name, count[word], rows, word)
		}
	}
}

// Each peer says of every row what we say: the same class, the same of the six rules.
func TestPeersAgree(t *testing.T) {
	for kind, list := range peers {
		dir := t.TempDir()
		sheet, ours := filepath.Join(dir, "sheet."+kind), filepath.Join(dir, "ours.csv")
		if err := peerSheet(sheet, 5000); err != nil {
			t.Fatal(err)
		}
		var said strings.Builder
		if code := cli.Main(peerArgs(sheet, ours), strings.NewReader(""), &said, &said, time.Now); code != 0 {
			t.Fatalf("exit %d: %s", code, said.String())
		}
		for _, p := range list {
			t.Run(kind+"/"+p.name, func(t *testing.T) {
				missingPeer(t, &p)
				theirs := filepath.Join(dir, p.name+".csv")
				run(t, p.command(sheet, theirs))
				agree(t, p.name, ours, theirs, 5000)
			})
		}
	}
}

// peerArgs are the arguments with which we do it.
func peerArgs(sheet, out string) []string {
	return []string{"sort", sheet, "--on", "2026-11-25", "--out", out}
}
