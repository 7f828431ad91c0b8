package bench

import (
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// mounted mounts a file system at a folder until the test ends.
func mounted(t *testing.T, source, dir, kind string, flags uintptr, data string) {
	t.Helper()
	if err := syscall.Mount(source, dir, kind, flags, data); err != nil {
		t.Skipf("nothing can be mounted here (it takes root): %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Error(err)
		}
	})
}

// On a log that can only be read every screen answers and says so; a cell is judged all the
// same, and whatever would be recorded is refused.
func TestReadOnlyLog(t *testing.T) {
	x := newDemo(t)
	x.s.desk.Close()
	dir := filepath.Dir(x.place.Path)
	mounted(t, dir, dir, "", syscall.MS_BIND, "")
	if err := syscall.Mount("", dir, "", syscall.MS_BIND|syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Fatal(err)
	}
	x.open()
	t.Cleanup(func() { x.s.desk.Close() }) // before the mount goes
	x.s.desk.Verify()
	before := x.size()
	const says = "This log can be read here and not written: nothing can be recorded"
	for _, s := range screens() {
		want(t, x.get(s.Path), http.StatusOK, says, `!role="alert"`, "<h1>")
	}
	form := []string{"draft", x.form(), "sign", "smoking"}
	want(t, x.post("/assess/live", form...), http.StatusOK, "DANGER", "stands on this page only")
	want(t, x.post("/assess", append(form, "do", "record", "sure", "yes")...), http.StatusForbidden, says, "DANGER", "nothing was recorded; it can be read", "checked")
	tag := x.entry(2).Tags[0]
	for _, path := range []string{"/pack/begin", "/review/sign", "/cell/" + tag + "/move", "/done/2", "/retract/2", "/attach"} {
		want(t, x.post(path, "form", newForm(), "who", "MK", "to", "Y1"), http.StatusForbidden, says, "nothing was recorded")
	}
	want(t, x.post("/who", "who", "JR", "back", "/due"), http.StatusSeeOther)
	if x.size() != before {
		t.Error("something was recorded")
	}
}

// Where no draft fits on the disk the page says that what was typed stands on it alone and
// what to do; recording goes on, on the disk of the log, and no half draft is left.
func TestDraftsOnAFullDisk(t *testing.T) {
	x := newShop(t)
	dir := x.s.drafts.dir
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	mounted(t, "tmpfs", dir, "tmpfs", 0, "size=8k")
	filler := filepath.Join(dir, "filler")
	if err := os.WriteFile(filler, make([]byte, 64<<10), 0o600); err == nil {
		t.Fatal("the disk is not full")
	}
	form := []string{"draft", x.form(), "sign", "swollen", "looked", "yes", "ticket", "R-77"}
	want(t, x.post("/assess/live", form...), http.StatusOK, "stands on this page only", "no space left on device; make room there", "WARNING")
	want(t, x.post("/assess", form...), http.StatusOK, `value="R-77"`)
	w := x.post("/assess", append(form, "do", "record", "sure", "yes")...)
	want(t, w, http.StatusSeeOther)
	if x.size() != 2 || !strings.HasPrefix(w.Header().Get("Location"), "/done/2") {
		t.Errorf("%d entries, led to %q", x.size(), w.Header().Get("Location"))
	}
	want(t, x.get("/done/2"), http.StatusOK, "its draft could not be put away")
	if list, err := os.ReadDir(dir); err != nil || len(list) != 1 {
		t.Errorf("left behind: %v, %v", list, err)
	}
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	want(t, x.post("/assess/live", "draft", x.form(), "ticket", "R-78"), http.StatusOK, "!stands on this page only")
}
