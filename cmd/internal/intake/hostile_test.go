package intake

import (
	"bytes"
	"errors"
	"io"
	"os"
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

// endless is text that repeats without end, made as it is read.
type endless struct {
	text string
	at   int
}

func (e *endless) Read(p []byte) (n int, err error) {
	for n < len(p) {
		k := copy(p[n:], e.text[e.at:])
		n, e.at = n+k, (e.at+k)%len(e.text)
	}
	return n, nil
}

// lineBytes is how long the line without end is here; a gigabyte takes some seconds.
func lineBytes() int64 {
	if os.Getenv("POUCHWARD_GIGABYTE") != "" {
		return 1 << 30
	}
	return 64 << 20
}

// A file that is one line is refused after one row's worth of it, whether it is the
// header or a row, one cell or many, in quotes or not; with its name, and within the
// memory of that row: a megabyte of commas is a million cells.
func TestOneEndlessLine(t *testing.T) {
	for name, c := range map[string]struct{ begin, repeat, want string }{
		"a header of one name":   {"", "tag", "a row longer than 1024 kB"},
		"a header of many names": {"", "tag,", "a row longer than 1024 kB"},
		"a header in quotes":     {`"`, "tag,", "a row longer than 1024 kB"},
		"a row of one cell":      {"tag,ocv_v\n", "3", "a row longer than 1024 kB"},
		"a row of blank cells":   {"tag,ocv_v\n", ",", "a row longer than 1024 kB"},
		"a row in quotes":        {"tag,ocv_v\nA,\"", "3.7\n", "a row longer than 1024 kB"},
		"a row of doubled marks": {"tag,ocv_v\nA,\"", `""`, "a row longer than 1024 kB"},
		"carriage returns":       {"tag,ocv_v\n", "\r", "a row longer than 1024 kB"},
	} {
		src := &counted{r: io.LimitReader(io.MultiReader(strings.NewReader(c.begin), &endless{text: c.repeat}), lineBytes())}
		var got read
		peak := peakHeap(func() { got = drain(OpenCSV("t.csv", src, nil)) })
		if got.err == nil || !strings.Contains(got.err.Error(), c.want) || !strings.Contains(got.err.Error(), "t.csv") || len(got.rows) > 0 {
			t.Errorf("%s: %d rows, %v; want %q", name, len(got.rows), got.err, c.want)
		}
		if peak > 128<<20 || src.n > 4<<20 {
			t.Errorf("%s: %d MB of memory for %d bytes of the file", name, peak>>20, src.n)
		}
		jsonl := &counted{r: io.LimitReader(io.MultiReader(strings.NewReader("{\"tag\":\""), &endless{text: c.repeat}), lineBytes())}
		peak = peakHeap(func() { got = drain(OpenJSONL("t.jsonl", jsonl, nil)) })
		if got.err == nil || !strings.Contains(got.err.Error(), "t.jsonl") || peak > 32<<20 {
			t.Errorf("%s as JSON lines: %v, %d MB", name, got.err, peak>>20)
		}
	}
}

type counted struct {
	r io.Reader
	n int64
}

func (c *counted) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n += int64(n)
	return n, err
}

// A long file of short rows is no bomb: it is read in the memory of its buffers.
func TestALongSheetTakesNoMemory(t *testing.T) {
	rows := lineBytes() / 16
	src := io.MultiReader(strings.NewReader("tag,ocv_v\n"), io.LimitReader(&endless{text: "AAAAAAA,3.78000\n"}, rows*16))
	s, err := OpenCSV("t.csv", src, nil)
	must(t, err)
	n := int64(0)
	peak := peakHeap(func() {
		var row Row
		for ; err == nil; n++ {
			err = s.Next(&row)
		}
	})
	if !errors.Is(err, io.EOF) || n-1 != rows || peak > 32<<20 {
		t.Errorf("%d of %d rows, %v, %d MB", n-1, rows, err, peak>>20)
	}
}

