package triage

import (
	"testing"

	"pgregory.net/rapid"
)

// What is offered of labels that differ: just inside the tolerance, just outside.
// 2 % and 0.1 mm are common practice; all values are invented.
func TestPartFact(t *testing.T) {
	for _, c := range []struct {
		field FieldID
		typed []string
		want  string // PartFact.Short
	}{
		{RatedMah, []string{"3110"}, "rated_mah 3110 (n=1)"},
		{RatedMah, []string{"3110", "3.11 Ah", "3110"}, "rated_mah 3110 (n=3)"},
		{RatedMah, []string{"3120", "3100", "3110"}, "rated_mah 3120 (3100-3120, n=3)"},
		{RatedMah, []string{"3000", "3060"}, "rated_mah 3060 (3000-3060, n=2)"},
		{RatedMah, []string{"3000", "3061"}, "rated_mah (3000 on 1 cell, 3061 on 1: read the label)"},
		{RatedMah, []string{"5000", "3110", "3110", "3110"}, "rated_mah (3110 on 3 cells, 5000 on 1: read the label)"},
		{RatedMah, []string{"1000", "2000", "2000", "3000", "4000", "5000"}, "rated_mah (2000 on 2 cells, 1000 on 1, 3000 on 1, 4000 on 1, others on 1: read the label)"},
		{RatedMah, []string{"5000", "3100", "3110", "3120"}, "rated_mah (3100-3120 on 3 cells, 5000 on 1: read the label)"},
		{LabelWh, []string{"12", "11.97"}, "label_wh 12 (11.97-12, n=2)"},
		{LabelWh, []string{"12", "20.02"}, "label_wh (12 on 1 cell, 20.02 on 1: read the label)"},
		{NominalV, []string{"3.85", "3.850"}, "nominal_v 3.85 (n=2)"},
		{NominalV, []string{"3.85", "3.87"}, "nominal_v (3.85 on 1 cell, 3.87 on 1: read the label)"},
		{ChargeLimitV, []string{"4.4", "4.40"}, "charge_limit_v 4.4 (n=2)"},
		{ChargeLimitV, []string{"4.4", "4.4", "4.35"}, "charge_limit_v (4.4 on 2 cells, 4.35 on 1: read the label)"},
		{NominalThicknessMm, []string{"4.0", "4.1"}, "nominal_thickness_mm 4 (4-4.1, n=2)"},
		{NominalThicknessMm, []string{"4.0", "4.11"}, "nominal_thickness_mm (4 on 1 cell, 4.11 on 1: read the label)"},
		{NominalThicknessMm, []string{"3.9", "4.0", "4.1", "4.0"}, "nominal_thickness_mm 3.9 (3.9-4.1, n=4)"},
		{Chemistry, []string{"li-polymer", "li-ion"}, "chemistry li-ion (li-ion or li-polymer, n=2)"},
		{Chemistry, []string{"li-ion", "li-ion", "lfp"}, "chemistry (li-ion on 2 cells, lfp on 1: read the label)"},
		{Kind, []string{"pouch", "pouch"}, "kind pouch (n=2)"},
		{Kind, []string{"pouch", "coin"}, "kind (pouch on 1 cell, coin on 1: read the label)"},
		{Series, []string{"1", "1", "2"}, "series (1 on 2 cells, 2 on 1: read the label)"},
		{Parallel, []string{"2"}, "parallel 2 (n=1)"},
	} {
		var labels []Micro
		for _, text := range c.typed {
			var r Reading
			if err := r.Set(c.field, text); err != nil {
				t.Fatal(err)
			}
			labels = append(labels, r[c.field].Num)
		}
		p := NewPartFact(c.field, labels)
		if got := p.Short(); got != c.want {
			t.Errorf("%s %q: %s, want %s", Fields[c.field].Name, c.typed, got, c.want)
		}
	}
	if p := NewPartFact(RatedMah, nil); p.Offered || p.N != 0 {
		t.Errorf("nothing on record is offered: %+v", p)
	}
}

