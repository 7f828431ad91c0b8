package table

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

// nasty are texts from outside, and what a cell shows of each.
var nasty = []struct{ text, cell string }{
	{"plain", "plain"},
	{`=HYPERLINK("http://x.invalid")`, `'=HYPERLINK("http://x.invalid")`},
	{"+1 555 0143", "'+1 555 0143"}, {"-2+3", "'-2+3"}, {"@SUM(A1)", "'@SUM(A1)"},
	{"-5", "'-5"},         // in a column of text it is a text
	{"34E279", "'34E279"}, // a tag that reads as a power of ten
	{"3E4E5", "3E4E5"}, {"E27", "E27"}, {"F2XE9R", "F2XE9R"},
	{"Schließfach, Ωμέγα, 電池", "Schließfach, Ωμέγα, 電池"},
	{"two\nlines", "two\nlines"}, {"win\r\nlines", "win\nlines"},
	{"a\x1b[2Jb\u202ec\x00d\u009be\ufeff", "a\uFFFD[2Jb\uFFFDc\uFFFDd\uFFFDe\uFFFD"},
	{"bad \xff utf-8", "bad \uFFFD utf-8"},
	{`quote "this", and`, `quote "this", and`}, {" space before", " space before"},
	{"\t=1+1", "\uFFFD=1+1"},
}

func nastyTable() *Table {
	fields := []Field[int]{
		{Column{Name: "text", Words: "text", Text: "a text"}, func(i *int) Value { return OfText(nasty[*i].text) }},
		{Column{Name: "energy_wh", Words: "energy", Unit: "Wh", Type: Decimal, Text: "an energy"}, func(i *int) Value { return OfSomeDecimal(triage.Micro(*i * 16_555_000)) }},
		{Column{Name: "n", Words: "n", Type: Whole, Text: "a number"}, func(i *int) Value { return OfWhole(int64(*i)) }},
		{Column{Name: "day", Words: "day", Type: Date, Text: "a day"}, func(i *int) Value { return OfDate(triage.Date(*i * 20000)) }},
		{Column{Name: "at", Words: "at", Type: Time, Text: "a time"}, func(i *int) (v Value) {
			if *i > 0 {
				v = OfTime(time.Date(2026, 11, 1, 1, *i, 0, 0, time.FixedZone("", -5*3600-3600*(*i%2))))
			}
			return v
		}},
		{Column{Name: "yes", Words: "yes", Type: YesNo, Text: "an answer"}, func(i *int) Value { return OfYesNo(*i%2 == 1) }},
	}
	return New("nasty", "Nasty", "Texts from outside.", fields, func(put func(*int) error) error {
		for i := range nasty {
			if err := put(&i); err != nil {
				return err
			}
		}
		return nil
	})
}

func written(t *testing.T, write func(*bytes.Buffer) error) string {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// The CSV is read back by the standard library, which reads RFC 4180.
func TestCSV(t *testing.T) {
	text := written(t, func(b *bytes.Buffer) error { return CSV(b, nastyTable(), "") })
	if !strings.HasPrefix(text, "\ufeff") {
		t.Error("no byte order mark")
	}
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(text, "\ufeff"))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if want := []string{"text", "energy, Wh", "n", "day", "at", "yes"}; !slices.Equal(rows[0], want) {
		t.Errorf("headings %q, want %q", rows[0], want)
	}
	if len(rows) != len(nasty)+1 {
		t.Fatalf("%d rows, want %d", len(rows), len(nasty)+1)
	}
	for i, x := range nasty {
		if got := rows[i+1][0]; got != x.cell {
			t.Errorf("%q became %q, want %q", x.text, got, x.cell)
		}
	}
	// What is not known is blank, and 0 is 0.
	if want := []string{"plain", "", "0", "", "", "no"}; !slices.Equal(rows[1], want) {
		t.Errorf("%q, want %q", rows[1], want)
	}
	// 20,000 days after 1970-01-01; one minute past one, twice that night.
	if want := []string{"16.555", "1", "2024-10-04", "2026-11-01T01:01:00-06:00", "yes"}; !slices.Equal(rows[2][1:], want) {
		t.Errorf("%q, want %q", rows[2][1:], want)
	}
	for _, line := range strings.SplitAfter(text, "\n") {
		if strings.HasSuffix(line, "yes\n") || strings.HasSuffix(line, "no\n") {
			t.Errorf("a row ends without CR: %q", line)
		}
	}
}

