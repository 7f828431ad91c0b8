package app

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"slices"
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

// An export that is killed leaves nothing under its name. What it was about to become
// stays beside it under a hidden name, until the next export into that folder takes it
// away.
func TestKilledExport(t *testing.T) {
	killed, whole, halves := 0, 0, 0
	for killed < killsOf(t, 2*len(ExportFormats)) {
		for i, f := range ExportFormats {
			dir := t.TempDir()
			out := filepath.Join(dir, "out"+f.Ending)
			wait := upTo(600 * time.Millisecond)
			if (killed/len(ExportFormats)+i)%2 == 0 { // while it writes
				wait = func() { waitForTemp(dir) }
			}
			if _, ended := killMidway(t, exportingChild(t, f.Name, out, 0), wait); !ended {
				if whole++; whole > 10*killsOf(t, 30) {
					t.Fatal("none can be killed in time")
				}
				continue
			}
			killed++
			left := namesIn(t, dir)
			if len(left) > 0 {
				halves++
			}
			for _, name := range left {
				switch {
				case name == filepath.Base(out): // the kill came as it had its name
					isWhole(t, f.Name, out)
				case !tempName.MatchString(name) && !strings.HasPrefix(name, "pouchward-book-"): // TMPDIR leads here
					t.Errorf("%s was left by an export that was killed", name)
				}
			}
			if err := WriteWhole(filepath.Join(dir, "next.txt"), func(w io.Writer) error { return nil }); err != nil {
				t.Fatal(err)
			}
			for _, name := range namesIn(t, dir) {
				if tempName.MatchString(name) {
					t.Errorf("the next export left %s of the one before", name)
				}
			}
		}
	}
	_, p := exportShop(t)
	if r, err := VerifyLog(p, Held{}, Progress{}); err != nil {
		t.Errorf("%v: %v", err, r)
	}
	t.Logf("%d exports killed, %d of them with something left, which the next took away; %d were done before", killed, halves, whole)
	if halves == 0 {
		t.Error("none was killed while it wrote: the test shows nothing")
	}
}

// isWhole holds an export against one that nobody killed: the same log and day give the
// same bytes.
func isWhole(t *testing.T, format, out string) {
	t.Helper()
	whole := filepath.Join(t.TempDir(), filepath.Base(out))
	cmd := exportingChild(t, format, whole, 0)
	if text, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	if !reflect.DeepEqual(bytesOf(t, out), bytesOf(t, whole)) {
		t.Errorf("%s of an export that was killed is not whole", out)
	}
}

// bytesOf are the files of an export by name.
func bytesOf(t *testing.T, out string) map[string]string {
	t.Helper()
	m := map[string]string{}
	err := filepath.WalkDir(out, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		name, err2 := filepath.Rel(out, path)
		m[name] = string(data)
		return errors.Join(err, err2)
	})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// waitForTemp waits until something is being written in a folder, and a moment longer.
func waitForTemp(dir string) {
	for range 60_000 {
		list, _ := os.ReadDir(dir)
		if slices.ContainsFunc(list, func(d os.DirEntry) bool { return tempName.MatchString(d.Name()) }) {
			break
		}
		time.Sleep(time.Millisecond)
	}
	upTo(20 * time.Millisecond)()
}

func namesIn(t testing.TB, dir string) (names []string) {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range list {
		names = append(names, x.Name())
	}
	return names
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
		if text := errs.String(); !strings.Contains(text, "file too large") || !strings.Contains(text, "nothing was written") || strings.Count(text, "make room") != 1 {
			t.Errorf("%s says %q", f.Name, text)
		}
		if list, _ := os.ReadDir(dir); len(list) > 0 {
			t.Errorf("%s left %v", f.Name, list)
		}
	}
}
