package app

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"pouchward/logbook"
)

// packOf exports a pack and returns its folder.
func packOf(t *testing.T, shop *Shop, p LogPlace, x ExportAsk) string {
	t.Helper()
	x.Format = "pack"
	if x.Out == "" {
		x.Out = filepath.Join(t.TempDir(), "pack")
	}
	if _, err := Export(context.Background(), shop, p, &x); err != nil {
		t.Fatal(err)
	}
	return x.Out
}

// demoPack is the pack of the demo with its attached files, made once.
func demoPack(t *testing.T) string {
	t.Helper()
	shop, p := exportShop(t)
	dir := filepath.Join(demoParent, "pack")
	packOnce.Do(func() { packOf(t, shop, p, ExportAsk{WithFiles: true, Out: dir}) })
	return dir
}

var packOnce sync.Once

// filesIn are the files of a folder by their path in it.
func filesIn(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	m := map[string][]byte{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		m[filepath.ToSlash(name)], err = os.ReadFile(path)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// needs reports a program that is not there; in CI it must be.
func needs(t *testing.T, program string) bool {
	t.Helper()
	if _, err := exec.LookPath(program); err == nil {
		return true
	}
	if os.Getenv("POUCHWARD_CI") != "" {
		t.Errorf("%s is not there", program)
	}
	t.Logf("%s is not there: not looked at with it", program)
	return false
}

// The same log and day give the same bytes at another minute and under another name;
// a zip holds the same files.
func TestPackTwice(t *testing.T) {
	shop, p := exportShop(t)
	one := filesIn(t, demoPack(t))
	later := p
	later.Now = func() time.Time { return p.Now().Add(97 * time.Minute) }
	two := filesIn(t, packOf(t, shop, later, ExportAsk{WithFiles: true}))
	for name, data := range one {
		if !bytes.Equal(data, two[name]) {
			t.Errorf("%s: %d bytes, then %d others", name, len(data), len(two[name]))
		}
	}
	if len(one) != len(two) || len(one) < 50 {
		t.Errorf("%d files, then %d", len(one), len(two))
	}
	dir := t.TempDir()
	data, err := os.ReadFile(packOf(t, shop, later, ExportAsk{WithFiles: true, Out: filepath.Join(dir, "pack.ZIP")}))
	if err != nil {
		t.Fatal(err)
	}
	var again bytes.Buffer
	if err := zipFolder(&again, demoPack(t), "pouchward-2026-11-25-pack/", time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)); err != nil || !bytes.Equal(data, again.Bytes()) {
		t.Errorf("the zip is another the second time: %v", err)
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(r)
		name := strings.TrimPrefix(f.Name, "pouchward-2026-11-25-pack/")
		if err != nil || !bytes.Equal(data, one[name]) {
			t.Errorf("%s of the zip is not that of the folder: %v", f.Name, err)
		}
	}
	if left, _ := os.ReadDir(dir); len(z.File) != len(one) || len(left) != 1 {
		t.Errorf("%d files in the zip, %d in the folder; left there: %v", len(z.File), len(one), left)
	}
}

// What the pack says of how to check it holds: the sums, the root from the leaf
// hashes, the checkpoint. Run by common tools where they are there.
func TestPackChecks(t *testing.T) {
	_, p := exportShop(t)
	dir := demoPack(t)
	files := filesIn(t, dir)
	lines := strings.Split(strings.TrimSpace(string(files[sumsName])), "\n")
	if len(lines) != len(files)-1 || !slices.IsSortedFunc(lines, func(a, b string) int { return strings.Compare(a[66:], b[66:]) }) {
		t.Errorf("%d sums for %d files, or not in order", len(lines), len(files))
	}
	if needs(t, "sha256sum") {
		cmd := exec.Command("sha256sum", "--strict", "-c", sumsName)
		cmd.Dir = dir
		if out, err := cmd.CombinedOutput(); err != nil || strings.Count(string(out), ": OK") != len(files)-1 {
			t.Errorf("sha256sum -c: %v: %s", err, out)
		}
	}
	if needs(t, "python3") {
		howto := string(files[howtoName])
		from, to := strings.Index(howto, "import csv"), strings.Index(howto, "print(")
		cmd := exec.Command("python3", "-c", howto[from:to+strings.Index(howto[to:], "\n")])
		cmd.Dir = dir
		out, err := cmd.CombinedOutput()
		if line := strings.TrimSpace(string(files["paper-line.txt"])); err != nil || !strings.HasPrefix(string(out), line) {
			t.Errorf("the recipe of the root: %v: %q, want %q and more", err, out, line)
		}
	}
	if r, err := VerifyLog(p, Held{Checkpoints: []string{filepath.Join(dir, signedName)}}, Progress{}); err != nil || r.Covered != r.Tree.Size {
		t.Errorf("the checkpoint of the pack does not hold: %v", err)
	}
	opensInBrowser(t, filepath.Join(dir, indexName))
	index := string(files[indexName])
	for _, m := range regexp.MustCompile(`href="([^"]+)"`).FindAllStringSubmatch(index, -1) {
		if files[m[1]] == nil {
			t.Errorf("the index leads to %s, which is not there", m[1])
		}
	}
	kept := 0
	for name := range files {
		if strings.HasPrefix(name, "files/") {
			kept++
		} else if !strings.Contains(index, name) && name != indexName && name != sumsName && !strings.HasPrefix(name, "jsonl/") {
			t.Errorf("the index does not lead to %s", name)
		}
	}
	if kept == 0 {
		t.Error("no attached file was copied: the test shows nothing")
	}
}

// No person of the log is named in any file of a redacted pack, whatever the format.
func TestRedactedPackNamesNobody(t *testing.T) {
	shop, p := exportShop(t)
	names := map[string]bool{}
	for _, r := range exported(t, shop, p, ExportAsk{Tables: []string{"entries", "training", "packages"}})["entries"] {
		if r["who"] != "" {
			names[regexp.QuoteMeta(r["who"])] = true
		}
	}
	if len(names) < 4 {
		t.Fatalf("the demo has the names %v", names)
	}
	var words []string
	for n := range names {
		words = append(words, n)
	}
	whole := regexp.MustCompile(`\b(` + strings.Join(words, "|") + `)\b`)
	// What the program itself writes in capitals names nobody: the heads of the review,
	// and the file that it is told in.
	heads := regexp.MustCompile(`\b[A-Z]+(?: [A-Z]+)+\b|HOW-TO-CHECK`)
	own := func(name, text string) string {
		if name == "review.txt" || strings.HasSuffix(name, ".html") || name == howtoName || name == sumsName {
			return heads.ReplaceAllString(text, "")
		}
		return text
	}
	dir := packOf(t, shop, p, ExportAsk{Redact: true})
	looked := 0
	for name, data := range filesIn(t, dir) {
		for part, text := range readable(t, dir, name, data) {
			looked++
			text = own(name, text)
			if at := whole.FindStringIndex(text); at != nil {
				t.Errorf("%s %s names somebody: %q", name, part, text[max(0, at[0]-60):min(len(text), at[1]+40)])
			}
		}
	}
	if looked < 70 {
		t.Errorf("%d texts were looked at", looked)
	}
	plain := demoPack(t)
	for _, name := range []string{"report.pdf", "review.txt", "csv/entries.csv"} {
		data, err := os.ReadFile(filepath.Join(plain, filepath.FromSlash(name)))
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, text := range readable(t, plain, name, data) {
			found = found || whole.MatchString(own(name, text))
		}
		if !found && (name != "report.pdf" || needs(t, "pdftotext")) {
			t.Errorf("%s names nobody without redaction either: the test shows nothing", name)
		}
	}
}

// readable is the text of a file, of each part of a workbook, of the pages of a PDF.
func readable(t *testing.T, dir, name string, data []byte) map[string]string {
	t.Helper()
	switch filepath.Ext(name) {
	case ".xlsx":
		z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			t.Fatal(err)
		}
		m := map[string]string{}
		for _, f := range z.File {
			r, err := f.Open()
			if err != nil {
				t.Fatal(err)
			}
			text, err := io.ReadAll(r)
			if err != nil {
				t.Fatal(err)
			}
			m[f.Name] = string(text)
		}
		return m
	case ".pdf":
		if !needs(t, "pdftotext") {
			return nil
		}
		text, err := exec.Command("pdftotext", "-layout", filepath.Join(dir, filepath.FromSlash(name)), "-").Output()
		if err != nil {
			t.Fatal(err)
		}
		return map[string]string{"": string(text)}
	case ".ics": // its lines are folded
		return map[string]string{"": strings.ReplaceAll(string(data), "\r\n ", "")}
	}
	return map[string]string{"": string(data)}
}

