package intake

import (
	"errors"
	"io"
	"strings"
	"testing"

	"pouchward/triage"
)

func open(t testing.TB, text string, mapping map[string]string) *Sheet {
	t.Helper()
	s, err := OpenCSV("t.csv", strings.NewReader(text), NewMapping(mapping, nil))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestSheetFormsReadAlike(t *testing.T) {
	const want = "3.78"
	for name, text := range map[string]string{
		"comma":          "tag,ocv_v\nA,3.78\n",
		"comma quoted":   "tag,\"ocv_v\"\nA,\"3,78 V\"\n",
		"semicolon":      "tag;ocv_v\nA;3,78\n",
		"tab":            "tag\tocv_v\nA\t3780mV\n",
		"byte order":     "\uFEFFtag,ocv_v\nA,3.78\n",
		"carriage":       "tag,ocv_v\r\nA,3.78\r\n",
		"no last break":  "tag,ocv_v\nA,3.78",
		"other order":    "ocv_v,tag\n3.78,A\n",
		"capitals":       "Tag,OCV V\nA,3.78\n",
		"blank rows":     "tag,ocv_v\n,\n\nA,3.78\n",
		"output columns": "tag,handling,ocv_v,error\nA,sound,3.78,old\n",
		"passing":        "tag,x_shelf,ocv_v\nA,7,3.78\n",
		"trailing blank": "tag,ocv_v\nA,3.78,,\n",
	} {
		s := open(t, text, nil)
		var row Row
		if err := s.Next(&row); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var r triage.Reading
		if refused := s.Read(&row, &r); len(refused) > 0 {
			t.Errorf("%s: refused %v", name, refused)
		}
		if r[triage.Tag].Text != "A" || r[triage.OcvV].Num.String() != want {
			t.Errorf("%s: tag %q, %s V", name, r[triage.Tag].Text, r[triage.OcvV].Num)
		}
		if err := s.Next(&row); !errors.Is(err, io.EOF) {
			t.Errorf("%s: after the last row: %v", name, err)
		}
	}
}

func TestSheetIsRefusedWithPlaceAndReason(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"empty":         {"", "the file is empty"},
		"no fields":     {"x_a\n1\n", "names no field of a reading"},
		"unknown":       {"tag,volts\nA,3\n", `line 1, column 2: "volts" is no field`},
		"nearest":       {"tag,ocvv\nA,3\n", "did you mean ocv_v?"},
		"no name":       {"tag,\nA,3\n", "line 1, column 2: has no name"},
		"twice":         {"tag,Tag\nA,B\n", `"tag" and "Tag" are both tag`},
		"utf-16":        {"\xff\xfet\x00a\x00", "UTF-16"},
		"a workbook":    {"PK\x03\x04\x00\x00", "not a text file"},
		"not utf-8":     {"tag,\xb0C\nA,3\n", "not UTF-8"},
		"two at once":   {"tag,foo,bar\n", "column 3"},
		"many columns":  {strings.Repeat("x_a,", 1000) + "tag\n", "at most 1000"},
		"mapped to bad": {"tag,Volt\nA,3\n", `--map sends "Volt" to "ocw_v", which is no field, did you mean ocv_v?`},
	} {
		var mapping map[string]string
		if name == "mapped to bad" {
			mapping = map[string]string{"Volt": "ocw_v"}
		}
		if _, err := OpenCSV("t.csv", strings.NewReader(c.text), NewMapping(mapping, nil)); err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "t.csv") {
			t.Errorf("%s: got error %v, want one with %q", name, err, c.want)
		}
	}
}

func TestACutSheetIsAnError(t *testing.T) {
	s := open(t, "tag,signs\nA,none\nB,\"swollen\n", nil)
	var row Row
	if err := s.Next(&row); err != nil {
		t.Fatal(err)
	}
	if err := s.Next(&row); err == nil || errors.Is(err, io.EOF) {
		t.Errorf("a cut sheet was taken for a whole one: %v", err)
	}
}

// A decimal comma without quotes shifts every cell after it: then nothing but a
// sign that says yes is believed.
func TestShiftedCellsAreNotBelieved(t *testing.T) {
	s := open(t, "tag,swollen,ocv_v,cell_c,ambient_c\nA,yes,3,80,22,21\n", nil)
	var row Row
	if err := s.Next(&row); err != nil {
		t.Fatal(err)
	}
	var r triage.Reading
	refused := s.Read(&row, &r)
	if len(refused) == 0 || !strings.Contains(refused[len(refused)-1], "cells may have shifted") {
		t.Errorf("refused: %v", refused)
	}
	if r[triage.OcvV].State == triage.Known || r[triage.CellC].State == triage.Known {
		t.Error("a shifted cell was believed")
	}
	if r[triage.Swollen].State != triage.Known || r[triage.Swollen].Num != 1 {
		t.Error("the bad sign was lost")
	}
}

func FuzzSheet(f *testing.F) {
	seeds := []string{"tag,ocv_v\nA,3.78\n", "tag;ocv_v\nA;3,78\n", "tag\tsigns\nA\tnone\n", "\uFEFFtag,signs\nA,\"x;y\"\n", "tag,ocv_v\nA,3,78\n", "tag\n\"", ",\n", "\x00"}
	if len(seeds) == 0 {
		f.Fatal("no seeds")
	}
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := OpenCSV("t.csv", strings.NewReader(text), nil)
		if err != nil {
			return
		}
		var row Row
		var r triage.Reading
		for range 1000 {
			if err := s.Next(&row); err != nil {
				return
			}
			if len(row.Cells) != len(s.Columns) {
				t.Fatalf("%d cells for %d columns", len(row.Cells), len(s.Columns))
			}
			s.Read(&row, &r)
			s.Pass(nil, &row)
		}
	})
}

// An unclosed quote is an error after one row's worth of text, not a whole file
// in memory.
func TestAnEndlessRowIsRefused(t *testing.T) {
	s := open(t, "tag,signs\nA,none\nB,\"swollen\n"+strings.Repeat("C,none\n", 1_000_000), nil)
	var row Row
	if err := s.Next(&row); err != nil {
		t.Fatal(err)
	}
	if err := s.Next(&row); err == nil || !strings.Contains(err.Error(), "never closed") {
		t.Errorf("got %v", err)
	}
}
