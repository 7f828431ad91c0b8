package bench

import (
	"errors"
	"html"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"pouchward/cmd/internal/app"
)

var (
	shownCommand = regexp.MustCompile(`(?s)<code[^>]*>.*?</code>|<script.*?</script>|<!--.*?-->`)
	anElement    = regexp.MustCompile(`(?s)<[^>]*>`)
	flagInText   = regexp.MustCompile(`.{0,60}(^|[\s(:])--[a-z].{0,60}`)
)

// noFlags looks at every answer of every test: nobody at a page types flags, so none
// stands in what is read, but in a command that is shown as one.
func (x *shop) noFlags(w *httptest.ResponseRecorder) {
	x.Helper()
	if !strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
		return
	}
	text := html.UnescapeString(anElement.ReplaceAllString(shownCommand.ReplaceAllString(w.Body.String(), ""), " "))
	if flag := flagInText.FindString(text); flag != "" {
		x.Errorf("the page speaks of a flag: %q", flag)
	}
}

// What app says of flags and commands is said in the words of the page; what a person
// typed stays as it was typed, and a command without a place here is shown as one.
func TestWords(t *testing.T) {
	for _, c := range []struct{ says, want string }{
		{"a determination names the person: --who INITIALS", "a determination names the person: “Initials”"},
		{"say who checked it, a second person: --checked-by INITIALS (a shop of one says solo = true in its house file)", "say who checked it, a second person: “Checked by” (a shop of one says solo = true in its house file)"},
		{"no assessment of F2 XE9R is on record; begin with pouchward assess --tag F2XE9R --record", "no assessment of F2 XE9R is on record; begin with Assess"},
		{`--field "colour" is no reading; did you mean ocv_v? (pouchward fields)`, `“What should say something else” "colour" is no reading; did you mean ocv_v?`},
		{`--reason "--who" is none of mistyped, misread`, `“Why” "--who" is none of mistyped, misread`},
		{"it must be quiet: pouchward recheck F2XE9R same --quiet-h 24 --cell-c ... --ambient-c ...", "it must be quiet: Assess, with the hours that it was quiet"},
		{"the log does not verify: pouchward log verify tells all; --despite-damage reviews it", "the log does not verify: `pouchward log verify tells all`; “despite damage” reviews it"},
		{"use --cell-c", "use “surface temperature”"},
		{"it weighs 3--4 kg", "it weighs 3--4 kg"},
	} {
		if got := inWords(c.says); got != c.want {
			t.Errorf("%s\nis said as %s\nwant       %s", c.says, got, c.want)
		}
	}
	if got := string(asCode(words(app.Usage("see pouchward setup --dir x; <b> & `")))); got != "see <code>pouchward setup --dir x</code>; &lt;b&gt; &amp; `" {
		t.Error(got)
	}
	if got := string(asCode(asCommandWords + "pouchward move F2XE9R --to `<b>`")); got != "As a command: <code>pouchward move F2XE9R --to &#39;&lt;b&gt;&#39;</code>" {
		t.Error(got)
	}
	if got := words(errors.New("one\ntwo")); got != "one; two" {
		t.Error(got)
	}
}
