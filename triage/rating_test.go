package triage

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func questions(t *testing.T, rb *Rulebook, reading string) string {
	t.Helper()
	return strings.Join(verdict(t, rb, read(t, reading)).QuestionLines(), "\n")
}

func TestRatingDetective(t *testing.T) {
	rb := shipped(t)
	for _, c := range []struct{ name, source, reading, want string }{
		{"limit multiplied", "worked scenario, common practice", "nominal_v=3.87 rated_mah=4500 label_wh=19.94", "limited charge voltage"},
		{"limit on the label", "made up", "nominal_v=3.85 charge_limit_v=4.40 rated_mah=4500 label_wh=19.8", "limited charge voltage"},
		{"typical multiplied", "made up from the two ratings of a 14.4 V pack: 5200 mAh typical 74.88, 4900 rated 70.56", "nominal_v=14.4 rated_mah=4900 typical_mah=5200 label_wh=74.88", "typical capacity"},
		{"5 V output", "worked scenario: 16,000 mAh at 5 V is 80 Wh", "nominal_v=3.7 rated_mah=16000 label_wh=80", "5 V output"},
		{"max voltage", "worked scenario: 20 x 5.0 = 100 on an 18 V pack", "nominal_v=18 rated_mah=5000 label_wh=100", "just-charged"},
		{"digits swapped", "made up: 5240 for 5420", "nominal_v=3.85 rated_mah=5420 label_wh=20.17", "two digits"},
		{"Ah for mAh", "made up", "nominal_v=3.85 rated_mah=4500 label_wh=17325", "mAh and Ah"},
		{"no cause", "made up", "nominal_v=3.85 rated_mah=4500 label_wh=30", "Read the label again"},
	} {
		if got := questions(t, rb, c.reading); !strings.Contains(got, c.want) {
			t.Errorf("%s (%s): %q, want %q", c.name, c.source, got, c.want)
		}
	}
	// Prints that round or truncate are no contradiction: published label texts.
	for _, ok := range []string{
		"nominal_v=3.8 rated_mah=2700 label_wh=10.26", "nominal_v=3.85 rated_mah=3700 label_wh=14.24",
		"nominal_v=3.85 rated_mah=4500 label_wh=17.3", "nominal_v=3.85 rated_mah=4500 label_wh=17.4", "nominal_v=3.8 rated_mah=8000 label_wh=30.40",
	} {
		if got := questions(t, rb, ok); strings.Contains(got, "label prints") {
			t.Errorf("%s: %q", ok, got)
		}
	}
}

func TestOddEntriesAreQuestioned(t *testing.T) {
	rb := shipped(t)
	for _, c := range []struct{ reading, want string }{
		{"ocv_v=7.6 chemistry=li-ion", "looks like 2 cells in series"},
		{"ocv_v=11.4", "looks like 3 cells in series"},
		{"series=3 ocv_v=11.4 cell_volts=3.8;3.8", "2 cell voltages for 3 cells"},
		{"series=2 ocv_v=7.6 cell_volts=3.2;3.2", "do not add up to 7.6 V"},
		{"label_wh=20 mass_g=20 chemistry=li-ion", "is not what lithium-ion cells hold"},
		{"signs=swollen swollen=no", "said to be both yes and no"},
		{"cell_c=15 ambient_c=21", "shiny foil reads low"},
		{"warm=yes cell_c=22 ambient_c=21", "the hand was believed"},
		{"thickness_mm=0.2 nominal_thickness_mm=5", "much thinner"},
		{"thickness_mm=25 nominal_thickness_mm=5", "were both in mm"},
		{"series=1 nominal_v=7.7 ocv_v=7.6", "1 or 2 cells in series"},
		{"series=1 ocv_v=3.8 nominal_v=3.85 charge_limit_v=44", "does not go with this cell"},
		{"rated_mah=5", "4.500 mAh means 4500"},
		{"smoking=yes", "Was that long ago?"},
		{"series=1 ocv_v=3.8 earlier_ocv_v=3.82 earlier_h=1 rest_h=2", "Too soon to tell"},
		{"series=1 ocv_v=3.9 earlier_ocv_v=3.8 earlier_h=48 rest_h=60", "rose between"},
		{"series=1 ocv_v=3.8 earlier_ocv_v=3.82 earlier_h=48 rest_h=5", "current flowed"},
		{"series=1 ocv_v=3.8 earlier_ocv_v=3.95 earlier_h=48", "counted whole as self-discharge"},
	} {
		if got := questions(t, rb, c.reading); !strings.Contains(got, c.want) {
			t.Errorf("%s: %q, want %q", c.reading, got, c.want)
		}
	}
	if got := questions(t, rb, plain); got != "" {
		t.Errorf("a plain reading is questioned: %q", got)
	}
}

