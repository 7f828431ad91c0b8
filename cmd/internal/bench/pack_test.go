package bench

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"pouchward/triage"
)

// good is a cell that may travel by us-highway in a strong packaging.
func (x *shop) good() string {
	x.Helper()
	tag := x.record("signs=none", "recalled=no", "cell_c=21", "ambient_c=21", "ocv_v=3.8", "kind=pouch", "chemistry=li-ion", "series=1", "parallel=1", "nominal_v=3.85", "rated_mah=3000",
		"charge_limit_v=4.4", "fit=loose", "rocks=no", "purpose=recycle", "type_tested=yes", "mass_g=45")
	want(x.TB, x.send("/cell/"+tag, "/cell/"+tag+"/secure", "do", "record", "terminals", "yes", "bag", "yes"), http.StatusSeeOther)
	return tag
}

func begin(x *shop, tag string, more ...string) (box string) {
	x.Helper()
	w := x.send("/pack", "/pack/begin", append([]string{"do", "begin", "shipment", "new", "route", "us-highway", "outer", "box 30x20x20", "level", "strong", "tare", "0.4", "most", "30", "inner", "yes", "fill", "yes", "tag", tag}, more...)...)
	want(x.TB, w, http.StatusSeeOther)
	m := regexp.MustCompile(`^/pack/([0-9A-Z]{4})\?entry=\d+$`).FindStringSubmatch(w.Header().Get("Location"))
	if m == nil {
		x.Fatalf("led to %s: %s", w.Header().Get("Location"), w.Body)
	}
	return m[1]
}

// Scan to pack: what goes in, what is refused with its reason, and one that is scanned
// twice. A scan closes nothing.
func TestPack(t *testing.T) {
	x := newShop(t)
	first, second, bad := x.good(), x.good(), x.swollen()
	box := begin(x, first)
	page := "/pack/" + box
	want(t, x.get(page), http.StatusOK, "1 cell", "/cell/"+first, "data-scan-send")
	want(t, x.get("/pack"), http.StatusOK, page, "Begin a package")

	w := x.send(page, page+"/scan", "tag", strings.ToLower(triage.SpacedTag(second)))
	want(t, w, http.StatusSeeOther)
	at := w.Header().Get("Location")
	want(t, x.get(at), http.StatusOK, "PACKED "+triage.SpacedTag(second), "2 cells", "pouchward ship pack")
	before := x.size()
	want(t, x.send(page, page+"/scan", "tag", second), http.StatusOK, "ALREADY IN IT", "counted once")
	for _, c := range []struct{ text, want string }{
		{bad, "ISOLATE"}, {"F2XE9R", "F2 XE9R"}, {"F2XE9C", "does not hold"}, {box, "tag of a container"}, {"", "nothing was scanned"}, {"<script>alert(1)</script>", "&lt;script&gt;"}, {"close", "REFUSED"}, {strings.Repeat("F", 5000), "REFUSED"},
	} {
		w := x.send(page, page+"/scan", "tag", c.text, "do", "close")
		want(t, w, http.StatusUnprocessableEntity, "REFUSED", c.want, "Nothing was recorded", "!<script>alert")
	}
	if x.size() != before {
		t.Error("a refused scan wrote")
	}
	want(t, x.get(at+"0"), http.StatusOK, "!PACKED")

	// Closing keeps what was typed and asks for two people.
	// What stands ticked from the beginning and was denied is not closed over.
	want(t, x.get(page), http.StatusOK, `name="inner" value="yes" checked`, `name="fill" value="yes" checked`)
	close := []string{"do", "close", "gross", "0.5", "tare", "0.41", "packed", "LS", "checked", "MK", "note", "seal <script>", "inner", "yes"}
	want(t, x.send(page, page+"/close", close...), http.StatusUnprocessableEntity, "a tick was taken away", `name="inner" value="yes" checked`, `!name="fill" value="yes" checked`)
	close = append(close, "fill", "yes")
	close[9] = "LS"
	want(t, x.send(page, page+"/close", close...), http.StatusUnprocessableEntity, "another person", `value="0.41"`, "seal &lt;script&gt;")
	close[9] = "MK"
	want(t, x.send(page, page+"/close", append([]string{}, close[2:]...)...), http.StatusUnprocessableEntity, "press one of the buttons")
	number := x.number(page)
	for range 2 {
		w = x.post(page+"/close", append(close, "form", number)...)
		want(t, w, http.StatusSeeOther)
	}
	want(t, x.get(w.Header().Get("Location")), http.StatusOK, "closed:", "came a second time", "/papers/", "!data-scan-send")
	want(t, x.post(page+"/scan", "form", newForm(), "tag", x.good()), http.StatusUnprocessableEntity, "REFUSED")
	want(t, x.get(page+"/scan"), http.StatusNotFound)
}

