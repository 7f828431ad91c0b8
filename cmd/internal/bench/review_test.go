package bench

import (
	"html"
	"net/http"
	"regexp"
	"strings"
	"testing"
)

// A finding is answered by a named person with a reason, and stays with the answer.
func TestReview(t *testing.T) {
	x := newShop(t)
	x.swollen()
	x.now = x.now.AddDate(0, 2, 0) // two months without a look
	page := x.get("/review")
	want(t, page, http.StatusOK, "PERIOD", "Looked at and in order", "Not to be seen in a log", "Drawn at random", "Answer it", "pouchward review sign")
	form := regexp.MustCompile(`(?s)name="form" value="([0-9a-f]{32})".*?name="check" value="([^"]+)"><input type="hidden" name="subject" value="([^"]*)"`).FindStringSubmatch(page.Body.String())
	if form == nil {
		t.Fatal("no finding can be answered")
	}
	number, check, subject := form[1], form[2], html.UnescapeString(form[3])
	before := x.size()
	for _, c := range []struct{ name, value, want string }{
		{"reason", "", "say why"}, {"until", "2020-01-01", "is over"}, {"until", "soon", "soon"}, {"check", "review-<script>", "has no finding"}, {"subject", "<script>", "no finding"}, {"do", "", "press one of the buttons"}, {"who", "?", "names none"},
	} {
		pairs := map[string]string{"do": "sign", "check": check, "subject": subject, "reason": "kept for the maker <b>", "until": "", "who": "ML"}
		pairs[c.name] = c.value
		list := []string{"form", newForm()}
		for k, v := range pairs {
			list = append(list, k, v)
		}
		w := x.post("/review/sign", list...)
		want(t, w, http.StatusUnprocessableEntity, c.want, "!<script>", "!maker <b>")
		if x.size() != before {
			t.Errorf("%s %q wrote", c.name, c.value)
		}
	}
	signed := []string{"form", number, "do", "sign", "check", check, "subject", subject, "reason", "kept for the maker <b>", "who", "ML"}
	for _, says := range []string{"Answered as entry", "came a second time"} {
		w := x.post("/review/sign", signed...)
		want(t, w, http.StatusSeeOther)
		if x.size() != before+1 || x.entry(x.size()).Kind != "sign-off" || x.entry(x.size()).Who != "ML" {
			t.Fatalf("%d entries", x.size())
		}
		want(t, x.get(w.Header().Get("Location")), http.StatusOK, "answered by ML", says, "kept for the maker &lt;b&gt;")
	}
	want(t, x.get("/review?from=x"), http.StatusUnprocessableEntity, "Review")
	want(t, x.get("/review?from=2026-11-26&to=2026-12-30"), http.StatusOK, "2026-11-26 to 2026-12-30", "!Answer it")
	want(t, x.get("/review/sign"), http.StatusNotFound)
}

// Rules are found by id, words and route, and each that is found has a page.
func TestRules(t *testing.T) {
	x := newShop(t)
	w := x.get("/rules?route=us-highway")
	want(t, w, http.StatusOK, "pouchward rules list --route us-highway")
	links := regexp.MustCompile(`href="(/rules/[^"]+)"`).FindAllStringSubmatch(w.Body.String(), -1)
	if len(links) < 5 {
		t.Fatalf("%d rules", len(links))
	}
	for _, l := range links[:5] {
		id := strings.TrimPrefix(l[1], "/rules/")
		want(t, x.get(l[1]), http.StatusOK, "<h1>"+id+"</h1>", "SOURCE", "BASIS", "pouchward rules explain "+id)
		want(t, x.get("/rules?q="+strings.ToUpper(id)), http.StatusOK, l[1])
	}
	want(t, x.get("/rules?q=no+such+words+at+all"), http.StatusOK, "None has these words")
	want(t, x.get("/rules?q=%3Cscript%3Ealert(1)"), http.StatusOK, "&lt;script&gt;", "!<script>alert")
	want(t, x.get("/rules/swolen"), http.StatusNotFound, "no rule")
	want(t, x.get("/rules/%3Cscript%3E"), http.StatusNotFound, "!<script>")
}
