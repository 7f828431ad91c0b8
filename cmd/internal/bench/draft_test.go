package bench

import (
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pouchward/cmd/internal/app"
	"pouchward/logbook"
)

// The same form sent twice, also after the server began anew, is recorded once.
func TestSentTwice(t *testing.T) {
	x := newShop(t)
	id := x.form()
	for range 3 {
		w := x.post("/assess", "draft", id, "rev", "0", "do", "record", "sure", "yes", "sign", "wet", "looked", "yes")
		if got := w.Header().Get("Location"); got != "/done/2" {
			t.Errorf("led to %q", got)
		}
		x.open()
	}
	ended := make(chan string)
	id = x.form()
	for range 8 {
		go func() {
			ended <- x.post("/assess", "draft", id, "rev", "0", "do", "record", "sure", "yes", "sign", "wet", "looked", "yes").Header().Get("Location")
		}()
	}
	for range 8 {
		if got := <-ended; got != "/done/3" {
			t.Errorf("led to %q", got)
		}
	}
	if x.size() != 3 {
		t.Errorf("%d entries, want 3", x.size())
	}
}

// A form that was being recorded when the program ended is not recorded a second
// time before somebody was asked.
func TestEndedWhileRecording(t *testing.T) {
	x := newShop(t)
	id := x.form()
	form := []string{"draft", id, "do", "record", "sure", "yes", "sign", "wet", "looked", "yes", "ocv_v", "3.7"}
	want(t, x.post("/assess/live", form...), http.StatusOK)
	d, err := x.s.drafts.get(id)
	if err != nil || d == nil {
		t.Fatal(d, err)
	}
	d.Writing, d.Wrote = x.size(), d.Values
	if err := x.s.drafts.put(d); err != nil {
		t.Fatal(err)
	}
	if _, err := x.s.desk.Recording("Bench 2", "MK").Record(app.Assess(must(x.s.desk.Shop()), givenOf(d.Values))); err != nil {
		t.Fatal(err)
	}
	before := x.size()
	x.open()
	want(t, x.post("/assess", form...), http.StatusUnprocessableEntity, "was being recorded when the program ended", fmt.Sprintf("/done/%d", before))
	if x.size() != before {
		t.Fatal("recorded a second time")
	}
	// Edited since, it asks all the same.
	want(t, x.get("/assess"), http.StatusOK, "It is another cell")
	want(t, x.post("/assess", "draft", id, "rev", "1", "do", "record", "sure", "yes", "sign", "wet", "looked", "yes"), http.StatusUnprocessableEntity, "It is that cell")
	want(t, x.post("/assess", "draft", id, "rev", "2", "again", "yes", "sign", "wet", "looked", "yes"), http.StatusSeeOther)
	want(t, x.post("/assess", "draft", id, "rev", "3", "do", "record", "sure", "yes", "sign", "wet", "looked", "yes"), http.StatusSeeOther)
	if x.size() != before+1 {
		t.Error("another cell could not be recorded")
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// What was typed is there when the page is opened again, by another server too, with
// its age, and is no entry.
func TestDraft(t *testing.T) {
	x := newShop(t)
	id := x.form()
	want(t, x.post("/assess/live", "draft", id, "rev", "0", "ticket", "R-77", "sign", "dented", "ocv_v", "3,780"), http.StatusOK, `data-rev="1"`, `data-for="ocv_v"`)
	x.now = x.now.Add(23 * time.Minute)
	x.open()
	page := x.get("/assess")
	want(t, page, http.StatusOK, "draft of 14:07, 23 min old", `value="R-77"`, `value="3,780"`, `value="dented" checked`, id)
	if x.size() != 1 {
		t.Error("a draft became an entry")
	}
	// A second window with the older form does not write over it.
	w := x.post("/assess/live", "draft", id, "rev", "0", "ticket", "R-9")
	if strings.Contains(w.Body.String(), id) {
		t.Error("the older form kept the number of the newer")
	}
	want(t, x.get("/assess?draft="+id), http.StatusOK, `value="R-77"`, "1 more draft")
	want(t, x.post("/assess", "draft", id, "do", "drop"), http.StatusSeeOther)
	want(t, x.get("/assess?draft="+id), http.StatusOK, "!R-77")
}

// The folder of drafts does not grow for ever, and nothing goes that is of late or among
// the newest: many of today all stay, and so does a single old one.
func TestDraftsAreBounded(t *testing.T) {
	d := draftsOf(filepath.Join(t.TempDir(), "pouchward.db"))
	now := time.Date(2026, 11, 26, 14, 7, 0, 0, time.UTC)
	put := func(n int, bench string, age time.Duration, entry int64) {
		for range n {
			if err := d.put(&draft{ID: newDraftID(), Bench: bench, Changed: now.Add(-age), Values: url.Values{"ticket": {"R"}}, Entry: entry}); err != nil {
				t.Fatal(err)
			}
		}
	}
	count := func() int { return len(must(os.ReadDir(d.dir))) }
	put(3, "Bench 2", keepOpen+time.Hour, 0)
	put(5, "Bench 1", time.Hour, 4)
	put(2, "Bench 1", keepDone+time.Hour, 4)
	if got := d.open("Bench 2", now); len(got) != 3 || count() != 8 {
		t.Fatalf("%d offered, %d files", len(got), count())
	}
	put(2, "Bench 3", keepOpen-time.Hour, 0)
	put(mostDrafts, "Bench 2", time.Hour, 0)
	if got := d.open("Bench 2", now); len(got) != mostDrafts || count() != mostDrafts+7 {
		t.Errorf("%d offered, %d files", len(got), count())
	}
	if got := d.open("Bench 3", now); len(got) != 2 {
		t.Errorf("%d offered at another bench", len(got))
	}
}

// A draft that is not as it was written is left alone and keeps nobody from work.
func TestSpoiltDraft(t *testing.T) {
	x := newShop(t)
	id := x.form()
	x.post("/assess/live", "draft", id, "ticket", "R-77")
	name := x.s.drafts.file(id)
	if err := os.WriteFile(name, []byte(`{"id":"../../etc"`), 0o600); err != nil {
		t.Fatal(err)
	}
	want(t, x.get("/assess"), http.StatusOK, "!R-77")
	want(t, x.get("/assess?draft="+id), http.StatusInternalServerError, "left as it is")
	want(t, x.post("/assess", "draft", id, "looked", "yes"), http.StatusOK, "stands on this page only")
	if data, err := os.ReadFile(name); err != nil || !strings.HasPrefix(string(data), `{"id":"../../etc"`) {
		t.Errorf("%s, %v", data, err)
	}
}

// While another process holds the log nothing is recorded, and all that was typed
// is on the page that says so. Judging goes on.
func TestBusyLog(t *testing.T) {
	x := newShop(t)
	other, err := logbook.Open(x.place.Path, x.place.Options)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	id, held, done := x.form(), make(chan bool), make(chan bool)
	go func() {
		_ = other.Write(func(tx *logbook.Tx) error {
			close(held)
			<-done
			return io.EOF
		})
		done <- true
	}()
	<-held
	form := []string{"draft", id, "rev", "0", "do", "record", "sure", "yes", "sign", "smoking", "ticket", "R-77"}
	w := x.post("/assess", form...)
	want(t, w, http.StatusServiceUnavailable, "another process holds the log", `value="R-77"`, "DANGER")
	want(t, x.post("/assess/live", "draft", x.form(), "sign", "smoking"), http.StatusOK, "DANGER")
	done <- true
	<-done
	form[3] = "1"
	want(t, x.post("/assess", form...), http.StatusSeeOther)
}
