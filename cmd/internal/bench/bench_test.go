package bench

import (
	"fmt"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"pouchward/cmd/internal/app"
	"pouchward/logbook"
	"pouchward/triage"
)

// testPort is the port that the tests' requests name.
const testPort = 8417

// A shop is an invented shop with a server over an empty log.
type shop struct {
	testing.TB
	s     *Server
	h     http.Handler
	place app.LogPlace
	now   time.Time
	house string
}

// newShop makes a shop whose clock stands, as the clock of a script does.
func newShop(t testing.TB) *shop {
	t.Helper()
	x := &shop{TB: t, now: time.Date(2026, 11, 26, 14, 7, 0, 0, time.FixedZone("", -6*3600))}
	x.place = app.LogPlace{Path: filepath.Join(t.TempDir(), "pouchward.db"),
		Options: logbook.Options{Now: func() time.Time { return x.now }, Busy: 200 * time.Millisecond}}
	if _, err := app.InitLog(x.place, "Back room (invented)"); err != nil {
		t.Fatal(err)
	}
	x.open()
	return x
}

// open starts a server over what is on disk, as after a crash.
func (x *shop) open() {
	x.Helper()
	desk, err := app.OpenDesk(x.place, "", x.house)
	if err != nil {
		x.Fatal(err)
	}
	x.Cleanup(func() { desk.Close() })
	if x.s, err = New(Config{Desk: desk, House: x.house, Bench: "Bench 2", Who: "MK"}); err != nil {
		x.Fatal(err)
	}
	x.h = x.s.Handler(testPort)
}

// do sends a request as a browser on our own page does.
func (x *shop) do(method, path, body string, change ...func(*http.Request)) *httptest.ResponseRecorder {
	x.Helper()
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	r.Host = fmt.Sprintf("127.0.0.1:%d", testPort)
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
	}
	for _, f := range change {
		f(r)
	}
	w := httptest.NewRecorder()
	x.h.ServeHTTP(w, r)
	x.noFlags(w)
	return w
}

func (x *shop) get(path string) *httptest.ResponseRecorder { return x.do("GET", path, "") }

func (x *shop) post(path string, pairs ...string) *httptest.ResponseRecorder {
	x.Helper()
	v := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	return x.do("POST", path, v.Encode())
}

// form opens an empty form and returns its number.
func (x *shop) form() string {
	x.Helper()
	m := regexp.MustCompile(`name="draft" value="([0-9a-f]{32})"`).FindStringSubmatch(x.get("/assess?new=1").Body.String())
	if m == nil {
		x.Fatal("the page has no form number")
	}
	return m[1]
}

func (x *shop) size() int64 {
	x.Helper()
	n, err := x.s.desk.Log().Size()
	if err != nil {
		x.Fatal(err)
	}
	return n
}

func (x *shop) entry(n int64) *logbook.Entry {
	x.Helper()
	e, err := x.s.desk.Log().Entry(n)
	if err != nil {
		x.Fatal(err)
	}
	return e
}

// want checks a status and what the body must hold; a text that begins with "!"
// must not be in it.
func want(t testing.TB, w *httptest.ResponseRecorder, status int, texts ...string) {
	t.Helper()
	if w.Code != status {
		t.Errorf("status %d, want %d: %.400s", w.Code, status, w.Body)
	}
	for _, text := range texts {
		no := strings.HasPrefix(text, "!")
		if text = strings.TrimPrefix(text, "!"); strings.Contains(w.Body.String(), text) == no {
			t.Errorf("the answer holds %q: %v", text, !no)
		}
	}
}

// Intake: the form becomes one entry with the same readings as the command would
// write, and the page after it shows the tag for the tape.
func TestRecord(t *testing.T) {
	x := newShop(t)
	w := x.post("/assess", "draft", x.form(), "do", "record", "sure", "yes", "sign", "swollen", "looked", "yes", "ocv_v", "3780mV", "recalled", "")
	want(t, w, http.StatusSeeOther)
	if got := w.Header().Get("Location"); got != "/done/2" {
		t.Fatalf("led to %q", got)
	}
	e := x.entry(2)
	if e.Kind != "assessment" || e.Bench != "Bench 2" || e.Who != "MK" || !e.Issued() {
		t.Errorf("%+v", e.Draft)
	}
	if body := string(e.Body.Raw()); !strings.Contains(body, `"readings":{"ocv_v":{"typed":"3780mV","value":"3.78"},"signs":"swollen"}`) {
		t.Errorf("body %s", body)
	}
	want(t, x.get("/done/2"), http.StatusOK, triage.SpacedTag(e.Tags[0]), "WARNING", "Look at 15:07", "/label/"+e.Tags[0], "Terminals insulated")
	want(t, x.get("/label/"+e.Tags[0]), http.StatusOK, "%PDF-")
	// The look is owed from the one before, whenever somebody reads this.
	x.now = x.now.Add(59 * time.Minute)
	want(t, x.get("/done/2"), http.StatusOK, "Look at 15:07")
	x.now = x.now.Add(time.Minute)
	want(t, x.get("/done/2"), http.StatusOK, "Look now")
}

