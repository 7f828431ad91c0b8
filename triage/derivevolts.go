package triage

// nominalLimits gives the limited charge voltage per cell by nominal voltage,
// where the label has none: 3.80 and 3.83 V from cell data, the rest from memory.
var nominalLimits = [...]struct{ upTo, limit Micro }{
	{3_400_000, 3_650_000}, // iron phosphate, from memory
	{3_755_000, 4_200_000},
	{3_825_000, 4_350_000},
	{3_865_000, 4_400_000},
	{3_885_000, 4_450_000},
	{3_950_000, 4_480_000},
}

// limitPerCell returns the limited charge voltage of one cell: the label's, else
// by class of nominal voltage, else 4.20 V. A label limit that no cell has, or
// that stands well above the class of its own nominal voltage or chemistry, is
// not used: of two that disagree the lower shows an overcharge.
func limitPerCell(r *Reading, series Micro) Micro {
	class, known := limitOfClass(r, series)
	if v := r[ChargeLimitV]; v.State == Known {
		per := ratio(v.Num, One, series, down)
		if per >= wrongLimitLo && per <= wrongLimitHi && (!known || per <= class+limitSlack) {
			return per
		}
	}
	return class
}

func limitOfClass(r *Reading, series Micro) (limit Micro, known bool) {
	if isLFP(r) {
		return nominalLimits[0].limit, true
	}
	if v := r[NominalV]; v.State == Known {
		per := ratio(v.Num, One, series, down)
		for i, c := range nominalLimits {
			if per <= c.upTo && (i > 0 || per >= 3*One) {
				return c.limit, true
			}
		}
	}
	return 4_200_000, false
}

func isLFP(r *Reading) bool {
	return r[Chemistry].State == Known && Fields[Chemistry].Words[r[Chemistry].Num] == "lfp"
}

// deriveVolts divides the pack voltage by the cells in series. The rows that
// use it are for lithium ion; a chemistry that is not known counts as that.
//
// It returns whether the pack voltage could be divided.
func deriveVolts(r *Reading, f *Facts, c cells) (perCell State) {
	ocv := r[OcvV].fact()
	f[FPackVolts] = ocv
	if f[FFamily].State == Known && f[FFamily].Lo != lithiumIon {
		for _, id := range [...]FactID{FPackVolts, FCellLow, FCellHigh, FCellWas, FOverLimit, FSpread} {
			f[id] = Fact{State: NotApplicable}
		}
		return NotApplicable
	}
	low, high := missing(ocv.State, c.series.State), Fact{}
	if ocv.State == Known && c.series.State == Known {
		low = exactly(ratio(ocv.Lo, One, c.series.Hi, down))
		high = exactly(ratio(ocv.Hi, One, c.series.Lo, up))
	} else {
		if ocv.State == NotApplicable {
			low.State = NotApplicable
		}
		high = low
	}
	was := r[EarlierOcvV].fact()
	f[FCellWas] = missing(was.State, c.series.State)
	if was.State == Known && c.series.State == Known {
		f[FCellWas] = exactly(ratio(was.Lo, One, c.series.Hi, down))
	}
	perCell = low.State
	if v := &r[CellVolts]; v.State == Known {
		f[FSpread] = exactly(v.Hi - v.Num)
		// The worse of the two readings counts on each side.
		if low.State != Known || v.Num < low.Lo {
			low = exactly(v.Num)
		}
		if high.State != Known || v.Hi > high.Hi {
			high = exactly(v.Hi)
		}
	} else {
		f[FSpread] = Fact{State: v.State}
		if c.series.State == Known && c.series.Hi == One {
			f[FSpread] = Fact{State: NotApplicable}
		}
	}
	f[FCellLow], f[FCellHigh] = low, high
	f[FOverLimit] = high
	if high.State == Known {
		series := One
		if c.series.State == Known {
			series = c.series.Hi
		}
		f[FOverLimit] = exactly(high.Hi - limitPerCell(r, series))
	}
	return perCell
}

// sumSlack is how far cell voltages may miss the pack's: two meter errors.
const sumSlack = Micro(50_000)

// oddCellVolts reports cell voltages that do not belong to the pack: another
// count than the cells in series, or a sum that the pack does not read.
func oddCellVolts(r *Reading, c *cells) bool {
	cv := &r[CellVolts]
	if cv.State != Known || c.series.State != Known || c.series.Lo != c.series.Hi {
		return false
	}
	n, ocv := Micro(cv.N), &r[OcvV]
	return n*One != c.series.Lo || ocv.State == Known && (ocv.Num < n*cv.Num-sumSlack || ocv.Num > n*cv.Hi+sumSlack)
}
