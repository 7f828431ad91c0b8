package app

import (
	"bufio"
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage/review"
)

// The page of a demo, which has a fault of every kind, is one that somebody reads to
// the end: not long, no number at odds with its noun, no word that says that all is well.
func (d *demoFolder) page(t *testing.T) {
	r, err := Review(d.shop, d.place(), ReviewAsk{To: d.on.String()})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := exports.Review(&out, r, nil); err != nil {
		t.Fatal(err)
	}
	text := out.String()
	if n := strings.Count(text, "\n"); n < 300 || n > 400 {
		t.Errorf("the page has %d lines", n)
	}
	if at := regexp.MustCompile(`\b1 (cell|look|entrie|hand-over|container|package|month|day|place|round|tag|file|attached file|finding|shipment|list|group|incident|correction|retraction)s\b`).FindString(text); at != "" {
		t.Errorf("the page says %q", at)
	}
	if at := regexp.MustCompile(`(?i)[^-]\b(safe|ok|dead)\b`).FindString(text); at != "" {
		t.Errorf("the page says %q", at)
	}
	critical, major := strings.Index(text, "CRITICAL:"), strings.Index(text, "MAJOR:")
	if open, past := strings.Index(text, " *  open since"), strings.Index(text, ", past, "); critical < 0 || major < critical || open < critical || past < open {
		t.Errorf("not the worst first: critical at %d, major at %d, the first open at %d, past at %d", critical, major, open, past)
	}
}

// copyOf is the demo with its files, to be damaged.
func (d *demoFolder) copyOf(t *testing.T) *demoFolder {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "copy")
	if err := os.CopyFS(dir, os.DirFS(d.dir)); err != nil {
		t.Fatal(err)
	}
	x := *d
	x.dir = dir
	return &x
}

// A file that is gone is a finding, and no damage to the log.
func (d *demoFolder) fileGone(t *testing.T, want []string) {
	x := d.copyOf(t)
	entry := int64(0)
	err := ReadLog(x.place(), func(l *logbook.Log) error {
		size, err := l.Size()
		if err != nil {
			return err
		}
		return l.Entries(1, size, func(e *logbook.Entry) error {
			if _, path, there, ok := AttachedFile(x.place(), e); ok && there && entry == 0 {
				entry = e.Number
				return os.Remove(path)
			}
			return nil
		})
	})
	if err != nil || entry == 0 {
		t.Fatalf("no file was removed: %v", err)
	}
	r, err := Review(x.shop, x.place(), ReviewAsk{To: x.on.String()})
	if err != nil {
		t.Fatal(err)
	}
	compareFound(t, "a file gone", r, append(slices.Clone(want), "review-file-gone | entry "+decimal(int(entry), 0)+" | major | open"))
}

// A damaged log is reviewed only where that is asked for, and then each line of each
// form says so.
func (d *demoFolder) flipped(t *testing.T) {
	x := d.copyOf(t)
	flipByte(t, x.place().Path, "a byte of the log was changed", "Bench 2")
	_, err := Review(x.shop, x.place(), ReviewAsk{To: x.on.String()})
	var exit *ExitError
	if !errors.As(err, &exit) || exit.Code != ExitLog {
		t.Fatalf("a damaged log was reviewed: %v", err)
	}
	r, err := Review(x.shop, x.place(), ReviewAsk{To: x.on.String(), DespiteDamage: true})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Snapshot.Troubles) == 0 {
		t.Error("the report has no trouble")
	}
	if !slices.ContainsFunc(r.Findings, func(f review.Finding) bool { return f.Check.ID == "review-log-damaged" && f.Open() }) {
		t.Error("no finding says that the log is damaged")
	}
	for name, draw := range map[string]func(*bytes.Buffer) error{
		"page":  func(b *bytes.Buffer) error { return exports.Review(b, r, nil) },
		"table": func(b *bytes.Buffer) error { return exports.ReviewTable(b, r) },
		"JSON":  func(b *bytes.Buffer) error { return exports.ReviewJSON(b, r, nil) },
	} {
		var out bytes.Buffer
		if err := draw(&out); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		mark, lines := "DOES NOT VERIFY", 0
		if name == "JSON" {
			mark = `"log_verifies":false`
		}
		for s := bufio.NewScanner(&out); s.Scan(); lines++ {
			if line := s.Text(); !strings.Contains(line, mark) {
				t.Errorf("%s: a line does not say that the log is damaged: %.120q", name, line)
			}
		}
		if lines < 20 {
			t.Errorf("%s: %d lines", name, lines)
		}
	}
}

// flipByte changes one letter within the bytes of an entry, in the middle of a file.
func flipByte(t *testing.T, path, why, near string) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	half := len(data) / 2
	at := bytes.Index(data[half:], []byte(near))
	if at < 0 {
		t.Fatalf("%s: %q stands nowhere in the second half", why, near)
	}
	data[half+at] ^= 1
	if err := os.WriteFile(path, data, fs.FileMode(0o600)); err != nil {
		t.Fatal(err)
	}
}
