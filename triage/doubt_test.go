package triage

import (
	"slices"
	"testing"
)

// set reads fields as typed; refused ones stay refused.
func set(t *testing.T, fields ...string) Reading {
	t.Helper()
	r := read(t, plain)
	for i := 0; i < len(fields); i += 2 {
		f, ok := FieldByName(fields[i])
		if !ok {
			t.Fatalf("no field %q", fields[i])
		}
		_ = r.Set(f, fields[i+1])
	}
	r.Check()
	return r
}

// What contradicts itself, or could not be read, is judged no better than what is missing.
func TestDoubtNeverImproves(t *testing.T) {
	rb := shipped(t)
	for _, c := range []struct {
		name      string
		fields    []string
		handling  Handling
		condition ConditionClass
		size      Size
	}{
		{"plain", nil, Sound, Undamaged, Small},
		// Volts that a chemistry does not have: judged as lithium ion.
		{"4.75 V and nickel", []string{"chemistry", "nimh", "ocv_v", "4.75"}, Emergency, Reacting, SizeUnknown},
		{"4.75 V and lithium metal", []string{"chemistry", "li-metal", "lithium_g", "0.9", "ocv_v", "4.75"}, Emergency, Reacting, SizeUnknown},
		{"4.75 V and sodium", []string{"chemistry", "na-ion", "ocv_v", "4.75"}, Emergency, Reacting, SizeUnknown},
		{"2.2 V, charged to 4.40 V, and sodium", []string{"chemistry", "na-ion", "ocv_v", "2.2", "charge_limit_v", "4.40"}, Isolate, Undetermined, SizeUnknown},
		{"a nickel pack of three", []string{"chemistry", "nimh", "series", "3", "charge_limit_v", "", "nominal_v", "3.6", "ocv_v", "3.9"}, Sound, Undamaged, SizeUnknown},
		// A voltage once under 2.0 V.
		{"was 1.5 V", []string{"earlier_ocv_v", "1.5", "earlier_h", "24"}, Isolate, Undetermined, Small},
		// A temperature that was tried and not told.
		{"unsafe to measure", []string{"cell_c", "us", "ambient_c", ""}, Hold, Undetermined, Small},
		{"neither told", []string{"cell_c", "cannot", "ambient_c", "cannot"}, Hold, Undetermined, Small},
		{"no thermometer", []string{"cell_c", "ni", "ambient_c", ""}, Sound, Undamaged, Small},
		// Thickness.
		{"grown 25 % since, nothing else to compare with", []string{"thickness_mm", "5.0", "earlier_thickness_mm", "4.0"}, Isolate, Damaged, Small},
		{"grown a little since", []string{"thickness_mm", "4.1", "earlier_thickness_mm", "4.0"}, Hold, Undamaged, Small},
		{"thinner than ever a cell was", []string{"thickness_mm", "5.0", "nominal_thickness_mm", "40"}, Hold, Undamaged, Small},
		{"thinner than new, and grown since", []string{"thickness_mm", "5.0", "nominal_thickness_mm", "40", "earlier_thickness_mm", "4.0"}, Isolate, Damaged, Small},
		// A rating worked out with what is no lithium-ion cell.
		{"1 V nominal", []string{"nominal_v", "1", "rated_mah", "9000"}, Sound, Undamaged, SizeUnknown},
		// Refused for one reason as for another.
		{"purpose na", []string{"purpose", "na"}, Hold, Undetermined, Small},
		{"purpose n/a", []string{"purpose", "n/a"}, Hold, Undetermined, Small},
	} {
		v := verdict(t, rb, set(t, c.fields...))
		if v.Handling != c.handling || v.Condition != c.condition || v.Size != c.size {
			t.Errorf("%s: %s, %s, %s, want %s, %s, %s", c.name, v.Handling, v.Condition, v.Size, c.handling, c.condition, c.size)
		}
	}
}

// A yes with something beside it is bad news kept for a sign, and no proof.
func TestAYesThatIsRefusedProvesNothing(t *testing.T) {
	for _, text := range []string{"yes;no", "YES!", "yesterday", "yes, no idea"} {
		for f, want := range map[FieldID]State{TypeTested: Refused, WhMarked: Refused, Recalled: Known, Rocks: Known, Swollen: Known} {
			var r Reading
			if err := r.Set(f, text); err == nil || r[f].State != want {
				t.Errorf("%s %q: %v, %v", Fields[f].Name, text, r[f], err)
			}
		}
	}
}

