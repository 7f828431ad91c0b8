package triage

// Practice constants of the derivation; the limits themselves are rules.
const (
	caliper      = Micro(50_000) // 0.05 mm: reading error of a workshop caliper, common practice
	heatWindow   = 30 * One      // min: warmth is explained by heat applied this recently, common practice
	settleTime   = 24 * One      // h: quiet this long after smoke, hiss, smell or puncture, common practice
	warmRise     = 3 * One       // K: an unexplained rise of this much is "warm", common practice
	coldFoil     = 5 * One       // K under the room at which a surface reading is not believed, common practice
	handFeels    = 30 * One      // °C: a hand that feels no warmth is believed below this without a room temperature
	flatPack     = Micro(100_000)
	wrongLimitLo = Micro(3_500_000) // V per cell: a charge limit outside these is not one
	wrongLimitHi = Micro(4_500_000)
	limitSlack   = Micro(100_000) // V: the classes of nominal voltage are no sharper than this
)

func known(lo, hi Micro) Fact { return Fact{State: Known, Lo: lo, Hi: hi} }

func exactly(m Micro) Fact { return known(m, m) }

func yes(b bool) Fact {
	if b {
		return exactly(1)
	}
	return exactly(0)
}

func (v *Value) fact() Fact { return Fact{State: v.State, Lo: v.Num, Hi: v.Hi} }

// missing gives the state of a fact that needs two fields of which at least one
// is not known: not yet wins over cannot, since it can still be answered.
func missing(a, b State) Fact {
	if a == Known {
		return Fact{State: b}
	}
	if b == Known || b.Cannot() {
		return Fact{State: a}
	}
	return Fact{State: b}
}

func (f *Fact) isYes() bool { return f.State == Known && f.Lo == 1 && f.Hi == 1 }

func (f Fact) isWord(w Micro) bool { return f.State == Known && f.Lo == w && f.Hi == w }

func (f *Fact) isNo() bool { return f.State == Known && f.Hi == 0 }

// Derive computes every fact of a reading.
func Derive(r *Reading) Facts {
	var f Facts
	derive(r, &f)
	return f
}

func derive(r *Reading, f *Facts) {
	*f = Facts{}
	for s := Swollen; s <= Misused; s++ {
		v := r.sign(s)
		f[FSwollen+FactID(s-Swollen)] = v.fact()
	}
	f[FRecalled], f[FRocks] = r[Recalled].fact(), r[Rocks].fact()
	f[FKind] = Fact{State: Known}
	f[FKindSaid] = r[Kind].fact()
	if r[Kind].State == Known {
		f[FKind] = r[Kind].fact()
	}
	f[FFit], f[FPurpose] = r[Fit].fact(), r[Purpose].fact()
	f[FTypeTested], f[FWhMarked] = r[TypeTested].fact(), r[WhMarked].fact()
	f[FLithium] = r[LithiumG].fact()
	f[FMass], f[FScaleMass] = r[MassG].fact(), r[MassG].fact()
	deriveFamily(r, f)
	count := deriveCount(r, f)
	deriveMark(f)
	f[FWhMark188], f[FWhMark348] = f.markUnlessMade(r, markSince188), f.markUnlessMade(r, markSince348)
	deriveEnergy(r, f)
	deriveHeat(r, f)
	perCell := deriveVolts(r, f, count)
	deriveCharge(r, f, &count)
	deriveShape(r, f, count)
	deriveHealth(r, f)
	deriveOpen(r, f, perCell, count)
}

func deriveFamily(r *Reading, f *Facts) {
	v := r[Chemistry].fact()
	if v.State == Known {
		switch Fields[Chemistry].Words[v.Lo] {
		case "li-ion", "li-polymer", "lfp":
			v = exactly(lithiumIon)
		case "li-metal":
			v = exactly(lithiumMetal)
		case "na-ion":
			v = exactly(sodiumIon)
		case "nimh":
			v = exactly(nickel)
		}
	}
	if d := &r[DesignationText]; d.State == Known && v.State == Known {
		if p, err := ParseDesignation(d.Text); err == nil && (p.Anode == 'I') != (v.Lo == lithiumIon) {
			v = Fact{State: Asked} // the designation says another chemistry: none is believed
		}
	}
	f[FFamily] = v
}

