package triage

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// A mutant is one change of a table that some case must notice.
type mutant struct {
	name string
	set  func() (undo func())
}

func mutateCondition(id string, c *Condition) []mutant {
	change := func(what string, to Condition) mutant {
		return mutant{fmt.Sprintf("%s: %s %s", id, c, what), func() func() {
			was := *c
			*c = to
			return func() { *c = was }
		}}
	}
	if c.op == isWord {
		var list []mutant
		for w := range FactTable[c.Fact].Words {
			if Micro(w) != c.limit {
				list = append(list, change("is "+FactTable[c.Fact].Words[w], Condition{c.Fact, isWord, Micro(w)}))
			}
		}
		return list
	}
	flipped := map[op]op{atMost: over, under: atLeast, atLeast: under, over: atMost}[c.op]
	edge := map[op]op{atMost: under, under: atMost, atLeast: over, over: atLeast}[c.op]
	return []mutant{
		change("one step up", Condition{c.Fact, c.op, c.limit + 1}),
		change("one step down", Condition{c.Fact, c.op, c.limit - 1}),
		change("flipped", Condition{c.Fact, flipped, c.limit}),
		change("edge moved", Condition{c.Fact, edge, c.limit}),
	}
}

// mutantsOf shifts every limit by one step and flips, replaces and drops every condition; it also takes from each
// record in turn each condition for carriage, chemistry and route.
func mutantsOf(table *Table) []mutant {
	var list []mutant
	conditions := func(id string, lines *[]Condition) {
		for i := range *lines {
			list = append(list, mutateCondition(id, &(*lines)[i])...)
			list = append(list, mutant{fmt.Sprintf("%s: %s dropped", id, (*lines)[i]), func() func() {
				was := *lines
				*lines = slices.Delete(slices.Clone(was), i, i+1)
				return func() { *lines = was }
			}})
		}
	}
	bits := func(id, what string, set *uint8) {
		for b := uint8(0); b < 8; b++ {
			if *set>>b&1 == 1 {
				list = append(list, mutant{fmt.Sprintf("%s: %s %d taken away", id, what, b), func() func() {
					was := *set
					*set &^= 1 << b
					return func() { *set = was }
				}})
			}
		}
	}
	// A window moved by a day at either end: the cases on both sides of a date notice it.
	table.eachRecord(func(_ string, r *Record) {
		for what, end := range map[string]*Date{"from": &r.from, "until": &r.until} {
			for _, by := range []Date{-1, 1} {
				if *end != 0 {
					list = append(list, mutant{fmt.Sprintf("%s: %s %s moved by %d day", r.ID, what, *end, by), func() func() {
						*end += by
						return func() { *end -= by }
					}})
				}
			}
		}
	})
	for i := range table.Rules {
		r := &table.Rules[i]
		conditions(r.ID, &r.when.all)
		conditions(r.ID+" (or)", &r.when.or)
	}
	for i := range table.Ways {
		w := &table.Ways[i]
		conditions(w.ID, &w.when.all)
		conditions(w.ID+" (or)", &w.when.or)
		bits(w.ID, "for", &w.forClasses)
		bits(w.ID, "chemistry", &w.families)
		bits(w.ID, "route", &w.routes)
		for _, c := range []ConditionClass{Damaged, RecalledCell, Liable} {
			if w.forClasses>>c&1 == 0 {
				mode := ""
				if w.routes&^(1<<AirPassenger|1<<AirCargo) == 0 {
					mode = " (air)"
				}
				list = append(list, mutant{fmt.Sprintf("%s: also for %s%s", w.ID, c, mode), func() func() {
					was := w.forClasses
					w.forClasses |= 1 << c
					return func() { w.forClasses = was }
				}})
			}
		}
	}
	for i := range table.Bars {
		b := &table.Bars[i]
		conditions(b.ID, &b.when.all)
		conditions(b.ID+" (or)", &b.when.or)
		bits(b.ID, "for", &b.forClasses)
		bits(b.ID, "route", &b.routes)
	}
	return list
}

// A caseCheck is one case of a case file, ready to be judged again and again.
type caseCheck struct {
	about   string // the record that decides it, "" for none
	on      Date
	reading Reading
	inHand  []string
	fails   func(*Verdict) bool
}

