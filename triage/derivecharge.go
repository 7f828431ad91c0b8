package triage

// coldBelow is where a reading's voltage is trusted less, and coldErr by how
// much: 25 mV below 10 °C (measured on a 4.45 V cell; the line is common practice).
const (
	coldBelow = 10 * One
	coldErr   = Micro(25_000)
)

// chargeQuery puts what the reading says of the cell into the terms of the
// charge curves.
func chargeQuery(r *Reading, f *Facts, c *cells) ChargeQuery {
	q := ChargeQuery{Family: FamilyCobalt}
	if c.series.State == Known && r[ChargeLimitV].State == Known {
		q.Limit = ratio(r[ChargeLimitV].Num, One, c.series.Hi, down)
	}
	switch {
	case isLFP(r) || c.designated && c.designation.IronPhosphate():
		q.Family = FamilyIron
	case f[FFamily].State != Known || c.designated && (c.designation.Cathode == "F" || c.designation.Cathode == "X"):
		q.Family = FamilyUnknown // F stands for iron phosphate on some labels
	}
	// A kind that was not said may be any: the default of pouch serves the bench,
	// not a limit of carriage.
	pouch := r[Kind].State == Known && r[Kind].Num <= 1
	nickel := c.designated && c.designation.NickelRich() || !pouch || q.Limit == 0 || q.Limit == 4_200_000
	q.NickelExcluded = !nickel
	if v := r[RestH]; v.State == Known {
		q.RestH = v.Num
	}
	if v := r[CellC]; v.State != Known || v.Num < coldBelow {
		q.ExtraV = coldErr
	}
	return q
}

// deriveCharge gives the state of charge as an interval and the self-discharge
// from two voltages. Both are for lithium ion; a chemistry that is not known
// counts as that, with every curve.
func deriveCharge(r *Reading, f *Facts, c *cells) {
	low, high := f[FCellLow], f[FCellHigh]
	f[FCharge], f[FDrift], f[FSteady] = Fact{State: low.State}, Fact{State: r[EarlierOcvV].State}, yes(false)
	if low.State != Known || high.State != Known {
		if f[FPackVolts].State == NotApplicable {
			f[FDrift].State = NotApplicable
		}
		return
	}
	q := chargeQuery(r, f, c)
	q.CellV = low.Lo
	pct, _ := ChargeInterval(q)
	if high.Hi != low.Lo {
		q.CellV = high.Hi
		upper, _ := ChargeInterval(q)
		pct.Pct.Lo, pct.Pct.Hi = min(pct.Pct.Lo, upper.Pct.Lo), max(pct.Pct.Hi, upper.Pct.Hi)
	}
	if f[FPackVolts].State == Known && f[FPackVolts].Lo <= flatPack {
		pct.Pct = Bounds{0, fullPct}
	}
	f[FCharge] = known(pct.Pct.Lo, pct.Pct.Hi)
	if s := f[FPackVolts].State; s != Known {
		f[FCharge] = Fact{State: s} // volts of single cells never stand in for the pack's
	}

	d, given := driftOf(r, c, rested(r, q)), driftOf(r, c, q)
	switch {
	case d.State != DriftKnown:
		f[FDrift] = Fact{State: Asked}
		if r[EarlierOcvV].State != Known {
			f[FDrift] = Fact{State: r[EarlierOcvV].State}
		}
		return
	case d.tooSoon():
		f[FDrift] = Fact{State: Asked}
		return
	}
	f[FDrift] = known(d.PctPerDay.Lo, d.PctPerDay.Hi)
	if given.State == DriftKnown {
		// An unknown rest may be the shortest as well as the longest, and what
		// releases a cell rests on no assumption.
		f[FDrift].Hi = max(f[FDrift].Hi, given.PctPerDay.Hi)
		f[FSteady] = yes(r[EarlierH].Num >= settleTime && given.PctPerDay.Hi <= DriftWatchPct)
	}
}

// rested takes an unknown rest as a long one, so that a fall counts whole as
// self-discharge: the worse answer.
func rested(r *Reading, q ChargeQuery) ChargeQuery {
	if r[RestH].State != Known && r[EarlierH].State == Known {
		q.RestH = r[EarlierH].Num + 1000*One
	}
	return q
}

// tooSoon reports that no fall has been shown and that the pair could not have
// shown one at the watch line: no finding either way.
func (d DriftRate) tooSoon() bool { return d.VPerDay.Lo <= 0 && d.PctPerDay.Hi > DriftWatchPct }

func driftOf(r *Reading, c *cells, q ChargeQuery) DriftRate {
	if r[OcvV].State != Known || r[EarlierOcvV].State != Known || r[EarlierH].State != Known ||
		c.series.State != Known || c.series.Lo != c.series.Hi {
		return DriftRate{State: DriftMissing}
	}
	q.CellV = ratio(r[OcvV].Num, One, c.series.Lo, down)
	return Drift(DriftQuery{Now: q, EarlierV: ratio(r[EarlierOcvV].Hi, One, c.series.Lo, up), Hours: r[EarlierH].Num})
}

// A ChargeReport is the computing behind the charge and the drift of a verdict,
// for the page that shows why.
type ChargeReport struct {
	Charge Charge
	Drift  DriftRate
	Query  ChargeQuery
}

// ChargeReport computes again what the facts hold in short.
func (v *Verdict) ChargeReport() (rep ChargeReport, ok bool) {
	if v.Facts[FCellLow].State != Known || v.Facts[FCharge].State != Known {
		return rep, false
	}
	f := v.Facts
	c := deriveCount(v.Reading, &f)
	rep.Query = chargeQuery(v.Reading, &v.Facts, &c)
	rep.Query.CellV = v.Facts[FCellLow].Lo
	rep.Charge, _ = ChargeInterval(rep.Query)
	rep.Drift = driftOf(v.Reading, &c, rested(v.Reading, rep.Query))
	return rep, true
}

// DriftPerDay returns the fall that was read as a rate, in V per day, without
// its error; ok false when the readings tell none.
func (v *Verdict) DriftPerDay() (rate Micro, ok bool) {
	r := v.Reading
	if r[OcvV].State != Known || r[EarlierOcvV].State != Known || r[EarlierH].State != Known || r[EarlierH].Num < leastHours {
		return 0, false
	}
	return ratio(r[EarlierOcvV].Hi-r[OcvV].Num, 24*One, r[EarlierH].Num, down), true
}

// SwellingRange returns the swelling over nominal as an interval: ± 0.05 mm for
// the caliper; against a designation, whose sizes are rounded up to the next
// whole millimetre, the upper end counts from a millimetre less. Millionths of a
// percent; rules go by the lower end.
func (v *Verdict) SwellingRange() (Bounds, bool) {
	low := v.Facts[FSwelling]
	if low.State != Known {
		return Bounds{}, false
	}
	r := v.Reading
	t := r[ThicknessMm].Num
	if ends := &r[ThicknessEndsMm]; ends.State == Known {
		t = max(t, ends.Hi)
	}
	nominal := r.nominalThickness(exactly(t))
	least := nominal.Lo
	if nominal.State != Known {
		f := v.Facts
		c := deriveCount(r, &f)
		step := One // whole millimetres
		if c.designedThickness < One {
			step = One / 10 // the t form counts tenths
		}
		if least = c.designedThickness - step; least <= 0 {
			return Bounds{low.Lo, low.Lo}, true
		}
	}
	return Bounds{low.Lo, ratio(t+caliper-least, 100*One, least, up)}, true
}