// cells is what is known of how many cells there are. A count that the entries
// contradict spans them all, so that each use takes its worse end.
type cells struct {
	series, parallel  Fact
	designedThickness Micro // greatest thickness of the designation, 0 for none
	designation       Designation
	designated        bool
}

// deriveCount fills series and parallel from the typed fields, else from the
// designation. A slip in one entry must not choose the limit or hide an empty
// cell: entries that contradict one another leave the count spread over them.
func deriveCount(r *Reading, f *Facts) cells {
	c := cells{series: r[Series].fact(), parallel: r[Parallel].fact()}
	least, most := impliedSeries(r, f)
	if d := &r[DesignationText]; d.State == Known {
		if parsed, err := ParseDesignation(d.Text); err == nil {
			c.designation, c.designated = parsed, true
			if !parsed.Legacy {
				c.designedThickness = Micro(parsed.ThicknessUM) * 1000
			}
			n := parsed.Series
			if !parsed.SeriesStated && least == 1 && most == 1 {
				// A pack may print its cell's designation, so an absent count
				// is one cell only where the voltage says so too.
				n = 1
			}
			fill(&c.series, n)
			fill(&c.parallel, parsed.Parallel)
		}
	}
	if c.series.State == Known && most > 0 && (c.series.Hi < Micro(least)*One || c.series.Lo > Micro(most)*One) {
		fill(&c.series, least)
		fill(&c.series, most)
	}
	switch s, p := &c.series, &c.parallel; {
	case s.State == Known && s.Lo > One || p.State == Known && p.Lo > One:
		f[FUnit] = exactly(unitBattery)
	case s.State == Known && p.State == Known && s.Hi == One && p.Hi == One:
		f[FUnit] = exactly(unitCell)
	case s.State == Known && p.State == Known:
		f[FUnit] = Fact{State: Asked}
	default:
		f[FUnit] = missing(s.State, p.State)
	}
	return c
}

// deriveMark says whether the watt-hour rating stands where a rule wants it: on
// the case of a battery; one cell is not asked for it.
func deriveMark(f *Facts) {
	unit, mark := &f[FUnit], &f[FWhMarked]
	switch {
	case unit.State == Known && unit.Lo == unitCell, mark.isYes():
		f[FWhMarkMet] = yes(true)
	case unit.State == Known:
		f[FWhMarkMet] = *mark
	case mark.isNo():
		f[FWhMarkMet] = Fact{State: unit.State}
	default:
		f[FWhMarkMet] = missing(unit.State, mark.State)
	}
}

// The days since which a battery has its rating on the case: a small one of UN
// special provision 188 (b), any of special provision 348.
var markSince188, markSince348 = mustDate("2009-01-01"), mustDate("2012-01-01")