// The sizes of a designation are rounded up, so swelling against it is a lower
// bound: 4.4 mm against an "ICP4" may be 10 % or far more.
func TestSwellingRange(t *testing.T) {
	rb := shipped(t)
	for _, c := range []struct{ reading, low, high string }{
		{"thickness_mm=4.45 nominal_thickness_mm=4", "10", "12.5"},
		{"thickness_mm=4.45 designation=1ICP4/63/97", "10", "50"},
		{"thickness_mm=3.9 designation=1ICP4/63/97", "-3.75", "31.666667"},
		{"thickness_ends_mm=4.1;4.45 nominal_thickness_mm=4", "10", "12.5"},
	} {
		v := verdict(t, rb, read(t, plain, c.reading))
		got, ok := v.SwellingRange()
		if !ok || got.Lo.String() != c.low || got.Hi.String() != c.high {
			t.Errorf("%s: %s to %s, want %s to %s", c.reading, got.Lo, got.Hi, c.low, c.high)
		}
	}
}

func TestNickelCurveOnlyWhereItMayBe(t *testing.T) {
	rb := shipped(t)
	nickel := func(reading string) bool {
		rep, ok := verdict(t, rb, read(t, plain, reading)).ChargeReport()
		if !ok {
			t.Fatalf("%s: no charge", reading)
		}
		return rep.Charge.Curves.Has(CurveNickel)
	}
	for reading, want := range map[string]bool{
		"charge_limit_v=4.40 kind=pouch":       false,
		"charge_limit_v=4.40":                  true, // not said to be a pouch
		"charge_limit_v=4.20":                  true,
		"":                                     true, // limit unknown
		"charge_limit_v=4.40 kind=cylindrical": true,
		"charge_limit_v=4.40 kind=pouch designation=1INP5/63/97": true,
	} {
		if got := nickel(reading); got != want {
			t.Errorf("%q: nickel %v, want %v", reading, got, want)
		}
	}
}

// A pack of n cells in series and m in parallel at n times the voltage has the
// per-cell facts of the one cell.
func TestScalingAPackLeavesPerCellFacts(t *testing.T) {
	rb := shipped(t)
	perCell := []FactID{FCellLow, FCellHigh, FOverLimit, FCharge}
	rapid.Check(t, func(t *rapid.T) {
		mv := rapid.Int64Range(0, 4_700).Draw(t, "mV")
		n, m := rapid.Int64Range(1, 10).Draw(t, "series"), rapid.Int64Range(1, 6).Draw(t, "parallel")
		set := func(n, m int64) (r Reading) {
			volts := func(f FieldID, micro int64) { r[f] = Value{State: Known, Num: Micro(micro * n), Hi: Micro(micro * n)} }
			volts(OcvV, mv*1000)
			volts(NominalV, 3_850_000)
			volts(ChargeLimitV, 4_400_000)
			r[Series] = Value{State: Known, Num: Micro(n) * One, Hi: Micro(n) * One}
			r[Parallel] = Value{State: Known, Num: Micro(m) * One, Hi: Micro(m) * One}
			return r
		}
		one, pack := judged(rb, set(1, 1)), judged(rb, set(n, m))
		for _, id := range perCell {
			if id == FCharge && mv*n <= 100 != (mv <= 100) {
				continue // 0.1 V is a line of the pack
			}
			if one.Facts[id] != pack.Facts[id] {
				t.Fatalf("%d mV, %dS%dP: %s is %v for one cell, %v for the pack", mv, n, m, FactTable[id].Name, one.Facts[id], pack.Facts[id])
			}
		}
	})
}

func TestFactsOfTheExampleByHand(t *testing.T) {
	rb := shipped(t)
	v := verdict(t, rb, read(t, plain, "charge_limit_v=4.40 ocv_v=3.95 rest_h=200 earlier_ocv_v=3.97 earlier_h=168"))
	// 20 mV in 7 days is 2.857 mV a day.
	if rate, ok := v.DriftPerDay(); !ok || (rate*1000).Rounded(3).String() != "2.857" {
		t.Errorf("drift %s", rate)
	}
	rep, _ := v.ChargeReport()
	// (20 +- 3 mV of the pair +- what was left of the relaxation) in 7 days over the slope.
	if d := rep.Drift; d.VPerDay.Lo > 2_857 || d.VPerDay.Hi < 2_857 || d.PctPerMonth.Hi != 30*d.PctPerDay.Hi {
		t.Errorf("interval %v, month %v", d.VPerDay, d.PctPerMonth)
	}
	if !slices.Contains([]string{"hold"}, v.Handling.String()) {
		t.Errorf("handling %s", v.Handling)
	}
}
