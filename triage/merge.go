package triage

// Merge returns the reading that a cell is judged by when an older one is on
// record, hours before the newer. Label facts and bad signs carry over; a no, a
// temperature and a voltage do not. The older voltage and thickness become the
// earlier ones, unless the newer reading names earlier ones itself.
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
	if m[EarlierThicknessMm].State == Blank && older[ThicknessMm].State == Known {
		m[EarlierThicknessMm] = older[ThicknessMm]
	}
	return m
}
