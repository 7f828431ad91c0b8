package review

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/triage"
)

// unreadShare looks for months in which many cells were taken in without a voltage or
// a temperature.
func unreadShare(p *pass) {
	all := p.intakes()
	var list []intake
	for i := range all {
		if all[i].worst < triage.Emergency { // hands off: nothing is read from it
			list = append(list, all[i])
		}
	}
	p.checked = int64(len(list))
	names, of, _ := groups(list, func(x *intake) string { return month(x.first.Happened) })
	few := int64(0)
	for _, name := range names {
		n := int64(len(of[name]))
		if n < p.limit("at_least_count") {
			few += n
			continue
		}
		lacking, reasons := lack(of[name])
		if int64(len(lacking))*100 <= p.limit("share_pct")*n {
			continue
		}
		f := Finding{Subject: name, Since: earliest(of[name]).Happened}
		f.Until = p.monthEnd(f.Since)
		f.Text = fmt.Sprintf("%s: %d of %s taken in lack a voltage or a temperature, %s", name, len(lacking), plural(n, "cell"), reasons)
		for _, x := range lacking {
			f.Tags, f.Entries = append(f.Tags, x.cell.Tag), append(f.Entries, x.first.Entry)
		}
		p.find(f)
	}
	p.cannotTell(few, "cells of months with too few to speak of a share")
}

// lack picks those that lack a reading, and says by bench how many do and for how
// many of them a reason stands beside it.
func lack(list []*intake) (lacking []*intake, text string) {
	said, benches := 0, map[string]int{}
	var names []string
	for _, x := range list {
		open, reason := false, true
		for _, f := range [...]triage.FieldID{triage.OcvV, triage.CellC, triage.AmbientC} {
			if !x.read(f) {
				open, reason = true, reason && x.reason(f)
			}
		}
		if !open {
			continue
		}
		lacking = append(lacking, x)
		bench := x.first.Bench
		if bench == "" {
			bench = "no bench named"
		}
		if benches[bench]++; benches[bench] == 1 {
			names = append(names, bench)
		}
		if reason {
			said++
		}
	}
	slices.Sort(names)
	parts := []string{}
	for _, name := range names {
		parts = append(parts, fmt.Sprintf("%s: %d", name, benches[name]))
	}
	return lacking, fmt.Sprintf("%d of them with a reason (%s)", said, strings.Join(parts, ", "))
}

// reason reports whether it stands on record why a field was not read.
func (x *intake) reason(f triage.FieldID) bool {
	for _, s := range x.looks {
		if st := s.Look.Get(f).State; st == triage.NoInstrument || st.Cannot() {
			return true
		}
	}
	return false
}

// unreadLong looks for cells in the shop of which a required reading is still to be
// taken a shift after they came.
func unreadLong(p *pass) {
	var handsOff, reacting int64
	for i := range p.Cells {
		c := &p.Cells[i]
		last := c.Last()
		if last.Is != Here || last.Count > 0 {
			continue
		}
		if last.Handling == triage.Emergency {
			reacting++
			continue
		}
		o := openOf(c)
		if o.first == nil {
			continue // it was never looked at: review-lost-sight and the sample
		}
		p.checked++
		var open []string
		off := false
		for _, f := range o.fields {
			if last.Handling.Allows(f) {
				open = append(open, triage.Fields[f].Label)
			} else {
				off = true
			}
		}
		if off {
			handsOff++
		}
		if age := p.Now.Sub(o.first.Happened); len(open) > 0 && age > p.hours("after_h") {
			p.find(Finding{Subject: c.Tag, Tags: []string{c.Tag}, Entries: []int64{o.first.Entry, o.last.Entry}, Since: o.first.Happened,
				Text: fmt.Sprintf("%s: not taken in %d h since %s: %s", triage.SpacedTag(c.Tag), int(age.Hours()), minute(o.first.Happened), strings.Join(open, ", "))})
		}
	}
	p.cannotTell(handsOff, "cells with a reading not taken that their class keeps hands from")
	p.cannotTell(reacting, "cells judged an emergency, from which nothing is read")
}

// An opened says which required readings of a cell are not yet taken, over all looks
// at it.
type opened struct {
	first, last *Step
	fields      []triage.FieldID
}

// openOf goes by the best that any look gave of each field: a temperature was taken,
// even if not at the last look. What was taken back was not taken.
func openOf(c *Cell) (o opened) {
	var best triage.Reading
	for i := range c.Steps {
		s := &c.Steps[i]
		if s.Look == nil || s.Void {
			continue
		}
		if o.first == nil {
			o.first = s
		}
		o.last = s
		for _, g := range s.Look.Given {
			if g.Value.State > best[g.Field].State {
				best[g.Field] = g.Value
			}
		}
	}
	if o.first == nil {
		return o
	}
	for _, f := range [...]triage.FieldID{triage.OcvV, triage.CellC, triage.AmbientC} {
		if best[f].State.NotYet() && !spares(best[triage.Kind], f) {
			o.fields = append(o.fields, f)
		}
	}
	facts := triage.Derive(&best)
	for s := triage.FSwollen; s <= triage.FMisused; s++ {
		if s != triage.FWarmFelt && facts[s].State.NotYet() {
			o.fields = append(o.fields, triage.Signs)
			break
		}
	}
	// A recall list may have answered what nobody typed: then the rule is not open.
	if best[triage.Recalled].State.NotYet() && slices.Contains(o.last.Look.Open, "recalled") {
		o.fields = append(o.fields, triage.Recalled)
	}
	return o
}
