package consign

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pouchward/triage"
)

// blanks each make one thing of a package not known. The mass of an item is not
// among them: its rating bounds it then. Nor is what a strong box may weigh filled,
// which no rule asks.
var blanks = map[string]func(p *Package){
	"level":  func(p *Package) { p.Outer.Level = "" },
	"mark":   func(p *Package) { p.Outer.UNMark = "" },
	"inner":  func(p *Package) { p.Inner = false },
	"fill":   func(p *Package) { p.Fill = false },
	"tare":   func(p *Package) { p.TareG, p.Outer.TareG = 0, 0 },
	"spares": func(p *Package) { p.SpareSets = nil },
	"odd":    func(p *Package) { p.Outer.Level, p.TareG, p.GrossG = "pg9", -5, -5 },
}

// What is not known never makes a package lawful that was not: neither of the
// package nor of a cell in it.
func TestMissingNeverMakesLawful(t *testing.T) {
	rb := book(t)
	fields := []triage.FieldID{triage.Signs, triage.Recalled, triage.OcvV, triage.CellC, triage.Chemistry, triage.Series, triage.Parallel, triage.NominalV,
		triage.RatedMah, triage.Fit, triage.Purpose, triage.TypeTested, triage.WhMarked, triage.LithiumG}
	var names []string
	for n := range blanks {
		names = append(names, n)
	}
	slices.Sort(names)
	lawful := 0
	rapid.Check(t, func(rt *rapid.T) {
		r := triage.Route(rapid.IntRange(0, int(triage.NumRoutes)-1).Draw(rt, "route"))
		o := rapid.SampledFrom(shelf).Draw(rt, "outer")
		spare := rapid.IntRange(0, 3).Draw(rt, "spares")
		p := &Package{Outer: o, Inner: rapid.Bool().Draw(rt, "inner"), Fill: rapid.Bool().Draw(rt, "fill"), SpareSets: &spare}
		s := rapid.SampledFrom(sorts).Draw(rt, "sort")
		for i := range rapid.IntRange(1, 4).Draw(rt, "items") {
			other := rapid.SampledFrom([]string{s, s, s, rapid.SampledFrom(sorts).Draw(rt, "other")}).Draw(rt, "which")
			p.Items = append(p.Items, item(t, fmt.Sprint("T", i), plain, other))
		}
		was := Judge(rb, r, p)
		if was.Lawful() {
			lawful++
			return
		}
		name := rapid.SampledFrom(names).Draw(rt, "blank")
		again := *p
		blanks[name](&again)
		if x := Judge(rb, r, &again); x.Lawful() {
			rt.Fatalf("%s: without %s it is lawful; before: %+v", r, name, was.Breaches)
		}
		again = *p
		again.Items = slices.Clone(p.Items)
		f := rapid.SampledFrom(fields).Draw(rt, "field")
		again.Items[0].Case.Reading[f] = triage.Value{State: triage.Asked}
		if x := Judge(rb, r, &again); x.Lawful() {
			rt.Fatalf("%s: without %s it is lawful; before: %+v", r, triage.Fields[f].Name, was.Breaches)
		}
	})
	if lawful == 0 {
		t.Error("no package drawn was lawful: the test says little")
	}
}
