package triage

// ratingCause is the likely way in which a printed rating came to differ from
// nominal voltage times rated capacity.
type ratingCause uint8

const (
	causeUnknown  ratingCause = iota
	causeLimit                // the limited charge voltage was multiplied
	causeTypical              // the typical capacity was multiplied
	causeOutput5V             // the capacity is that of a 5 V output
	causeMaxV                 // a just-charged "max" voltage of 4.2 V, or 20 V for 18 V, was multiplied
	causeSwapped              // two neighbouring digits of the capacity or the rating are swapped
	causeThousand             // mAh and Ah, or a decimal point, slipped by a thousand
)

var causeText = [...]string{
	causeUnknown:  "Read the label again.",
	causeLimit:    "It looks as if the limited charge voltage was used for it.",
	causeTypical:  "It looks as if the typical capacity was used for it.",
	causeOutput5V: "It looks like the figure of a 5 V output.",
	causeMaxV:     "It looks as if the just-charged (max) voltage was used for it.",
	causeSwapped:  "It looks as if two digits are swapped.",
	causeThousand: "It looks as if mAh and Ah were mixed up.",
}

// within2Percent reports whether two ratings agree as labels do, which round
// and truncate: 2 %, common practice.
func within2Percent(a, b Micro) bool {
	d := a - b
	return d <= b/50 && -d <= b/50
}

// ratingDetective names the likely cause of a rating that contradicts its own
// label. It only speaks to the person; the larger figure is used all the same.
func ratingDetective(r *Reading) ratingCause {
	label, nominal, rated := r[LabelWh].Num, r[NominalV].Num, r[RatedMah].Num
	computed := energy(nominal, rated)
	switch {
	case r[ChargeLimitV].State == Known && within2Percent(label, energy(r[ChargeLimitV].Num, rated)):
		return causeLimit
	case r[TypicalMah].State == Known && within2Percent(label, energy(nominal, r[TypicalMah].Num)):
		return causeTypical
	case swapped(label, computed) || swappedCapacity(label, nominal, rated):
		return causeSwapped
	case within2Percent(label, computed*1000), within2Percent(label*1000, computed):
		return causeThousand
	case r[ChargeLimitV].State != Known && likelyLimit(label, r):
		return causeLimit
	case within2Percent(label, energy(5*One, rated)):
		return causeOutput5V
	case within2Percent(label, ratio(computed, 20, 18, up)), within2Percent(ratio(label, 20, 18, up), computed):
		return causeMaxV
	}
	return causeUnknown
}

// likelyLimit tries the usual limited charge voltages where the label's own is
// not given: 3.87 V and 4500 mAh print 19.94 Wh when 4.43 V was multiplied.
func likelyLimit(label Micro, r *Reading) bool {
	for limit := Micro(4_200_000); limit <= 4_500_000; limit += 10_000 {
		e := energy(limit, r[RatedMah].Num)
		if d := label - e; d > -e/500 && d < e/500 {
			return true
		}
	}
	return false
}

// swapped reports whether swapping two neighbouring digits of a, as printed to
// two decimals, gives b to within a label's rounding.
func swapped(a, b Micro) bool {
	cents := a / 10_000
	for unit := Micro(1); unit*10 <= cents; unit *= 10 {
		lo, hi := cents/unit%10, cents/(unit*10)%10
		if lo != hi && within2Percent((cents+(hi-lo)*unit+(lo-hi)*unit*10)*10_000, b) {
			return true
		}
	}
	return false
}

// swappedCapacity tries the same on the capacity in mAh.
func swappedCapacity(label, nominal, rated Micro) bool {
	mah := rated / One
	for unit := Micro(1); unit*10 <= mah; unit *= 10 {
		lo, hi := mah/unit%10, mah/(unit*10)%10
		if lo == hi {
			continue
		}
		if e := energy(nominal, (mah+(hi-lo)*unit+(lo-hi)*unit*10)*One); label-e <= e/500 && e-label <= e/500 {
			return true
		}
	}
	return false
}
