package app

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pouchward/logbook"
)

// One bit of an entry of a shipment, or of a file that an entry names, is turned round.
// The verification names the entry; no export is made of a changed entry, in whatever
// format, nor a review. A changed file takes nothing away from the entries: the export
// names it, and the review has a finding.
func TestTamperedShipments(t *testing.T) {
	shop, p := exportShop(t)
	dir := filepath.Join(t.TempDir(), "shop")
	if err := os.CopyFS(dir, os.DirFS(filepath.Dir(p.Path))); err != nil {
		t.Fatal(err)
	}
	p.Path = filepath.Join(dir, demoLogName)
	var shipments []int64
	var file *logbook.Attachment
	var ofFile int64
	err := ReadLog(p, func(l *logbook.Log) error {
		return eachOf(l, func(e *logbook.Entry) error {
			if e.Kind == "shipment" {
				shipments = append(shipments, e.Number)
			}
			a, ok, err := logbook.AttachmentOf(e)
			if ok && file == nil {
				file, ofFile = &a, e.Number
			}
			return err
		})
	})
	if err != nil || len(shipments) < 10 || file == nil {
		t.Fatalf("%d shipments, file %v, %v", len(shipments), file, err)
	}
	for i := range 8 {
		n := shipments[rand.IntN(len(shipments))]
		mend := flipEntry(t, p.Path, n)
		r, err := VerifyLog(p, Held{}, Progress{})
		if !errors.Is(err, ErrLogFails) || r.FirstBad != n {
			t.Fatalf("entry %d: %v, the first bad one is %+v", n, err, r)
		}
		if i == 0 {
			refusedThroughout(t, shop, p)
		}
		if _, err := Review(shop, p, ReviewAsk{To: "2026-11-25"}); exitOf(err) != ExitLog {
			t.Errorf("entry %d: a review: %v", n, err)
		}
		mend()
	}
	stored := filepath.Join(logbook.FilesDir(p.Path), file.Stored())
	data, err := os.ReadFile(stored)
	if err == nil {
		data[rand.IntN(len(data))] ^= 1 << rand.IntN(8)
		err = errors.Join(os.Chmod(stored, 0o600), os.WriteFile(stored, data, 0o600))
	}
	if err != nil {
		t.Fatal(err)
	}
	if r, err := VerifyLog(p, Held{}, Progress{}); !errors.Is(err, ErrLogFails) || r.FirstBad != ofFile || !r.Problems[0].File {
		t.Errorf("%s: %v, %+v", file.Stored(), err, r)
	}
	done, err := Export(context.Background(), shop, p, &ExportAsk{Format: "pack", Out: filepath.Join(t.TempDir(), "x")})
	if err != nil || done.Damage != "" || !strings.Contains(done.Beside, fmt.Sprintf("Entry %d:", ofFile)) {
		t.Errorf("an export with %s changed: %+v, %v", file.Stored(), done, err)
	}
	report, err := Review(shop, p, ReviewAsk{To: "2026-11-25"})
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for _, f := range report.Findings {
		found = found || slices.Contains(f.Entries, ofFile)
	}
	if !found {
		t.Errorf("no finding of the review names entry %d, whose file was changed", ofFile)
	}
}

// refusedThroughout asks for an export in each format.
func refusedThroughout(t *testing.T, shop *Shop, p LogPlace) {
	t.Helper()
	dir := t.TempDir()
	for _, f := range ExportFormats {
		if _, err := Export(context.Background(), shop, p, &ExportAsk{Format: f.Name, Out: filepath.Join(dir, "x"+f.Ending)}); exitOf(err) != ExitLog {
			t.Errorf("an export as %s: %v", f.Name, err)
		}
	}
	if left := namesIn(t, dir); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func exitOf(err error) int {
	var exit *ExitError
	if errors.As(err, &exit) {
		return exit.Code
	}
	return 0
}

// eachOf calls fn for every entry.
func eachOf(l *logbook.Log, fn func(*logbook.Entry) error) error {
	size, err := l.Size()
	if err != nil {
		return err
	}
	return l.Entries(1, size, fn)
}

// flipEntry turns one bit of an entry round, behind the log's back, and returns what
// mends it.
func flipEntry(t *testing.T, path string, n int64) (mend func()) {
	t.Helper()
	at, bit := -1, byte(1)<<rand.IntN(8)
	flip := func() {
		db, err := sql.Open("sqlite", "file:"+path)
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		db.SetMaxOpenConns(1)
		var data []byte
		var trigger string
		if err := errors.Join(db.QueryRow("SELECT bytes FROM entries WHERE n = ?", n).Scan(&data),
			db.QueryRow("SELECT sql FROM sqlite_schema WHERE name = 'entries_no_update'").Scan(&trigger)); err != nil {
			t.Fatal(err)
		}
		if at < 0 {
			at = rand.IntN(len(data))
		}
		data[at] ^= bit
		_, err = db.Exec("DROP TRIGGER entries_no_update")
		_, err2 := db.Exec("UPDATE entries SET bytes = ? WHERE n = ?", data, n)
		_, err3 := db.Exec(trigger)
		if err := errors.Join(err, err2, err3); err != nil {
			t.Fatal(err)
		}
	}
	flip()
	return flip
}
