package bench

import (
	"encoding/json"
	"maps"
	"net/http"
	"net/url"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"
)

// fuzzedPages are the pages that read their address.
var fuzzedPages = []string{"/assess", "/cell", "/cell/F2XE9R", "/due", "/stock", "/review", "/rules", "/pack", "/pack/JEHF", "/print/emergency", "/print/F2XE9R", "/label/F2XE9R", "/chart/F2XE9R", "/done/2", "/done/1", "/"}

// Whatever stands behind the question mark of an address, the page is drawn or refused
// in words, nothing is recorded, and no markup of it stands on the page.
func FuzzQuery(f *testing.F) {
	for i := range fuzzedPages {
		for _, q := range []string{"", "tag=F2XE9R&entry=2", "entry=-1&days=99999999999999999999", "draft=../../etc/passwd&new=1", "tag=%22%3E%3Cscript%3Ezz%3C/script%3E&class=%3Cscript%3Ezz", "days=1e3;x=%zz&&=", "on=2026-02-30&from=0&finding=x&check=%00", "new=1&tag=%ff%fe"} {
			f.Add(uint8(i), q)
		}
	}
	x := newShop(f)
	x.post("/assess", "draft", x.form(), "do", "record", "sure", "yes", "sign", "swollen", "looked", "yes")
	size := x.size()
	shop := *x
	f.Fuzz(func(t *testing.T, page uint8, query string) {
		at, err := url.Parse("http://127.0.0.1" + fuzzedPages[int(page)%len(fuzzedPages)])
		if err != nil {
			t.Fatal(err)
		}
		if at.RawQuery = query; strings.ContainsFunc(query, func(r rune) bool { return r <= ' ' || r == '#' || r >= 0x7F }) {
			at.RawQuery = url.QueryEscape(query) // no server lets another address through
		}
		x := shop
		x.TB = t
		began := time.Now()
		w := x.do(http.MethodGet, "/", "", func(r *http.Request) { r.URL.Path, r.URL.RawQuery = at.Path, at.RawQuery })
		if w.Code >= 500 || time.Since(began) > 10*time.Second {
			t.Fatalf("%s: %d after %s: %.300s", at, w.Code, time.Since(began), w.Body)
		}
		if body := w.Body.String(); strings.Contains(body, "<script>zz") || strings.Contains(body, "<img") {
			t.Fatalf("%s: its markup stands on the page", at)
		}
		if x.size() != size {
			t.Fatalf("%s recorded something", at)
		}
	})
}

// Whatever is posted as a form of readings is judged or refused in words; nothing is
// recorded that is not asked to be, and what is judged is never better than what the
// signs alone, read from the same form, say.
func FuzzForm(f *testing.F) {
	for _, s := range []string{"sign=swollen&looked=yes&ocv_v=3780mV", "looked=none&sign=puffy&sign=%00", "ocv_v=3.8&ocv_v=3.9", "do=live&set=ticket%3Dx&frompart=y", "tag=F2XE9R&rev=-1&draft=zz", "signs=%ff&who=%0d%0aSet-Cookie:", "a=b;c=d", "%zz", "sign=smoking", strings.Repeat("note=x&", 300)} {
		f.Add(s)
	}
	x := newShop(f)
	size := x.size()
	shop := *x
	f.Fuzz(func(t *testing.T, body string) {
		x := shop
		x.TB = t
		w := x.do(http.MethodPost, "/assess/live", body)
		if w.Code >= 500 {
			t.Fatalf("%d: %.300s", w.Code, w.Body)
		}
		if x.size() != size {
			t.Fatalf("%q recorded something", body)
		}
		v, err := url.ParseQuery(body)
		if err != nil {
			return
		}
		if got := w.Body.String(); w.Code == http.StatusOK && slices.Contains(v["sign"], "smoking") && !strings.Contains(got, "c-emergency") {
			t.Fatalf("%q names smoke, and the answer is no emergency: %.600s", body, got)
		}
	})
}

// Whatever the file of a draft holds, it is read as the draft of that name or refused,
// and stays as it is; what is read is written as it was read.
func FuzzDraftFile(f *testing.F) {
	const id = "00112233445566778899aabbccddeeff"
	for _, s := range []string{`{"id":"` + id + `","rev":3,"bench":"Bench 2","begun":"2026-11-26T14:07:00Z","changed":"2026-11-26T14:07:00Z","values":{"ticket":["R-77"],"sign":["dented"]}}`, `{"id":"` + id + `","values":null,"writing":7,"wrote":{"x":[]},"entry":9,"tag":"F2XE9R"}`,
		`{"id":"../../etc"}`, `{"id":"` + id + `"`, "", "[]", `{"id":"` + id + `","begun":"no time"}`, `{"id":"` + id + `","rev":1e400}`, "\x00"} {
		f.Add([]byte(s))
	}
	d := drafts{f.TempDir()}
	f.Fuzz(func(t *testing.T, data []byte) {
		if err := os.WriteFile(d.file(id), data, 0o600); err != nil {
			t.Fatal(err)
		}
		x, err := d.get(id)
		if err != nil {
			if left, _ := os.ReadFile(d.file(id)); x != nil || !slices.Equal(left, data) || !strings.Contains(err.Error(), "left as it is") {
				t.Fatalf("refused with %+v, %v", x, err)
			}
			if list := d.open("Bench 2", time.Unix(1.8e9, 0)); len(list) != 0 {
				t.Fatalf("listed: %+v", list[0])
			}
			return
		}
		if x.ID != id {
			t.Fatalf("%q is read as %q", data, x.ID)
		}
		if _, err := json.Marshal(x); err != nil {
			return // a year that JSON has no form for
		}
		if err := d.putAside(x); err != nil {
			t.Fatal(err)
		}
		again, err := d.get(id)
		if err != nil || !reflect.DeepEqual(empty(again.Values), empty(x.Values)) || again.Rev != x.Rev || again.Entry != x.Entry || again.Writing != x.Writing || !again.Changed.Equal(x.Changed) {
			t.Fatalf("%+v is written and read as %+v, %v", x, again, err)
		}
	})
}

// empty leaves out names without a value, and makes nil of no names.
func empty(v url.Values) url.Values {
	out := maps.Clone(v)
	maps.DeleteFunc(out, func(_ string, list []string) bool { return len(list) == 0 })
	if len(out) == 0 {
		return nil
	}
	return out
}

// An address to listen on that is taken is one of this machine, and taken again as it
// is returned.
func FuzzLoopback(f *testing.F) {
	for _, s := range []string{"127.0.0.1:8417", "[::1]:0", "localhost:80", "0.0.0.0:80", "127.0.0.2:80", "[::1%lo]:1", "[::ffff:127.0.0.1]:1", ":80", "127.0.0.1:+1", "127.0.0.1:99999", "127.1:80", "LOCALHOST:1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		addr, err := Loopback(s)
		if err != nil {
			return
		}
		again, err := Loopback(addr)
		if err != nil || again != addr || !strings.HasPrefix(addr, "127.0.0.1:") && !strings.HasPrefix(addr, "[::1]:") {
			t.Fatalf("%q is %q, and that is %q, %v", s, addr, again, err)
		}
	})
}
