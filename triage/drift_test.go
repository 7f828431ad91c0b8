package triage

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The arithmetic of the notes' worked cases 50-55, which give the slope of one measured 4.45 V cell that is not
// shipped: 6.99 mV per percent at 50 % and 3.62 at 30 % (computed there).
func TestRateByGivenSlope(t *testing.T) {
	for _, c := range []struct {
		source         string
		fallMV, days   float64
		slope          float64 // mV per percent
		mvDay, pctDay  float64
		tolMV, tolPct  float64
		pctMonth, tolM float64
	}{
		{"notes 50 (computed)", 5, 7, 6.99, 0.714, 0.102, 0.001, 0.0005, 3.1, 0.05},
		{"notes 51 (computed)", 18, 7, 6.99, 2.57, 0.37, 0.005, 0.005, 11, 0.5},
		{"notes 52 (computed)", 35, 5, 6.99, 7.0, 1.0, 0.005, 0.005, 30, 0.5},
		{"notes 53 (computed)", 60, 7, 3.62, 8.6, 2.4, 0.05, 0.05, 71, 0.5}, // month is the day's x 30
		{"notes 54 (computed)", 120, 1, 6.99, 120, 17, 0.001, 0.5, 515, 0.5},
		{"notes 55 (computed)", 17.5, 30, 6.99, 0.58, 2.5 / 30, 0.005, 0.0005, 2.5, 0.01},
	} {
		rate := perDay(Micro(c.fallMV*1000), Micro(c.days*float64(microDay)), false)
		slope := Micro(c.slope * 1000)
		got := PctPerDay(Bounds{rate, rate}, Bounds{slope, slope})
		if mv := float64(rate) / 1000; math.Abs(mv-c.mvDay) > c.tolMV {
			t.Errorf("%s: %.4f mV/day, want %v", c.source, mv, c.mvDay)
		}
		if math.Abs(inPct(got.Hi)-c.pctDay) > c.tolPct || math.Abs(30*inPct(got.Hi)-c.pctMonth) > c.tolM {
			t.Errorf("%s: %.4f %%/day, %.2f %%/month, want %v and %v", c.source, inPct(got.Hi), 30*inPct(got.Hi), c.pctDay, c.pctMonth)
		}
	}
}

// pair445 is a cell of 4.45 V after a long rest: the fall lies evenly about the voltage at which the measured cell of
// the notes has that charge (notes 1.2: 3.871 V at 50 %, 3.781 V at 30 %, discharge).
func pair445(middle, fallMV, days float64) DriftQuery {
	h := Micro(days * float64(microDay))
	return DriftQuery{
		Now:      ChargeQuery{CellV: toMicro(middle - fallMV/2000), Limit: toMicro(4.45), Family: FamilyCobalt, NickelExcluded: true, RestH: h + 10*microDay},
		EarlierV: toMicro(middle + fallMV/2000),
		Hours:    h,
	}
}

// The same cases through the model's own slope and errors: the interval holds the notes' figure, and it lies where the
// notes put the cell against 0.2 and 1 %/day.
func TestDriftWorkedCases(t *testing.T) {
	const watch, isolate Micro = 200_000, 1_000_000
	for _, c := range []struct {
		source      string
		q           DriftQuery
		mvDay       float64
		pctDay      float64
		loOver      Micro // the low end is over this line
		hiUnder     Micro // the high end is under this line
		undecidedAt Micro
	}{
		{"notes 50: healthy", pair445(3.871, 5, 7), 0.714, 0.102, math.MinInt64, watch, 0},
		{"notes 51: watch", pair445(3.871, 18, 7), 2.57, 0.37, math.MinInt64, isolate, 0},
		{"notes 52: on the isolate line", pair445(3.871, 35, 5), 7.0, 1.0, watch, math.MaxInt64, isolate},
		{"notes 53: isolate", pair445(3.781, 60, 7), 8.6, 2.4, isolate, math.MaxInt64, 0},
		{"notes 54: isolate", pair445(3.871, 120, 1), 120, 17, isolate, math.MaxInt64, 0},
		{"notes 55: published healthy end", pair445(3.871, 17.5, 30), 0.583, 0.0833, 0, watch, 0},
	} {
		d := Drift(c.q)
		if d.State != DriftKnown {
			t.Errorf("%s: %v", c.source, d.State)
			continue
		}
		if !holds(d.VPerDay, toMicro(c.mvDay/1000)) || !holds(d.PctPerDay, toMicro(c.pctDay)) || !holds(d.PctPerMonth, toMicro(30*c.pctDay)) {
			t.Errorf("%s: %v µV/day, %v, want them to hold %v mV/day and %v %%/day", c.source, d.VPerDay, d.PctPerDay, c.mvDay, c.pctDay)
		}
		if d.PctPerDay.Lo <= c.loOver || d.PctPerDay.Hi >= c.hiUnder || (c.undecidedAt != 0) != d.TooSoon(isolate) {
			t.Errorf("%s: %.3f..%.3f %%/day", c.source, inPct(d.PctPerDay.Lo), inPct(d.PctPerDay.Hi))
		}
		t.Logf("%-32s %6.2f..%6.2f mV/day %6.3f..%6.3f %%/day, slope %.2f..%.2f mV/%%, enough after %.1f days", c.source,
			float64(d.VPerDay.Lo)/1000, float64(d.VPerDay.Hi)/1000, inPct(d.PctPerDay.Lo), inPct(d.PctPerDay.Hi),
			float64(d.Slope.Lo)/1000, float64(d.Slope.Hi)/1000, float64(d.EnoughH)/float64(microDay))
	}
}

