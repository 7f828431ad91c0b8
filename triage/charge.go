package triage

// State of charge from a rested open-circuit voltage, always as an interval.
//
// One base curve (a cobalt cell of 4.20 V) and one constant give the curve of any limited charge voltage; the error
// of that model is known from measured phone curves and is the interval's least width. Every input that is missing
// has a zero value, and every zero value takes the wider answer. Sources: "notes" is the project's reference notes on
// cell science, whose figures were computed from measured curves that are not shipped.

// A CurveFamily is what is known of the positive electrode.
type CurveFamily uint8

const (
	FamilyUnknown CurveFamily = iota // lithium ion of any kind: cobalt, nickel and, if the limit allows it, iron phosphate
	FamilyCobalt                     // lithium cobalt type; nickel joins unless it is excluded
	FamilyIron                       // iron phosphate
)

// A ChargeQuery is a cell at rest. The zero value of a field means unknown and gives no narrower interval than a value
// does, with two exceptions: ExtraV, which only adds, and a MeterV worse than a plain hand meter's. Negative values
// count as unknown.
type ChargeQuery struct {
	CellV          Micro       // µV of one cell: the pack's divided by its series count
	Limit          Micro       // limited charge voltage of one cell, µV
	Family         CurveFamily // a family this package does not know gives 0..100 %
	NickelExcluded bool        // the nickel-rich curve is ruled out; the caller decides by designation, kind and limit
	RestH          Micro       // hours without current before the reading, µh
	MeterV         Micro       // error of the meter on one cell, µV; unknown takes that of a plain hand meter, see meterErr
	ExtraV         Micro       // any further error of the voltage, µV; notes 1.4: 25 mV below 10 °C
	Fresh          bool        // known to be as new: without it agePct is added
}

// A ChargeNote says why an interval is as wide as it is.
type ChargeNote uint8

const (
	ChargeNoLimit   ChargeNote = 1 << iota // limit unknown: every class is joined
	ChargeOddLimit                         // limit given, but no curve here has it or it contradicts the family
	ChargeNoRest                           // hours of rest unknown
	ChargeShortRest                        // rested less than 5 h
	ChargeFlat                             // on the flat middle of iron phosphate, where volts do not tell charge
	ChargeOffCurve                         // volts outside what any curve covers: nothing is known
)

// A Charge is the answer.
type Charge struct {
	Pct              Bounds   // millionths of a percent, within 0..100 %
	ErrV             Micro    // error of the voltage that was allowed for, µV
	Curves           CurveSet // the curves joined
	LimitLo, LimitHi Micro    // the limits the model was scaled to, µV; equal when the limit is known, 0 without the model
	Notes            ChargeNote
}

const (
	fullPct Micro = 100_000_000

	// Below 2.0 V no curve has a row. A tripped protection board also reads anything from 0 V up, so a low reading
	// does not show an empty cell (notes 0.5 and 2; the design page names 0.1 V, which this includes).
	chargeFromV = gridLo
	chargeToV   = gridHi

	modelLimitLo Micro = 4_100_000 // the closed form's cell
	modelLimitHi Micro = 4_500_000 // notes 2: highest class 4.48-4.50 V (from memory)
	class420     Micro = 4_250_000 // up to here the curves measured and published for 4.20 V cells fit
	ironLo       Micro = 3_500_000 // limits of iron phosphate: 3.60 V the curve's, 3.65 V usual (from memory)
	ironHi       Micro = 3_750_000

	// Notes 1.4: electrodes slip with age; +-3 points on top for an old cell (common practice).
	agePct Micro = 3_000_000

	restAt1h Micro = 20_000    // notes 1.4: a reading after 1 h is wrong by up to 20 mV (common practice)
	restCap  Micro = 100_000   // no rest, or an unknown one: house figure, no source
	goodRest Micro = 5_000_000 // notes 1.4: good after 5 h, when a gauge takes its forced reading
	errCap   Micro = 2_600_000 // an error wider than the grid says nothing more
)

