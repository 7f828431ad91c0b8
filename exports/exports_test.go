package exports

import (
	"bytes"
	"encoding/csv"
	"errors"
	"regexp"
	"strings"
	"testing"

	"pouchward/exports/exportstest"
	"pouchward/triage"
)

func shipped(t testing.TB) *triage.Rulebook {
	t.Helper()
	return exportstest.Rules(t, "2026-11-25")
}

func judge(t testing.TB, rb *triage.Rulebook, values map[string]string) *triage.Verdict {
	t.Helper()
	c := &triage.Case{On: rb.On}
	for name, text := range values {
		f, ok := triage.FieldByName(name)
		if !ok {
			t.Fatalf("no field %s", name)
		}
		if err := c.Reading.Set(f, text); err != nil {
			t.Fatal(err)
		}
	}
	v := &triage.Verdict{}
	rb.Judge(c, v)
	return v
}

func TestCleanCell(t *testing.T) {
	for in, want := range map[string]string{
		"plain":             "plain",
		"-5":                "-5",
		"-5 °C":             "-5 °C",
		"+3.78":             "+3.78",
		"-":                 "'-",
		"=1+1":              "'=1+1",
		"+1+1":              "'+1+1",
		"@cmd":              "'@cmd",
		"-2+3":              "'-2+3",
		"'=1+1":             "'=1+1",
		"a\x1b[2Jb":         "a\uFFFD[2Jb",
		"two\nlines":        "two\nlines",
		"two\r\nlines":      "two\nlines",
		"tab\there":         "tab\uFFFDhere",
		"turned \u202Eback": "turned \uFFFDback",
		"bad \xff utf":      "bad \uFFFD utf",
		"\u009b31m":         "\uFFFD31m",
		"Ünïcode µΩ":        "Ünïcode µΩ",
	} {
		if got := cleanCell(in); got != want {
			t.Errorf("%q: got %q, want %q", in, got, want)
		}
	}
}

// The card fits its width, says its word of strength once and none of the words
// that are never printed.
func TestCardOfEveryClass(t *testing.T) {
	rb := shipped(t)
	base := map[string]string{"recalled": "no", "cell_c": "22", "ambient_c": "21", "ocv_v": "3.8", "chemistry": "li-ion",
		"series": "1", "parallel": "1", "nominal_v": "3.85", "rated_mah": "5000", "fit": "loose", "tag": "F2XE9R"}
	for _, c := range []struct {
		name, word string
		change     map[string]string
	}{
		{"sound", "CAUTION   NO FAULT SEEN", map[string]string{"signs": "none", "purpose": "reuse"}},
		{"retire", "CAUTION   RETIRE", map[string]string{"signs": "none", "purpose": "recycle"}},
		{"hold", "WARNING   HOLD", map[string]string{"signs": "none", "ocv_v": "?"}},
		{"isolate", "WARNING   ISOLATE NOW", map[string]string{"signs": "swollen"}},
		{"emergency", "DANGER   GET AWAY NOW", map[string]string{"signs": "smoking"}},
	} {
		values := map[string]string{}
		for k, v := range base {
			values[k] = v
		}
		for k, v := range c.change {
			values[k] = v
		}
		var b bytes.Buffer
		if err := Card(&b, rb, judge(t, rb, values), nil, CardOptions{Why: true}); err != nil {
			t.Fatal(err)
		}
		text := b.String()
		for i, line := range strings.Split(text, "\n") {
			if len([]rune(line)) > width {
				t.Errorf("%s line %d is %d wide: %s", c.name, i+1, len([]rune(line)), line)
			}
		}
		if !strings.Contains(text, c.word) {
			t.Errorf("%s: no %q in\n%s", c.name, c.word, text)
		}
		strengths := 0
		for _, w := range []string{"DANGER", "WARNING", "CAUTION"} {
			strengths += strings.Count(text, w)
		}
		if strengths != 1 {
			t.Errorf("%s says %d words of strength", c.name, strengths)
		}
		for _, w := range []string{"safe", "Safe", "SAFE", "dead", "OK"} {
			for _, word := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" \n.,;:()[]", r) }) {
				if word == w {
					t.Errorf("%s prints %q", c.name, w)
				}
			}
		}
	}
}

