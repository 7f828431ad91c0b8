package app

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"pouchward/logbook"
	"pouchward/triage"
)

var demoParent string // of the folder of the demo, blank: it was not made

// demoOnce is the invented year, made once for all tests of exports.
var demoOnce = sync.OnceValues(func() (string, error) {
	parent, err := os.MkdirTemp("", "pouchward-export-test-*")
	if err != nil {
		return "", err
	}
	demoParent = parent
	on, err := triage.ParseDate("2026-11-25")
	if err == nil {
		_, err = Demo(filepath.Join(parent, "demo"), on)
	}
	return filepath.Join(parent, "demo"), err
})

func TestMain(m *testing.M) {
	if out := os.Getenv(exportChild); out != "" {
		os.Exit(runExportChild(out))
	}
	if job := os.Getenv(shipChild); job != "" {
		os.Exit(runShipChild(job))
	}
	code := m.Run()
	if demoParent != "" {
		os.RemoveAll(demoParent)
	}
	os.Exit(code)
}

// exportShop is the demo's shop and log on its day.
func exportShop(t testing.TB) (*Shop, LogPlace) {
	t.Helper()
	dir, err := demoOnce()
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC)
	house := filepath.Join(dir, houseName)
	shop, err := OpenShop("2026-11-25", house, now)
	if err != nil {
		t.Fatal(err)
	}
	p, err := PlaceLog(filepath.Join(dir, demoLogName), house, func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	return shop, p
}

// exported are the rows of the CSV of an export by table, each row by its headings.
func exported(t testing.TB, shop *Shop, p LogPlace, x ExportAsk) map[string][]map[string]string {
	t.Helper()
	x.Format, x.Out = "csv", filepath.Join(t.TempDir(), "out")
	done, err := Export(context.Background(), shop, p, &x)
	if err != nil {
		t.Fatal(err)
	}
	m := map[string][]map[string]string{}
	files, err := os.ReadDir(done.Out)
	if err != nil || len(files) != done.Tables {
		t.Fatalf("%d files for %d tables: %v", len(files), done.Tables, err)
	}
	for _, f := range files {
		data, err := os.ReadFile(filepath.Join(done.Out, f.Name()))
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\ufeff")))).ReadAll()
		if err != nil {
			t.Fatalf("%s: %v", f.Name(), err)
		}
		name := strings.TrimSuffix(f.Name(), ".csv")
		m[name] = []map[string]string{}
		for _, r := range rows[1:] {
			row := map[string]string{}
			for i, head := range rows[0] {
				row[head] = r[i]
			}
			m[name] = append(m[name], row)
		}
	}
	return m
}

func factOf(rows []map[string]string, what string) map[string]string {
	for _, r := range rows {
		if r["what"] == what {
			return r
		}
	}
	return nil
}

// The root of the checkpoint is the tree over the leaves of the table of entries,
// as the table itself says how to reckon it (RFC 6962, section 2.1).
func TestRootStandsOnTheEntries(t *testing.T) {
	shop, p := exportShop(t)
	m := exported(t, shop, p, ExportAsk{Tables: []string{"entries", "checkpoint"}, From: "2026-06-01"})
	var leaves [][]byte
	for i, r := range m["entries"] {
		if r["entry"] != strconv.Itoa(i+1) {
			t.Fatalf("row %d is entry %s", i+1, r["entry"])
		}
		leaf, err := hex.DecodeString(r["leaf hash"])
		if err != nil || len(leaf) != 32 {
			t.Fatalf("entry %s: leaf %q", r["entry"], r["leaf hash"])
		}
		leaves = append(leaves, leaf)
	}
	var root func([][]byte) []byte
	root = func(list [][]byte) []byte {
		if len(list) == 1 {
			return list[0]
		}
		k := 1
		for k*2 < len(list) {
			k *= 2
		}
		sum := sha256.Sum256(slices.Concat([]byte{1}, root(list[:k]), root(list[k:])))
		return sum[:]
	}
	if got, want := hex.EncodeToString(root(leaves)), factOf(m["checkpoint"], "root, hex")["words"]; got != want || len(leaves) < 3000 {
		t.Errorf("%d leaves come to %s, the checkpoint says %s", len(leaves), got, want)
	}
	dir, _ := demoOnce()
	cp, err := readCheckpoint(filepath.Join(dir, demoCheckName))
	if err != nil {
		t.Fatal(err)
	}
	if got := factOf(m["checkpoint"], "paper line")["words"]; got != cp.Paper() {
		t.Errorf("paper line %s, the demo's own checkpoint has %s", got, cp.Paper())
	}
}

