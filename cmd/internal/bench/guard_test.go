package bench

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"mime/multipart"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

func header(name, value string) func(*http.Request) {
	return func(r *http.Request) { r.Header.Set(name, value) }
}

func host(name string) func(*http.Request) { return func(r *http.Request) { r.Host = name } }

// Another site's page can neither write nor read.
func TestOtherSites(t *testing.T) {
	x := newShop(t)
	form := "do=record&sure=yes&sign=wet&draft=" + x.form()
	for _, c := range []struct {
		what   string
		change func(*http.Request)
		status int
	}{
		{"a form of another site", header("Sec-Fetch-Site", "cross-site"), http.StatusForbidden},
		{"a form of another port", header("Sec-Fetch-Site", "same-site"), http.StatusForbidden},
		{"an old browser's form of another site", func(r *http.Request) {
			r.Header.Del("Sec-Fetch-Site")
			r.Header.Set("Origin", "https://elsewhere.invalid")
		}, http.StatusForbidden},
		{"a form of no site", func(r *http.Request) { r.Header.Del("Sec-Fetch-Site"); r.Header.Set("Origin", "null") }, http.StatusForbidden},
		{"a name that leads here", host("elsewhere.invalid:8417"), http.StatusMisdirectedRequest},
		{"another port", host("127.0.0.1:80"), http.StatusMisdirectedRequest},
		{"no port", host("127.0.0.1"), http.StatusMisdirectedRequest},
		{"a name that begins with ours", host("127.0.0.1:8417.elsewhere.invalid"), http.StatusMisdirectedRequest},
		{"no host", host(""), http.StatusMisdirectedRequest},
	} {
		for _, path := range []string{"/assess", "/assess/live", "/who", "/done/2", "/retract/1", "/attach"} {
			if w := x.do("POST", path, form, c.change); w.Code != c.status {
				t.Errorf("%s to %s: %d, want %d", c.what, path, w.Code, c.status)
			}
		}
	}
	if w := x.do("GET", "/assess", "", host("elsewhere.invalid:8417")); w.Code != http.StatusMisdirectedRequest || strings.Contains(w.Body.String(), "Back room") {
		t.Errorf("read by another name: %d", w.Code)
	}
	// Nor have anything made or taken unseen; a link that somebody follows is shown.
	x.s.say(1, "still owed: a bag")
	for _, site := range []string{"cross-site", "same-site"} {
		for _, as := range [][2]string{{"no-cors", "image"}, {"cors", "empty"}, {"navigate", "iframe"}, {"navigate", ""}, {"", ""}} {
			for _, path := range []string{"/cell/JEHCF7?entry=1", "/review?go=1", "/page.js"} {
				w := x.do("GET", path, "", header("Sec-Fetch-Site", site), header("Sec-Fetch-Mode", as[0]), header("Sec-Fetch-Dest", as[1]))
				if w.Code != http.StatusForbidden {
					t.Errorf("%s as %v of %s: %d", path, as, site, w.Code)
				}
			}
		}
		want(t, x.do("GET", "/due", "", header("Sec-Fetch-Site", site), header("Sec-Fetch-Mode", "navigate"), header("Sec-Fetch-Dest", "document")), http.StatusOK)
	}
	if notes := x.s.heard(1); len(notes) != 1 {
		t.Errorf("left to say: %q", notes)
	}
	want(t, x.do("GET", "/page.js", "", header("Sec-Fetch-Site", "same-origin"), header("Sec-Fetch-Mode", "no-cors"), header("Sec-Fetch-Dest", "script")), http.StatusOK)
	for _, name := range []string{"127.0.0.1:8417", "localhost:8417", "[::1]:8417"} {
		want(t, x.do("GET", "/assess", "", host(name)), http.StatusOK)
	}
	if x.size() != 1 {
		t.Errorf("%d entries", x.size())
	}
}