// What is packed names a person; that nobody is named refuses no cell.
func TestPackAsksWho(t *testing.T) {
	x := newShop(t)
	first, second := x.good(), x.good()
	page := "/pack/" + begin(x, first)
	want(t, x.get(page), http.StatusOK, "!Your initials")
	x.s.Config.Who = ""
	before := x.size()
	want(t, x.get(page), http.StatusOK, "Your initials")
	want(t, x.send(page, page+"/scan", "tag", second), http.StatusUnprocessableEntity, "who does it?", `value="`+second+`"`, "!REFUSED", "!Put it aside")
	if x.size() != before {
		t.Fatal("packed by nobody")
	}
	w := x.send(page, page+"/scan", "tag", second, "who", "LS")
	if c := w.Result().Cookies(); w.Code != http.StatusSeeOther || len(c) != 1 || x.size() != before+1 || x.entry(before+1).Who != "LS" {
		t.Errorf("%d %v, %d entries", w.Code, c, x.size()-before)
	}
}

// What begins a package is refused as a whole, and keeps what was typed.
func TestBeginPackRefuses(t *testing.T) {
	x := newShop(t)
	good := x.good()
	base := url.Values{"do": {"begin"}, "shipment": {"new"}, "route": {"us-highway"}, "outer": {"box"}, "level": {"strong"}, "tare": {"0.4"}, "most": {"30"}, "tag": {good}, "consignee": {"A <script>"}}
	for _, c := range []struct{ name, value, want string }{
		{"tag", "", "Not"}, {"tag", x.swollen(), "ISOLATE"}, {"outer", "", "name"}, {"outer", "a,pg1", "without a comma"}, {"tare", "0,4", "without a comma"}, {"level", "none", "level"},
		{"level", "pg1", "UN mark"}, {"route", "moon", "moon"}, {"shipment", "7T3JR", "shipment"}, {"do", "", "press one of the buttons"}, {"tare", "40", "weighs"},
	} {
		v := url.Values{"form": {x.number("/pack")}}
		for name, list := range base {
			v[name] = list
		}
		v.Set(c.name, c.value)
		before := x.size()
		w := x.do("POST", "/pack/begin", v.Encode())
		want(t, w, http.StatusUnprocessableEntity, "A &lt;script&gt;", "!A <script>", `class="fault"`)
		if c.want != "Not" && !strings.Contains(w.Body.String(), c.want) {
			t.Errorf("%s %q: no %q", c.name, c.value, c.want)
		}
		if x.size() != before {
			t.Errorf("%s %q wrote", c.name, c.value)
		}
	}
	number := x.number("/pack")
	base.Set("form", number)
	base.Set("inner", "yes")
	base.Set("fill", "yes")
	first := x.do("POST", "/pack/begin", base.Encode())
	before := x.size()
	again := x.do("POST", "/pack/begin", base.Encode())
	if first.Code != 303 || first.Header().Get("Location") != again.Header().Get("Location") || x.size() != before {
		t.Errorf("%d to %s, again to %s", first.Code, first.Header().Get("Location"), again.Header().Get("Location"))
	}
}