// The cells are those that encoding/csv would write.
func TestCellsAreQuotedAsTheLibraryDoes(t *testing.T) {
	for _, c := range []string{"", "a", "a,b", `a"b`, "a\nb", " a", "a ", "\u00a0a", `\.`, "3,78 V", "Ünï", "\"", "=1", "-5"} {
		var want bytes.Buffer
		w := csv.NewWriter(&want)
		if err := w.Write([]string{"x", cleanCell(c)}); err != nil {
			t.Fatal(err)
		}
		w.Flush()
		if got := "x," + string(appendCell(nil, c)) + "\n"; got != want.String() {
			t.Errorf("%q: got %q, the library writes %q", c, got, want.String())
		}
	}
}

func TestRowsHaveEveryColumn(t *testing.T) {
	rb := shipped(t)
	enc, err := NewRowEncoder("csv", rb)
	if err != nil {
		t.Fatal(err)
	}
	v := judge(t, rb, nil)
	out := string(enc.Row(enc.Head(nil, []string{"note"}), &Row{Number: 1, Cells: []string{"=x"}, Verdict: v, Refused: []string{"a", "b"}}))
	lines := strings.Split(out, "\n")
	head, row := strings.Split(lines[0], ","), strings.Split(lines[1], ",")
	if len(head) != 1+len(OutputColumns) || len(row) != len(head) {
		t.Fatalf("%d columns, %d cells, want %d", len(head), len(row), 1+len(OutputColumns))
	}
	got := map[string]string{}
	for i, h := range head {
		got[h] = row[i]
	}
	for column, want := range map[string]string{"note": "'=x", "handling": "hold", "condition": "undetermined", "size": "unknown",
		"waste": "unknown", "us_highway": "undecided", "air_cargo": "undecided", "error": "a | b"} {
		if got[column] != want {
			t.Errorf("%s: got %q, want %q", column, got[column], want)
		}
	}
	if _, err := NewRowEncoder("xml", rb); err == nil {
		t.Error("xml was accepted")
	}
}