// A sign that was marked says nothing of those that were not.
func TestSignIsNoAllClear(t *testing.T) {
	for _, c := range []struct {
		form string
		want string
	}{
		{"sign=dented", "dented=yes"},
		{"sign=dented&looked=yes", "signs=dented"},
		{"looked=yes", "signs=none"},
		{"looked=us", "signs=us"},
		{"looked=?&sign=wet", "signs=? wet=yes"},
		{"looked=yes&wet=us", "signs=none wet=us"},
		{"looked=", ""},
		{"sign=made+up", "signs=made up"},
		{"ocv_v=3.7&ocv_v=us", "ocv_v=3.7 ocv_v=us"},
		{"who=XX&do=record&set=wet%3Dno", ""},
	} {
		v, err := url.ParseQuery(strings.ReplaceAll(c.form, "?", "%3F"))
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, g := range givenOf(v) {
			got = append(got, triage.Fields[g.Field].Name+"="+g.Text)
		}
		if text := strings.Join(got, " "); text != c.want {
			t.Errorf("%s gives %q, want %q", c.form, text, c.want)
		}
	}
}

// Every field of a reading can be typed, but for those that the page fills itself.
func TestEveryFieldIsOnTheForm(t *testing.T) {
	page := newShop(t).get("/assess").Body.String()
	for i := range triage.Fields {
		name := triage.Fields[i].Name
		if f := triage.FieldID(i); f == triage.Signs || f == triage.Who {
			continue
		}
		if !strings.Contains(page, `name="`+name+`"`) {
			t.Errorf("no control for %s", name)
		}
	}
}

// A refused field keeps the others, says why beside itself, and is recorded only
// when somebody says so.
func TestRefusedField(t *testing.T) {
	x := newShop(t)
	id := x.form()
	w := x.post("/assess", "draft", id, "rev", "0", "do", "record", "sure", "yes", "looked", "yes", "ocv_v", "3,780", "rated_mah", "5200")
	want(t, w, http.StatusUnprocessableEntity, "Not recorded yet", `value="5200"`, `value="3,780"`, `id="e-ocv_v"`)
	anyway := regexp.MustCompile(`name="anyway" value="([^"]+)"`).FindStringSubmatch(w.Body.String())
	if anyway == nil {
		t.Fatal("the page does not offer to record it so")
	}
	fault := regexp.MustCompile(`id="e-ocv_v">([^<]+)<`).FindStringSubmatch(w.Body.String())
	if fault == nil || !strings.Contains(fault[1], "3,780") {
		t.Errorf("beside the voltage stands %q", fault)
	}
	if x.size() != 1 {
		t.Fatal("it was recorded all the same")
	}
	// What is refused later was not agreed to.
	said := html.UnescapeString(anyway[1])
	w = x.post("/assess", "draft", id, "rev", "1", "do", "record", "sure", "yes", "anyway", said, "looked", "yes", "ocv_v", "3,780", "rated_mah", "much")
	want(t, w, http.StatusUnprocessableEntity, "Not recorded yet")
	w = x.post("/assess", "draft", id, "rev", "2", "do", "record", "sure", "yes", "anyway", said, "looked", "yes", "ocv_v", "3,780", "rated_mah", "5200")
	want(t, w, http.StatusSeeOther)
	if body := string(x.entry(2).Body.Raw()); !strings.Contains(body, `"refused":true`) {
		t.Errorf("body %s", body)
	}
}

// Enter sends the form without RECORD; a scan on RECORD without script stops at the
// box.
func TestNothingIsRecordedByAccident(t *testing.T) {
	x := newShop(t)
	want(t, x.post("/assess", "draft", x.form(), "looked", "yes"), http.StatusSeeOther)
	want(t, x.post("/assess", "draft", x.form(), "looked", "yes", "do", "judge"), http.StatusSeeOther)
	want(t, x.post("/assess", "draft", x.form(), "looked", "yes", "do", "record"), http.StatusUnprocessableEntity, "tick the box")
	want(t, x.post("/assess", "draft", x.form(), "do", "record", "sure", "yes"), http.StatusUnprocessableEntity, "Nothing was read yet")
	want(t, x.post("/assess", "draft", x.form(), "do", "record", "sure", "yes", "looked", "yes", "tag", "F2XE9C"), http.StatusUnprocessableEntity, "the tag does not hold")
	want(t, x.get("/assess?do=record&sure=yes&looked=yes"), http.StatusOK)
	if x.size() != 1 {
		t.Errorf("%d entries", x.size())
	}
}