// Nothing is written by GET, and every answer carries the headers.
func TestHeadersAndMethods(t *testing.T) {
	x := newShop(t)
	x.post("/assess", "draft", x.form(), "do", "record", "sure", "yes", "sign", "wet", "looked", "yes")
	before := x.size()
	for _, path := range []string{"/assess/live?sign=wet", "/who?who=XX", "/retract/2?reason=mistyped", "/attach?to=F2XE9R", "/done/2?terminals=yes&to=Y1"} {
		for _, method := range []string{"GET", "HEAD", "PUT", "DELETE", "TRACE"} {
			if w := x.do(method, path, ""); w.Code == http.StatusSeeOther || len(w.Result().Cookies()) > 0 {
				t.Errorf("%s %s: %d %v", method, path, w.Code, w.Result().Cookies())
			}
		}
	}
	if x.size() != before {
		t.Errorf("%d entries were written by GET", x.size()-before)
	}
	for _, path := range []string{"/assess", "/style.css", "/page.js", "/icon.svg", "/nowhere", "/done/2", "/label/" + x.entry(2).Tags[0]} {
		h := x.get(path).Result().Header
		for name, want := range map[string]string{"Content-Security-Policy": policy, "X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin"} {
			if got := h.Get(name); got != want {
				t.Errorf("%s of %s is %q", name, path, got)
			}
		}
		if got := h.Get("Cache-Control"); !strings.HasPrefix(got, "no-") {
			t.Errorf("%s may be kept: %q", path, got)
		}
	}
}

// No path leads out of what is served, or lists what is there.
func TestPaths(t *testing.T) {
	x := newShop(t)
	for _, path := range []string{"/static/", "/templates/", "/templates/assess.html", "/style.css/", "/..%2f..%2fgo.mod", "/%2e%2e/%2e%2e/etc/passwd", "//etc/passwd",
		"/label/..%2f..%2fpouchward.db", "/label/", "/done/..%2f1", "/done/-1", "/done/1e3", "/done/99999999999999999999", "/pouchward.db", "/pouchward.db.drafts/", "/.git/config",
		"/page.js%00.html", "/assess/../page.js"} {
		w := x.get(path)
		if w.Code == http.StatusOK {
			t.Errorf("%s is answered: %.80s", path, w.Body)
		}
		if strings.Contains(w.Body.String(), "module pouchward") || strings.Contains(w.Body.String(), "root:") {
			t.Errorf("%s shows a file", path)
		}
	}
	for _, id := range []string{"../../pouchward", "..", "a/b", strings.Repeat("f", 31), strings.Repeat("f", 32) + "/..", strings.Repeat("F", 32), "\x00"} {
		x.post("/assess/live", "draft", id, "ticket", "R-77")
		x.post("/assess", "draft", id, "do", "drop")
		want(t, x.get("/assess?draft="+url.QueryEscape(id)), http.StatusOK)
	}
	list, err := os.ReadDir(filepath.Dir(x.place.Path))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range list {
		if !strings.HasPrefix(f.Name(), "pouchward.db") {
			t.Errorf("%s was made beside the log", f.Name())
		}
	}
}

// A script in every text that comes from outside is text wherever it is shown.
func TestScriptInEveryField(t *testing.T) {
	const evil = `"><script>alert(1)</script><img src=x onerror=alert(1)>'` + "\u202e"
	x := newShop(t)
	pairs := []string{"draft", x.form(), "rev", "0", "looked", evil, "sign", evil, "frompart", evil, "set", "ticket=" + evil}
	for i := range triage.Fields {
		if f := triage.FieldID(i); f != triage.Signs {
			pairs = append(pairs, triage.Fields[i].Name, evil)
		}
	}
	pages := []*httptest.ResponseRecorder{x.post("/assess/live", pairs...), x.post("/assess", append(pairs, "do", "record", "sure", "yes")...), x.get("/assess"),
		x.post("/who", "who", evil, "bench", evil, "back", evil), x.get("/assess?tag=" + "%22%3E%3Cscript%3Ealert(1)%3C/script%3E"), x.get("/%3Cscript%3Ealert(1)%3C/script%3E"),
		x.get("/label/%3Cscript%3Ealert(1)%3C%2Fscript%3E")}
	for _, c := range pages[3].Result().Cookies() {
		pages = append(pages, x.do("GET", "/assess", "", func(r *http.Request) { r.AddCookie(c) }))
	}
	// What a reading may hold, in a log where somebody wrote it.
	free := []string{"draft", x.form(), "do", "record", "sure", "yes", "anyway", "yes", "sign", "wet", "looked", "yes", "ticket", evil, "device", evil, "note", evil, "part", evil, "who", evil}
	w := x.post("/assess", free...)
	if w.Code != http.StatusSeeOther {
		t.Fatalf("not recorded: %s", w.Body)
	}
	x.send("/done/2", "/done/2", "terminals", "yes", "bag", "yes", "fill", "yes", "to", evil)
	pages = append(pages, x.get("/done/2"), x.get("/assess?new=1"), x.post("/assess", "draft", x.form(), "do", "label"))
	for i, w := range pages {
		body := w.Body.String()
		for _, bad := range []string{"<script>alert", "<img", "onerror=alert(1)>'\""} {
			if strings.Contains(body, bad) {
				t.Errorf("answer %d holds %q", i, bad)
			}
		}
	}
}