// The open local question is one line of the card, below the line.
func TestCardPrintsOneLocalQuestion(t *testing.T) {
	rb := shipped(t)
	v := judge(t, rb, map[string]string{"signs": "swollen", "recalled": "no"})
	card := func(l *triage.Local) string {
		var b bytes.Buffer
		if err := Card(&b, rb, v, nil, CardOptions{Local: l}); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	without := card(nil)
	if strings.Contains(without, "LOCAL") {
		t.Errorf("a card without an open question prints\n%s", without)
	}
	if n := len(rb.Locals()); n != 12 {
		t.Errorf("%d local questions, agreed 12", n)
	}
	for _, l := range rb.Locals() {
		with := card(l)
		line := " LOCAL     " + l.Question + " Ask " + l.Ask + ".\n"
		if strings.Replace(with, line, "", 1) != without {
			t.Errorf("%s: the card is not the same but for the line %q:\n%s", l.ID, line, with)
		}
		if strings.Index(with, line) < strings.Index(with, strings.Repeat("-", width)) {
			t.Errorf("%s stands above the line", l.ID)
		}
	}
}

// A cell of which little is known may have many waste codes: each stands once, and what one text says is cited once.
func TestPapersPrintEachWasteCodeOnce(t *testing.T) {
	rb := exportstest.Rules(t, "2026-12-10")
	c := &triage.Case{On: rb.On, Country: "DE"}
	v := &triage.Verdict{}
	rb.Judge(c, v)
	var b bytes.Buffer
	if err := Papers(&b, rb, v, nil, nil); err != nil {
		t.Fatal(err)
	}
	text := strings.Join(strings.Fields(b.String()), " ")
	for _, want := range []string{"16 06 07* (", "20 01 43* (", "16 06 08* (", "16 06 10* (", "16 06 12 (", "20 01 42* (", "20 01 44 (", "16 02 13* (discarded", "20 01 35* (discarded", "restated in a public lookup table", "OJ L 2025/90657"} {
		if n := strings.Count(text, want); n != 1 {
			t.Errorf("%q stands %d times in\n%s", want, n, b.String())
		}
	}
}

// Colour says nothing that words do not: without its codes the coloured card is the
// plain one, and so is the emergency card.
func TestColourAddsNothing(t *testing.T) {
	rb := shipped(t)
	codes := regexp.MustCompile("\x1b\\[[0-9;]*m")
	for _, signs := range []string{"none", "swollen", "smoking"} {
		v := judge(t, rb, map[string]string{"signs": signs, "tag": "F2XE9R"})
		var plain, coloured bytes.Buffer
		if err := errors.Join(Card(&plain, rb, v, nil, CardOptions{}), Card(&coloured, rb, v, nil, CardOptions{Colour: true})); err != nil {
			t.Fatal(err)
		}
		if !codes.Match(coloured.Bytes()) || codes.Match(plain.Bytes()) {
			t.Errorf("%s: colour is not where it was asked for", signs)
		}
		if got := codes.ReplaceAllString(coloured.String(), ""); got != plain.String() {
			t.Errorf("%s: without colour it is\n%s\nnot\n%s", signs, got, plain.String())
		}
	}
	sheet := &WallSheet{Word: "DANGER", Steps: []Step{{"AWAY", "Everybody out."}}, Care: []string{"Care."}, Source: "common practice"}
	var plain, coloured bytes.Buffer
	if err := errors.Join(EmergencyCard(&plain, sheet, false), EmergencyCard(&coloured, sheet, true)); err != nil {
		t.Fatal(err)
	}
	if got := codes.ReplaceAllString(coloured.String(), ""); got != plain.String() {
		t.Errorf("without colour the emergency card is\n%s\nnot\n%s", got, plain.String())
	}
}

// A cell that is passed through at once is one that would be neither cleaned nor quoted.
func TestPlainCells(t *testing.T) {
	plain := 0
	for i := range 1 << 16 {
		c := string([]byte{byte(i >> 8), byte(i)})
		if !isPlain(c) {
			continue
		}
		if plain++; cleanCell(c) != c || needsQuotes(c) {
			t.Errorf("%q is not plain", c)
		}
	}
	if plain != 62*65 || !isPlain("") || !isPlain("li-ion 3.78") || isPlain("=1") || isPlain("34E279") || isPlain(" 1") || isPlain("a\xff") {
		t.Errorf("%d of two letters are plain, want %d", plain, 62*65)
	}
}

// What steers a terminal is replaced wherever it stands, also where nothing else is
// beyond ASCII; line breaks of an indented document stay.
func TestEncodeJSONCleans(t *testing.T) {
	for name, c := range map[string]struct{ text, indent, want string }{
		"plain":      {"a<b", "", "[\"a<b\"]\n"},
		"degrees":    {"21 °C →", "", "[\"21 °C →\"]\n"},
		"delete":     {"a\x7fb", "", "[\"a\uFFFDb\"]\n"},
		"c1 control": {"a\u009bb", "", "[\"a\uFFFDb\"]\n"},
		"direction":  {"a\u202eb", "  ", "[\n  \"a\uFFFDb\"\n]\n"},
		"not utf-8":  {"a\xffb", "", "[\"a\\ufffdb\"]\n"},
	} {
		var w bytes.Buffer
		if err := EncodeJSON(&w, []string{c.text}, c.indent); err != nil || w.String() != c.want {
			t.Errorf("%s: got %q, want %q (%v)", name, w.String(), c.want, err)
		}
	}
}