// Same label as last fills what is blank, with label facts alone.
func TestSameLabel(t *testing.T) {
	x := newShop(t)
	x.post("/assess", "draft", x.form(), "do", "record", "sure", "yes", "looked", "yes", "ocv_v", "3.71", "cell_c", "22", "part", "BP-3850-A",
		"rated_mah", "5200", "nominal_v", "3.85", "recalled", "no", "purpose", "recycle", "made_on", "2024-01-02")
	w := x.post("/assess", "draft", x.form(), "rev", "0", "do", "label", "nominal_v", "3.8")
	at, _, _ := strings.Cut(w.Header().Get("Location"), "#")
	page := x.get(at).Body.String()
	for name, want := range map[string]string{"part": "BP-3850-A", "rated_mah": "5200", "nominal_v": "3.8", "ocv_v": "", "cell_c": "", "made_on": ""} {
		if !strings.Contains(page, fmt.Sprintf(`name="%s" value="%s"`, name, want)) {
			t.Errorf("%s is not %q", name, want)
		}
	}
	if regexp.MustCompile(`name="(recalled|purpose)" value="[a-z]+" checked`).MatchString(page) {
		t.Error("a recall that was looked up, or the purpose, was taken over")
	}
}

// Scans are mended where there is one way to, and said so.
func TestScan(t *testing.T) {
	x := newShop(t)
	for _, c := range []struct{ text, want string }{
		{"f2xe9r", "!data-says"},
		{"F2 XE?R", "Restored to F2 XE9R"},
		{"féxeçr", "Read as F2 XE9R"},
		{"F2XE9C", "does not hold"},
		{"JEHF", "tag of a container"},
		{"<script>alert(1)</script>", "&lt;script&gt;"},
	} {
		w := x.post("/assess/live", "draft", x.form(), "tag", c.text)
		want(t, w, http.StatusOK, c.want, "!<script>")
	}
}

// What is said after an entry: the three steps, the place, taken back.
func TestAfterwards(t *testing.T) {
	x := newShop(t)
	x.post("/assess", "draft", x.form(), "do", "record", "sure", "yes", "sign", "swollen", "looked", "yes")
	want(t, x.send("/done/2", "/done/2"), http.StatusUnprocessableEntity, "nothing was ticked")
	want(t, x.send("/done/2", "/done/2", "terminals", "yes", "to", "Y1"), http.StatusSeeOther)
	if a, b := x.entry(3), x.entry(4); a.Kind != "secured" || b.Kind != "move" || b.Who != "MK" {
		t.Errorf("%s, %s", a.Kind, b.Kind)
	}
	want(t, x.get("/done/2"), http.StatusOK, "Still owed", "It stands at Y1", `name="terminals" value="yes" checked`)
	want(t, x.get("/done/2"), http.StatusOK, "!Still owed: ")
	// A place that is refused takes the ticks away neither from the log nor from what is said.
	want(t, x.send("/done/2", "/done/2", "bag", "yes", "to", "JEHF"), http.StatusUnprocessableEntity, "entry 5 has what was ticked; the place is not recorded", "not on record", `name="bag" value="yes" checked`)
	want(t, x.send("/done/2", "/done/2", "bag", "yes", "to", "JEHF"), http.StatusUnprocessableEntity, "!has what was ticked")
	if e := x.entry(5); x.size() != 5 || e.Kind != "secured" {
		t.Errorf("%d entries, the last a %s", x.size(), e.Kind)
	}
	// Enter, as of a scan, presses none of the buttons.
	want(t, x.send("/done/2", "/retract/2", "do", "", "reason", "mistyped", "note", "F2XE9R"), http.StatusUnprocessableEntity, "press one of the buttons", `value="F2XE9R"`)
	want(t, x.send("/done/2", "/done/2", "do", "", "fill", "yes"), http.StatusUnprocessableEntity, "press one of the buttons", `name="fill" value="yes" checked`)
	want(t, x.send("/done/2", "/done/2", "do", "fill", "to", "JEHF", "because", "F2XE9R"), http.StatusUnprocessableEntity, "press one of the buttons", "all the same, because", `value="F2XE9R"`)
	page := "/cell/" + x.entry(2).Tags[0]
	want(t, x.send(page, page+"/move", "do", "fill", "to", "Y1", "because", "F2XE9R"), http.StatusUnprocessableEntity, "press one of the buttons", "all the same, because", `value="F2XE9R"`)
	if x.size() != 5 {
		t.Fatalf("%d entries: Enter recorded", x.size())
	}
	want(t, x.send("/done/2", "/retract/2", "reason", ""), http.StatusUnprocessableEntity, "choose why")
	want(t, x.send("/done/2", "/retract/2", "reason", "made up"), http.StatusUnprocessableEntity)
	want(t, x.send("/done/2", "/retract/2", "reason", "wrong-cell"), http.StatusSeeOther)
	want(t, x.get("/done/2"), http.StatusOK, "taken back by entry 6")
	want(t, x.get("/done/1"), http.StatusNotFound)
	want(t, x.get("/done/99"), http.StatusNotFound)
}

