package bench

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"pouchward/cmd/internal/app"
	"pouchward/logbook"
	"pouchward/triage"
)

// The invented shop is made once for all tests, and copied for each.
var demoMade = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "pouchward-bench-test-*")
	if err != nil {
		return "", err
	}
	_, err = app.Demo(filepath.Join(dir, "shop"), demoDay)
	return dir, err
})

var demoDay = func() triage.Date {
	d, err := triage.ParseDate("2026-11-26")
	if err != nil {
		panic(err)
	}
	return d
}()

func TestMain(m *testing.M) {
	if path := os.Getenv(pageChild); path != "" {
		os.Exit(servePage(path))
	}
	code := m.Run()
	if dir, err := demoMade(); err == nil {
		os.RemoveAll(dir)
	}
	os.Exit(code)
}

// newDemo opens a server on a copy of the invented shop.
func newDemo(t testing.TB) *shop {
	t.Helper()
	made, err := demoMade()
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "shop")
	if err := os.CopyFS(dir, os.DirFS(filepath.Join(made, "shop"))); err != nil {
		t.Fatal(err)
	}
	x := &shop{TB: t, now: time.Date(2026, 11, 26, 14, 7, 0, 0, time.FixedZone("", -6*3600)), house: filepath.Join(dir, "house.toml")}
	x.place = app.LogPlace{Path: filepath.Join(dir, "pouchward.db"), Options: logbook.Options{Now: func() time.Time { return x.now }, Busy: 200 * time.Millisecond}}
	x.open()
	return x
}

var formField = regexp.MustCompile(`name="form" value="([0-9a-f]{32})"`)

// number opens a page and returns the number of its forms.
func (x *shop) number(path string) string {
	x.Helper()
	m := formField.FindStringSubmatch(x.get(path).Body.String())
	if m == nil {
		x.Fatalf("%s has no form number", path)
	}
	return m[1]
}

// send posts a form of a page with its number.
func (x *shop) send(page, path string, pairs ...string) *httptest.ResponseRecorder {
	x.Helper()
	return x.post(path, append([]string{"form", x.number(page)}, pairs...)...)
}

// record assesses a new cell and returns its tag.
func (x *shop) record(words ...string) string {
	x.Helper()
	given := x.given(words...)
	s, err := x.s.desk.Shop()
	if err != nil {
		x.Fatal(err)
	}
	rec := x.s.desk.Recording("Bench 2", "MK")
	a, err := rec.Judge(s, given)
	if err != nil {
		x.Fatal(err)
	}
	r, err := rec.Record(a)
	if err != nil {
		x.Fatal(err)
	}
	return x.entry(r.Number).Tags[0]
}

// given reads field=value words.
func (x *shop) given(words ...string) (given []app.Given) {
	x.Helper()
	for _, w := range words {
		name, text, _ := strings.Cut(w, "=")
		f, ok := triage.FieldByName(name)
		if !ok {
			x.Fatal(name)
		}
		given = append(given, app.Given{Field: f, Text: text})
	}
	return given
}

func (x *shop) swollen() string {
	return x.record("signs=swollen", "ocv_v=3.7", "cell_c=22", "ambient_c=22", "recalled=no")
}

