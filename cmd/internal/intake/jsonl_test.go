package intake

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"

	"pouchward/triage"
)

func readLines(text string, mapping map[string]string) read {
	return drain(OpenJSONL("t.jsonl", strings.NewReader(text), NewMapping(mapping, nil)))
}

// Every form of a value reads as a person would type it.
func TestJSONValuesReadAsTyped(t *testing.T) {
	for _, c := range []struct{ field, value, want, refused string }{
		{"ocv_v", `3.78`, "3.78", ""},
		{"ocv_v", `3.7800000000000002`, "3.7800000000000002", "more digits"}, // digits as written, not a float's
		{"ocv_v", `"3780 mV"`, "3780 mV", ""},
		{"rated_mah", `4.500`, "4.500", "thousands mark"}, // the digits are kept, so the doubt is too
		{"rated_mah", `5200`, "5200", ""},
		{"ocv_v", `1e3`, "1e3", "unknown unit"},
		{"swollen", `true`, "yes", ""},
		{"swollen", `false`, "no", ""},
		{"swollen", `null`, "", ""},
		{"swollen", `"us"`, "us", ""},
		{"signs", `["swollen","dented"]`, "swollen;dented", ""},
		{"signs", `[]`, "", ""},
		{"cell_volts", `[3.83,"3.07"]`, "3.83;3.07", ""},
		{"cell_volts", `[3.83,null]`, "[] ?", "a list of other things"},
		{"cell_volts", `[[3.83]]`, "[] ?", "a list of other things"},
		{"ocv_v", `{"v":3.78}`, "{} ?", "an object where a value is wanted"},
		{"pulled_on", `"2026-11-25"`, "2026-11-25", ""},
		{"pulled_on", `20261125`, "20261125", "not a date"},
		{"note", `"=1+1 \u00e9 \"x\""`, `=1+1 é "x"`, ""},
		{"ocv_v", `true`, "yes", "not a number"},
	} {
		for _, text := range []string{
			fmt.Sprintf(`{"tag":"A","%s":%s}`, c.field, c.value),
			fmt.Sprintf("{\"tag\":\"A\"}\n{\"%s\":%s}\n", c.field, c.value), // a field that joins later
		} {
			got := readLines(text, nil)
			if got.err != nil {
				t.Errorf("%s: %v", text, got.err)
				continue
			}
			f, _ := triage.FieldByName(c.field)
			s, err := OpenJSONL("t.jsonl", strings.NewReader(text), nil)
			must(t, err)
			last := len(got.rows) - 1
			if last < 0 || len(got.rows) == 1 && strings.Contains(text, "\n") { // a row of nothing is skipped
				if c.want != "" {
					t.Errorf("%s: %d rows", text, len(got.rows))
				}
				continue
			}
			for i, col := range s.Columns {
				if col.Field == f && col.Kind == FieldColumn && got.rows[last].Cells[i] != c.want {
					t.Errorf("%s: reads %q, want %q", text, got.rows[last].Cells[i], c.want)
				}
			}
			said := strings.Join(got.refused[last], "; ")
			if (said == "") != (c.refused == "") || !strings.Contains(said, c.refused) {
				t.Errorf("%s: refused %q, want %q", text, said, c.refused)
			}
			if c.refused != "" && got.readings[last][f].State != triage.Refused {
				t.Errorf("%s: a refused value is %v", text, got.readings[last][f])
			}
		}
	}
}

