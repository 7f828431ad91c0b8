package logbook

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// A log that somebody holds for himself, as one does who checks it after it was not
// closed, is not read past his lock.
func TestNoReadingPastALock(t *testing.T) {
	l, _ := newLog(t)
	fill(t, l, 3)
	path := filepath.Join(t.TempDir(), "left.db") // as a machine that lost its power leaves it
	for _, end := range []string{"", "-wal"} {
		if err := os.WriteFile(path+end, readFile(t, l.Path()+end), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	db, err := openDB(path, alone, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	conn, err := db.Conn(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	var n int64
	if err := conn.QueryRowContext(context.Background(), "SELECT count(*) FROM sqlite_schema").Scan(&n); err != nil {
		t.Fatal(err)
	}
	opt := testOptions()
	opt.Busy = 20 * time.Millisecond
	if r, err := OpenReader(path, opt); !IsBusy(err) {
		t.Errorf("read: %v", err)
		if err == nil {
			r.Close()
		}
	}
	if r, err := Verify(path, VerifyOptions{Busy: opt.Busy}); !IsBusy(err) {
		t.Errorf("verified: %+v, %v", r, err)
	}
}