func TestJSONLIsOfItsSchema(t *testing.T) {
	for _, note := range []string{"", "DAMAGED \x1b LOG"} {
		text := written(t, func(b *bytes.Buffer) error { return JSONL(b, nastyTable(), note) })
		schema := written(t, func(b *bytes.Buffer) error { return Schema(b, []*Table{nastyTable()}, "Test", note) })
		lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
		if len(lines) != len(nasty) {
			t.Fatalf("%d lines, want %d", len(lines), len(nasty))
		}
		for i, line := range lines {
			if err := checkLine([]byte(schema), "nasty", []byte(line)); err != nil {
				t.Errorf("line %d: %v", i+1, err)
			}
			var row map[string]any
			if err := json.Unmarshal([]byte(line), &row); err != nil {
				t.Fatalf("line %d: %v", i+1, err)
			}
			// A program wants the text as it is: no apostrophe.
			if got, want := row["text"], strings.TrimPrefix(nasty[i].cell, "'"); got != want {
				t.Errorf("%q became %q, want %q", nasty[i].text, got, want)
			}
			if note != "" && row["notice"] != "DAMAGED \uFFFD LOG" {
				t.Errorf("line %d says %q", i+1, row["notice"])
			}
		}
	}
}

// The checker of the test finds what a schema is there to find.
func TestCheckLine(t *testing.T) {
	schema := written(t, func(b *bytes.Buffer) error { return Schema(b, []*Table{nastyTable()}, "Test", "") })
	if !strings.Contains(schema, SchemaDialect) {
		t.Error("the schema names no dialect")
	}
	good := `{"text":"x","energy_wh":1.5,"n":1,"day":"2026-11-25","at":"2026-11-25T09:00:00-06:00","yes":true}`
	if err := checkLine([]byte(schema), "nasty", []byte(good)); err != nil {
		t.Fatal(err)
	}
	for _, bad := range []struct{ old, now string }{{`"n":1,`, ``}, {`"n":1`, `"n":"1"`}, {`"n":1`, `"n":1.5`}, {`1.5`, `"1.5"`}, {`true`, `"yes"`},
		{`2026-11-25"`, `25.11.2026"`}, {`T09:00:00-06:00`, ` 09:00`}, {`"text"`, `"txet"`}, {`{"text"`, `{"more":1,"text"`}} {
		if err := checkLine([]byte(schema), "nasty", []byte(strings.Replace(good, bad.old, bad.now, 1))); err == nil {
			t.Errorf("%s for %s was not noticed", bad.now, bad.old)
		}
	}
	if checkLine([]byte(schema), "other", []byte(good)) == nil {
		t.Error("a table that the schema does not have was not noticed")
	}
}

func TestNoteOfCSV(t *testing.T) {
	text := written(t, func(b *bytes.Buffer) error { return CSV(b, nastyTable(), `DAMAGED LOG: "x"`) })
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(text, "\ufeff"))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range rows {
		want := `DAMAGED LOG: "x"`
		if i == 0 {
			want = "NOTICE"
		}
		if r[0] != want {
			t.Errorf("row %d begins %q, want %q", i, r[0], want)
		}
	}
}

func TestAnErrorOfTheRowsComesOut(t *testing.T) {
	broken := errors.New("the disk went away")
	tab := New("t", "T", "t", []Field[int]{{Column{Name: "n", Type: Whole}, func(i *int) Value { return OfWhole(int64(*i)) }}}, func(put func(*int) error) error {
		for i := range 5 {
			if err := put(&i); err != nil {
				return err
			}
		}
		return broken
	})
	for name, write := range map[string]func(*bytes.Buffer) error{"csv": func(b *bytes.Buffer) error { return CSV(b, tab, "") }, "jsonl": func(b *bytes.Buffer) error { return JSONL(b, tab, "") }} {
		if err := write(new(bytes.Buffer)); !errors.Is(err, broken) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestDictionary(t *testing.T) {
	seen := []string{}
	d := Dictionary([]*Table{nastyTable()})
	err := d.Rows(func(row []Value) error {
		seen = append(seen, fmt.Sprint(row[0].Text(), ".", row[2].Text(), " ", row[1].Text()))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(seen) != 6+6 || seen[1] != "nasty.energy_wh energy, Wh" || seen[6] != "columns.table table" {
		t.Errorf("%q", seen)
	}
}