// What a hostile or broken sheet of text becomes: refused with place and reason, or its
// rows are marked; and no cell of it reads better than in the clean sheet.
func TestHostileText(t *testing.T) {
	const clean = "tag,swollen,ocv_v,cell_c,note\n"
	for name, c := range map[string]struct {
		text    string
		err     string   // of the file, "" where it is read
		marked  []string // a part of what is said of each row, "" for nothing
		unknown bool     // the voltage of the first row is not believed
		swollen bool     // and yet its bad news is
	}{
		"clean":                               {text: clean + "A,no,3.78,22,x\n", marked: []string{""}},
		"lines end in CR":                     {text: strings.ReplaceAll(clean+"A,no,3.78,22,x\nB,yes,3,22,y\n", "\n", "\r"), err: "carriage return alone"},
		"only a column of the shop's in CR":   {text: "tag,x_a\rA,1", err: "carriage return alone"},
		"CR LF, LF and blank lines mixed":     {text: clean + "A,no,3.78,22,x\r\n\r\n\nB,yes,3,22,y\n", marked: []string{"", ""}},
		"two rows with CR between":            {text: clean + "A,no,3.78,22,x\rB,yes,3.9,22,y\n", marked: []string{"cells stand beyond the last column"}, unknown: true},
		"bad news behind a CR":                {text: clean + "A,no,3.78,22,x\rswollen\n", marked: []string{"two rows in one"}, unknown: true, swollen: true},
		"CR in quotes":                        {text: clean + "A,no,3.78,22,\"x\rB,yes\"\n", marked: []string{"two rows in one"}, unknown: true},
		"sep=; before the names":              {text: "sep=;\r\ntag;swollen;ocv_v;cell_c;note\r\nA;no;3,78;22;x\r\n", marked: []string{""}},
		"SEP=, and a decimal comma in quotes": {text: "SEP=,\n" + clean + "A,no,\"3,78\",22,x\n", marked: []string{""}},
		"sep=|":                               {text: "sep=|\ntag|ocv_v\nA|3.78\n", err: `separated by "|"`},
		"a decimal comma":                     {text: clean + "A,no,3,78,22,x\n", marked: []string{"beyond the last column"}, unknown: true},
		"a decimal comma before a blank":      {text: clean + "A,no,3,78,22,\n", marked: []string{"3 and 78 may be one number"}, unknown: true},
		"and bad news":                        {text: clean + "A,yes,3,78,22,\n", marked: []string{"may be one number"}, unknown: true, swollen: true},
		"commas at the end of a row":          {text: clean + "A,no,3.78,22,x,,\n", marked: []string{""}},
		"bad news beyond the last column":     {text: clean + "A,no,3.78,22,x,puffy\n", marked: []string{"beyond the last column"}, unknown: true, swollen: true},
		"a zero byte far behind":              {text: clean + strings.Repeat("A,no,3.78,22,x\n", 8000) + "B,no\x00,3.78,22,\x00\n", marked: append(make([]string, 8000), "zero byte")},
		"a zero byte":                         {text: clean + "A,no,3.78\x00,22,x\n", err: "not a text file"},
		"Latin-1":                             {text: clean + "A,no,3.78,22\xb0C,caf\xe9\n", marked: []string{"not UTF-8"}},
		"UTF-16 without its mark":             {text: "t\x00a\x00g\x00\n\x00", err: "not a text file"},
		"10,000 columns":                      {text: "tag" + strings.Repeat(",x_a", 9999) + "\nA\n", err: "line 1 has 10000 columns; a sheet of readings has at most 1000"},
		"10,000 cells in a row":               {text: clean + "A,no,3.78,22,x" + strings.Repeat(",1", 9995) + "\n", marked: []string{"9995 cells stand beyond"}, unknown: true},
		"an ordinal for a degree":             {text: clean + "A,no,3.78,22 ºC,x\nB,no,3.78,72℉,x\n", marked: []string{"", ""}},
		"a degree of nothing":                 {text: clean + "A,no,3.78,22º,x\nB,no,3.78,22°,x\n", marked: []string{`unknown unit "°"`, `unknown unit "°"`}},
		"a day number of 1900 in text":        {text: "tag,pulled_on\nA,46351\n", marked: []string{"not a date in the form"}},
		"a quote inside a cell":               {text: clean + "A,no,3.78,22,5\" box\n", err: "line 2, column"},
		"the same tag twice":                  {text: clean + "A,no,3.78,22,x\nA,yes,3.78,22,x\n", marked: []string{"", ""}},
	} {
		got := drain(OpenCSV("t.csv", strings.NewReader(c.text), nil))
		if c.err != "" {
			if got.err == nil || !strings.Contains(got.err.Error(), c.err) || !strings.Contains(got.err.Error(), "t.csv") {
				t.Errorf("%s: %d rows, %v; want %q", name, len(got.rows), got.err, c.err)
			}
			continue
		}
		if got.err != nil || len(got.rows) != len(c.marked) {
			t.Errorf("%s: %d rows, %v; want %d", name, len(got.rows), got.err, len(c.marked))
			continue
		}
		for i, want := range c.marked {
			if said := strings.Join(got.refused[i], "; "); (said == "") != (want == "") || !strings.Contains(said, want) || want != "" && !strings.Contains(said, "t.csv line ") {
				t.Errorf("%s, row %d: %q, want %q", name, i+1, said, want)
			}
		}
		if v := got.readings[0][triage.OcvV]; c.unknown == (v.State == triage.Known) && strings.Contains(c.text, "ocv_v") {
			t.Errorf("%s: the voltage is %+v", name, v)
		}
		if v := got.readings[0].Sign(triage.Swollen); (c.unknown || c.swollen) && (v.State == triage.Known && v.Num == 0 || c.swollen && v.Num != 1) {
			t.Errorf("%s: swollen is %+v", name, v)
		}
	}
}

// A workbook that is gone over for longer than anybody waits is given up, in the survey
// and among empty rows, with its name, the place and what to do.
func TestPatienceEnds(t *testing.T) {
	noLitter(t)
	book := packed(t, partsOf(sheetOf(head("tag")+"<row/><row>"+text("A")+"</row>"), nil))
	s, err := OpenXLSX("t.xlsx", bytes.NewReader(book), int64(len(book)), "", nil)
	must(t, err)
	defer func(was time.Duration) { patience = was }(patience)
	patience = -1
	var row Row
	if err := s.Next(&row); !errors.Is(err, errSlow) || !strings.Contains(err.Error(), "t.xlsx: row 1") {
		t.Errorf("among the rows: %v", err)
	}
	must(t, s.Close())
	if got := readBook(book, "", nil); !errors.Is(got.err, errSlow) || !strings.Contains(got.err.Error(), "t.xlsx") {
		t.Errorf("in the survey: %v", got.err)
	}
}