// What was measured of a cell's health, and what was seen of its voltage, stands over any
// number of looks that leave it out.
func TestMergeKeepsWhatWasMeasured(t *testing.T) {
	rb := shipped(t)
	for _, c := range []struct {
		name, first, later string
		want               Handling
	}{
		{"spread", "series=2 nominal_v=7.7 charge_limit_v=8.8 ocv_v=7.2 cell_volts=3.8;3.4", "ocv_v=7.2", Hold},
		{"resistance", "resistance_mohm=50 new_resistance_mohm=30", "resistance_mohm=?", Hold},
		{"capacity", "measured_mah=1000", "", Retire},
		{"thickness", "thickness_mm=4.6 nominal_thickness_mm=4", "thickness_mm=us", Isolate},
		{"wedge", "thickness_ends_mm=4.0;4.6 nominal_thickness_mm=4.6", "", Isolate},
		{"flat once", "ocv_v=1.5", "ocv_v=3.8", Isolate},
	} {
		older := read(t, plain, c.first)
		for look := 1; look <= 3; look++ {
			newer := read(t, plain, "charge_limit_v= nominal_v= series=", c.later)
			merged := Merge(&older, &newer, 30*One)
			if v := verdict(t, rb, merged); v.Handling != c.want {
				t.Errorf("%s, look %d: %s, want %s", c.name, look, v.Handling, c.want)
			}
			older = merged
		}
	}
	// The least voltage hides no drift: once people have set it aside, a fall between later
	// looks is seen as in any cell.
	flat, charged, fallen := read(t, plain, "ocv_v=1.5"), read(t, plain, "ocv_v=3.95"), read(t, plain, "ocv_v=3.80 rest_h=200")
	charged = Merge(&flat, &charged, 24*One)
	fallen = Merge(&charged, &fallen, 24*One)
	own := read(t, plain, "ocv_v=3.80 earlier_ocv_v=3.95 earlier_h=24 rest_h=200")
	if got, want := Derive(&fallen)[FDrift], Derive(&own)[FDrift]; got != want || got.State != Known {
		t.Errorf("drift %v, want %v", got, want)
	}
	// Nor is it lost where a look names an earlier voltage of its own, has no voltage, or the
	// same minute.
	for _, later := range []string{"earlier_ocv_v=3.9 earlier_h=24", "ocv_v=", "earlier_h=24", "ocv_v=?"} {
		merged := read(t, plain, later)
		merged = Merge(&flat, &merged, 0)
		again := read(t, plain)
		if v := verdict(t, rb, Merge(&merged, &again, 30*One)); v.Handling != Isolate {
			t.Errorf("flat, then %q: %s", later, v.Handling)
		}
	}
	older := read(t, plain, "thickness_mm=4.6 nominal_thickness_mm=4 measured_mah=1000")
	newer := read(t, plain, "thickness_mm=4.0 measured_mah=5000")
	if v := verdict(t, rb, Merge(&older, &newer, 30*One)); v.Handling != Sound {
		t.Errorf("measured again: %s", v.Handling)
	}
}

// A label fact that one look reads otherwise than the one before is asked about; where the
// cell is and what becomes of it may change.
func TestLabelsThatChangeAreAskedAbout(t *testing.T) {
	rb := shipped(t)
	older := read(t, plain, "rated_mah=6000 type_tested=no chemistry=li-polymer purpose=reuse fit=installed")
	c := Case{Reading: read(t, plain, "rated_mah=5000 type_tested=yes chemistry=li-ion purpose=recycle fit=loose"), Earlier: &older, HoursBetween: One, On: rb.On}
	var v Verdict
	rb.Judge(&c, &v)
	var got []string
	for _, q := range v.Questions {
		if q.Kind == AskLabel {
			got = append(got, Fields[q.Sign].Name+" "+Fields[q.Sign].words(q.A)+" "+Fields[q.Sign].words(q.B))
		}
	}
	if want := []string{"chemistry li-polymer li-ion", "rated_mah 6000 mAh 5000 mAh", "type_tested no yes"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Days that cannot be, and more capacity than a cell has, are asked about and change nothing.
func TestOddDaysAndCapacityAreAskedAbout(t *testing.T) {
	rb := shipped(t) // in force on testDay
	for fields, want := range map[string][]QuestionKind{
		"made_on=2100-01-01":                       {AskAhead},
		"waste_on=2100-01-01 pulled_on=2100-01-01": {AskAhead, AskAhead},
		"made_on=2024-06-01 pulled_on=2024-05-31":  {AskMadeAfter},
		"made_on=2024-05-31 pulled_on=2024-05-31":  nil,
		"measured_mah=6251":                        {AskOverRated},
		"measured_mah=6250":                        nil,
		"measured_mah=6500 typical_mah=5300":       nil,
	} {
		v := verdict(t, rb, read(t, plain, fields))
		var got []QuestionKind
		for _, q := range v.Questions {
			if q.Kind == AskAhead || q.Kind == AskMadeAfter || q.Kind == AskOverRated {
				got = append(got, q.Kind)
			}
		}
		if !slices.Equal(got, want) || v.Handling != Sound {
			t.Errorf("%s: %v, want %v; %s", fields, got, want, v.Handling)
		}
	}
}
