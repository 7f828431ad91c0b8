package triage

// The envelope of curves: the model of the cobalt curves, its stated error, and the flat stretch of iron phosphate.

const (
	// The model, notes 1.3: u = base(V) up to 4.20 V and 1 + (V-4.20)/1.05 above; charge = u/(1 + (limit-4.20)/1.05).
	// 1.05 V per whole charge is the rounded slope of all measured phone curves above 4.2 V.
	modelV    Micro = 1_050_000
	baseLimit Micro = 4_200_000

	// Truth is at most highPct above the model, notes 1.3; lowPct is how far below.
	highPct Micro = 3_000_000

	// Iron phosphate: 1.5-48 points per 10 mV from 20 to 90 %, "no usable charge there" (notes 1.4). A voltage that can
	// lie on that stretch gives all of it. 20 mV each way is for its charge-discharge gap (from memory; a house figure).
	flatLoPct Micro = 20_000_000
	flatHiPct Micro = 90_000_000
	ironGapV  Micro = 20_000
)

// lowPct is how far the truth may lie below the model at v, notes 1.3. It holds the gap between charge and discharge
// (up to 36 mV), so no separate term is added for that.
func lowPct(v Micro) Micro {
	switch {
	case v >= band365 && v < band372:
		return 11_000_000
	case v >= band372 && v < band386:
		return 18_000_000
	case v >= band386 && v < band395:
		return 8_000_000
	}
	return 6_000_000
}

const (
	band365 Micro = 3_650_000
	band372 Micro = 3_720_000
	band386 Micro = 3_860_000
	band395 Micro = 3_950_000
)

// envelope is the charge at voltages lo..hi on any of the curves, the cobalt model scaled to limits limLo..limHi,
// widened by the model's error.
func (t *curveTables) envelope(set CurveSet, lo, hi, limLo, limHi Micro) Bounds {
	least := t.least(set, lo, limHi)
	// The error grows at two band edges. Taking the edge's own low end below it keeps the answer from falling there.
	if lo < band365 {
		least = min(least, t.least(set, band365, limHi))
	}
	if lo < band372 {
		least = min(least, t.least(set, band372, limHi))
	}
	var most Micro
	for id := range curveLookups {
		if !set.Has(id) {
			continue
		}
		if id == CurveIron {
			if e := t.charge(id, hi+ironGapV, limLo); e > flatLoPct {
				most = max(most, e, flatHiPct)
			} else {
				most = max(most, e)
			}
			continue
		}
		most = max(most, t.charge(id, hi, limLo))
	}
	return Bounds{max(least, 0), min(most+highPct, fullPct)}
}

// least is the lowest charge at v on any of the curves less the model's error there; it may be negative.
func (t *curveTables) least(set CurveSet, v, lim Micro) Micro {
	least := fullPct
	for id := range curveLookups {
		if !set.Has(id) {
			continue
		}
		if id == CurveIron {
			if e := t.charge(id, v-ironGapV, lim); e < flatHiPct {
				least = min(least, e, flatLoPct)
			} else {
				least = min(least, e)
			}
			continue
		}
		least = min(least, t.charge(id, v, lim))
	}
	return least - lowPct(v)
}

// charge is one curve's charge at v within 0..100 %, without any error.
func (t *curveTables) charge(id CurveID, v, lim Micro) Micro {
	e := t.inv[id].at(v)
	if id == CurveCobalt {
		e = e * modelV / (modelV + lim - baseLimit)
	}
	return min(max(e, 0), fullPct)
}