// The first object names the columns that pass through, in its order; any field
// may join later, and a key that is no field is named, the row judged.
func TestJSONKeys(t *testing.T) {
	text := `{"x_shelf":7,"Tag":"A","handling":{"class":"sound"},"Voltage":3.78,"routes":{},"on":"2026-11-25"}` + "\n\n" +
		`{"tag":"B","smoking":true,"x_other":1,"volts":3,"size":{"class":"small"},"x_shelf":{}}` + "\r\n" + `{"volts":3}`
	s, err := OpenJSONL("t.jsonl", strings.NewReader(text), NewMapping(map[string]string{"voltage": "ocv_v"}, nil))
	must(t, err)
	if got := strings.Join(s.Passing(), ","); got != "x_shelf,Tag,Voltage" {
		t.Errorf("passing: %s", got)
	}
	got := drain(s, nil)
	if got.err != nil || len(got.rows) != 3 {
		t.Fatalf("%d rows, %v", len(got.rows), got.err)
	}
	if got.readings[0][triage.OcvV].Num != 3_780_000 || got.readings[0][triage.Tag].Text != "A" || len(got.refused[0]) != 0 {
		t.Errorf("first: %v, refused %v", got.readings[0][triage.OcvV], got.refused[0])
	}
	if pass := strings.Join(s.Pass(nil, &got.rows[1]), "|"); pass != "{} ?|B|" {
		t.Errorf("second passes %s", pass)
	}
	if got.readings[1][triage.Smoking].Num != 1 {
		t.Error("a field that joined later was lost")
	}
	for _, want := range []string{`line 3: key "x_other" is not among those of the first line`, `line 3: key "volts" is no field`, "x_shelf: an object"} {
		if !strings.Contains(strings.Join(got.refused[1], "; "), want) {
			t.Errorf("refused %q, want %q", got.refused[1], want)
		}
	}
	if len(got.refused[2]) != 1 || got.rows[2].Line != 4 {
		t.Errorf("a row of nothing but an unknown key: line %d, %v", got.rows[2].Line, got.refused[2])
	}
}

// Which of two values is meant cannot be told, but bad news is kept.
func TestJSONKeyGivenTwice(t *testing.T) {
	got := readLines(`{"tag":"A","ocv_v":3.78,"OCV V":3.9,"smoking":true,"smoking":false,"swollen":"no","swollen":"no","signs":"dented","signs":"none","tag":"B","recalled":null,"recalled":"yes"}`, nil)
	if got.err != nil || len(got.refused[0]) != 6 {
		t.Fatalf("refused %v, %v", got.refused, got.err)
	}
	r := got.readings[0]
	if r[triage.OcvV].State != triage.Refused || r[triage.Swollen].State != triage.Refused || r[triage.Tag].State == triage.Known {
		t.Errorf("believed: %v %v %v", r[triage.OcvV], r[triage.Swollen], r[triage.Tag])
	}
	if r[triage.Smoking].Num != 1 || r[triage.Recalled].Num != 1 || !triage.FieldSet(r[triage.Signs].Num).Has(triage.Dented) || r[triage.Signs].Hi != 0 {
		t.Errorf("bad news was lost: %v %v %v", r[triage.Smoking], r[triage.Recalled], r[triage.Signs])
	}
}

// What is not one object a line is an error that names the line.
func TestBrokenJSONIsAnError(t *testing.T) {
	const first = `{"tag":"A"}` + "\n"
	for name, c := range map[string]struct{ text, want string }{
		"empty":           {"", "the file is empty"},
		"blank lines":     {"\n \n", "the file is empty"},
		"no field":        {"{}", "names no field"},
		"unknown key":     {`{"tag":"A","volts":3}`, `"volts" is no field`},
		"no name":         {`{"tag":"A","":3}`, "has no name"},
		"cut last line":   {first + `{"tag":"B","smoking":tr`, "line 2: the object is not closed"},
		"cut in a text":   {first + `{"tag":"B`, "line 2: the object is not closed"},
		"cut at a comma":  {first + `{"tag":"B",`, "line 2: the object is not closed"},
		"trailing":        {first + `{"tag":"B"} x`, "line 2: something stands after the object"},
		"two on a line":   {first + `{"tag":"B"}{"tag":"C"}`, "line 2: something stands after the object"},
		"a list":          {first + `[1]`, "line 2: not a JSON object"},
		"a number":        {first + "\n7", "line 3: not a JSON object"},
		"csv":             {"tag,signs\n", "line 1: not a JSON object"},
		"comma":           {first + `{"tag":"B",}`, "line 2: not JSON"},
		"single quotes":   {first + `{'tag':'B'}`, "line 2: not JSON"},
		"not a number":    {first + `{"ocv_v":NaN}`, "line 2: not JSON"},
		"leading zero":    {first + `{"ocv_v":03.8}`, "line 2: not JSON"},
		"not utf-8":       {first + "{\"tag\":\"\xb0\"}", "line 2: not UTF-8"},
		"a long line":     {first + `{"note":"` + strings.Repeat("a", maxLine) + `"}`, "line 2 is longer than 1 MiB"},
		"deep":            {first + `{"x":` + strings.Repeat("[", 100_000) + strings.Repeat("]", 100_000) + `}`, "line 2: not JSON"},
		"many keys":       {first + "{" + manyKeys(1001) + "}", "more than 1000 keys"},
		"mapped to bad":   {first, `--map sends "volt" to "ocw_v"`},
		"mapped to none":  {first, `--map names key "volt", which no line has`},
		"utf-16":          {"\xff\xfe{\x00", "not UTF-8"},
		"object over two": {"{\"tag\":\n\"A\"}", "line 1: the object is not closed"},
	} {
		var mapping map[string]string
		switch name {
		case "mapped to bad":
			mapping = map[string]string{"Volt": "ocw_v"}
		case "mapped to none":
			mapping = map[string]string{"Volt": "ocv_v"}
		}
		got := readLines(c.text, mapping)
		if got.err == nil || !strings.Contains(got.err.Error(), c.want) || !strings.Contains(got.err.Error(), "t.jsonl") {
			t.Errorf("%s: %d rows, %v; want %q", name, len(got.rows), got.err, c.want)
		}
	}
	broken := errors.New("the disk failed")
	if got := drain(OpenJSONL("t.jsonl", &failing{strings.NewReader(first + `{"tag":"B"}`), broken}, nil)); !errors.Is(got.err, broken) {
		t.Errorf("a failing reader: %v", got.err)
	}
}