func mustDate(s string) Date {
	d, err := ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

// markUnlessMade is the mark that a rule wants of what was made on or after a
// day. A day that is not known excuses nothing.
func (f *Facts) markUnlessMade(r *Reading, since Date) Fact {
	if made := &r[MadeOn]; made.State == Known && Date(made.Num) < since {
		return yes(true)
	}
	return f[FWhMarkMet]
}

// impliedSeries returns the least and the greatest count of lithium-ion cells
// whose nominal voltages can add up to the label's; 0, 0 when it implies none.
// One cell is 3.0 V to 4.0 V nominal (iron phosphate 3.2, cobalt up to 3.9).
func impliedSeries(r *Reading, f *Facts) (least, most int) {
	v := r[NominalV]
	if v.State != Known || v.Num > 1000*One || f[FFamily].State == Known && f[FFamily].Lo != lithiumIon {
		return 0, 0
	}
	least, most = int((v.Num+4*One-1)/(4*One)), int(v.Num/(3*One))
	if least > most {
		return 0, 0
	}
	return least, most
}

// fill sets a count when it is open; one that differs widens it to span both.
// n 0 says nothing.
func fill(count *Fact, n int) {
	if n == 0 {
		return
	}
	m := Micro(n) * One
	if count.State != Known {
		*count = exactly(m)
		return
	}
	count.Lo, count.Hi = min(count.Lo, m), max(count.Hi, m)
}

// deriveEnergy takes the larger of the printed rating and nominal voltage times
// rated and typical capacity: where they disagree the larger is used.
func deriveEnergy(r *Reading, f *Facts) {
	e := r[LabelWh].fact()
	for _, c := range [...]FieldID{RatedMah, TypicalMah} {
		if r[NominalV].State != Known || r[c].State != Known {
			continue
		}
		w := energy(r[NominalV].Num, r[c].Num)
		if e.State != Known || w > e.Hi {
			e = exactly(w)
		}
	}
	for _, part := range [...]FieldID{LabelWh, NominalV, RatedMah, TypicalMah} {
		if r[part].State == Refused {
			e = Fact{State: Refused} // the part that was not read may be the larger
		}
	}
	if e.State != Known && e.State != Refused {
		// Cannot only when neither way to a rating is left.
		byLabel, byProduct := r[LabelWh].State, missing(r[NominalV].State, r[RatedMah].State).State
		if byLabel.Cannot() && !byProduct.Cannot() {
			e.State = byProduct
		}
		if e.State == NotApplicable {
			e.State = Asked
		}
	}
	f[FEnergy] = e
	if m := &f[FMass]; m.State != Known && e.State == Known {
		// 0.18-0.27 kWh/kg for pouch cells with their board (from memory). It
		// bounds a mass for planning; it never meets a limit.
		*m = known(ratio(e.Lo, 1000*One, 270*One, down), ratio(e.Hi, 1000*One, 180*One, up))
	}
}

// deriveHeat works out warmth, what explains it, and whether a cell that
// reacted has settled.
func deriveHeat(r *Reading, f *Facts) {
	cell, room, felt := r[CellC].fact(), r[AmbientC].fact(), &f[FWarmFelt]
	f[FSurface] = cell
	if cell.State == Known && room.State == Known {
		f[FRise] = exactly(cell.Lo - room.Lo)
	} else {
		f[FRise] = missing(cell.State, room.State)
	}
	rise := &f[FRise]

	f[FRising] = missing(cell.State, r[EarlierCellC].State)
	if cell.State == Known && r[EarlierCellC].State == Known {
		// Nothing warms past the room by itself: what lies above both the
		// earlier reading and the room is heat from inside. The room is taken
		// as constant and, if not read, as cold; an earlier reading without
		// its time as a recent one.
		base := r[EarlierCellC].Num
		if room.State == Known {
			base = max(base, room.Lo)
		}
		f[FRising] = exactly(cell.Lo - base)
		if m := r[EarlierCellMin]; m.State == Known && m.Num > heatWindow {
			f[FRising] = Fact{State: NotApplicable}
		}
	}
	knownToRise := f[FRising].State == Known && f[FRising].Lo >= 2*One
	heat := r[HeatedMinAgo]
	if e, m := r[EarlierCellC], r[EarlierCellMin]; cell.State == Known && e.State == Known && cell.Lo >= e.Num &&
		heat.State == Known && m.State == Known && m.Num < heat.Num {
		knownToRise = true // with the heat off it must have fallen
	}
	explained := heat.State == Known && heat.Num <= heatWindow && !knownToRise
	f[FHeatExplains] = yes(explained)

	switch {
	case felt.isYes() || rise.State == Known && rise.Lo >= warmRise && !explained:
		f[FWarm] = yes(true)
	case rise.State == Known && rise.Lo <= -coldFoil && !felt.isNo(),
		rise.State != Known && cell.State == Known && cell.Lo >= handFeels:
		// Figures swapped, shiny foil, or a hot surface with nothing to compare
		// it with: warmth is not known.
		f[FWarm] = Fact{State: Asked}
	case rise.State == Known || felt.isNo():
		f[FWarm] = yes(false)
	default:
		f[FWarm] = missing(felt.State, rise.State)
	}
	// A thermometer that shows no warmth does not take away what a hand felt:
	// shiny foil reads low.
	f[FWarmByTouch] = *felt
	if felt.isYes() {
		f[FWarmByTouch] = yes(rise.State != Known || rise.Lo < warmRise)
	}
	quiet := r[QuietH]
	f[FSettled] = yes(quiet.State == Known && quiet.Num >= settleTime && f[FWarm].isNo())
}

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
		for _, id := range [...]FactID{FPackVolts, FCellLow, FCellHigh, FOverLimit, FSpread} {
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

// deriveShape compares thicknesses. Swelling goes by its lower bound: the
// reading less the caliper's error, over the nominal thickness as printed.
func deriveShape(r *Reading, f *Facts, c cells) {
	t := r[ThicknessMm].fact()
	if ends := &r[ThicknessEndsMm]; ends.State == Known && (t.State != Known || ends.Hi > t.Hi) {
		t = exactly(ends.Hi)
	}
	nominal := r[NominalThicknessMm].fact()
	if nominal.State != Known && c.designedThickness > 0 && f[FUnit].State == Known && f[FUnit].Lo == unitCell {
		nominal = exactly(c.designedThickness)
	}
	// Of several references the thinnest counts: a cell that grew since an
	// earlier look has swollen, whatever its label allows.
	if nominal.State == Known {
		if c.designedThickness > 0 && f[FUnit].isWord(unitCell) {
			nominal.Lo = min(nominal.Lo, c.designedThickness)
		}
		if e := r[EarlierThicknessMm]; e.State == Known {
			nominal.Lo = min(nominal.Lo, e.Num)
		}
	}
	f[FSwelling] = missing(t.State, nominal.State)
	if t.State == Known && nominal.State == Known {
		f[FSwelling] = exactly(ratio(t.Lo-caliper-nominal.Lo, 100*One, nominal.Lo, down))
	}
	f[FThicknessAlone] = yes(t.State == Known && nominal.State != Known)
	f[FWedge] = r[ThicknessEndsMm].fact()
	if ends := &r[ThicknessEndsMm]; ends.State == Known {
		f[FWedge] = exactly(ends.Hi - ends.Num)
	}
	earlier := r[EarlierThicknessMm].fact()
	f[FGrowth] = missing(t.State, earlier.State)
	if t.State == Known && earlier.State == Known {
		f[FGrowth] = exactly(t.Lo - earlier.Lo - caliper)
	}
}

func deriveHealth(r *Reading, f *Facts) {
	now, fresh := &r[ResistanceMohm], &r[NewResistanceMohm]
	f[FResistance] = missing(now.State, fresh.State)
	if now.State == Known && fresh.State == Known {
		f[FResistance] = exactly(ratio(now.Num, One, fresh.Num, up))
	}
	got, rated := &r[MeasuredMah], &r[RatedMah]
	f[FCapacity] = missing(got.State, rated.State)
	if got.State == Known && rated.State == Known {
		f[FCapacity] = exactly(ratio(got.Num, 100*One, rated.Num, down))
	}
}

// deriveOpen says whether a required reading is open, and whether one can never
// be taken: "cannot be diagnosed" is said of a sign or the voltage only.
func deriveOpen(r *Reading, f *Facts, perCell State, count cells) {
	var open, cannot bool
	for id := FSwollen; id <= FMisused; id++ {
		s := f[id].State
		cannot = cannot || s.Cannot() && !(id == FWarmFelt && f[FWarm].State == Known)
		open = open || s.NotYet() && id != FWarmFelt
	}
	open = open || f[FWarm].State != Known && !f[FWarmFelt].State.Cannot()
	open = open || f[FRecalled].State != Known
	ocv := r[OcvV].State
	cannot = cannot || ocv.Cannot()
	open = open || ocv.NotYet() || ocv == Known && perCell != Known && perCell != NotApplicable
	for i := range r {
		// A refused reading may have been the bad one.
		open = open || r[i].State == Refused && (Fields[i].Role == Optional || FieldID(i) == Purpose)
	}
	open = open || oddCellVolts(r, &count)
	f[FRequiredOpen], f[FUndiagnosable] = yes(open), yes(cannot)
	f[FWarmOpen] = yes(f[FWarm].State != Known)
	f[FDangerOpen] = yes(f[FSmoking].State != Known || f[FHissing].State != Known || f[FOdour].State != Known || f[FPunctured].State != Known)
	var casing bool
	for _, id := range [...]FactID{FPunctured, FCracked, FLeaking, FOdour, FHissing, FSmoking, FBurnt} {
		casing = casing || f[id].State != Known
	}
	f[FCasingOpen], f[FFitOpen] = yes(casing), yes(f[FFit].State != Known)
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
