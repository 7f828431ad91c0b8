package triage

// cells is what is known of how many cells there are. A count that the entries
// contradict spans them all, so that each use takes its worse end.
type cells struct {
	series, parallel  Fact
	designedThickness Micro // greatest thickness of the designation, 0 for none
	designation       Designation
	designated        bool
}

// familyOf returns the family of a word of the field chemistry.
func familyOf(word Micro) Micro {
	switch Fields[Chemistry].Words[word] {
	case "li-metal":
		return lithiumMetal
	case "na-ion":
		return sodiumIon
	case "nimh":
		return nickel
	}
	return lithiumIon // li-ion, li-polymer, lfp
}

func deriveFamily(r *Reading, f *Facts) {
	v := r[Chemistry].fact()
	if v.State == Known {
		v = exactly(familyOf(v.Lo))
	}
	if d := &r[DesignationText]; d.State == Known && v.State == Known {
		if p, err := ParseDesignation(d.Text); err == nil && (p.Anode == 'I') != (v.Lo == lithiumIon) {
			v = Fact{State: Asked} // the designation says another chemistry: none is believed
		}
	}
	if v.State == Known && r.chemistryDoubt(v.Lo) != 0 {
		v = Fact{State: Asked} // judged as lithium ion, the family with the most lines
	}
	f[FFamily] = v
}

// Volts of one cell that another chemistry than lithium ion does not show. All from
// memory: nickel metal hydride is charged to some 1.5 V, a lithium metal cell shows 3.9 V
// at the most when new, sodium ion is charged to 4.1 V or less.
const (
	mostNickel = Micro(1_700_000)
	mostMetal  = Micro(4_000_000)
	mostSodium = Micro(4_200_000)
)

// chemistryDoubt returns the volts that do not go with a chemistry other than lithium
// ion, 0 for none. A count of cells that is not known is one: the more cells, the more
// volts a pack may show, and a missing count excuses nothing. Nominal volts take no part:
// leaving them out must not settle what they put in doubt.
func (r *Reading) chemistryDoubt(family Micro) Micro {
	series := One
	if n := r[Series]; n.State == Known {
		series = n.Num
	}
	var most Micro
	switch family {
	case nickel:
		most = mostNickel
	case lithiumMetal:
		most = mostMetal
	case sodiumIon:
		most = mostSodium
	default:
		return 0
	}
	limit, ocv := &r[ChargeLimitV], &r[OcvV]
	switch {
	case limit.State == Known && (family == lithiumMetal || limit.Num > series/One*most):
		return limit.Num // a lithium metal cell has no limited charge voltage: it is not charged
	case ocv.State == Known && ocv.Num > series/One*most:
		return ocv.Num
	}
	return 0
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

// The days since which a battery has its rating on the case: a small one of UN
// special provision 188 (b), any of special provision 348.
var markSince188, markSince348 = mustDate("2009-01-01"), mustDate("2012-01-01")

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

// leastNominal is the nominal voltage that every lithium-ion cell has at least: 2.3 V for
// a titanate anode, from memory. A rating worked out with less is none.
const leastNominal = 2 * One

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
	if v := r[NominalV]; v.State == Known && v.Num < leastNominal && (f[FFamily].State != Known || f[FFamily].Lo == lithiumIon) {
		e = Fact{State: Asked}
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