// Every screen of the top bar answers, with a heading, and needs no script.
func TestScreens(t *testing.T) {
	x := newDemo(t)
	for _, s := range screens() {
		w := x.get(s.Path)
		want(t, w, http.StatusOK, "<h1>", `href="`+s.Path+`" aria-current="page"`, "EMERGENCY", "!{{", "!ZgotmplZ")
		if n := w.Body.Len(); n > 300<<10 {
			t.Errorf("%s has %d bytes", s.Path, n)
		}
	}
	want(t, x.get("/print/emergency"), http.StatusOK, "printcard")
	for _, path := range []string{"/due?days=x", "/due?days=-1", "/due?days=400", "/stock?by=owner", "/stock?by=place&at=nowhere", "/rules?route=moon"} {
		want(t, x.get(path), http.StatusUnprocessableEntity, "Not done")
	}
	for _, path := range []string{"/rules/no-such-rule", "/cell/F2XE9R", "/cell/..%2f..%2fetc", "/pack/JEHF", "/pack/..%2f", "/chart/F2XE9R", "/nothing"} {
		if w := x.get(path); w.Code != http.StatusNotFound && w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
}

// What is due links to the screen that sees to it, and says the command.
func TestDue(t *testing.T) {
	x := newDemo(t)
	page := x.get("/due").Body.String()
	for _, text := range []string{"OVERDUE", "NOW", "SOON", "pouchward recheck", "#recheck", "Look again"} {
		if !strings.Contains(page, text) {
			t.Errorf("no %q", text)
		}
	}
	links := regexp.MustCompile(`class="button" href="(/[^"]+)"`).FindAllStringSubmatch(page, -1)
	if len(links) < 5 {
		t.Fatalf("%d links", len(links))
	}
	for _, l := range links {
		path, _, _ := strings.Cut(strings.ReplaceAll(l[1], "&amp;", "&"), "#")
		if w := x.get(path); w.Code != http.StatusOK {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
	all := x.get("/due?all=1&days=60").Body.String()
	if strings.Count(all, "<li>") <= strings.Count(page, "<li>") {
		t.Error("all of sixty days are no more than the first of fourteen")
	}
}

// The stock is added up each way, keeps to a place or a container, and its figures are
// those of the command.
func TestStock(t *testing.T) {
	x := newDemo(t)
	s, err := x.s.desk.Shop()
	if err != nil {
		t.Fatal(err)
	}
	for _, by := range []string{"", "place", "container", "class", "cell"} {
		r, err := app.ScreenedStock(s, x.s.desk.Log(), demoDay, by, "")
		if err != nil {
			t.Fatal(err)
		}
		w := x.get("/stock?by=" + by)
		want(t, w, http.StatusOK, r.Headline(), "HAZARD if", "so many more without")
		if n := strings.Count(w.Body.String(), "<tr") - 1; n != len(r.Rows) {
			t.Errorf("by %q: %d rows, want %d", by, n, len(r.Rows))
		}
		if by != "container" {
			continue
		}
		for i := range r.Rows {
			if tag := r.Rows[i].Container; tag != "" {
				want(t, x.get("/stock?by=cell&at="+tag), http.StatusOK, triage.SpacedTag(tag), "/print/"+tag, "/label/"+tag)
				want(t, x.get("/print/"+tag), http.StatusOK, "SHOP LABEL, NOT A TRANSPORT MARK", "SINCE")
			}
		}
	}
}

// A tag leads to its page, however it was read; one that does not hold says why.
func TestFind(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	for _, c := range []struct {
		text, to string
		status   int
	}{
		{tag, "/cell/" + tag, 303}, {strings.ToLower(triage.SpacedTag(tag)), "/cell/" + tag, 303}, {tag[:2] + "?" + tag[3:], "/cell/" + tag, 303},
		{"JEHF", "/stock?by=cell&at=JEHF", 303}, {"F2XE9C", "", 422}, {"", "", 200}, {"<script>alert(1)</script>", "", 422}, {"../../etc/passwd", "", 422},
	} {
		w := x.get("/cell?tag=" + url.QueryEscape(c.text))
		want(t, w, c.status, "!<script>alert")
		if got := w.Header().Get("Location"); got != c.to {
			t.Errorf("%q leads to %q, want %q", c.text, got, c.to)
		}
	}
	want(t, x.get("/cell/"+strings.ToLower(tag)), http.StatusSeeOther)
	want(t, x.get("/cell/F2XE9R"), http.StatusNotFound, "no assessment of F2 XE9R")
}

// Each act of the cell's page writes the entry that the command writes, once, and shows
// the command.
func TestCellActs(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	page := "/cell/" + tag
	for _, c := range []struct {
		act   string
		pairs []string
		kind  string
		body  string
		says  string
	}{
		{"recheck", []string{"found", "same", "cell_c", "23.1", "ambient_c", "22"}, "recheck", `"found":"same"`, "pouchward recheck " + tag + " same --cell-c 23.1 --ambient-c 22 --who MK"},
		{"secure", []string{"do", "record", "terminals", "yes", "bag", "yes"}, "secured", `"terminals":true`, "Still owed: dry fill"},
		{"move", []string{"do", "typed", "place", "Yard locker"}, "move", `"to":"Yard locker"`, "--to &#34;Yard locker&#34;"},
		{"move", []string{"to", "Yard locker"}, "move", `"to":"Yard locker"`, "pouchward move"},
		{"raise", []string{"to", "isolate", "note", "hissed <script>"}, "raise", `"handling":"isolate"`, "--to isolate"},
		{"recheck", []string{"found", "worse", "cell_c", "hot"}, "recheck", `"found":"worse"`, "Recorded as not known"},
	} {
		number, before := x.number(page), x.size()
		pairs := append([]string{"form", number}, c.pairs...)
		w := x.post(page+"/"+c.act, pairs...)
		want(t, w, http.StatusSeeOther)
		e := x.entry(x.size())
		if x.size() != before+1 || e.Kind != c.kind || !strings.Contains(string(e.Body.Raw()), c.body) || e.Who != "MK" || e.Bench != "Bench 2" {
			t.Errorf("%s wrote %s %s", c.act, e.Kind, e.Body.Raw())
		}
		at := w.Header().Get("Location")
		if at != fmt.Sprintf("%s?entry=%d", page, e.Number) {
			t.Errorf("%s leads to %s", c.act, at)
		}
		want(t, x.get(at), http.StatusOK, c.says, "!<script>")
		x.open() // a restart forgets nothing of what was sent
		w = x.post(page+"/"+c.act, pairs...)
		if x.size() != before+1 || w.Header().Get("Location") != at {
			t.Errorf("%s sent twice: %d entries more, to %s", c.act, x.size()-before, w.Header().Get("Location"))
		}
		want(t, x.get(at), http.StatusOK, "came a second time")
		want(t, x.get(at), http.StatusOK, "!came a second time")
	}
	// Found worse while isolated, it is an emergency: nobody carries or makes it safe.
	want(t, x.get(page), http.StatusOK, "DANGER", "From a distance", `!name="terminals"`, `!id="move"`)
	want(t, x.send(page, page+"/move", "to", "Y1"), http.StatusUnprocessableEntity, "nobody carries it")
}

// What is refused writes nothing, says why, and keeps what else was typed.
func TestCellRefuses(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	page := "/cell/" + tag
	for _, c := range []struct {
		act    string
		pairs  []string
		status int
		wants  []string
	}{
		{"recheck", []string{"found", "same", "cell_c", "3,780", "ambient_c", "22.5"}, 422, []string{`value="3,780"`, `value="22.5"`, "Not recorded yet", `aria-invalid="true"`, `name="anyway"`}},
		{"recheck", []string{"cell_c", "23"}, 422, []string{"press one of the buttons", `value="23"`}},
		{"recheck", []string{"found", "better", "cell_c", "23"}, 422, []string{"same or worse", `value="23"`}},
		{"secure", []string{"do", "record"}, 422, []string{"nothing was ticked"}},
		{"secure", []string{"terminals", "yes"}, 422, []string{"press one of the buttons"}},
		{"raise", []string{"to", "sound"}, 422, []string{"lowering takes a determination"}},
		{"raise", []string{"to", "", "note", "quick <script>"}, 422, []string{"quick &lt;script&gt;", "!quick <script>"}},
		{"raise", []string{"to", "<script>"}, 422, []string{"!<script>"}},
		{"move", []string{"do", "typed", "place", " "}, 422, []string{"name the place"}},
		{"move", []string{"do", "typed", "place", strings.Repeat("x", 61)}, 422, []string{"at most 60"}},
		{"move", []string{"to", "JEHF"}, 422, []string{"not on record", "all the same, because"}},
		{"correct", []string{"do", "show", "entry", "2", "field", "ocv_v", "value", "3,780", "reason", "mistyped", "note", "n<script>"}, 422, []string{`value="3,780"`, "n&lt;script&gt;", "!n<script>"}},
		{"correct", []string{"do", "show", "entry", "2", "field", "colour", "value", "3", "reason", "mistyped"}, 422, []string{"is no reading"}},
		{"correct", []string{"do", "show", "entry", "1", "field", "ocv_v", "value", "3", "reason", "mistyped"}, 422, []string{"is not about"}},
		{"correct", []string{"do", "show", "entry", "x", "field", "ocv_v", "value", "3", "reason", "mistyped"}, 422, []string{"choose the entry"}},
		{"correct", []string{"do", "show", "entry", "2", "field", "ocv_v", "value", "3.6", "reason", "dunno"}, 422, []string{"is none of"}},
		{"retract", []string{"do", "show", "entry", "99", "reason", "mistyped"}, 422, []string{"is not about"}},
		{"retract", []string{"do", "show", "entry", "2", "reason", "other"}, 422, []string{"note"}},
	} {
		before := x.size()
		w := x.send(page, page+"/"+c.act, c.pairs...)
		want(t, w, c.status, c.wants...)
		if x.size() != before {
			t.Errorf("%s %q wrote", c.act, c.pairs)
		}
	}
	for i, act := range []string{"recheck", "raise", "secure", "move", "correct", "retract"} {
		if w := x.get(page + "/" + act); w.Code != http.StatusMethodNotAllowed && w.Code != http.StatusNotFound {
			t.Errorf("GET of %s: %d", act, w.Code)
		}
		if act == "correct" || act == "retract" {
			continue // shows first
		}
		want(t, x.post(page+"/"+act, "found", "same", "to", "hold", "do", "record", "bag", "yes"), http.StatusBadRequest, "has no number")
		unknown := "/cell/" + triage.IssueTag(triage.CellTag, 90_000+int64(i)) + "/"
		want(t, x.post(unknown+act, "form", newForm(), "found", "same", "to", "hold", "do", "record", "bag", "yes"), map[bool]int{true: 303, false: 404}[act == "raise"])
	}
	// Recorded so, the refused value counts as not known.
	want(t, x.send(page, page+"/recheck", "found", "same", "anyway", "yes", "cell_c", "3,780"), http.StatusSeeOther)
}

// A correction shows both verdicts first, and records what was shown, once.
func TestCorrection(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	page, before := "/cell/"+tag, x.size()
	form := []string{"do", "show", "entry", "2", "field", "signs", "value", "none", "reason", "misread", "note", "glare"}
	w := x.send(page, page+"/correct", form...)
	want(t, w, http.StatusOK, "As it stands", "With the change", "RECORD the correction", "It is kept at ISOLATE", `name="last" value="2"`, "pouchward correct 2 --field signs --value none --reason misread --note glare")
	if x.size() != before {
		t.Fatal("showing wrote")
	}
	number := formField.FindStringSubmatch(w.Body.String())[1]
	form[1] = "record"
	// Another look comes in between: what was shown no longer holds.
	want(t, x.send(page, page+"/recheck", "found", "same", "cell_c", "22", "ambient_c", "22"), http.StatusSeeOther)
	w = x.post(page+"/correct", append(form, "last", "2", "form", number)...)
	want(t, w, http.StatusConflict, "came in between", `name="last" value="3"`)
	if x.size() != before+1 {
		t.Fatal("recorded what was not shown")
	}
	number = formField.FindStringSubmatch(w.Body.String())[1]
	for range 2 {
		w = x.post(page+"/correct", append(form, "last", "3", "form", number)...)
		want(t, w, http.StatusSeeOther)
	}
	if e := x.entry(x.size()); x.size() != before+2 || e.Kind != "correction" {
		t.Fatalf("%d entries, the last a %s", x.size(), e.Kind)
	}
	want(t, x.get(w.Header().Get("Location")), http.StatusOK, "came a second time", "ISOLATE", "pouchward correct 2")
	// Without the number of the last entry it is shown, whatever the button says.
	w = x.post(page+"/correct", append(form, "form", newForm())...)
	if w.Code == http.StatusSeeOther || x.size() != before+2 {
		t.Error("recorded without being shown")
	}
}

// The last entry is taken back with a reason, after both verdicts were shown.
func TestUndo(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	page := "/cell/" + tag
	want(t, x.send(page, page+"/raise", "to", "emergency"), http.StatusSeeOther)
	body := x.get(page).Body.String()
	if m := regexp.MustCompile(`(?s)/retract".*?<option value="(\d+)"`).FindStringSubmatch(body); m == nil || m[1] != "3" {
		t.Fatalf("the last entry is not the first choice: %v", m)
	}
	w := x.send(page, page+"/retract", "do", "show", "entry", "3", "reason", "mistyped")
	want(t, w, http.StatusOK, "RECORD the retraction", "DANGER")
	number := formField.FindStringSubmatch(w.Body.String())[1]
	want(t, x.post(page+"/retract", "do", "record", "entry", "3", "reason", "mistyped", "last", "3", "form", number), http.StatusSeeOther)
	want(t, x.get(page), http.StatusOK, "TAKEN BACK by entry 4", `class="void"`)
}

// The chart is drawn of the cell's own readings, and told in words.
func TestChart(t *testing.T) {
	x := newDemo(t)
	stock, err := app.Stock(x.s.desk.Log(), demoDay, "cell", "")
	if err != nil {
		t.Fatal(err)
	}
	for i := range stock.Rows[:3] {
		tag := stock.Rows[i].Tag
		if kind, _ := triage.TagNumber(tag); kind != triage.CellTag {
			continue
		}
		want(t, x.get("/cell/"+tag), http.StatusOK, `src="/chart/`+tag+`.svg"`, "Voltage:", "Thickness:", "History")
		w := x.get("/chart/" + tag + ".svg")
		want(t, w, http.StatusOK, "<svg", triage.SpacedTag(tag))
		if got := w.Header().Get("Content-Type"); got != "image/svg+xml" {
			t.Error(got)
		}
		want(t, x.get("/print/"+tag), http.StatusOK, "look at", "SHOP LABEL, NOT A TRANSPORT MARK")
	}
	for _, path := range []string{"/chart/F2XE9R.svg", "/chart/..%2f..%2fx.svg", "/chart/x", "/print/F2XE9R", "/print/..%2fx"} {
		if w := x.get(path); w.Code < 400 {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
}

// A form that was being recorded when the program ended is not recorded again: a person
// looks first.
func TestFormEndedWhileRecording(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	path, number := "/cell/"+tag+"/raise", newForm()
	sum := sha256.Sum256([]byte(number + path))
	if err := x.s.forms().put(&draft{ID: hex.EncodeToString(sum[:16]), Writing: 1}); err != nil {
		t.Fatal(err)
	}
	x.open()
	want(t, x.post(path, "form", number, "to", "hold"), http.StatusConflict, "when the program ended", triage.SpacedTag(tag))
	if x.size() != 2 {
		t.Error("recorded")
	}
	want(t, x.post(path, "form", newForm(), "to", "hold"), http.StatusSeeOther)
	// Two forms of one page are two forms, and a busy log uses no number up.
	want(t, x.post("/cell/"+tag+"/secure", "form", number, "do", "record", "bag", "yes"), http.StatusSeeOther)
	// What is no number is none.
	for _, bad := range []string{"", "..", "../../x", strings.Repeat("0", 31), strings.Repeat("g", 32)} {
		want(t, x.post(path, "form", bad, "to", "hold"), http.StatusBadRequest)
	}
}

// While another process holds the log, a form is refused as busy, keeps what was typed,
// and goes through when it is sent again.
func TestBusyCell(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	other, err := logbook.Open(x.place.Path, x.place.Options)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	form := []string{"form", newForm(), "found", "same", "cell_c", "23.4"}
	held, done := make(chan bool), make(chan bool)
	go func() {
		_ = other.Write(func(*logbook.Tx) error {
			close(held)
			<-done
			return io.EOF
		})
		done <- true
	}()
	<-held
	want(t, x.post("/cell/"+tag+"/recheck", form...), http.StatusServiceUnavailable, `value="23.4"`, "another process holds the log")
	done <- true
	<-done
	want(t, x.post("/cell/"+tag+"/recheck", form...), http.StatusSeeOther)
}

// Other sites write through none of the screens.
func TestScreensOfOtherSites(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	for _, path := range []string{"/cell/" + tag + "/recheck", "/cell/" + tag + "/raise", "/cell/" + tag + "/secure", "/cell/" + tag + "/move", "/cell/" + tag + "/correct", "/cell/" + tag + "/retract", "/pack/begin",
		"/pack/JEHF/scan", "/pack/JEHF/close", "/review/sign"} {
		body := "do=record&found=worse&to=emergency&form=" + newForm()
		if w := x.do("POST", path, body, header("Sec-Fetch-Site", "cross-site")); w.Code != http.StatusForbidden {
			t.Errorf("%s: %d", path, w.Code)
		}
		if w := x.do("POST", path, body, host("elsewhere.invalid:8417")); w.Code != http.StatusMisdirectedRequest {
			t.Errorf("%s: %d", path, w.Code)
		}
		if w := x.do("POST", path, strings.Repeat("note=x&", maxForm)); w.Code != http.StatusRequestEntityTooLarge {
			t.Errorf("%s with too much: %d", path, w.Code)
		}
	}
	if x.size() != 2 {
		t.Error("something was written")
	}
}
