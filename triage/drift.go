package triage

import "math"

// Self-discharge from two open-circuit voltages of one cell at rest.
//
// A fall in volts is not a fall in charge: on a plateau 1 mV is half a point, on a slope a tenth. The fall is
// therefore bounded in volts first (resolution, temperature, what was left of the relaxation) and then divided by the
// slope of the curves that fit the cell. "Notes" is the project's reference notes on cell science.

// A DriftQuery is two readings of one cell. Now is the later: its CellV, what is known of its curve, and RestH, the
// hours without current before it. Its MeterV and ExtraV are not used: what is wrong alike in both readings cancels.
type DriftQuery struct {
	Now      ChargeQuery
	EarlierV Micro // µV of one cell
	Hours    Micro // µh between the readings
	PairErrV Micro // µV; unknown takes 3 mV, see pairErr
}

// A DriftState says whether two readings tell a rate.
type DriftState uint8

const (
	DriftKnown     DriftState = iota
	DriftMissing              // a voltage or the hours between are missing, or under a minute apart
	DriftDisturbed            // rested for less than the hours between: current flowed in between
	DriftRose                 // rose by more than the readings' error: not one cell at rest on one meter
	DriftOffCurve             // a voltage that no curve covers, or a family without a curve
)

var driftStates = [...]string{
	DriftKnown:     "known",
	DriftMissing:   "a reading is missing",
	DriftDisturbed: "current flowed between the readings",
	DriftRose:      "the voltage rose: check meter, tag and rest",
	DriftOffCurve:  "outside any curve",
}

func (s DriftState) String() string {
	if int(s) < len(driftStates) {
		return driftStates[s]
	}
	return "unknown"
}

// A DriftRate is the self-discharge that two readings allow. A fall is positive; a low end below zero only says that
// no fall has been shown. Every field but State is zero, and means nothing, unless State is DriftKnown.
type DriftRate struct {
	State       DriftState
	VPerDay     Bounds   // µV per day
	PctPerDay   Bounds   // millionths of a percent of full charge per day
	PctPerMonth Bounds   // the same in 30 days
	Slope       Bounds   // µV per percent of charge around the two readings
	ErrV        Micro    // error of the fall, µV: the pair's and what was left of the relaxation
	LeastV      Micro    // least rate that this pair can tell from none, µV per day
	LeastPct    Micro    // the same, millionths of a percent per day, at the low end of Slope
	EnoughH     Micro    // hours between the readings, µh, from which no fall at all would show as under the watch line
	Curves      CurveSet // the curves that gave the slope
}

const (
	microDay Micro = 24_000_000 // µh

	// Notes 4: 1 mV resolution and +-2 K together, "about 3 mV per pair". The same meter is assumed.
	defaultPairErr Micro = 3_000
	leastHours     Micro = 16_667 // one minute: below it the arithmetic would only multiply noise

	// A slope is taken over at least 40 mV: the error of the model's slope (slopeErr) was found over steps of about that
	// size, and a shorter piece follows the wiggles of one curve. Nickel and iron have kinks that 40 mV would hide.
	modelSpan Micro = 40_000
	kinkSpan  Micro = 20_000
	slopeStep Micro = 5_000

	// DriftWatchPct is where self-discharge leaves the healthy range: twice the highest published figure (notes 4).
	DriftWatchPct Micro = 200_000

	// HealthyMonthLo and HealthyMonthHi are the published self-discharge of healthy lithium-ion cells per month by
	// state of charge, millionths of a percent (notes 4: 0.35-2.5 %, an encyclopaedia's figure; others there say 2-3 %, or
	// 5 % on the first day and then 1-2 %: the stricter is kept).
	HealthyMonthLo Micro = 350_000
	HealthyMonthHi Micro = 2_500_000
)

// TooSoon reports whether the rate may lie on either side of a line in millionths of a percent per day: the pair
// cannot decide. Waiting helps as far as ErrV is the cause; the width of Slope stays.
func (d DriftRate) TooSoon(line Micro) bool {
	return d.State == DriftKnown && d.PctPerDay.Lo <= line && d.PctPerDay.Hi > line
}

// Drift gives the rate of self-discharge. An interval is wide when the readings are close in time, when the rest
// before the earlier one was short or unknown, where the curve is flat, and when the limit or family is unknown.
func Drift(q DriftQuery) DriftRate {
	later, earlier := q.Now.CellV, q.EarlierV
	switch {
	case later <= 0 || earlier <= 0 || q.Hours < leastHours:
		return DriftRate{State: DriftMissing}
	case q.Now.RestH > 0 && q.Now.RestH < q.Hours:
		return DriftRate{State: DriftDisturbed}
	case min(later, earlier) < chargeFromV || max(later, earlier) > chargeToV:
		return DriftRate{State: DriftOffCurve}
	}
	// Relaxation runs up after a discharge and down after a charge; which it was is not known. What was left of it at
	// the earlier reading bounds it either way.
	fall := earlier - later
	err := pairErr(q.PairErrV) + restErr(max(q.Now.RestH, 0)-q.Hours)
	if fall < -err {
		return DriftRate{State: DriftRose}
	}
	slope, curves, ok := slopeAround(q.Now, (earlier+later)/2, max(fall, -fall), err)
	if !ok {
		return DriftRate{State: DriftOffCurve}
	}
	d := DriftRate{Slope: slope, ErrV: err, Curves: curves}
	d.VPerDay = Bounds{perDay(fall-err, q.Hours, false), perDay(fall+err, q.Hours, true)}
	d.PctPerDay = PctPerDay(d.VPerDay, slope)
	d.PctPerMonth = Bounds{30 * d.PctPerDay.Lo, 30 * d.PctPerDay.Hi}
	d.LeastV = perDay(err, q.Hours, true)
	d.LeastPct = PctPerDay(Bounds{0, d.LeastV}, slope).Hi
	d.EnoughH = divRound(err*microDay, max(slope.Lo*DriftWatchPct/1_000_000, 1), true)
	return d
}

