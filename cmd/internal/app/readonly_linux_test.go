package app

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// frozenPlace shows a folder as a medium for reading only: a mount, as chmod is nothing
// to root.
func frozenPlace(t *testing.T, dir string) string {
	t.Helper()
	to := t.TempDir()
	if err := syscall.Mount(dir, to, "", syscall.MS_BIND, ""); err != nil {
		t.Skipf("nothing can be mounted here (it takes root): %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(to, 0); err != nil {
			t.Error(err)
		}
	})
	if err := syscall.Mount("", to, "", syscall.MS_BIND|syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(to, "x"), nil, 0o600); err == nil {
		t.Fatal("it can be written")
	}
	return to
}

// A log on a read-only medium is verified, exported in every format, reviewed, charted and
// copied: closed as it should be, without the -wal and -shm of one that is open, and with
// a -wal that nobody closed, alone or with its -shm. Nothing is written, and each refusal
// says what can be done.
func TestReadOnlyMedium(t *testing.T) {
	made, err := demoOnce()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name   string
		extra  int64 // entries that stand in the -wal alone
		remove []string
	}{
		{"closed", 0, nil},
		{"left open", 1, nil},
		{"left open, without -shm", 1, []string{"-shm"}},
		{"left open, without -wal and -shm", 0, []string{"-wal", "-shm"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "shop")
			if err := os.CopyFS(dir, os.DirFS(made)); err != nil {
				t.Fatal(err)
			}
			if c.name != "closed" {
				dir = leftOpen(t, dir)
			}
			for _, ending := range c.remove {
				if err := os.Remove(filepath.Join(dir, demoLogName+ending)); err != nil {
					t.Fatal(err)
				}
			}
			formats := []string{"csv"}
			if c.name == "closed" {
				formats = nil // all
			}
			useReadOnly(t, frozenPlace(t, dir), c.extra, formats)
		})
	}
}

// leftOpen copies the folder of a log while a process has it open, as a machine that lost
// its power leaves it.
func leftOpen(t *testing.T, dir string) string {
	t.Helper()
	l, err := logbook.Open(filepath.Join(dir, demoLogName), logbook.Options{Now: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	body, err := logbook.ParseBody([]byte(`{"subject":"note","note":"invented"}`))
	if err == nil {
		_, err = l.Append(logbook.Draft{Kind: "record", Body: body})
	}
	away := filepath.Join(t.TempDir(), "left")
	if err := errors.Join(err, os.CopyFS(away, os.DirFS(dir))); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(filepath.Join(away, demoLogName+"-wal")); err != nil || info.Size() == 0 {
		t.Fatalf("no -wal: %v", err)
	}
	return away
}

func useReadOnly(t *testing.T, dir string, extra int64, formats []string) {
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
	_, closed := exportShop(t)
	whole, err := VerifyLog(closed, Held{}, Progress{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := VerifyLog(p, Held{Checkpoints: []string{filepath.Join(dir, demoCheckName)}}, Progress{})
	if err != nil || r.Tree.Size != whole.Tree.Size+extra || r.Files == 0 || len(r.Matched) != 1 {
		t.Fatalf("%+v, %v; want %d entries", r, err, whole.Tree.Size+extra)
	}
	out := t.TempDir()
	for _, f := range ExportFormats {
		if len(formats) > 0 && !slices.Contains(formats, f.Name) {
			continue
		}
		done, err := Export(context.Background(), shop, p, &ExportAsk{Format: f.Name, Out: filepath.Join(out, "x"+f.Ending), WithFiles: f.Name == "pack"})
		if err != nil || done.Entries != r.Tree.Size {
			t.Errorf("%s: %+v, %v", f.Name, done, err)
		}
	}
	if _, err := Review(shop, p, ReviewAsk{To: "2026-11-25"}); err != nil {
		t.Error(err)
	}
	if _, err := Charted(shop, p, ReviewAsk{To: "2026-11-25"}); err != nil {
		t.Error(err)
	}
	copied := p
	copied.Path = filepath.Join(out, "copy.db")
	if _, err := BackupLog(p, copied.Path); err != nil {
		t.Error(err)
	}
	if r, err := VerifyLog(copied, Held{}, Progress{}); err != nil || r.Tree.Size != whole.Tree.Size+extra {
		t.Errorf("the copy: %+v, %v", r, err)
	}
	const says = "nothing was recorded; it can be read, verified and exported"
	rec, err := OpenRecording(p, "bench") // with -shm beside it a log opens, and refuses the entry
	if err == nil {
		a, err2 := rec.Judge(shop, typed(t, "signs=smoking"))
		if err2 == nil {
			_, err = rec.Record(a)
		}
		err2 = errors.Join(err2, rec.Close())
		if err2 != nil {
			t.Error(err2)
		}
	}
	if err == nil || strings.Count(err.Error(), says) != 1 || strings.Count(err.Error(), "database") != 1 || !logbook.IsReadOnly(err) {
		t.Errorf("a recording: %v", err)
	}
	if _, err := Export(context.Background(), shop, p, &ExportAsk{Format: "ics", Out: filepath.Join(dir, "x.ics")}); err == nil || !strings.Contains(err.Error(), "read-only file system") {
		t.Errorf("an export onto it: %v", err)
	}
	readOnlyDesk(t, p, house)
}

// A desk on it is for reading, and says so.
func readOnlyDesk(t *testing.T, p LogPlace, house string) {
	d, err := OpenDesk(p, "2026-11-25", house)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	if _, notice := d.LogNotices(); d.ReadOnly() == nil || !strings.Contains(notice, "nothing can be recorded") {
		t.Errorf("%v, %q", d.ReadOnly(), notice)
	}
	shop, err := d.Shop()
	if err != nil {
		t.Fatal(err)
	}
	rec := d.Recording("bench", "MK")
	a, err := rec.Judge(shop, typed(t, "signs=smoking"))
	if err != nil || a.Verdict.Handling != triage.Emergency {
		t.Fatalf("%+v, %v", a, err)
	}
	if _, err := rec.Record(a); !logbook.IsReadOnly(err) {
		t.Errorf("recorded: %v", err)
	}
}