// A pack is replaced only by a pack, and never with what somebody put into it.
func TestPackIsReplacedOnlyWhereItIsOne(t *testing.T) {
	shop, p := exportShop(t)
	dir := filepath.Join(t.TempDir(), "pack")
	if err := os.CopyFS(dir, os.DirFS(demoPack(t))); err != nil {
		t.Fatal(err)
	}
	ask := func(out string) error {
		_, err := Export(context.Background(), shop, p, &ExportAsk{Format: "pack", Out: out, Replace: true})
		return err
	}
	if err := ask(dir); err != nil {
		t.Error(err)
	}
	notes := filepath.Join(dir, "csv", "notes.txt")
	if err := os.WriteFile(notes, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := ask(dir); err == nil || !strings.Contains(err.Error(), "notes.txt, which no export wrote") {
		t.Errorf("%v", err)
	}
	if err := ask(t.TempDir()); err == nil || !strings.Contains(err.Error(), "is no pack") {
		t.Errorf("%v", err)
	}
	if _, err := os.Stat(notes); err != nil {
		t.Error(err)
	}
}

// The report's findings and figures are those of the review and the stock.
func TestReportSaysWhatTheReviewSays(t *testing.T) {
	if !needs(t, "pdftotext") {
		t.Skip()
	}
	shop, p := exportShop(t)
	dir := demoPack(t)
	data, err := os.ReadFile(filepath.Join(dir, "report.pdf"))
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Join(strings.Fields(readable(t, dir, "report.pdf", data)[""]), " ")
	r, err := Review(shop, p, ReviewAsk{From: "2025-01-01"})
	if err != nil {
		t.Fatal(err)
	}
	for i := range r.Findings {
		if want := r.Findings[i].Check.ID; !strings.Contains(text, want) {
			t.Errorf("the report does not name %s", want)
		}
	}
	var total string
	err = ReadLog(p, func(l *logbook.Log) error {
		s, err := ScreenedStock(shop, l, shop.Rulebook.On, "", "")
		if err == nil {
			total = fmt.Sprintf("ALL %d ", s.Total.Cells)
			for _, want := range []string{total, s.Hazard.Limit, "A screening figure, not an exposure assessment"} {
				if !strings.Contains(text, want) {
					err = errors.Join(err, fmt.Errorf("the report does not say %q", want))
				}
			}
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
	for _, want := range r.Sample.Here {
		if !strings.Contains(text, want[:2]+" "+want[2:]) {
			t.Errorf("the sample lacks %s", want)
		}
	}
}

// opensInBrowser opens the index from disk, where there is a browser to do so.
func opensInBrowser(t *testing.T, index string) {
	t.Helper()
	browser, err := exec.LookPath("chromium")
	if err != nil {
		t.Log("chromium is not there: the index is not opened in a browser")
		return
	}
	ctx, stop := context.WithTimeout(context.Background(), time.Minute)
	defer stop()
	out, err := exec.CommandContext(ctx, browser, "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync",
		"--user-data-dir="+t.TempDir(), "--dump-dom", "file://"+filepath.ToSlash(index)).Output()
	if err != nil || !strings.Contains(string(out), "In the shop, by place") || !strings.Contains(string(out), "Local codes and licensed practice come first.") {
		t.Errorf("the browser shows %d bytes: %v", len(out), err)
	}
}