// Only what a label says of every cell of a part: no measured value, no sign.
func TestPartFieldsAreOfTheLabel(t *testing.T) {
	for _, f := range PartFields {
		d := &Fields[f]
		if d.Sign || d.Role == Required || d.Reach != Desk || f == ThicknessMm || f == Fit || f == Purpose || f == TypeTested || d.Type == DateField || d.Type == TextField {
			t.Errorf("%s is not a label fact of a part", d.Name)
		}
	}
}

func TestIsPartNumber(t *testing.T) {
	for text, want := range map[string]bool{"BP-3850-A": true, "b 1.2": true, "A1": false, "A-1": false, "none": false, "unknown": false, "": false, "---": false} {
		if IsPartNumber(text) != want {
			t.Errorf("%q: want %v", text, want)
		}
	}
}

// What part memory fills in makes no answer better than any of the recorded
// labels, typed by hand, would have.
func TestPartMemoryIsNeverBetterThanALabel(t *testing.T) {
	onBothBooks(t, func(t *testing.T, rb *Rulebook, draw draw) {
		differ := 0
		rapid.Check(t, func(t *rapid.T) {
			base := draw(t)
			filled, typed := base, base
			for _, f := range PartFields {
				if rapid.Bool().Draw(t, "blank") {
					base[f], filled[f], typed[f] = Value{}, Value{}, Value{}
				}
				if !base[f].FromPart() {
					continue
				}
				labels := drawLabels(t, f)
				p := NewPartFact(f, labels)
				if !p.Offered {
					continue
				}
				v := rapid.SampledFrom(labels).Draw(t, "typed")
				filled[f] = Value{State: Known, Num: p.Value, Hi: p.Value}
				typed[f] = Value{State: Known, Num: v, Hi: v}
			}
			if filled != typed {
				differ++
			}
			var a, b Verdict
			rb.Judge(&Case{Reading: typed, On: rb.On}, &a)
			rb.Judge(&Case{Reading: filled, On: rb.On}, &b)
			if b.Handling < a.Handling || b.Condition < a.Condition || b.Waste < a.Waste || b.Size < a.Size && b.Size != SizeUnknown {
				t.Fatalf("by hand %s, %s, %s; filled %s, %s, %s", a.Handling, a.Condition, a.Size, b.Handling, b.Condition, b.Size)
			}
			for r := range NumRoutes {
				// A worse condition may open the ways for it.
				was, is := a.Routes[r].Class, b.Routes[r].Class
				if is < was && (is <= RouteRegulated || is < RouteApproval && a.Condition == b.Condition) {
					t.Fatalf("%s: by hand %s, filled %s", r, was, is)
				}
			}
		})
		if differ == 0 {
			t.Error("no draw told the filled reading from the typed one")
		}
	})
}

// drawLabels draws what one to four labels say of a field, near one another or
// not.
func drawLabels(t *rapid.T, f FieldID) (labels []Micro) {
	near := map[FieldID][]string{
		Kind: {"pouch", "enclosed"}, Chemistry: {"li-ion", "li-polymer", "lfp"}, Series: {"1", "2"}, Parallel: {"1", "2"},
		NominalV: {"3.85", "3.87", "7.7"}, ChargeLimitV: {"4.2", "4.40", "4.45"}, RatedMah: {"5100", "5150", "5194", "5195", "5200", "27000"},
		LabelWh: {"19.9", "20", "20.000001", "20.1", "100.1"}, NominalThicknessMm: {"3.9", "4", "4.05", "4.1", "5"},
	}[f]
	from := rapid.IntRange(0, len(near)-1).Draw(t, "from")
	for range rapid.IntRange(1, 4).Draw(t, "labels") {
		var r Reading
		i := rapid.IntRange(from, min(from+2, len(near)-1)).Draw(t, Fields[f].Name)
		if err := r.Set(f, near[i]); err != nil {
			t.Fatal(err)
		}
		labels = append(labels, r[f].Num)
	}
	return labels
}
