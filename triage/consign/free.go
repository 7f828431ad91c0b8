package consign

import (
	"cmp"
	"slices"
	"strings"

	"pouchward/triage"
)

// A Freedom is one reading, or one determination, with the items that it alone
// would free if it turns out well.
type Freedom struct {
	Reading string   `json:"reading"` // the field's name, "determination" or "expert determination"
	Frees   []string `json:"frees"`   // tags
	Seconds int      `json:"seconds"` // to take it once, 0 where that is not known
}

// The determinations, as Freedom and Left name them.
const (
	Determination       = "determination"
	ExpertDetermination = "expert determination"
)

// Freedoms gathers the readings and determinations that free items left without an
// open way, the one that frees most first, then the quickest. Each was found by
// judging again with the best that it could show. A reading that the present
// handling class forbids is never among them.
func Freedoms(left []Left) []Freedom {
	var list []Freedom
	for _, l := range left {
		for _, name := range l.Frees {
			at := slices.IndexFunc(list, func(f Freedom) bool { return f.Reading == name })
			if at < 0 {
				f := Freedom{Reading: name}
				if id, ok := triage.FieldByName(name); ok {
					f.Seconds = triage.Fields[id].Seconds
				}
				at, list = len(list), append(list, f)
			}
			list[at].Frees = append(list[at].Frees, l.Tag)
		}
	}
	slices.SortStableFunc(list, func(a, b Freedom) int {
		return cmp.Or(cmp.Compare(len(b.Frees), len(a.Frees)), cmp.Compare(seconds(a), seconds(b)), strings.Compare(a.Reading, b.Reading))
	})
	return list
}

// seconds orders a determination, whose time is not known, after readings.
func seconds(f Freedom) int {
	if f.Seconds == 0 {
		return 1 << 30
	}
	return f.Seconds
}

// frees lists what alone would open a way for the item.
func (j *judge) frees(it *Item) []string {
	var v triage.Verdict
	c := it.Case
	c.On = j.rb.On
	j.rb.Judge(&c, &v)
	if len(v.Routes[j.route].Maybe) == 0 && v.Routes[j.route].Class != triage.RouteUndecided && v.Condition != triage.Undetermined {
		return nil
	}
	var names []string
	for _, n := range v.Next {
		for _, f := range withKin(n.Field) {
			name := triage.Fields[f].Name
			if !slices.Contains(names, name) && j.opensWith(c, f) {
				names = append(names, name)
			}
		}
	}
	for _, expert := range [...]bool{false, true} {
		if j.opensBy(c, &v, expert) {
			if expert {
				return append(names, ExpertDetermination)
			}
			return append(names, Determination)
		}
	}
	return names
}

// freesPacking lists what alone would let some outer packaging take an item that
// has an open way.
func (p *planner) freesPacking(it *Item) (names []string) {
	for _, f := range [...]triage.FieldID{triage.Fit, triage.MassG, triage.Chemistry} {
		if it.Case.Reading[f].State == triage.Known {
			continue
		}
		for _, text := range best(&it.Case.Reading, f) {
			again := *it
			if again.Case.Reading.Set(f, text) != nil {
				continue
			}
			s := p.look(&again)
			if len(s.open) == 0 {
				continue
			}
			if w, _ := p.wayFor(s); w != nil {
				names = append(names, triage.Fields[f].Name)
				break
			}
		}
	}
	return names
}

// withKin adds to a count of cells the designation, one look that gives both.
func withKin(f triage.FieldID) []triage.FieldID {
	if f == triage.Series || f == triage.Parallel {
		return []triage.FieldID{f, triage.DesignationText}
	}
	return []triage.FieldID{f}
}

// opensWith reports whether a way opens if the field shows the best it can.
func (j *judge) opensWith(c triage.Case, f triage.FieldID) bool {
	for _, text := range best(&c.Reading, f) {
		again := c
		if again.Reading.Set(f, text) == nil && j.anyOpen(&again) {
			return true
		}
	}
	return false
}

func (j *judge) anyOpen(c *triage.Case) bool {
	j.rb.Judge(c, &j.v)
	a := &j.v.Routes[j.route]
	return a.Way != nil && a.Class < triage.RouteApproval
}

// best returns the texts of a field that could turn out well. They are examples of
// a good answer, not limits: the rules judge them.
func best(r *triage.Reading, f triage.FieldID) []string {
	d := &triage.Fields[f]
	as := func(other triage.FieldID) []string {
		if v := &r[other]; v.State == triage.Known {
			return []string{v.Num.String()}
		}
		return nil
	}
	switch f {
	case triage.OcvV:
		if v := as(triage.NominalV); v != nil {
			return v
		}
		n := triage.One
		if s := &r[triage.Series]; s.State == triage.Known {
			n = s.Num
		}
		return []string{(37 * n / 10).String(), (33 * n / 10).String()}
	case triage.CellC:
		return as(triage.AmbientC)
	case triage.AmbientC:
		return as(triage.CellC)
	case triage.ThicknessMm:
		return as(triage.NominalThicknessMm)
	case triage.NominalThicknessMm:
		return as(triage.ThicknessMm)
	case triage.TypeTested, triage.WhMarked:
		return []string{"yes"}
	case triage.LabelWh:
		return []string{"10"}
	case triage.NominalV:
		return []string{"3.7", "3.85"}
	case triage.RatedMah, triage.TypicalMah:
		return []string{"2500"}
	case triage.MassG:
		return []string{"50"}
	case triage.Signs:
		return []string{"none"}
	case triage.Purpose:
		return []string{"recycle", "reuse"} // a return is for a safety reason
	case triage.Tag, triage.Ticket, triage.Part, triage.Device, triage.Note, triage.Who:
		return nil
	}
	switch d.Type {
	case triage.YesNoField:
		return []string{"no"}
	case triage.WordField:
		return d.Words
	}
	return []string{d.Example}
}

// opensBy reports whether a way opens if a determination sets aside every finding
// on condition that it may.
func (j *judge) opensBy(c triage.Case, v *triage.Verdict, expert bool) bool {
	d := triage.Determination{Criteria: "a", Reason: "supposed", By: "one", Second: "two", Expert: expert, On: j.rb.On}
	for i := range v.ConditionFindings {
		if f := &v.ConditionFindings[i]; f.State == triage.Fired && f.Rule != nil && f.Rule.LoweredWith(expert) {
			d.SetsAside = append(d.SetsAside, v.Aside(f.Rule.ID))
		}
	}
	if len(d.SetsAside) == 0 {
		return false
	}
	c.Determinations = append(slices.Clone(c.Determinations), d)
	return j.anyOpen(&c)
}
