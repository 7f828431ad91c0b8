package bench

import (
	"image/png"
	"io"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"pouchward/triage"
)

// decoded reads the code on a picture.
func decoded(t *testing.T, r io.Reader) string {
	t.Helper()
	img, err := png.Decode(r)
	if err != nil {
		t.Fatal(err)
	}
	bits, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	got, err := qrcode.NewQRCodeReader().Decode(bits, nil)
	if err != nil {
		t.Fatal(err)
	}
	return got.GetText()
}

var lastShown = regexp.MustCompile(`name="last" value="([0-9-]+)"`)

// An entry that was meant for another cell goes there; what both become is shown first.
func TestWrongCell(t *testing.T) {
	x := newShop(t)
	tag, meant := x.good(), x.record("signs=none", "ocv_v=3.7")
	page := "/cell/" + tag
	bad := x.record("tag="+tag, "signs=swollen")
	if bad != tag {
		t.Fatal(bad)
	}
	wrong := x.size()
	before := wrong
	form := []string{"do", "show", "entry", strconv.FormatInt(wrong, 10), "right", triage.SpacedTag(meant), "note", "tape swapped"}
	w := x.send(page, page+"/wrong", form...)
	want(t, w, http.StatusOK, triage.SpacedTag(tag), triage.SpacedTag(meant), "ISOLATE", "RECORD the move to the other cell", "--wrong-cell")
	if n := strings.Count(w.Body.String(), `class="banner`); n != 4 {
		t.Errorf("%d verdicts are shown, want 4", n)
	}
	if x.size() != before {
		t.Fatal("showing wrote")
	}
	number, last := formField.FindStringSubmatch(w.Body.String())[1], lastShown.FindStringSubmatch(w.Body.String())[1]
	form[1] = "record"
	// The cell that was meant gets another look in between.
	want(t, x.send("/cell/"+meant, "/cell/"+meant+"/recheck", "found", "same", "cell_c", "22", "ambient_c", "22"), http.StatusSeeOther)
	w = x.post(page+"/wrong", append(form, "last", last, "form", number)...)
	want(t, w, http.StatusConflict, "came in between")
	last = lastShown.FindStringSubmatch(w.Body.String())[1]
	for range 2 {
		want(t, x.post(page+"/wrong", append(form, "last", last, "form", number)...), http.StatusSeeOther)
	}
	if a, b := x.entry(before+2), x.entry(before+3); x.size() != before+3 || a.Kind != "assessment" || a.Tags[0] != meant || b.Kind != "retraction" || b.Tags[0] != tag {
		t.Errorf("%d entries: %s of %v, %s of %v", x.size()-before, a.Kind, a.Tags, b.Kind, b.Tags)
	}
	for _, c := range []struct{ right, want string }{{"", "scan or type the tag"}, {tag, "another cell"}, {"F2XE9C", "does not hold"}, {"JEHF", "container"}} {
		want(t, x.send(page, page+"/wrong", "do", "show", "entry", "2", "right", c.right), http.StatusUnprocessableEntity, c.want)
	}
}