// What is too large is refused before it is read, and says so in the frame.
func TestTooLarge(t *testing.T) {
	x := newShop(t)
	for _, path := range []string{"/assess", "/assess/live", "/who", "/done/2", "/retract/2"} {
		w := x.do("POST", path, "note="+strings.Repeat("x", maxForm+1))
		if w.Code != http.StatusRequestEntityTooLarge || !strings.Contains(w.Body.String(), `id="emergency"`) {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
	if x.size() != 1 {
		t.Errorf("%d entries", x.size())
	}
}

// upload sends a file to the cell of entry 2.
func (x *shop) upload(name string, data io.Reader, more ...[2]string) *httptest.ResponseRecorder {
	x.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for _, f := range append(more, [][2]string{{"to", x.entry(2).Tags[0]}, {"back", "/done/2"}, {"note", "front"}, {"form", x.number("/done/2")}}...) {
		if err := m.WriteField(f[0], f[1]); err != nil {
			x.Fatal(err)
		}
	}
	p, err := m.CreateFormFile("file", name)
	if err != nil {
		x.Fatal(err)
	}
	if _, err := io.Copy(p, data); err != nil {
		x.Fatal(err)
	}
	if err := m.Close(); err != nil {
		x.Fatal(err)
	}
	return x.do("POST", "/attach", b.String(), header("Content-Type", m.FormDataContentType()))
}

// A photo is told by its bytes, kept beside the log, and named without folders.
func TestAttach(t *testing.T) {
	x := newShop(t)
	x.post("/assess", "draft", x.form(), "do", "record", "sure", "yes", "sign", "wet", "looked", "yes")
	photo := "\xFF\xD8\xFF\xE0 invented photo of a cell"
	for _, c := range []struct {
		name, data string
		status     int
	}{
		{"../../../etc/front.jpg", photo, http.StatusSeeOther},
		{`..\..\front.jpg`, photo, http.StatusSeeOther},
		{"front.html", "<html><script>alert(1)</script>", 0},
		{"front.jpg", "<html><script>alert(1)</script>", 0},
		{"front.svg", `<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>`, 0},
		{"front.jpg", "", 0},
	} {
		before := x.size()
		w := x.upload(c.name, strings.NewReader(c.data))
		if c.status == 0 && (w.Code < 400 || x.size() != before) {
			t.Errorf("%s %q was kept: %d", c.name, c.data, w.Code)
		}
		if c.status != 0 && w.Code != c.status {
			t.Fatalf("%s: %d %s", c.name, w.Code, w.Body)
		}
	}
	a, ok, err := logbook.AttachmentOf(x.entry(3))
	if err != nil || !ok || a.Name != "front.jpg" || a.What != "photo" || a.MediaType != "image/jpeg" || a.Note != "front" {
		t.Errorf("%+v, %v, %v", a, ok, err)
	}
	w := x.upload("big.jpg", io.MultiReader(strings.NewReader(photo), io.LimitReader(zeros{}, logbook.MaxFileBytes+maxForm)))
	want(t, w, http.StatusRequestEntityTooLarge, "larger than the 50 MB")
	want(t, x.do("POST", "/attach", "to=F2XE9R"), http.StatusBadRequest)
	// The words of a form are bounded by themselves, in parts too.
	long := [2]string{"note", strings.Repeat("x", maxForm/2)}
	want(t, x.upload("a.jpg", strings.NewReader(photo), long, long), http.StatusRequestEntityTooLarge, "64 KiB")
	if list, _ := os.ReadDir(x.s.typed().dir); len(list) > 0 && x.size() > 4 {
		t.Errorf("%d drafts, %d entries", len(list), x.size())
	}
	if w := x.upload("enter.jpg", strings.NewReader(photo+"e"), [2]string{"do", ""}); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "press one of the buttons") {
		t.Errorf("Enter kept a photo: %d", w.Code)
	}
	// A name that the form asked for is remembered here too.
	x.s.Config.Who = ""
	w = x.upload("b.jpg", strings.NewReader(photo+"b"), [2]string{"who", "LS"})
	if c := w.Result().Cookies(); w.Code != http.StatusSeeOther || len(c) != 1 || c[0].Name != whoCookie || x.entry(x.size()).Who != "LS" {
		t.Errorf("%d %v, by %q", w.Code, c, x.entry(x.size()).Who)
	}
	left, err := filepath.Glob(filepath.Join(os.TempDir(), "pouchward-attach-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

type zeros struct{}

func (zeros) Read(b []byte) (int, error) { clear(b); return len(b), nil }

// A name from a browser stands in a folder of any system, and leads out of none.
func TestFileName(t *testing.T) {
	for given, want := range map[string]string{
		"swollen.jpg": "swollen.jpg", `C:\Users\mk\a.jpg`: "a.jpg", "../../etc/passwd": "passwd", "..": "photo", "...": "photo", "": "photo",
		"CON": "_CON", "nul.jpg": "_nul.jpg", "Aux .tar.gz": "_Aux .tar.gz", "com1.pdf": "_com1.pdf", "com10.pdf": "com10.pdf", "LPT².png": "_LPT².png",
		"console.jpg": "console.jpg", "a.jpg. .": "a.jpg", "a:b?.jpg": "a_b_.jpg", "a\x00b\n.jpg": "a_b_.jpg", "/": "_",
	} {
		if got := fileName(given); got != want {
			t.Errorf("%q becomes %q, want %q", given, got, want)
		}
	}
}

func TestLoopback(t *testing.T) {
	for addr, want := range map[string]string{"127.0.0.1:8417": "127.0.0.1:8417", "localhost:0": "127.0.0.1:0", "[::1]:8417": "[::1]:8417"} {
		if got, err := Loopback(addr); err != nil || got != want {
			t.Errorf("%s: %q, %v", addr, got, err)
		}
	}
	for _, addr := range []string{"0.0.0.0:8417", ":8417", "192.0.2.7:8417", "[::]:8417", "shop.invalid:8417", "127.0.0.1", "127.0.0.1:x", "127.0.0.1:70000", "127.0.0.2:1",
		"[::ffff:127.0.0.1]:1", "[::1%lo]:1", ""} {
		if got, err := Loopback(addr); err == nil {
			t.Errorf("%s was taken as %s", addr, got)
		}
	}
}

// The server lets an answer that has begun come to its end, and leaves no port.
func TestServe(t *testing.T) {
	x := newShop(t)
	l, err := Listen("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Listen(l.Addr().String()); err == nil || !strings.Contains(err.Error(), "--addr") {
		t.Errorf("a port in use: %v", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error)
	go func() { ended <- x.s.Serve(ctx, l, io.Discard) }()
	res, err := http.Get(URL(l) + "assess")
	if err != nil || res.StatusCode != http.StatusOK {
		t.Fatal(res, err)
	}
	res.Body.Close()
	// A sender of one byte a minute does not hold the server.
	slow, err := net.Dial("tcp", l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer slow.Close()
	fmt.Fprint(slow, "GET /assess HT")
	stop()
	select {
	case err := <-ended:
		if err != nil && err != context.DeadlineExceeded {
			t.Error(err)
		}
	case <-time.After(closeTime + 2*time.Second):
		t.Fatal("the server did not end")
	}
	if c, err := net.Dial("tcp", l.Addr().String()); err == nil {
		c.Close()
		t.Error("the port is still open")
	}
}
