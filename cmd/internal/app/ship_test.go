package app

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pouchward/triage"
)

func TestParseOuter(t *testing.T) {
	for _, c := range []struct {
		text string
		want outerBody
		bad  string
	}{
		{"box 30x20x20,strong,0.4,30", outerBody{"box 30x20x20", "strong", "", 400_000, 30_000_000}, ""},
		{"box, Strong", outerBody{"box", "strong", "", 0, 0}, ""},
		{"box,strong,,30 kg", outerBody{"box", "strong", "", 0, 30_000_000}, ""},
		{"drum,pg1,1.1,10,1A2/X10/S/26", outerBody{"drum", "pg1", "1A2/X10/S/26", 1_100_000, 10_000_000}, ""},
		{"drum,pg1,1.1,10", outerBody{}, "bears a UN mark"},
		{"box", outerBody{}, "write NAME,LEVEL"},
		{",strong", outerBody{}, "begin with a name"},
		{"box,weak", outerBody{}, "none of strong, pg2, pg1"},
		{"box,strong,-1", outerBody{}, "above 0"},
		{"box,strong,0.4,heavy", outerBody{}, "not a number"},
		{"box,strong,31,30", outerBody{}, "31 kg empty"},
		{"a,strong,1,2,m,x", outerBody{}, "write NAME,LEVEL"},
	} {
		got, err := ParseOuter(c.text)
		switch {
		case c.bad == "" && (err != nil || got != c.want):
			t.Errorf("%q: got %+v, %v", c.text, got, err)
		case c.bad != "" && (err == nil || !strings.Contains(err.Error(), c.bad)):
			t.Errorf("%q: got the error %v, want one with %q", c.text, err, c.bad)
		}
	}
}

func TestTwoPeople(t *testing.T) {
	solo := &Shop{House: &triage.House{Shop: triage.Shop{Solo: true}}}
	for _, c := range []struct {
		shop            *Shop
		packed, checked string
		want            string
	}{
		{&Shop{}, "LS", "MK", "LS MK"}, {&Shop{}, "LS", "LS", ""}, {&Shop{}, "LS", " ls ", ""}, {&Shop{}, "LS", "", ""}, {&Shop{}, "", "MK", ""},
		{solo, "LS", "", "LS LS"}, {solo, "LS", "ls", "LS ls"}, {solo, "", "", ""},
	} {
		p, q, err := twoPeople(c.shop, c.packed, c.checked)
		if got := strings.TrimSpace(p + " " + q); got != c.want || (err == nil) != (c.want != "") {
			t.Errorf("solo %v, packed by %q, checked by %q: got %q, %v", c.shop.solo(), c.packed, c.checked, got, err)
		}
	}
}

// cellsOf are cells with masses in milligrams, 0 for one that was never weighed.
func cellsOf(mg ...int64) (list []*packedCell) {
	for _, m := range mg {
		v := new(triage.Verdict)
		if m > 0 {
			v.Facts[triage.FScaleMass] = triage.Fact{State: triage.Known, Lo: triage.Micro(m * 1000), Hi: triage.Micro(m * 1000)}
		}
		list = append(list, &packedCell{cell: &Cell{}, verdict: v})
	}
	return list
}

// Gross less tare is the cells' mass within 2 % (common practice).
func TestWeigh(t *testing.T) {
	for _, c := range []struct {
		name        string
		gross, tare int64
		cells       []*packedCell
		net         int64
		bad, note   string
	}{
		{"as weighed", 1_500_000, 500_000, cellsOf(600_000, 400_000), 1_000_000, "", ""},
		{"2 % more", 1_520_000, 500_000, cellsOf(600_000, 400_000), 1_020_000, "", ""},
		{"a milligram over 2 %", 1_520_001, 500_000, cellsOf(600_000, 400_000), 0, "more than 2 % apart", ""},
		{"2 % less", 1_480_000, 500_000, cellsOf(600_000, 400_000), 980_000, "", ""},
		{"a milligram under 2 %", 1_479_999, 500_000, cellsOf(600_000, 400_000), 0, "more than 2 % apart", ""},
		{"nothing left", 500_000, 500_000, cellsOf(1000), 0, "leaves nothing", ""},
		{"lighter than the empty box", 1_300_000, 300_000, cellsOf(1_000_000), 0, "less than the empty packaging", ""},
		{"one not weighed", 1_900_000, 500_000, cellsOf(1_000_000, 0), 1_400_000, "", "1 of 2 cells were never weighed"},
		{"lighter than those weighed", 1_400_000, 500_000, cellsOf(1_000_000, 0), 0, "were weighed alone come to 1 kg", ""},
	} {
		p, out := &packedBody{GrossMg: c.gross, TareMg: c.tare, Outer: outerBody{Name: "box", TareMg: 400_000}}, &Closed{}
		err := p.weigh(c.cells, out)
		switch {
		case c.bad != "":
			if err == nil || !strings.Contains(err.Error(), c.bad) {
				t.Errorf("%s: got %v, want %q", c.name, err, c.bad)
			}
		case err != nil || p.NetMg != c.net:
			t.Errorf("%s: got net %d, %v, want %d", c.name, p.NetMg, err, c.net)
		case strings.Contains(strings.Join(out.Notes, " "), c.note) == (c.note == "" && len(out.Notes) > 0):
			t.Errorf("%s: got the notes %q, want %q", c.name, out.Notes, c.note)
		}
	}
}

