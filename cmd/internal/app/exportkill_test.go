package app

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// exportChild makes this binary a child that exports the demo's log again and again:
// FORMAT, FOLDER and LIMIT in it, with spaces between. LIMIT is the size in bytes
// that no file may pass, as on a full disk; 0 is none.
const (
	exportChild    = "POUCHWARD_EXPORT_CHILD"
	exportChildLog = "POUCHWARD_EXPORT_LOG" // another log than the demo's
)

func runExportChild(job string) int {
	f := strings.Fields(job)
	var limit uint64
	fmt.Sscan(f[3], &limit)
	if limit > 0 {
		if err := limitFiles(limit); err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 3
		}
	}
	now := time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC)
	house := filepath.Join(f[2], houseName)
	shop, err := OpenShop("2026-11-25", house, now)
	if err == nil {
		var p LogPlace
		p, err = PlaceLog(cmp.Or(os.Getenv(exportChildLog), filepath.Join(f[2], demoLogName)), house, func() time.Time { return now })
		if err == nil {
			fmt.Println("begin")
			_, err = Export(context.Background(), shop, p, &ExportAsk{Format: f[0], Out: f[1]})
		}
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

func exportingChild(t testing.TB, format, out string, limit uint64) *exec.Cmd {
	t.Helper()
	dir, err := demoOnce()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(os.Args[0], "-test.run=^$")
	cmd.Env = append(os.Environ(), fmt.Sprintf("%s=%s %s %s %d", exportChild, format, out, dir, limit), "TMPDIR="+filepath.Dir(out))
	return cmd
}

// An export that is killed leaves nothing under its name. What it was about to
// become may stay beside it under a hidden one: nobody takes that for an export.
func TestKilledExport(t *testing.T) {
	killed, whole := 0, 0
	for _, f := range ExportFormats {
		for range 3 {
			dir := t.TempDir()
			out := filepath.Join(dir, "out"+f.Ending)
			cmd := exportingChild(t, f.Name, out, 0)
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			time.Sleep(time.Duration(rand.IntN(600)) * time.Millisecond)
			_ = cmd.Process.Kill()
			if err := cmd.Wait(); err == nil {
				whole++
				continue
			}
			killed++
			list, err := os.ReadDir(dir)
			if err != nil {
				t.Fatal(err)
			}
			for _, x := range list {
				if strings.HasPrefix(x.Name(), "out") {
					t.Errorf("%s was left by an export that was killed", x.Name())
				}
			}
		}
	}
	t.Logf("%d exports killed, %d were done before", killed, whole)
	if killed < 3 {
		t.Error("hardly one was killed: the test shows nothing")
	}
}

// No file may pass a size, as on a disk that is full: the export fails as a whole,
// says why, and leaves nothing at all.
func TestExportOnAFullDisk(t *testing.T) {
	if limitFiles(0) != nil {
		t.Skip("this system limits no file")
	}
	for _, f := range ExportFormats {
		dir := t.TempDir()
		cmd := exportingChild(t, f.Name, filepath.Join(dir, "out"+f.Ending), 20_000)
		var errs bytes.Buffer
		cmd.Stderr = &errs
		if err := cmd.Run(); err == nil {
			t.Errorf("%s: it went through", f.Name)
		}
		if text := errs.String(); !strings.Contains(text, "file too large") || !strings.Contains(text, "nothing was written") {
			t.Errorf("%s says %q", f.Name, text)
		}
		if list, _ := os.ReadDir(dir); len(list) > 0 {
			t.Errorf("%s left %v", f.Name, list)
		}
	}
}