// A determination asks what the command asks, with no answer given beforehand, and shows
// both verdicts.
func TestDetermine(t *testing.T) {
	x := newShop(t)
	tag := x.record("signs=dented", "ocv_v=3.7", "cell_c=22", "ambient_c=22", "recalled=no")
	page := "/cell/" + tag
	body := x.get(page).Body.String()
	part := body[strings.Index(body, `id="determine"`):strings.Index(body, `id="photo"`)]
	if strings.Contains(part, "checked") || !strings.Contains(part, `name="lower" value="dented"`) || !strings.Contains(part, `<option value="" selected`) && !strings.Contains(part, `<option value="">`) {
		t.Errorf("a determination begins with an answer, or asks too little: %s", part)
	}
	form := map[string]string{"do": "show", "lower": "dented", "criteria": "c", "reason": "the mark is print, not a dent", "second": "LS", "until": "2027-05-25"}
	send := func(change ...string) []string {
		list := []string{}
		for name, value := range form {
			if len(change) > 0 && name == change[0] {
				value = change[1]
			}
			list = append(list, name, value)
		}
		return list
	}
	for _, c := range []struct{ name, value, want string }{
		{"lower", "", "say what is determined"}, {"criteria", "", "criteria"}, {"reason", " ", "reason"}, {"second", "", "second person"}, {"second", "MK", "second person"}, {"second", " mk ", "second person"},
		{"until", "soon", "soon"}, {"lower", "leaking", "does not hold"}, {"lower", "<script>", "!<script>"},
	} {
		before := x.size()
		list := send(c.name, c.value)
		if c.name == "lower" && c.value == "" {
			list = append(send("do", "show"), "x", "y")
			for i := 0; i < len(list); i += 2 {
				if list[i] == "lower" {
					list = append(list[:i], list[i+2:]...)
					break
				}
			}
		}
		w := x.send(page, page+"/determine", list...)
		want(t, w, http.StatusUnprocessableEntity, c.want)
		if x.size() != before {
			t.Errorf("%s %q wrote", c.name, c.value)
		}
	}
	w := x.send(page, page+"/determine", send()...)
	want(t, w, http.StatusOK, "As it stands", "With the change", "RECORD the determination", "Set aside: dented", "--second LS")
	number, last := formField.FindStringSubmatch(w.Body.String())[1], lastShown.FindStringSubmatch(w.Body.String())[1]
	before := x.size()
	for _, made := range []string{"0", "x", last + "0", last + "-1x", "-" + last} {
		want(t, x.post(page+"/determine", append(send("do", "record"), "form", number, "last", made)...), http.StatusConflict, "came in between")
	}
	if x.size() != before {
		t.Fatal("recorded on verdicts that were not shown")
	}
	want(t, x.post(page+"/determine", append(send("do", "record"), "form", number, "last", last)...), http.StatusSeeOther)
	if e := x.entry(x.size()); x.size() != before+1 || e.Kind != "determination" || !strings.Contains(string(e.Body.Raw()), `"second":"LS"`) {
		t.Errorf("a %s: %s", e.Kind, e.Body.Raw())
	}
}

// A closed package is opened again with a reason, and its papers are a PDF.
func TestReopenAndPapers(t *testing.T) {
	x := newShop(t)
	box := begin(x, x.good())
	page := "/pack/" + box
	if w := x.send(page, page+"/close", "do", "close", "gross", "0.455", "tare", "0.41", "packed", "LS", "checked", "MK", "inner", "yes", "fill", "yes"); w.Code != http.StatusSeeOther {
		t.Fatal(regexp.MustCompile(`class="fault"[^<]*<`).FindString(w.Body.String()))
	}
	w := x.get(page)
	want(t, w, http.StatusOK, "Open it again", "/papers/")
	at := regexp.MustCompile(`href="(/papers/[^"]+)"`).FindStringSubmatch(w.Body.String())[1]
	if pdf := x.get(at); pdf.Code != http.StatusOK || !strings.HasPrefix(pdf.Body.String(), "%PDF-") {
		t.Errorf("%d %.60s", pdf.Code, pdf.Body)
	}
	for _, path := range []string{"/papers/F2XE9C", "/papers/..%2fx", "/papers/7T3JR"} {
		if w := x.get(path); w.Code < 400 {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
	before := x.size()
	want(t, x.send(page, page+"/reopen", "do", "reopen", "reason", " "), http.StatusUnprocessableEntity, "say why it is opened")
	want(t, x.send(page, page+"/reopen", "reason", "one more cell"), http.StatusUnprocessableEntity, "press one of the buttons", `value="one more cell"`)
	if x.size() != before {
		t.Fatal("recorded")
	}
	if w = x.send(page, page+"/reopen", "do", "reopen", "reason", "one more cell"); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	want(t, x.get(w.Header().Get("Location")), http.StatusOK, "open again", "data-scan-send", "!CLOSED.")
}

// Each route says what it asks for, as the papers of the command do.
func TestRoutesSayTheirDuties(t *testing.T) {
	x := newShop(t)
	body := x.get("/cell/" + x.good()).Body.String()
	at := strings.Index(body, "What each route asks for")
	if at < 0 {
		t.Fatal("no routes")
	}
	for _, text := range []string{"us-highway", "PACKAGING", "MARK", "49 CFR 173.185", "Local codes, the carrier and licensed practice come first"} {
		if !strings.Contains(body[at:], text) {
			t.Errorf("the routes do not say %q", text)
		}
	}
}