func number(n int64) *int64 { return &n }

// What differs by more than 2 % or 0.2 kg, the greater, by more than a tenth, or by one
// cell, is chased; so is what the receipt does not say (common practice).
func TestReceiptDiffers(t *testing.T) {
	a, b, c := "JEHCF7", "7T3JX7", "RCJXEX"
	light := &shipmentBody{Packages: []packedBody{{Tag: "JEHF", Cells: []string{a, b}, NetMg: 1_000_000}, {Tag: "7T3P", Cells: []string{c}, NetMg: 500_000}}}
	tiny := &shipmentBody{Packages: []packedBody{{Tag: "JEHF", Cells: []string{a, b}, NetMg: 152_000}}}
	middle := &shipmentBody{Packages: []packedBody{{Tag: "JEHF", Cells: []string{a, b, c}, NetMg: 5_000_000}}}
	heavy := &shipmentBody{Packages: []packedBody{{Tag: "JEHF", Cells: []string{a, b, c}, NetMg: 100_000_000}}}
	for _, x := range []struct {
		name string
		s    *shipmentBody
		r    receiptBody
		want []string
	}{
		{"as it left", light, receiptBody{Count: number(3), MassMg: number(1_500_000)}, nil},
		{"0.2 kg less", middle, receiptBody{Count: number(3), MassMg: number(4_800_000)}, nil},
		{"a milligram below that", middle, receiptBody{Count: number(3), MassMg: number(4_799_999)}, []string{"4.799999 kg received for 5 kg"}},
		{"a tenth less of little", light, receiptBody{Count: number(3), MassMg: number(1_350_000)}, nil},
		{"a milligram below a tenth less", light, receiptBody{Count: number(3), MassMg: number(1_349_999)}, []string{"1.349999 kg received for 1.5 kg"}},
		{"a tenth more of very little", tiny, receiptBody{Count: number(2), MassMg: number(167_200)}, nil},
		{"twice very little", tiny, receiptBody{Count: number(2), MassMg: number(300_000)}, []string{"0.3 kg received for 0.152 kg that left"}},
		{"a package of very little, twice", tiny, receiptBody{Lines: []receiptLine{{Tag: "JEHF", Count: number(2), MassMg: number(304_000)}}},
			[]string{"package JEHF: 0.304 kg received for 0.152 kg", "0.304 kg received for 0.152 kg that left"}},
		{"2 % more of much", heavy, receiptBody{Count: number(3), MassMg: number(102_000_000)}, nil},
		{"a milligram over 2 % of much", heavy, receiptBody{Count: number(3), MassMg: number(102_000_001)}, []string{"received for 100 kg"}},
		{"one cell less", light, receiptBody{Count: number(2), MassMg: number(1_500_000)}, []string{"2 cells received for 3"}},
		{"one cell more", light, receiptBody{Count: number(4), MassMg: number(1_500_000)}, []string{"4 cells received for 3"}},
		{"no mass", light, receiptBody{Count: number(3)}, []string{"says no mass"}},
		{"no count", light, receiptBody{MassMg: number(1_500_000)}, []string{"says no count"}},
		{"by package", light, receiptBody{Lines: []receiptLine{{Tag: "JEHF", Count: number(2), MassMg: number(1_000_000)}, {Tag: "7T3P", Count: number(1), MassMg: number(500_000)}}}, nil},
		{"by cell and package", light, receiptBody{Lines: []receiptLine{{Tag: a, MassMg: number(500_000)}, {Tag: b, MassMg: number(500_000)}, {Tag: "7T3P", Count: number(1), MassMg: number(500_000)}}}, nil},
		{"a package without its count", light, receiptBody{Lines: []receiptLine{{Tag: "JEHF", MassMg: number(1_000_000)}, {Tag: "7T3P", Count: number(1), MassMg: number(500_000)}}},
			[]string{"package JEHF: the receipt says no count", "says no count, and 3 cells left"}},
		{"one short in a package, one over in another", light, receiptBody{Lines: []receiptLine{{Tag: "JEHF", Count: number(1), MassMg: number(1_000_000)}, {Tag: "7T3P", Count: number(2), MassMg: number(500_000)}}},
			[]string{"package JEHF: 1 cell received for 2", "package 7T3P: 2 cells received for 1"}},
		{"another cell in the place of one", light, receiptBody{Lines: []receiptLine{{Tag: a, MassMg: number(500_000)}, {Tag: "EP79TN", MassMg: number(500_000)}, {Tag: "7T3P", Count: number(1), MassMg: number(500_000)}}},
			[]string{"EP 79TN: received, and not in this shipment", "7T 3JX7: not received"}},
		{"one rejected", light, receiptBody{Lines: []receiptLine{{Tag: "JEHF", Count: number(2), MassMg: number(1_000_000)}, {Tag: c, MassMg: number(500_000), Rejected: true, Note: "swollen"}}},
			[]string{"RC JXEX: rejected: swollen"}},
	} {
		r := x.r
		r.compare(x.s)
		if len(r.Differs) != len(x.want) {
			t.Errorf("%s: got %q, want %d of %q", x.name, r.Differs, len(x.want), x.want)
			continue
		}
		for i, want := range x.want {
			if !strings.Contains(r.Differs[i], want) {
				t.Errorf("%s: got %q, want %q", x.name, r.Differs[i], want)
			}
		}
	}
}