func manyKeys(n int) string {
	keys := make([]string, n)
	for i := range keys {
		keys[i] = fmt.Sprintf(`"x_%d":1`, i)
	}
	return strings.Join(keys, ",")
}

// failing gives an error where the text ends.
type failing struct {
	text *strings.Reader
	err  error
}

func (f *failing) Read(p []byte) (int, error) {
	if n, err := f.text.Read(p); err == nil {
		return n, nil
	}
	return 0, f.err
}

// Whatever comes in, a row has a cell for each column, and what was read and is
// written as JSON reads the same again.
func FuzzJSONL(f *testing.F) {
	seeds := []string{`{"tag":"A","ocv_v":3.78}` + "\n", `{"tag":"A","signs":["swollen"],"x_a":null}` + "\n" + `{"tag":"B","warm":true}`,
		`{"tag":"A","tag":"B"}`, `{"tag":"A"`, `{"tag":{"a":[1]}}`, "[]", "\xEF\xBB\xBF{\"note\":\"\\u0000\"}", `{"handling":{},"tag":1e9}`, "{}\n{}", "\n\n"}
	if len(seeds) < 10 {
		f.Fatal("seeds are missing")
	}
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := OpenJSONL("t.jsonl", strings.NewReader(text), nil)
		got := drain(s, err)
		if err != nil {
			return
		}
		var again bytes.Buffer
		for i := range got.rows {
			if len(got.rows[i].Cells) != len(s.Columns) {
				t.Fatalf("%d cells for %d columns", len(got.rows[i].Cells), len(s.Columns))
			}
			s.Pass(nil, &got.rows[i])
			if len(got.refused[i]) == 0 && got.readings[i] != (triage.Reading{}) {
				again.WriteString(asJSON(s, &got.rows[i]) + "\n")
			}
		}
		if got.err != nil || again.Len() == 0 {
			return
		}
		// A first line of all columns, so that later rows pass all.
		second := readLines(again.String(), nil)
		if second.err != nil {
			t.Fatalf("%q reads %v", again.String(), second.err)
		}
		n := 0
		for i := range got.rows {
			if len(got.refused[i]) > 0 || got.readings[i] == (triage.Reading{}) {
				continue
			}
			if got.readings[i] != second.readings[n] {
				t.Fatalf("row %d reads otherwise the second time", i)
			}
			n++
		}
	})
}

// asJSON writes a row as an object of texts.
func asJSON(s *Sheet, row *Row) string {
	var pairs []string
	for i, c := range s.Columns {
		if c.Kind != FieldColumn {
			continue
		}
		key, text := triage.Fields[c.Field].Name, row.Cells[i]
		pairs = append(pairs, fmt.Sprintf("%s:%s", quote(key), quote(text)))
	}
	return "{" + strings.Join(pairs, ",") + "}"
}

func quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		if r < 0x20 || r == '"' || r == '\\' || r == 0x7F {
			fmt.Fprintf(&b, `\u%04x`, r)
		} else {
			b.WriteRune(r)
		}
	}
	return b.String() + `"`
}
