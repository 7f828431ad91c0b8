package exports

import (
	"bytes"
	"io"
	"strings"
	"testing"
	"unicode/utf8"

	"pouchward/triage"
)

func drawn(t *testing.T, draw func(io.Writer) error) []string {
	t.Helper()
	var b bytes.Buffer
	if err := draw(&b); err != nil {
		t.Fatal(err)
	}
	return strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n")
}

// fits checks a sheet against the paper it is printed on.
func fits(t *testing.T, lines []string, columns, most int) {
	t.Helper()
	for i, l := range lines {
		if n := utf8.RuneCountInString(l); n > columns {
			t.Errorf("line %d has %d columns, over %d: %s", i+1, n, columns, l)
		}
	}
	if len(lines) > most {
		t.Errorf("%d lines, over the %d of a page", len(lines), most)
	}
}

func rules(t *testing.T) *triage.Rulebook {
	t.Helper()
	tables, err := triage.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	rb, err := tables.On(tables.Newest())
	if err != nil {
		t.Fatal(err)
	}
	return rb
}

func TestWallSheetIsOnePage(t *testing.T) {
	full := triage.Shop{Site: strings.Repeat("Straße ", 14), FireService: "112", IsolationPlace: strings.Repeat("x", 30) + " " + strings.Repeat("y", 29)}
	for name, shop := range map[string]triage.Shop{"nothing answered": {}, "all answered": full} {
		s := NewWallSheet(rules(t), shop)
		lines := drawn(t, s.Text)
		fits(t, lines, 80, 58)
		text := strings.Join(lines, "\n")
		for _, want := range []string{"FIRE SERVICE", "MEETING PLACE", "AFTER HOURS CALL", "ISOLATION PLACE", "Smoke breathed in", "hydrogen fluoride", triage.LocalFirst} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: no %q", name, want)
			}
		}
		fits(t, drawn(t, func(w io.Writer) error { return EmergencyCard(w, s, false) }), 80, 24)
	}
}

func TestWallSheetPrintsAnswersAndLinesToWriteOn(t *testing.T) {
	for _, c := range []struct {
		shop        triage.Shop
		want, blank string
	}{
		{triage.Shop{FireService: "0-112"}, " FIRE SERVICE      0-112\n", " ISOLATION PLACE   ____"},
		{triage.Shop{IsolationPlace: "yard"}, " ISOLATION PLACE   yard\n", " FIRE SERVICE      ____"},
		{triage.Shop{Site: "a\x1b[2Jb"}, " Site: a\uFFFD[2Jb", " FIRE SERVICE      ____"},
	} {
		text := strings.Join(drawn(t, NewWallSheet(rules(t), c.shop).Text), "\n")
		if !strings.Contains(text, c.want) || !strings.Contains(text, c.blank) {
			t.Errorf("%+v: want %q and %q in\n%s", c.shop, c.want, c.blank, text)
		}
	}
}

// A word of the card in letters that are not drawn would be small on the wall.
func TestWordsOfTheCardAreBig(t *testing.T) {
	s := NewWallSheet(rules(t), triage.Shop{})
	words := []string{s.Word}
	for _, st := range s.Steps {
		words = append(words, st.Word)
		if st.Text == "" {
			t.Errorf("step %q has no text", st.Word)
		}
	}
	if len(words) != 5 {
		t.Errorf("the card has the words %q", words)
	}
	for _, w := range words {
		if got := len(big(w)); got != bigRows {
			t.Errorf("%s is %d lines high: draw its letters in letters.go", w, got)
		}
	}
	for r, rows := range bigLetters {
		for _, l := range rows {
			if len(l) != 5 || strings.Trim(l, "# ") != "" {
				t.Errorf("letter %c has the row %q", r, l)
			}
		}
	}
	if got := big("A1"); len(got) != 1 || got[0] != "A1" {
		t.Errorf("a word that is not drawn: %q", got)
	}
}

func TestDaySheetIsOneLandscapePage(t *testing.T) {
	for _, site := range []string{"", "Nordstraße", strings.Repeat("long name ", 10)} {
		s := NewDaySheet(site)
		lines := drawn(t, s.Text)
		fits(t, lines, 110, 54)
		empty := 0
		for _, l := range lines {
			if strings.Trim(l, "| ") == "" {
				empty++
			}
		}
		if empty != 20 {
			t.Errorf("%q: %d rows to fill, want 20", site, empty)
		}
		text := strings.Join(lines, "\n")
		for _, want := range []string{"|tag ", "|who ", "|signs ", "|cell_c|", "|ambient_c|", "|ocv_v |", "|thickness_mm|", "|place ", "|kept |", "date ____", "bench ____",
			"? not yet", "ni no", "us unsafe", "nr not", "ur unreadable", "na does", "1 swollen", "14 misused"} {
			if !strings.Contains(text, want) {
				t.Errorf("%q: no %q", site, want)
			}
		}
		for _, c := range s.Columns {
			if _, ok := triage.FieldByName(c.Name); !ok && c.Name != "time" && c.Name != "place" {
				t.Errorf("column %q is no field", c.Name)
			}
		}
	}
}

func TestTagSheetHasTwoOfEach(t *testing.T) {
	for _, n := range []int{1, 2, 3, 40} {
		var tags []string
		for i := range n {
			tags = append(tags, triage.IssueTag(triage.CellTag, int64(i+1)))
		}
		lines := drawn(t, NewTagSheet("Straße", tags).Text)
		fits(t, lines, 77, 6+4*((n+1)/2)+1)
		text := strings.Join(lines, "\n")
		for _, tag := range tags {
			if got := strings.Count(text, triage.SpacedTag(tag)); got != 2 {
				t.Errorf("%d tags: %s stands there %d times, want 2", n, tag, got)
			}
		}
		if got := strings.Count(text, "no transport mark"); got != 2*n {
			t.Errorf("%d tags: %d say that they are no transport mark, want %d", n, got, 2*n)
		}
		if !strings.Contains(text, "They are not transport marks") {
			t.Errorf("the head does not say what the tags are not")
		}
	}
}
