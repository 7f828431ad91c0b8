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

// closedInstalled reports whether a closed thing is said to be in equipment. Equipment
// is what its cells run; a power bank runs others and is cells alone (UN3480), a pack in
// its tool is equipment: the reading does not tell the two apart.
func (r *Reading) closedInstalled() bool {
	return r.kind() == "enclosed" && r[Fit].State == Known && Fields[Fit].Words[r[Fit].Num] == "installed"
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
	f[FFit], f[FFitSaid], f[FPurpose] = r[Fit].fact(), r[Fit].fact(), r[Purpose].fact()
	if r.closedInstalled() {
		f[FFit] = Fact{State: Asked}
	}
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

// deriveShape compares thicknesses. Swelling goes by its lower bound: the
// reading less the caliper's error, over the nominal thickness as printed.
func deriveShape(r *Reading, f *Facts, c cells) {
	t := r[ThicknessMm].fact()
	if ends := &r[ThicknessEndsMm]; ends.State == Known && (t.State != Known || ends.Hi > t.Hi) {
		t = exactly(ends.Hi)
	}
	nominal := r.nominalThickness(t)
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
	// With an earlier look alone, what it grew since is the least that it has swollen.
	if e := r[EarlierThicknessMm]; t.State == Known && nominal.State != Known && e.State == Known && t.Lo-caliper > e.Num {
		f[FSwelling] = exactly(ratio(t.Lo-caliper-e.Num, 100*One, e.Num, down))
	}
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

// nominalThickness returns the thickness when new as typed. One that the cell would have
// shrunk from by more than a tenth is not believed: it would hide any swelling.
func (r *Reading) nominalThickness(t Fact) Fact {
	nominal := r[NominalThicknessMm].fact()
	if t.State == Known && nominal.State == Known && ratio(t.Lo, 10, nominal.Lo, down) < 9 {
		return Fact{State: Asked}
	}
	return nominal
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
