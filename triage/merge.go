package triage

// Merge returns the reading that a cell is judged by when an older one is on
// record, hours before the newer. Label facts and bad signs carry over; a no, a
// temperature and a voltage do not. The older voltage and thickness become the
// earlier ones, unless the newer reading names earlier ones itself; the least
// voltage of all stays beside it. What was measured of the cell's health (the volts
// of single cells, resistance, capacity, thickness, and what each was when new) stands until it is measured again:
// leaving it out must not better the answer.
func Merge(older, newer *Reading, hours Micro) Reading {
	m := *newer
	for i := range m {
		f := FieldID(i)
		was := &older[f]
		if Fields[f].Carries && m[f].State == Blank && was.State != Blank {
			m[f] = *was
		}
	}
	yes := Value{State: Known, Num: 1, Hi: 1}
	for s := Swollen; s <= Misused; s++ {
		if s == Warm {
			continue // warmth is a temperature: it is taken again
		}
		if v := older.sign(s); v.State == Known && v.Num == 1 {
			m[s] = yes
		}
	}
	for _, f := range [...]FieldID{Rocks, Recalled} {
		if older[f].State == Known && older[f].Num == 1 {
			m[f] = yes
		}
	}
	if m[EarlierOcvV].State == Blank && m[EarlierH].State == Blank && older[OcvV].State == Known && hours > 0 {
		m[EarlierOcvV] = older[OcvV]
		m[EarlierH] = Value{State: Known, Num: hours, Hi: hours}
	}
	m.keepLeastVolts(older)
	for _, f := range [...]FieldID{CellVolts, ResistanceMohm, NewResistanceMohm, MeasuredMah, ThicknessMm, ThicknessEndsMm, NominalThicknessMm} {
		if s := m[f].State; s != Known && s != Refused && older[f].State == Known {
			m[f] = older[f]
		}
	}
	if m[EarlierThicknessMm].State == Blank && older[ThicknessMm].State == Known {
		m[EarlierThicknessMm] = older[ThicknessMm]
	}
	return m
}

// LookAgain returns the reading that a cell is judged by when somebody looked at
// it again, took the readings in newer, and found the rest as it was: what newer
// leaves blank stands as at the last look. Temperatures, and the times since
// something happened, are of their hour and do not stand.
//
// Saying that the rest is as it was cannot make anything better: the caller
// holds the cell to the class that it had.
func LookAgain(last, newer *Reading, hours Micro) Reading {
	m := Merge(last, newer, hours)
	for i := range m {
		f := FieldID(i)
		if m[f].State == Blank && !ofItsHour(f) {
			m[f] = last[f]
		}
	}
	// A voltage that was not taken again is no second voltage.
	if newer[OcvV].State != Known {
		m[EarlierOcvV], m[EarlierH] = last[EarlierOcvV], last[EarlierH]
	}
	if newer[ThicknessMm].State != Known {
		m[EarlierThicknessMm] = last[EarlierThicknessMm]
	}
	// Quiet then and as it was now is quiet for longer, unless it is reported to
	// have reacted again.
	if newer[QuietH].State == Blank && !newer.reports(Smoking, Hissing, Odour, Punctured) {
		m[QuietH] = last[QuietH]
	}
	return m
}

// keepLeastVolts makes the low end of the earlier voltage the least that any look before
// read: a cell once flat stays one. Its high end is the reading that a drift is counted
// from, and without its hours none is.
func (r *Reading) keepLeastVolts(older *Reading) {
	for _, f := range [...]FieldID{OcvV, EarlierOcvV} {
		was, least := &older[f], &r[EarlierOcvV]
		switch {
		case was.State != Known || least.State == Refused:
		case least.State == Known:
			least.Num = min(least.Num, was.Num)
		default:
			*least = Value{State: Known, Num: was.Num, Hi: was.Num}
			r[EarlierH] = Value{} // hours to no voltage say nothing
		}
	}
}

// reports says whether one of the signs is listed.
func (r *Reading) reports(signs ...FieldID) bool {
	for _, s := range signs {
		if v := r.sign(s); v.State == Known && v.Num == 1 {
			return true
		}
	}
	return false
}

func ofItsHour(f FieldID) bool {
	switch f {
	case CellC, AmbientC, EarlierCellC, EarlierCellMin, HeatedMinAgo, QuietH, RestH, EarlierOcvV, EarlierH, EarlierThicknessMm, Warm:
		return true
	}
	return false
}

// RuleByID returns the rule in force with an id, nil for none.
func (rb *Rulebook) RuleByID(id string) *Rule {
	for _, r := range rb.rules {
		if r.ID == id {
			return r
		}
	}
	return nil
}

// WayByID returns the way in force with an id, nil for none.
func (rb *Rulebook) WayByID(id string) *Way {
	for route := range rb.ways {
		for _, w := range rb.ways[route] {
			if w.ID == id {
				return w
			}
		}
	}
	return nil
}

// Outcome returns the handling and condition that a rule gives, the best of each
// where it gives none.
func (r *Rule) Outcome() (Handling, ConditionClass) { return r.handling, r.condition }

// Casing returns what a rule says of the casing, NotWaste where it says nothing.
func (r *Rule) Casing() Waste { return r.waste }

// Settled reports whether a reading says that the cell has been quiet for 24 h and
// is known not to be warm.
func (r *Reading) Settled() bool {
	var f Facts
	derive(r, &f)
	return f[FSettled].State == Known && f[FSettled].Lo == 1
}