// The same loss of charge is the same rate on the plateau and on the slope, although the volts differ threefold.
func TestSameLossOnPlateauAndSlope(t *testing.T) {
	tab := mustTables(t)
	const days, perDayPct = 30, 0.5
	volts := func(s float64) float64 { return tab.rows[CurveGrid440].forward(s) }
	var falls []float64
	for _, s := range []float64{35, 50, 65, 80} {
		q := pair445(0, 0, days)
		q.Now.Limit = toMicro(4.40)
		q.EarlierV, q.Now.CellV = toMicro(volts(s+days*perDayPct/2)), toMicro(volts(s-days*perDayPct/2))
		d := Drift(q)
		if !holds(d.PctPerDay, toMicro(perDayPct)) || d.PctPerDay.Lo <= DriftWatchPct {
			t.Errorf("at %v %%: %.3f..%.3f %%/day, want it to hold %v and to be over the watch line", s, inPct(d.PctPerDay.Lo), inPct(d.PctPerDay.Hi), perDayPct)
		}
		falls = append(falls, inPct(q.EarlierV-q.Now.CellV)*1000)
	}
	if falls[3] < 2.5*falls[0] {
		t.Errorf("falls of %v mV do not differ enough for this test to mean anything", falls)
	}
}

// The slope of the notes' table, mV per percent: 4.20 V base (computed, section 4).
func TestSlopeOfBase(t *testing.T) {
	rows := mustTables(t).rows[CurveCobalt]
	for _, c := range []struct{ s, want float64 }{{5, 48}, {10, 7.2}, {20, 5.0}, {30, 3.2}, {40, 2.8}, {50, 3.6}, {60, 5.5}, {70, 8.7}, {80, 8.9}, {90, 9.8}} {
		q := ChargeQuery{CellV: toMicro(rows.forward(c.s)), Limit: toMicro(4.20), Family: FamilyCobalt, NickelExcluded: true}
		got, _, ok := slopeAround(q, q.CellV, 0, 0)
		if !ok || !holds(got, toMicro(c.want/1000)) {
			t.Errorf("at %v %%: %v µV per percent does not hold %v mV", c.s, got, c.want)
		}
	}
}

func TestDriftStates(t *testing.T) {
	good := pair445(3.871, 18, 7)
	for _, c := range []struct {
		name  string
		alter func(*DriftQuery)
		want  DriftState
	}{
		{"as it is", func(q *DriftQuery) {}, DriftKnown},
		{"no later reading", func(q *DriftQuery) { q.Now.CellV = 0 }, DriftMissing},
		{"no earlier reading", func(q *DriftQuery) { q.EarlierV = 0 }, DriftMissing},
		{"negative reading", func(q *DriftQuery) { q.EarlierV = -1 }, DriftMissing},
		{"hours unknown", func(q *DriftQuery) { q.Hours = 0 }, DriftMissing},
		{"half a minute", func(q *DriftQuery) { q.Hours = 8_333 }, DriftMissing},
		{"one minute", func(q *DriftQuery) { q.Hours = leastHours }, DriftKnown},
		{"rested less than the hours between", func(q *DriftQuery) { q.Now.RestH = q.Hours - 1 }, DriftDisturbed},
		{"rested just the hours between", func(q *DriftQuery) { q.Now.RestH = q.Hours }, DriftKnown},
		{"rest unknown", func(q *DriftQuery) { q.Now.RestH = 0 }, DriftKnown},
		{"rose by its error", func(q *DriftQuery) { q.EarlierV = q.Now.CellV - 3_084 }, DriftKnown},
		{"rose by more", func(q *DriftQuery) { q.EarlierV = q.Now.CellV - 3_085 }, DriftRose},
		{"rest unknown, rose by its error", func(q *DriftQuery) { q.Now.RestH, q.EarlierV = 0, q.Now.CellV-103_000 }, DriftKnown},
		{"rest unknown, rose by more", func(q *DriftQuery) { q.Now.RestH, q.EarlierV = 0, q.Now.CellV-103_001 }, DriftRose},
		{"board tripped since", func(q *DriftQuery) { q.Now.CellV = 50_000 }, DriftOffCurve},
		{"two cells read as one", func(q *DriftQuery) { q.EarlierV *= 2 }, DriftOffCurve},
		{"no such family", func(q *DriftQuery) { q.Now.Family = 7 }, DriftOffCurve},
	} {
		q := good
		c.alter(&q)
		d := Drift(q)
		if d.State != c.want {
			t.Errorf("%s: %q, want %q", c.name, d.State, c.want)
		}
		if d.State != DriftKnown && d != (DriftRate{State: d.State}) {
			t.Errorf("%s: a rate without a known state: %+v", c.name, d)
		}
	}
}