// Every fault of a consignee's list is named with its line, and nothing of it is
// used.
func TestReadReceiptLines(t *testing.T) {
	for _, c := range []struct {
		text string
		want []receiptLine
		bad  []string
	}{
		{"tag,count,mass_kg,note\nje hcf7,1,0.048,fine\n", []receiptLine{{Tag: "JEHCF7", Count: number(1), MassMg: number(48_000), Note: "fine"}}, nil},
		{"\uFEFFpackage;count;mass_kg\r\nJEHF;40;1,92\r\n", []receiptLine{{Tag: "JEHF", Count: number(40), MassMg: number(1_920_000)}}, nil},
		{"package,tag\nJEHF,JEHCF7\n", []receiptLine{{Tag: "JEHCF7"}}, nil},
		{"tag\n", nil, []string{"no lines under its header"}},
		{"tag,tag\nJEHCF7,1\n", nil, []string{"stands there twice"}},
		{"tag,colour\nJEHCF7,1\n", nil, []string{`column 2 is "colour"`}},
		{"tag,count\nJEHCF9,1\nJEHCF7,-1\nJEHCF7,1\nJEHCF7,1\n", nil, []string{"line 2: tag JE HCF9 does not hold", `line 3: count "-1"`, "line 5: JE HCF7 stands in line 4 too"}},
		{"tag,rejected\nJEHCF7,?\n7T3JX7,perhaps\n", nil, []string{"line 2: rejected", "line 3: rejected"}},
		{"tag,mass_kg\nJEHCF7,0\n", nil, []string{"line 2: mass_kg"}},
		{"tag,count\nJEHCF7\n", nil, []string{"wrong number of fields"}},
	} {
		name := filepath.Join(t.TempDir(), "receipt.csv")
		if err := os.WriteFile(name, []byte(c.text), 0o600); err != nil {
			t.Fatal(err)
		}
		got, err := readReceiptLines(name)
		if c.bad == nil {
			same := slices.EqualFunc(got, c.want, func(a, b receiptLine) bool {
				return a.Tag == b.Tag && same(a.Count, b.Count) && same(a.MassMg, b.MassMg) && a.Note == b.Note && a.Rejected == b.Rejected
			})
			if err != nil || !same {
				t.Errorf("%q: got %+v, %v", c.text, got, err)
			}
			continue
		}
		var exit *ExitError
		if !errors.As(err, &exit) || exit.Code != ExitUsage || got != nil {
			t.Errorf("%q: got %v and %v, want it refused", c.text, got, err)
			continue
		}
		for _, want := range c.bad {
			if !strings.Contains(err.Error(), want) {
				t.Errorf("%q: got %v, want %q", c.text, err, want)
			}
		}
	}
}

func same(a, b *int64) bool { return a == nil && b == nil || a != nil && b != nil && *a == *b }