// pairErr is the error of the difference of two readings, µV: as given, or 3 mV.
func pairErr(given Micro) Micro {
	if given > 0 {
		return min(given, errCap)
	}
	return defaultPairErr
}

// perDay is a change over hours as a rate per day, rounded down or up.
func perDay(dv, hours Micro, up bool) Micro { return divRound(dv*microDay, hours, up) }

// divRound is a/b for positive b, rounded towards minus or plus infinity.
func divRound(a, b Micro, up bool) Micro {
	q := a / b
	switch r := a % b; {
	case r < 0 && !up:
		q--
	case r > 0 && up:
		q++
	}
	return q
}

// PctPerDay turns a rate in µV per day into millionths of a percent per day by a slope in µV per percent; both slopes'
// ends must be positive. The rate's low end meets the slope that leaves it lowest, its high end the one that leaves it
// highest. A rate must be within 4e12 µV per day either way (no two readings a minute apart exceed it).
func PctPerDay(rate, slope Bounds) Bounds {
	lo, hi := slope.Hi, slope.Lo
	if rate.Lo < 0 {
		lo = slope.Lo
	}
	if rate.Hi < 0 {
		hi = slope.Hi
	}
	return Bounds{divRound(rate.Lo*1_000_000, lo, false), divRound(rate.Hi*1_000_000, hi, true)}
}

// slopeAround is how many µV one percent of charge is (notes 4: about 3 mV per percent on the plateau near 30 %, 9-12
// above 60 %), over the curves that fit, with the error of the model's slope: the slope between two readings span µV
// apart, with v midway and err the error of their difference: the straight line between them. Where the error is more
// than a sixteenth of the span, the true piece of the curve may be a shorter one elsewhere: then also every short piece
// that it could hold. The model counts wherever it fits the cell: below 3.0 V it runs on by its last segment, which is
// flatter than the other cobalt curves there and so overstates the loss. Another curve counts where its rows hold v.
func slopeAround(q ChargeQuery, v, span, err Micro) (Bounds, CurveSet, bool) {
	fit := q.fit()
	t, failed := loadedCurves()
	if failed != nil {
		return Bounds{}, 0, false
	}
	use := CurveSet(0)
	for id := range curveLookups {
		if fit.Curves.Has(id) && (id == CurveCobalt || t.covers(id, v)) {
			use |= curveSetOf(id)
		}
	}
	if use == 0 {
		return Bounds{}, 0, false
	}
	s := Bounds{math.MaxInt64, 0}
	t.widenSlope(&s, use, fit, v, span)
	if err > span/16 {
		reach := err + max(span-modelSpan, 0)/2
		for off := -(reach - reach%slopeStep); off <= reach; off += slopeStep {
			t.widenSlope(&s, use, fit, v+off, 0)
		}
	}
	return s, use, true
}

// widenSlope takes the slopes over span centred on v into s. A piece is no shorter than its curve's least, and is moved
// to lie on the grid, so that it never meets the flat beyond the table's ends.
func (t *curveTables) widenSlope(s *Bounds, use CurveSet, fit Charge, v, span Micro) {
	most, least := slopeErr(v)
	for id := range curveLookups {
		if !use.Has(id) {
			continue
		}
		half := max(span, modelSpan) / 2
		if id == CurveNickel || id == CurveIron {
			half = max(span, kinkSpan) / 2
		}
		mid := min(max(v, gridLo+half), gridHi-half)
		one := 2 * half * 1_000_000 / max(t.inv[id].at(mid+half)-t.inv[id].at(mid-half), 1)
		lo, hi := one, one
		if id == CurveCobalt { // the model's points shrink as the limit grows
			lo, hi = one*(modelV+fit.LimitLo-baseLimit)/modelV, one*(modelV+fit.LimitHi-baseLimit)/modelV
		}
		s.Lo, s.Hi = min(s.Lo, max(lo*100/most, 1)), max(s.Hi, hi*100/least, 1)
	}
}

// slopeErr is how many hundredths of the model's points a fall in volts around v may truly be, at most and at least.
// It was computed for this package from the measured curves in notes 1.2: each step of 5 or 10 points from 5 % up
// against the model's points between the same volts, discharge and charge directions, rounded outwards. On other curves
// it stands in for an error that nobody published.
func slopeErr(v Micro) (most, least Micro) {
	switch {
	case v < band372:
		return 330, 45
	case v < 3_800_000:
		return 240, 55
	case v < band386:
		return 185, 85
	}
	return 145, 85
}

// covers reports whether v lies on the curve's own rows; iron phosphate's run on to the highest limit it has.
func (t *curveTables) covers(id CurveID, v Micro) bool {
	e := t.inv[id].at(v)
	return e >= 0 && (e <= fullPct || id == CurveIron && v <= ironHi)
}