// notes 4 (computed): about 3 mV per pair, "7 days give 0.4 mV/day"; and an hour tells nothing.
func TestTooSoonToTell(t *testing.T) {
	d := Drift(pair445(3.871, 0, 7))
	if got := float64(d.LeastV) / 1000; math.Abs(got-0.43) > 0.02 {
		t.Errorf("least rate after 7 days %.3f mV/day, want 0.43", got)
	}
	if d.TooSoon(DriftWatchPct) || d.EnoughH > 7*microDay {
		t.Errorf("no fall in 7 days is not decided: %+v", d)
	}
	d = Drift(pair445(3.871, 0, 1.0/24))
	if !d.TooSoon(DriftWatchPct) || !d.TooSoon(1_000_000) || d.VPerDay.Lo >= 0 {
		t.Errorf("one hour decided: %+v", d)
	}
	// No fall is under the watch line from EnoughH on, and not before.
	for _, c := range []struct {
		hours Micro
		soon  bool
	}{{d.EnoughH, false}, {d.EnoughH + microDay, false}, {d.EnoughH - d.EnoughH/50, true}} {
		q := pair445(3.871, 0, 1)
		q.Hours, q.Now.RestH = c.hours, c.hours+10*microDay
		if got := Drift(q); got.TooSoon(DriftWatchPct) != c.soon {
			t.Errorf("%d µh: %.4f..%.4f %%/day, want too soon %v", c.hours, inPct(got.PctPerDay.Lo), inPct(got.PctPerDay.Hi), c.soon)
		}
	}
}

func TestPublishedHealthyRangeIsUnderTheLine(t *testing.T) {
	if 2*HealthyMonthHi > 30*DriftWatchPct {
		t.Errorf("the watch line %d per day is under twice the published healthy %d per month", DriftWatchPct, HealthyMonthHi)
	}
}

func drawDrift(t *rapid.T) DriftQuery {
	q := DriftQuery{Now: drawQuery(t)}
	q.Now.CellV = Micro(rapid.Int64Range(2_100_000, 4_500_000).Draw(t, "later"))
	q.EarlierV = min(max(q.Now.CellV+Micro(rapid.Int64Range(-3_000, 300_000).Draw(t, "fall")), gridLo), gridHi)
	q.Hours = Micro(rapid.Int64Range(int64(leastHours), 2_000_000_000).Draw(t, "hours"))
	q.Now.RestH = q.Hours + Micro(rapid.Int64Range(0, 500_000_000).Draw(t, "rest before"))
	q.PairErrV = Micro(rapid.SampledFrom([]int64{0, 1_000, 3_000}).Draw(t, "pair"))
	return q
}