// restErr is how far a cell's voltage may still be from rest after h µh: 20 mV at 1 h, falling as 1/h, so that its
// slope passes the 3.6 mV/h of a gauge's rest criterion near 2.4 h (notes 1.4), and never above restCap. The direction
// is unknown: up after a discharge, down after a charge.
func restErr(h Micro) Micro {
	if h <= restAt1h*1_000_000/restCap {
		return restCap
	}
	return restAt1h*1_000_000/h + 1 // rounded up
}

// meterErr is the meter's error on v: as given, or 0.5 % + 2 mV for a plain hand meter (notes 1.4).
func meterErr(given, v Micro) Micro {
	if given > 0 {
		return min(given, errCap)
	}
	return v/200 + 2_000
}

// fit chooses the curves. A limit that is odd, or that contradicts the family, is not believed, and neither then is
// the family when the two name different chemistries.
func (q ChargeQuery) fit() Charge {
	c := Charge{}
	cobalt := q.Limit >= modelLimitLo && q.Limit <= modelLimitHi
	iron := q.Limit >= ironLo && q.Limit <= ironHi
	family := q.Family
	switch {
	case q.Limit <= 0:
		c.Notes |= ChargeNoLimit
	case !cobalt && !iron, cobalt && family == FamilyIron, iron && family == FamilyCobalt:
		c.Notes |= ChargeOddLimit
		cobalt = false
		if family == FamilyIron || iron {
			family = FamilyUnknown
		}
	}
	switch family {
	case FamilyIron:
		c.Curves = curveSetOf(CurveIron)
		return c
	case FamilyUnknown:
		if !cobalt {
			c.Curves |= curveSetOf(CurveIron)
		}
	case FamilyCobalt:
	default:
		return c
	}
	c.Curves |= curveSetOf(CurveCobalt)
	c.LimitLo, c.LimitHi = modelLimitLo, modelLimitHi
	if cobalt {
		c.LimitLo, c.LimitHi = q.Limit, q.Limit
	}
	if c.LimitLo <= class420 {
		c.Curves |= curveSetOf(CurveMeasured, CurveClosedForm)
	}
	if !q.NickelExcluded {
		c.Curves |= curveSetOf(CurveNickel)
	}
	return c
}

// ChargeInterval is the charge the cell may have: the envelope of the curves that fit, widened by the error of the
// voltage (meter, rest, extra), of the model (lowPct, highPct) and of age. Ends are within 0.02 points of the
// curves' (0.25 on iron phosphate). It never falls when CellV rises. It is false, with 0..100 %, when the reading says
// nothing: volts at which a protection board may have opened, volts above any cell's, an unknown family.
func ChargeInterval(q ChargeQuery) (Charge, bool) {
	c := q.fit()
	if q.RestH <= 0 {
		c.Notes |= ChargeNoRest
	} else if q.RestH < goodRest {
		c.Notes |= ChargeShortRest
	}
	t, err := loadedCurves()
	if q.CellV < chargeFromV || q.CellV > chargeToV || c.Curves == 0 || err != nil {
		return Charge{Pct: Bounds{0, fullPct}, Notes: c.Notes | ChargeOffCurve}, false
	}
	c.ErrV = meterErr(q.MeterV, q.CellV) + restErr(q.RestH) + min(max(q.ExtraV, 0), errCap)
	c.Pct = t.envelope(c.Curves, q.CellV-c.ErrV, q.CellV+c.ErrV, c.LimitLo, c.LimitHi)
	if !q.Fresh {
		c.Pct = Bounds{max(c.Pct.Lo-agePct, 0), min(c.Pct.Hi+agePct, fullPct)}
	}
	if c.Curves.Has(CurveIron) && c.Pct.Lo <= flatLoPct && c.Pct.Hi >= flatHiPct {
		c.Notes |= ChargeFlat
	}
	return c, true
}