func figureOf(t testing.TB, text string) float64 {
	t.Helper()
	if text == "" {
		return 0
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// Cells, containers and the last month add up to the stock that the log's own view
// gives, which is reckoned by another way.
func TestTablesAddUpToTheStock(t *testing.T) {
	shop, p := exportShop(t)
	m := exported(t, shop, p, ExportAsk{})
	var lots, single int64
	byClass := map[string][3]float64{} // kWh, kg, cells
	err := ReadLog(p, func(l *logbook.Log) error {
		r, err := Stock(l, shop.Rulebook.On, "class", "")
		for _, x := range r.Rows {
			c := byClass[handlingText(x.Handling)]
			byClass[handlingText(x.Handling)] = [3]float64{c[0] + x.Wh/1000, c[1] + x.Kg, c[2] + float64(x.Cells)}
		}
		return errors.Join(err, l.Cells(func(h *logbook.Held) error {
			if lots += h.Count; h.Count == 0 {
				single++
			}
			return nil
		}))
	})
	if err != nil {
		t.Fatal(err)
	}
	last := m["stock_months"][len(m["stock_months"])-1]
	if last["at the end of"] != "2026-11-25" {
		t.Errorf("the last month ends %s", last["at the end of"])
	}
	cells := 0.0
	for class, want := range byClass {
		if kwh, kg := figureOf(t, last[class+", kWh"]), figureOf(t, last[class+", kg"]); abs(kwh-want[0]) > 0.0001 || abs(kg-want[1]) > 0.0001 {
			t.Errorf("%s: %v kWh and %v kg at the end, the stock has %v and %v", class, kwh, kg, want[0], want[1])
		}
		cells += want[2]
	}
	if got := figureOf(t, last["cells"]); got != cells {
		t.Errorf("%v cells at the end of the months, the stock has %v", got, cells)
	}
	here, held := int64(0), 0.0
	for _, r := range m["cells"] {
		if r["standing"] == "in the shop" {
			here++
		}
	}
	for _, r := range m["containers"] {
		held += figureOf(t, r["cells in it"])
	}
	if here != single || held > cells || held < float64(lots) {
		t.Errorf("%d cells in the shop, the log has %d; containers hold %v of %v", here, single, held, cells)
	}
	for _, r := range m["stock_months"] {
		for head, v := range r {
			if strings.HasPrefix(v, "-") {
				t.Errorf("%s: %s is %s", r["at the end of"], head, v)
			}
		}
	}
}

func abs(x float64) float64 { return max(x, -x) }

// What was taken back and what was put right stays, and says so.
func TestSlipsAreMarked(t *testing.T) {
	shop, p := exportShop(t)
	m := exported(t, shop, p, ExportAsk{Tables: []string{"assessments", "movements", "entries", "summary"}})
	kinds := map[string]int{}
	byEntry := map[string]map[string]string{}
	for _, r := range m["assessments"] {
		kinds[r["kind"]]++
		byEntry[r["entry"]] = r
	}
	for _, r := range m["movements"] {
		byEntry[r["entry"]] = r
	}
	marked := 0
	for _, r := range m["assessments"] {
		switch r["kind"] {
		case "retraction":
			marked++
			if of := byEntry[r["of entry"]]; of == nil || of["retracted by entry"] != r["entry"] {
				t.Errorf("entry %s takes back entry %s, which says %q", r["entry"], r["of entry"], of["retracted by entry"])
			}
		case "correction":
			marked++
			if of := byEntry[r["of entry"]]; of == nil || of["corrected by entry"] != r["entry"] || of["voltage, V"] == "" {
				t.Errorf("entry %s puts right entry %s, which says %q", r["entry"], r["of entry"], of["corrected by entry"])
			}
		}
	}
	if marked < 3 || kinds["assessment"] < 400 || kinds["determination"] < 10 {
		t.Errorf("the demo has %d slips and %v: the test shows too little", marked, kinds)
	}
	if got := factOf(m["summary"], "taken back")["number"]; got != fmt.Sprint(kinds["retraction"]) {
		t.Errorf("the summary says %s taken back, there are %d retractions", got, kinds["retraction"])
	}
}

// A retraction that was itself taken back voids nothing, and a correction that was
// is none.
func TestTheLastWordOnASlipCounts(t *testing.T) {
	s := &survey{void: map[int64]int64{}, fixed: map[int64]int64{}, slips: []slip{{5, 2, true}, {6, 3, false}, {7, 3, false}, {8, 5, true}, {9, 7, true}, {10, 4, true}}}
	s.settle()
	for n, want := range map[int64]int64{2: 0, 5: 8, 7: 9, 4: 10} {
		if s.void[n] != want {
			t.Errorf("entry %d is void by %d, want %d", n, s.void[n], want)
		}
	}
	if s.fixed[3] != 6 {
		t.Errorf("entry 3 is put right by %d, want 6: 7 was taken back", s.fixed[3])
	}
}

// Without names: every person of the log becomes one code, the same in every
// table, and stands by name in no column, free text too.
func TestRedaction(t *testing.T) {
	shop, p := exportShop(t)
	plain, coded := exported(t, shop, p, ExportAsk{Review: true}), exported(t, shop, p, ExportAsk{Review: true, Redact: true})
	codes := map[string]string{}
	names := regexp.MustCompile(`\b(MK|LS|TO|RB)\b`)
	for tab, rows := range plain {
		if len(rows) != len(coded[tab]) && tab != "summary" {
			t.Errorf("%s has %d rows, without names %d", tab, len(rows), len(coded[tab]))
			continue
		}
		for i, r := range rows {
			for _, head := range []string{"who", "second person", "packed by", "checked by", "trained", "given by", "person asked", "accepted by"} {
				name := r[head]
				if name == "" || tab == "summary" {
					continue
				}
				code := coded[tab][i][head]
				if was := codes[foldName(name)]; was != "" && was != code {
					t.Errorf("%s row %d: %s is %s here and %s elsewhere", tab, i+1, name, code, was)
				}
				codes[foldName(name)] = code
			}
		}
		for i, r := range coded[tab] {
			for head, v := range r {
				if names.MatchString(v) && tab != "rulebook" && tab != "columns" {
					t.Errorf("%s row %d, %s: %q names somebody", tab, i+1, head, v)
				}
			}
		}
	}
	if codes["mk"] != "P1" || len(codes) < 5 {
		t.Errorf("the codes are %v; MK is the first that the log names", codes)
	}
	seen := map[string]string{}
	for name, code := range codes {
		if other := seen[code]; other != "" || !strings.HasPrefix(code, "P") {
			t.Errorf("%s and %s are both %s", name, other, code)
		}
		seen[code] = name
	}
	for i, r := range coded["entries"] {
		if r["leaf hash"] != plain["entries"][i]["leaf hash"] {
			t.Fatalf("entry %d has another leaf", i+1)
		}
	}
}

func TestNamesWithinProgramText(t *testing.T) {
	p := newPeople()
	p.all([]string{"MK", "Jo Ö", "M"})
	for _, row := range [][2]string{
		{"training of MK: damaged cells", "training of P1: damaged cells"}, {"MKV and XMK stay, MK goes", "MKV and XMK stay, P1 goes"},
		{"packed by Jo Ö, checked by MK", "packed by P2, checked by P1"}, {"M-8", "P3-8"}, {"ÖM", "ÖM"}, {"MK MK", "P1 P1"},
	} {
		if got := p.within(row[0]); got != row[1] {
			t.Errorf("%q became %q, want %q", row[0], got, row[1])
		}
	}
	if got := (*people)(nil).within("MK"); got != "MK" {
		t.Errorf("without redaction MK became %s", got)
	}
	for _, text := range []string{"nobody", "?", "not said", ""} {
		if got := p.code(text); got != text {
			t.Errorf("%q names nobody and became %s", text, got)
		}
	}
}

func TestPeriod(t *testing.T) {
	shop, p := exportShop(t)
	m := exported(t, shop, p, ExportAsk{From: "2026-07-01", To: "2026-07-31"})
	for _, tab := range []string{"assessments", "movements", "rounds", "incidents"} {
		if len(m[tab]) == 0 {
			t.Errorf("%s is empty: the test shows nothing", tab)
		}
		for _, r := range m[tab] {
			if !strings.HasPrefix(r["happened"], "2026-07-") {
				t.Errorf("%s holds entry %s of %s", tab, r["entry"], r["happened"])
			}
		}
	}
	if n := len(m["stock_months"]); n != 1 || m["stock_months"][0]["at the end of"] != "2026-07-31" {
		t.Errorf("%d months", n)
	}
}

// The sheets of the workbook have the rows of the CSV.
func TestWorkbookHasTheSameRows(t *testing.T) {
	shop, p := exportShop(t)
	rows := exported(t, shop, p, ExportAsk{Review: true})
	name := filepath.Join(t.TempDir(), "book.xlsx")
	done, err := Export(context.Background(), shop, p, &ExportAsk{Format: "xlsx", Out: name, Review: true})
	if err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenFile(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if got := len(f.GetSheetList()); got != done.Tables || got != len(rows) {
		t.Fatalf("%d sheets, %d tables, %d files", got, done.Tables, len(rows))
	}
	for i, x := range []struct{ sheet, table string }{{"Summary", "summary"}, {"Stock by month", "stock_months"}, {"Cells", "cells"}, {"Assessments", "assessments"}, {"Movements", "movements"},
		{"Containers", "containers"}, {"Shipments", "shipments"}, {"Packages", "packages"}, {"Findings", "findings"}, {"Ledger", "ledger"}, {"Training", "training"}, {"Incidents", "incidents"}, {"Rounds", "rounds"},
		{"Local rules", "local_rules"}, {"Rulebook", "rulebook"}, {"Checkpoint", "checkpoint"}, {"Entries", "entries"}, {"Columns", "columns"}} {
		if got := f.GetSheetList()[i]; got != x.sheet {
			t.Errorf("sheet %d is %s, want %s", i+1, got, x.sheet)
		}
		got, err := f.GetRows(x.sheet)
		above := 1
		if x.table == "summary" {
			above = 5
		}
		if err != nil || len(got)-above != len(rows[x.table]) || len(got) < 3 {
			t.Errorf("%s has %d rows, the CSV %d: %v", x.sheet, len(got)-above, len(rows[x.table]), err)
		}
	}
	if len(rows["columns"]) < 150 {
		t.Errorf("%d columns are explained", len(rows["columns"]))
	}
	for _, r := range rows["columns"] {
		if r["meaning"] == "" {
			t.Errorf("%s of %s is not explained", r["column"], r["table"])
		}
	}
}

// One that is ended by hand leaves nothing.
func TestCancelled(t *testing.T) {
	shop, p := exportShop(t)
	dir := t.TempDir()
	for _, f := range ExportFormats {
		ctx, cancel := context.WithCancel(context.Background())
		cancel()
		_, err := Export(ctx, shop, p, &ExportAsk{Format: f.Name, Out: filepath.Join(dir, "out"+f.Ending)})
		if !errors.Is(err, context.Canceled) || !strings.Contains(err.Error(), "nothing was written") {
			t.Errorf("%s: %v", f.Name, err)
		}
	}
	if left, _ := os.ReadDir(dir); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// A folder is replaced as a whole, or stays as it was.
func TestWriteFolder(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "out")
	fill := func(file string) func(string) error {
		return func(temp string) error { return os.WriteFile(filepath.Join(temp, file), []byte(file), 0o600) }
	}
	broken := errors.New("the disk went away")
	if err := WriteFolder(name, false, fill("a")); err != nil {
		t.Fatal(err)
	}
	if err := WriteFolder(name, false, fill("b")); err == nil || !strings.Contains(err.Error(), "there already") {
		t.Errorf("%v", err)
	}
	if err := WriteFolder(name, true, func(temp string) error { return errors.Join(fill("b")(temp), broken) }); !errors.Is(err, broken) {
		t.Errorf("%v", err)
	}
	if list, _ := filepath.Glob(filepath.Join(name, "*")); len(list) != 1 || filepath.Base(list[0]) != "a" {
		t.Errorf("the folder holds %v", list)
	}
	if err := WriteFolder(name, true, fill("b")); err != nil {
		t.Fatal(err)
	}
	if list, _ := filepath.Glob(filepath.Join(name, "*")); len(list) != 1 || filepath.Base(list[0]) != "b" {
		t.Errorf("the folder holds %v", list)
	}
	if list, _ := os.ReadDir(dir); len(list) != 1 {
		t.Errorf("left behind: %v", list)
	}
}