// allCases gathers every case of testdata/cases that a mutant can be noticed by.
func allCases(t *testing.T) []caseCheck {
	t.Helper()
	var list []caseCheck
	on := day(t, testDay)
	for _, row := range rows(t, "rules.tsv") {
		list = append(list, caseCheck{row["rule"], on, read(t, plain, row["reading"]), nil, func(v *Verdict) bool {
			return ruleState(v, row["rule"]) != row["want"]
		}})
	}
	for _, row := range rows(t, "scenarios.tsv") {
		list = append(list, caseCheck{"", on, read(t, row["reading"]), nil, func(v *Verdict) bool {
			routine := row["handling"] == "routine" && v.Handling <= Retire
			return !routine && v.Handling.String() != row["handling"] || v.Condition.String() != row["condition"] ||
				v.Size.String() != row["size"] || v.Waste.String() != row["waste"]
		}})
	}
	files, err := filepath.Glob(filepath.Join(cases, "*-routes.tsv"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no route cases: %v", err)
	}
	for _, name := range files {
		for _, c := range loadRouteCases(t, name) {
			list = append(list, caseCheck{c.way, on, usReading(t, c.reading), nil, func(v *Verdict) bool { return c.differs(v) != "" }})
		}
	}
	for _, c := range loadDatedCases(t) {
		list = append(list, caseCheck{c.way, c.on, usReading(t, c.reading), nil, func(v *Verdict) bool { return c.differs(v) != "" }})
	}
	for _, c := range loadApprovalCases(t) {
		list = append(list, caseCheck{c.way, on, usReading(t, c.reading), c.hand(t), func(v *Verdict) bool { return c.differs(v) != "" }})
	}
	return list
}

// equalMutants are changes that alter no answer of any reading, each with its
// reason.
var equalMutants = []string{
	"us-liable: for 4 taken away", // no way is for liable, so the bar adds only the citation
	"us-liable: route",            // likewise
	": also for liable",           // the bar closes all
	// An installed cell is not barred, a loose one is; a metal cell that is
	// neither is no case of the text.
	"air-passenger-alone: for 2", "air-passenger-alone: for 3", "air-passenger-alone: for 4", // air-a154 forbids these
	"air-passenger-alone: for 5",                            // bar-reacting forbids it
	": also for damaged (air)", ": also for recalled (air)", // air-a154 closes every way by air
	"air-a154: route", "bar-reacting: route 3", "bar-reacting: route 4", // no way by air is for these conditions: the bar adds the citation
	"air-passenger-alone: for 1",                                                                      // no way on passenger aircraft is for cells alone: likewise
	"air-passenger-enclosed: for 2", "air-passenger-enclosed: for 3", "air-passenger-enclosed: for 4", // air-a154 forbids these
	"air-passenger-enclosed: for 1", "air-passenger-enclosed: for 5", // no way on passenger aircraft is for these
	"air-966-ii (or): energy > 2.7 Wh one step up",                            // the first list takes every battery to 20 Wh
	"bar-reacting: route 0", "bar-reacting: route 1", "bar-reacting: route 2", // no way is for reacting: forbidden all the same
	"bar-reacting: route 5", "bar-reacting: route 6", // likewise
	"over-0-20 (or): cell_volts_most > 4.6 V dropped", // an empty second list is no list
	// The ways that these close are for undamaged cells, and sp670 for installed ones.
	"air-cargo-enclosed: for 1", "air-cargo-enclosed: for 2", "air-cargo-enclosed: for 3", "air-cargo-enclosed: for 4", "air-cargo-enclosed: for 5",
	"adr-sp670-enclosed: for 1", "adr-sp670-enclosed: for 2", "adr-sp670-enclosed: for 3", "adr-sp670-enclosed: for 4", "adr-sp670-enclosed: for 5",
	"adr-sp670-enclosed: fit_said is installed dropped",
	// The codes on both sides of the date: TestWasteCodesByDateAndOrigin.
	"eu-trade: from", "eu-trade-2026: until", "eu-municipal: from", "eu-municipal-2026: until",
	"eu-trade-device: from", "eu-trade-device-2026: until", "eu-municipal-device: from", "eu-municipal-device-2026: until",
	"eu-other-chemistry: from", "eu-other-chemistry-2026: until", "eu-other-chemistry-nickel-municipal: from",
	"eu-other-chemistry-sodium-trade: from", "eu-other-chemistry-sodium-municipal: from",
	"eu-state-de: from", "eu-state-de-2025: until", // TestGermanLineByDate
	// A rate comes from curves and is not known to a millionth of a percent.
	"/day one step", "/day edge moved",
}

// Every limit of every table is shifted by a millionth, every condition
// flipped, replaced and dropped: some case must notice each.
func TestEveryMutationIsNoticed(t *testing.T) {
	entries, err := ruleFiles.ReadDir("rules")
	if err != nil {
		t.Fatal(err)
	}
	var tables Tables
	for _, e := range entries { // decoded afresh: the embedded tables are shared with other tests
		data, err := ruleFiles.ReadFile("rules/" + e.Name())
		if err != nil {
			t.Fatal(err)
		}
		table, err := ParseTable(e.Name(), data)
		if err != nil {
			t.Fatal(err)
		}
		tables = append(tables, table)
	}
	all := allCases(t)
	var v Verdict
	// noticed looks at the cases about the changed record first: most changes end there.
	noticed := func(id string) bool {
		books := map[Date]*Rulebook{}
		for _, own := range []bool{true, false} {
			for i := range all {
				c := &all[i]
				if (c.about == id) != own {
					continue
				}
				rb := books[c.on]
				if rb == nil {
					var err error
					if rb, err = tables.On(c.on); err != nil {
						return true
					}
					books[c.on] = rb
				}
				rb.Judge(&Case{Reading: c.reading, On: c.on, InHand: c.inHand}, &v)
				if c.fails(&v) {
					return true
				}
			}
		}
		return false
	}
	if noticed("") {
		t.Fatal("a case fails before any change")
	}
	total, seen := 0, 0
	for _, table := range tables {
		for _, m := range mutantsOf(table) {
			undo := m.set()
			id, _, _ := strings.Cut(m.name, ":")
			killed := noticed(strings.TrimSuffix(id, " (or)"))
			undo()
			total++
			if killed {
				seen++
			} else if !slices.ContainsFunc(equalMutants, func(s string) bool { return strings.Contains(m.name, s) }) {
				t.Errorf("no case notices: %s", m.name)
			}
		}
	}
	t.Logf("%d changes over %d cases, %d noticed, %d equal by construction", total, len(all), seen, total-seen)
}