// What reacts is neither made safe nor moved from the page.
func TestEmergencyAfterwards(t *testing.T) {
	x := newShop(t)
	x.post("/assess", "draft", x.form(), "do", "record", "sure", "yes", "sign", "smoking")
	want(t, x.get("/done/2"), http.StatusOK, "DANGER", "Nobody touches it", `!name="terminals"`)
	want(t, x.send("/done/2", "/done/2", "to", "Y1"), http.StatusUnprocessableEntity, "nobody carries it")
}

// The person of the top bar is remembered, and stands in the entry.
func TestWho(t *testing.T) {
	x := newShop(t)
	w := x.post("/who", "who", "JR", "back", "/assess?new=1")
	if got := w.Header().Get("Location"); w.Code != http.StatusSeeOther || got != "/assess?new=1" {
		t.Fatalf("%d %s", w.Code, got)
	}
	c := w.Result().Cookies()
	if len(c) != 1 || !c[0].HttpOnly || c[0].SameSite != http.SameSiteStrictMode {
		t.Fatalf("%+v", c)
	}
	x.do("POST", "/assess", "do=record&sure=yes&sign=wet&draft="+x.form(), func(r *http.Request) { r.AddCookie(c[0]) })
	if e := x.entry(2); e.Who != "JR" {
		t.Errorf("who is %q", e.Who)
	}
	want(t, x.get("/assess"), http.StatusOK, `<button name="who" value="JR">`)
	for _, back := range []string{"//elsewhere.invalid/", "https://elsewhere.invalid/", `/\elsewhere.invalid`, "javascript:alert(1)", ""} {
		if got := x.post("/who", "who", "JR", "back", back).Header().Get("Location"); got != "/" {
			t.Errorf("back %q leads to %q", back, got)
		}
	}
}

// What part memory has is taken over by a button, and the entry says so; what is typed
// since is the cell's own.
func TestPartMemory(t *testing.T) {
	x := newShop(t)
	label := []string{"part", "BP-3850-A", "chemistry", "li-ion", "series", "1", "parallel", "1", "nominal_v", "3.85", "rated_mah", "5200"}
	x.post("/assess", append(label, "draft", x.form(), "do", "record", "sure", "yes", "looked", "yes")...)
	id := x.form()
	want(t, x.post("/assess/live", "draft", id, "part", "BP-3850-A", "looked", "yes"), http.StatusOK, "Take these over")
	w := x.post("/assess", "draft", id, "rev", "1", "do", "part", "part", "BP-3850-A", "looked", "yes", "nominal_v", "")
	at, _, _ := strings.Cut(w.Header().Get("Location"), "#")
	page := x.get(at)
	want(t, page, http.StatusOK, `name="rated_mah" value="5200"`, `name="frompart" value="rated_mah"`, "from part memory")
	want(t, x.post("/assess", append(label, "draft", id, "rev", "2", "do", "record", "sure", "yes", "looked", "yes", "frompart", "rated_mah", "frompart", "nominal_v",
		"frompart", "ocv_v")...), http.StatusSeeOther)
	if body := string(x.entry(3).Body.Raw()); !strings.Contains(body, `"from_part":["nominal_v","rated_mah"]`) {
		t.Errorf("body %s", body)
	}
	label[len(label)-1] = "5100" // read off this cell's own label
	x.post("/assess", append(label, "draft", x.form(), "do", "record", "sure", "yes", "looked", "yes", "frompart", "rated_mah")...)
	if body := string(x.entry(4).Body.Raw()); strings.Contains(body, "from_part") {
		t.Errorf("body %s", body)
	}
}