func TestDriftLessInformationNeverNarrows(t *testing.T) {
	for name, drop := range map[string]func(*DriftQuery){
		"limit":        func(q *DriftQuery) { q.Now.Limit = 0 },
		"family":       func(q *DriftQuery) { q.Now.Family = FamilyUnknown },
		"nickel":       func(q *DriftQuery) { q.Now.NickelExcluded = false },
		"rest":         func(q *DriftQuery) { q.Now.RestH = 0 },
		"rest before":  func(q *DriftQuery) { q.Now.RestH = q.Hours + (q.Now.RestH-q.Hours)/2 },
		"pair's error": func(q *DriftQuery) { q.PairErrV = 0 },
	} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				q := drawDrift(t)
				if q.Now.fit().Notes&ChargeOddLimit != 0 {
					return
				}
				with := Drift(q)
				drop(&q)
				without := Drift(q)
				if with.State != DriftKnown {
					return
				}
				if without.State != DriftKnown || !inside(with.VPerDay, without.VPerDay) || !inside(with.PctPerDay, without.PctPerDay) ||
					!inside(with.PctPerMonth, without.PctPerMonth) || without.EnoughH < with.EnoughH {
					t.Fatalf("%+v:\nwithout %+v\nwith %+v", q, without, with)
				}
			})
		})
	}
}

// A synthetic cell loses a known charge a day along a shipped curve, and is read with the errors the pair allows. The
// high end never misses it; the low end may by a twentieth, at a kink of the curve shorter than the 40 mV of a slope.
func TestDriftHoldsSyntheticCell(t *testing.T) {
	tab := mustTables(t)
	rapid.Check(t, func(t *rapid.T) {
		id := rapid.SampledFrom([]CurveID{CurveCobalt, CurveCobalt, CurveMeasured, CurveClosedForm, CurveNickel}).Draw(t, "curve")
		days := rapid.Float64Range(0.5, 60).Draw(t, "days")
		start := rapid.Float64Range(12, 97).Draw(t, "charge")
		rate := rapid.Float64Range(0, (start-8)/days).Draw(t, "rate")
		h := Micro(days * float64(microDay))
		q := DriftQuery{Hours: h}
		q.Now = ChargeQuery{Family: FamilyCobalt, NickelExcluded: id != CurveNickel, Limit: curveFiles[id].limit,
			RestH: h + Micro(rapid.Int64Range(0, 100_000_000).Draw(t, "rest before"))}
		noise := inPct(pairErr(0)+restErr(q.Now.RestH-h)) * rapid.Float64Range(-0.99, 0.99).Draw(t, "noise")
		if id == CurveCobalt {
			q.Now.Limit = Micro(rapid.Int64Range(4_200_000, 4_500_000).Draw(t, "limit"))
		}
		q.EarlierV = toMicro(tab.synthetic(id, q.Now.Limit, start))
		q.Now.CellV = toMicro(tab.synthetic(id, q.Now.Limit, start-rate*days) + noise)
		for _, unknown := range []bool{false, true} {
			if unknown {
				q.Now.Limit, q.Now.Family = 0, FamilyUnknown
			}
			d := Drift(q)
			if d.State != DriftKnown || toMicro(rate) > d.PctPerDay.Hi || toMicro(1.05*rate) < d.PctPerDay.Lo {
				t.Fatalf("%+v: %v %.4f..%.4f %%/day does not hold %.4f", q, d.State, inPct(d.PctPerDay.Lo), inPct(d.PctPerDay.Hi), rate)
			}
		}
	})
}

func TestOddDriftNumbersDoNotOverflow(t *testing.T) {
	odd := []Micro{math.MinInt64, -1, 0, 1, leastHours, 1_000_000, math.MaxInt64}
	volts := []Micro{gridLo, 3_270_000, 3_700_000, gridHi}
	for _, hours := range odd {
		for _, rest := range odd {
			for _, pair := range odd {
				for _, family := range []CurveFamily{FamilyUnknown, FamilyCobalt, FamilyIron} {
					for _, later := range volts {
						for _, earlier := range volts {
							d := Drift(DriftQuery{Now: ChargeQuery{CellV: later, RestH: rest, Family: family}, EarlierV: earlier, Hours: hours, PairErrV: pair})
							if d.State != DriftKnown {
								continue
							}
							if d.PctPerDay.Lo > d.PctPerDay.Hi || d.VPerDay.Lo > d.VPerDay.Hi || d.PctPerMonth.Lo > d.PctPerMonth.Hi ||
								d.PctPerMonth.Hi < 0 || d.LeastV < 0 || d.LeastPct < 0 || d.EnoughH <= 0 || d.Slope.Lo <= 0 || d.Slope.Lo > d.Slope.Hi {
								t.Fatalf("hours %d rest %d pair %d family %d %d..%d: %+v", hours, rest, pair, family, earlier, later, d)
							}
						}
					}
				}
			}
		}
	}
}

var sinkDrift DriftRate

func BenchmarkDrift(b *testing.B) {
	q := pair445(3.871, 18, 7)
	mustTables(b)
	b.ReportAllocs()
	for b.Loop() {
		sinkDrift = Drift(q)
	}
}
