package bench

import (
	"net/http"
	"net/url"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

var takeUp = regexp.MustCompile(`href="([^"]*draft=[0-9a-f]{32}#[^"]*)">Take it up`)

// offered returns where the first draft of a page is taken up, "" for none.
func (x *shop) offered(page string) string {
	x.Helper()
	m := takeUp.FindStringSubmatch(x.get(page).Body.String())
	if m == nil {
		return ""
	}
	at, _, _ := strings.Cut(strings.ReplaceAll(m[1], "&amp;", "&"), "#")
	return at
}

// What is typed into each form of the screens is offered again on its screen after the
// server began anew, with its age; it is filled in when somebody takes it up, is no entry
// by itself, and is gone once it was recorded or thrown away.
func TestTypedDrafts(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	x.now = x.now.AddDate(0, 2, 0)
	box := begin(x, x.good())
	cell, pack := "/cell/"+tag, "/pack/"+box
	review := x.get("/review").Body.String()
	finding := regexp.MustCompile(`name="check" value="([^"]+)"><input type="hidden" name="subject" value="([^"]*)"`).FindStringSubmatch(review)
	if finding == nil {
		t.Fatal("no finding")
	}
	for _, c := range []struct {
		page, action string
		typed        []string
		shows        string // once taken up
		record       []string
	}{
		{cell, cell + "/recheck", []string{"cell_c", "23.4", "sign", "dented"}, `value="23.4"`, []string{"found", "same"}},
		{cell, cell + "/raise", []string{"note", "hissed <b>"}, `value="hissed &lt;b&gt;"`, []string{"to", "isolate"}},
		{cell, cell + "/secure", []string{"bag", "yes"}, `name="bag" value="yes" checked`, []string{"do", "record"}},
		{cell, cell + "/move", []string{"place", "Yard"}, `value="Yard"`, []string{"do", "typed"}},
		{cell, cell + "/correct", []string{"entry", "2", "field", "ocv_v", "value", "3.61", "reason", "mistyped"}, `value="3.61"`, []string{"do", "record", "last", "LAST"}},
		{cell, cell + "/retract", []string{"entry", "2", "reason", "other", "note", "not this one"}, `value="not this one"`, nil},
		{cell, cell + "/determine", []string{"reason", "print, no dent", "second", "LS", "criteria", "c"}, `>print, no dent</textarea>`, nil},
		{cell, "/attach", []string{"to", tag, "note", "front side"}, `value="front side"`, nil},
		{"/done/2", "/retract/2", []string{"reason", "other", "note", "the next one"}, `value="the next one"`, []string{}},
		{pack, pack + "/close", []string{"gross", "0.71", "tare", "0.5"}, `value="0.71"`, nil},
		{"/pack", "/pack/begin", []string{"outer", "crate 40x30x20", "level", "strong"}, `value="crate 40x30x20"`, nil},
		{"/review?go=1", "/review/sign", []string{"check", finding[1], "subject", finding[2], "reason", "asked the maker"}, `>asked the maker</textarea>`, nil},
	} {
		before, number := x.size(), newForm()
		want(t, x.post("/draft", append([]string{"form", number, "action", c.action}, c.typed...)...), http.StatusNoContent)
		x.now = x.now.Add(23 * time.Minute)
		x.open()
		want(t, x.get(c.page), http.StatusOK, ", 23 min old", "Throw it away")
		at := x.offered(c.page)
		page := x.get(at)
		want(t, page, http.StatusOK, c.shows, "Taken up:", `name="form" value="`+number+`"`, "!Take it up")
		if x.size() != before {
			t.Errorf("%s: a draft became an entry", c.action)
		}
		if c.record == nil {
			id, _ := url.Parse(at)
			want(t, x.post("/draft/drop", "draft", id.Query().Get("draft"), "back", c.page), http.StatusSeeOther)
		} else {
			send := append(append([]string{"form", number}, c.typed...), c.record...)
			if i := len(send) - 1; send[i] == "LAST" {
				send[i] = regexp.MustCompile(`name="last" value="([0-9-]+)"`).FindStringSubmatch(x.post(c.action, send[:len(send)-4]...).Body.String())[1]
			}
			want(t, x.post(c.action, send...), http.StatusSeeOther)
			if x.size() == before {
				t.Errorf("%s was not recorded", c.action)
			}
			// What the script sends late brings nothing back.
			want(t, x.post("/draft", append([]string{"form", number, "action", c.action}, c.typed...)...), http.StatusNoContent)
		}
		if at := x.offered(c.page); at != "" {
			t.Errorf("%s is still offered: %s", c.action, at)
		}
	}
	list, err := os.ReadDir(x.s.typed().dir)
	if err != nil || len(list) > 0 {
		t.Errorf("left behind: %v, %v", list, err)
	}
}

// Without script a refusal keeps what was typed; blank again it is no draft; another
// bench and another cell see none of it.
func TestTypedDraftAtRefusal(t *testing.T) {
	x := newShop(t)
	tag, other := x.swollen(), x.swollen()
	page := "/cell/" + tag
	w := x.send(page, page+"/move", "do", "typed", "place", "", "note", "")
	want(t, w, http.StatusUnprocessableEntity, "name the place")
	if at := x.offered(page); at != "" {
		t.Errorf("nothing was typed, and %s is offered", at)
	}
	w = x.send(page, page+"/recheck", "cell_c", "23.4")
	want(t, w, http.StatusUnprocessableEntity, "press one of the buttons", `value="23.4"`, "!Take it up")
	if x.offered("/cell/"+other) != "" {
		t.Error("offered for another cell")
	}
	if x.offered(page) == "" {
		t.Error("not offered")
	}
	c := &http.Cookie{Name: benchCookie, Value: "Bench+9"}
	want(t, x.do("GET", page, "", func(r *http.Request) { r.AddCookie(c) }), http.StatusOK, "!Take it up")
	number := formField.FindStringSubmatch(x.get(x.offered(page)).Body.String())[1]
	want(t, x.post("/draft", "form", number, "action", page+"/recheck", "cell_c", " "), http.StatusNoContent)
	if x.offered(page) != "" {
		t.Error("blank, and still offered")
	}
}

// Other sites keep no drafts, and a draft is kept of our own forms alone.
func TestTypedDraftsAreGuarded(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	body := url.Values{"form": {newForm()}, "action": {"/cell/" + tag + "/raise"}, "note": {"x"}}
	for _, path := range []string{"/draft", "/draft/drop"} {
		if w := x.do("POST", path, body.Encode(), header("Sec-Fetch-Site", "cross-site")); w.Code != http.StatusForbidden {
			t.Errorf("%s: %d", path, w.Code)
		}
		if w := x.do("POST", path, body.Encode(), host("elsewhere.invalid:8417")); w.Code != http.StatusMisdirectedRequest {
			t.Errorf("%s: %d", path, w.Code)
		}
		want(t, x.do("POST", path, "note="+strings.Repeat("x", maxForm+1)), http.StatusRequestEntityTooLarge)
		want(t, x.get(path), http.StatusNotFound)
	}
	for _, c := range [][2]string{{"..", "/cell/" + tag + "/raise"}, {"", "/cell/" + tag + "/raise"}, {newForm(), "/assess"}, {newForm(), "/pack/JEHF/scan"}, {newForm(), "/cell/a/b/raise"},
		{newForm(), "https://elsewhere.invalid/attach"}, {newForm(), ""}, {newForm(), "/cell/" + tag + "/raise?x"}} {
		want(t, x.post("/draft", "form", c[0], "action", c[1], "note", "x"), http.StatusBadRequest)
	}
	for _, id := range []string{"..", "../../pouchward", strings.Repeat("F", 32)} {
		want(t, x.post("/draft/drop", "draft", id, "back", "//elsewhere.invalid"), http.StatusSeeOther)
	}
	if _, err := os.Stat(x.place.Path); err != nil {
		t.Error(err)
	}
}

// Where nobody is remembered, an entry asks who makes it, once; going up does not wait.
func TestAsksWho(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	x.s.Config.Who = ""
	id := x.form()
	form := []string{"draft", id, "rev", "0", "do", "record", "sure", "yes", "sign", "swollen", "looked", "yes"}
	want(t, x.post("/assess", form...), http.StatusUnprocessableEntity, "who does it?", "Who records it?", `name="as" value="MK"`)
	page := "/cell/" + tag
	want(t, x.get(page), http.StatusOK, "Your initials", "asked once")
	want(t, x.send(page, page+"/recheck", "found", "same", "cell_c", "22"), http.StatusUnprocessableEntity, "who does it?", `value="22"`)
	want(t, x.send(page, page+"/retract", "do", "show", "entry", "2", "reason", "misread"), http.StatusUnprocessableEntity, "who does it?")
	if x.size() != 2 {
		t.Fatal("recorded")
	}
	want(t, x.send(page, page+"/raise", "to", "isolate"), http.StatusSeeOther)
	form[3], form = "1", append(form, "as", "JR")
	w := x.post("/assess", form...)
	want(t, w, http.StatusSeeOther)
	if e := x.entry(4); e.Who != "JR" || e.Kind != "assessment" {
		t.Errorf("%s by %q", e.Kind, e.Who)
	}
	c := w.Result().Cookies()
	if len(c) != 1 || c[0].Name != whoCookie {
		t.Fatalf("%v", c)
	}
	want(t, x.do("GET", page, "", func(r *http.Request) { r.AddCookie(c[0]) }), http.StatusOK, "!Your initials")
	w = x.send(page, page+"/secure", "do", "record", "bag", "yes", "who", "LS")
	if c := w.Result().Cookies(); w.Code != http.StatusSeeOther || len(c) != 1 || x.entry(5).Who != "LS" {
		t.Errorf("%d %v", w.Code, c)
	}
}

// The label to print from the browser has the code of the PDF.
func TestPrintHasTheCode(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	want(t, x.get("/print/"+tag), http.StatusOK, `src="/code/`+tag+`.png"`)
	if got := decoded(t, x.get("/code/"+tag+".png").Body); got != tag {
		t.Errorf("it reads %q, want %q", got, tag)
	}
	for _, path := range []string{"/code/" + tag, "/code/F2XE9C.png", "/code/..%2fx.png", "/code/x.svg"} {
		want(t, x.get(path), http.StatusNotFound)
	}
}

// What is typed while nobody presses anything outlives the browser and the server.
func TestBrowserTypedDraft(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	b := newBrowser(t, x)
	b.open("/cell/" + tag)
	b.until("document.readyState === 'complete'")
	b.do(chromedp.Focus(chromedp.CSS("#r-cell_c")))
	b.typed("23.4")
	b.do(chromedp.Focus(chromedp.CSS("#raise [name=note]")))
	b.typed("hissed")
	b.open("/due") // a page that is left sends what it has not sent yet
	for range 600 {
		if list, _ := os.ReadDir(x.s.typed().dir); len(list) == 2 {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	b.stop()
	x.open()
	b = newBrowser(t, x)
	b.open("/cell/" + tag)
	b.until("document.querySelectorAll('form.draft').length === 2")
	b.goes("#recheck form.draft a")
	b.until("document.querySelector('#r-cell_c')?.value === '23.4'")
	b.until("document.readyState === 'complete'")
	b.do(chromedp.Focus(chromedp.CSS("#r-ambient_c")))
	b.typed("22")
	b.goes("button[name=found][value=same]")
	b.until("location.search === '?entry=3'")
	if e := x.entry(3); e.Kind != "recheck" || !strings.Contains(string(e.Body.Raw()), `"cell_c":"23.4"`) || !strings.Contains(string(e.Body.Raw()), `"ambient_c":"22"`) {
		t.Errorf("%s %s", e.Kind, e.Body.Raw())
	}
	b.is("document.querySelectorAll('form.draft').length", "1")
	b.goes("#raise form.draft button")
	b.until("document.querySelectorAll('form.draft').length === 0")
	if x.size() != 3 {
		t.Error("a draft was recorded by itself")
	}
}
