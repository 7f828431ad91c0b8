package app

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"pouchward/logbook"
)

// A desk that reads a log without locks, as its place allows nothing else, says so when
// somebody who may write it does: it would go on showing what stood there before.
func TestDeskOfALogThatMovesOn(t *testing.T) {
	made, err := demoOnce()
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "shop")
	if err := os.CopyFS(dir, os.DirFS(made)); err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC)
	p, err := PlaceLog(filepath.Join(frozenPlace(t, dir), demoLogName), "", func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	d, err := OpenDesk(p, "2026-11-25", "")
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	before, err := d.Log().Size()
	if damaged, _ := d.LogNotices(); damaged != "" {
		t.Errorf("before anybody wrote: %q", damaged)
	}
	if err != nil {
		t.Fatal(err)
	}
	l, err := logbook.Open(filepath.Join(dir, demoLogName), logbook.Options{Now: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	body, err := logbook.ParseBody([]byte(`{"subject":"note","note":"invented"}`))
	if err == nil {
		_, err = l.Append(logbook.Draft{Kind: "record", Body: body})
	}
	if err != nil {
		t.Fatal(err)
	}
	if damaged, _ := d.LogNotices(); damaged != movedOn {
		t.Errorf("while somebody writes: %q", damaged)
	}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	if damaged, _ := d.LogNotices(); damaged != movedOn {
		t.Errorf("after somebody wrote: %q", damaged)
	}
	again, err := OpenDesk(p, "2026-11-25", "")
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	size, err := again.Log().Size()
	if damaged, _ := again.LogNotices(); damaged != "" || err != nil || size != before+1 {
		t.Errorf("opened anew: %q, %d entries, want %d: %v", damaged, size, before+1, err)
	}
}
