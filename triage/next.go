package triage

import (
	"cmp"
	"math/bits"
	"slices"
)

// nearest returns how close a reading may bring the hands in a handling class.
// Nothing is read from a reacting cell; a damaged one is looked at, not touched.
func (h Handling) nearest() (Reach, bool) {
	switch h {
	case Emergency:
		return Desk, false
	case Isolate:
		return Look, true
	case Hold:
		return Touch, true
	}
	return DischargeTest, true
}

// Allows reports whether a field may be read of a cell in a handling class.
func (h Handling) Allows(f FieldID) bool {
	reach, any := h.nearest()
	return any && Fields[f].Reach <= reach
}

// measureNext lists the readings that could still change an answer for the
// worse, or settle a route: the cheapest first, each once with the worst that
// it could show, none that the present class forbids.
func (v *Verdict) measureNext(r *Reading) {
	v.nextFields = 0
	reach, any := v.Handling.nearest()
	if !any {
		return
	}
	// A purpose is a wish, not a reading: it is asked for by routes only.
	add := func(missing FactSet, answer, from, to string) {
		for ; missing != 0; missing &= missing - 1 {
			id := lowest(missing)
			for _, f := range FactTable[id].Fields {
				if v.nextFields.Has(f) || !v.worthTaking(r, f, reach) || f == Purpose && (answer == "handling" || answer == "condition") {
					continue
				}
				v.addNext(Next{f, answer, from, to})
				if FactTable[id].anyOne {
					break
				}
			}
		}
	}
	for _, h := range slices.Backward(handlingOrder[:]) {
		for i := range v.HandlingFindings {
			if f := &v.HandlingFindings[i]; f.State == CouldBe && f.Rule.handling == h {
				add(f.Missing, "handling", v.Handling.String(), h.String())
			}
		}
	}
	for i := range v.ConditionFindings {
		if f := &v.ConditionFindings[i]; f.State == CouldBe {
			add(f.Missing, "condition", v.Condition.String(), f.Rule.condition.String())
		}
	}
	for i := range v.WasteFindings {
		if f := &v.WasteFindings[i]; f.State == CouldBe {
			add(f.Missing, "waste", v.Waste.String(), f.Rule.waste.String())
		}
	}
	for i := range v.SizeFindings {
		if f := &v.SizeFindings[i]; f.State == CouldBe {
			add(f.Missing, "size", v.Size.String(), f.Rule.size.String())
		}
	}
	for route := range NumRoutes {
		for _, m := range v.Routes[route].Maybe {
			add(m.Missing, route.String(), v.Routes[route].Class.String(), m.Best().String())
		}
	}
	v.gatherSigns(r)
	slices.SortStableFunc(v.Next, func(a, b Next) int {
		return cmp.Or(cmp.Compare(v.rank(r, a.Field), v.rank(r, b.Field)), cmp.Compare(Fields[a.Field].Seconds, Fields[b.Field].Seconds))
	})
}

// rank puts the readings that hold the cell before those that only add to what
// is known: they are what the bench is waiting for.
func (v *Verdict) rank(r *Reading, f FieldID) int {
	switch {
	case !v.Facts[FRequiredOpen].isYes():
		return 0
	case f == Series && r[OcvV].State == Known && v.Facts[FCellLow].State != Known:
		return 0
	case f == CellC || f == AmbientC:
		if v.Facts[FWarm].State != Known {
			return 0
		}
	case Fields[f].Role == Required || f == Signs:
		return 0
	}
	return 1
}

// gatherSigns names the sign list once where most signs are open, rather than a
// dozen questions for one look.
func (v *Verdict) gatherSigns(r *Reading) {
	if r[Signs].State == Known {
		return
	}
	open, first := 0, -1
	for i := range v.Next {
		if Fields[v.Next[i].Field].Sign {
			open++
			if first < 0 {
				first = i
			}
		}
	}
	if open < 4 {
		return
	}
	v.Next[first].Field = Signs
	v.Next = slices.DeleteFunc(v.Next, func(n Next) bool { return Fields[n.Field].Sign })
}

var handlingOrder = [...]Handling{Retire, Hold, Isolate, Emergency}

// worthTaking reports whether the field is open and may be read now.
func (v *Verdict) worthTaking(r *Reading, f FieldID, reach Reach) bool {
	state := r[f].State
	if Fields[f].Sign {
		s := r.sign(f)
		state = s.State
	}
	if len(Fields[f].NA) > 0 && f != OcvV && r[Kind].State == Known && slices.Contains(Fields[f].NA, r.kind()) {
		return false // does not apply to this kind
	}
	switch f {
	case DesignationText:
		return false // read with the label; asking for the count is plainer
	case EarlierCellMin, EarlierH, NewResistanceMohm, NominalThicknessMm:
		if r[partner[f]].State != Known {
			return false // of no use alone
		}
	case LithiumG:
		if v.Facts[FFamily].State != Known || v.Facts[FFamily].Lo != lithiumMetal {
			return false
		}
	case Series:
		if v.Facts[FUnit].State == Known && v.Facts[FCellLow].State == Known {
			return false
		}
	}
	return state.NotYet() && Fields[f].Reach <= reach
}

// partner names, for a reading that means nothing alone, the one it belongs to.
var partner = [NumFields]FieldID{EarlierCellMin: EarlierCellC, EarlierH: EarlierOcvV,
	NewResistanceMohm: ResistanceMohm, NominalThicknessMm: ThicknessMm}

// addNext keeps the first of a field: the worst change is added first.
func (v *Verdict) addNext(n Next) {
	if !v.nextFields.Has(n.Field) {
		v.nextFields = v.nextFields.With(n.Field)
		v.Next = append(v.Next, n)
	}
}

func lowest(s FactSet) FactID { return FactID(bits.TrailingZeros64(uint64(s))) }
