package review

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"pouchward/triage"
)

// A regularity is a way in which readings come out too alike. Of a reading it gives
// what is to be alike: the same number in one reading after the other is a run.
type regularity struct {
	text  string // what a run of it is, with one %s for the value where it has one
	field triage.FieldID
	other triage.FieldID // it is held against this field; 0: against the reading before it
	step  triage.Micro   // of a coarse instrument; common practice
}

var regularities = []regularity{
	{"the same voltage of %s V", triage.OcvV, 0, triage.One / 10},
	{"the nominal voltage for the voltage", triage.OcvV, triage.NominalV, triage.One / 10},
	{"the thickness when new for the thickness", triage.ThicknessMm, triage.NominalThicknessMm, triage.One / 10},
	{"the room temperature for the temperature of the cell", triage.CellC, triage.AmbientC, triage.One},
}

// An alike is one reading of a regularity: the key is the value, or 1 where it is that
// of the other field and 0 where it is not.
type alike struct {
	cell  *Cell
	step  *Step
	at    int // of the step in the cell
	bench string
	key   triage.Micro
	fine  bool // it has a digit that a coarse instrument does not show
}

// of gives what is to be alike in a step, ok false where it was not read.
func (g *regularity) of(s *Step) (key triage.Micro, ok bool) {
	a := s.Look.Get(g.field)
	if g.other == 0 || a.State != triage.Known {
		return a.Num, a.State == triage.Known
	}
	b := s.Look.Get(g.other)
	if a.Num == b.Num {
		key = 1
	}
	return key, b.State == triage.Known
}

// tooRegular looks for runs of readings that are more alike than a meter gives them.
// An assessment that was taken back still was read like that, and counts.
func tooRegular(p *pass) {
	for i := range regularities {
		g := &regularities[i]
		benches := map[string][]alike{}
		var names []string
		all := map[triage.Micro]int64{}
		for _, x := range p.alikes(g) {
			if benches[x.bench] == nil {
				names = append(names, x.bench)
			}
			benches[x.bench] = append(benches[x.bench], x)
			all[x.key]++
			p.checked++
		}
		for _, name := range names {
			p.runs(g, benches[name], all)
		}
	}
}

// alikes are the readings of single cells, in the order of their entries. Where no
// bench is named the person stands for it.
func (p *pass) alikes(g *regularity) (list []alike) {
	for i := range p.Cells {
		c := &p.Cells[i]
		for j := range c.Steps {
			s := &c.Steps[j]
			if s.Kind != "assessment" || s.Look == nil || s.Now.Count > 0 {
				continue
			}
			if key, ok := g.of(s); ok {
				list = append(list, alike{c, s, j, cmp.Or(s.Bench, s.Who, "no bench"), key, s.Look.Get(g.field).Num%g.step != 0})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b alike) int { return cmp.Compare(a.step.Entry, b.step.Entry) })
	return list
}

// runs looks through the readings of a bench for runs of one key.
func (p *pass) runs(g *regularity, list []alike, all map[triage.Micro]int64) {
	own := map[triage.Micro]int64{}
	for i := range list {
		own[list[i].key]++
	}
	for from := 0; from < len(list); {
		key, to := list[from].key, from+1
		for to < len(list) && list[to].key == key {
			to++
		}
		run := list[from:to]
		if cells := cellsOf(run); int64(len(cells)) >= p.limit("run_count") && (g.other == 0 || key == 1) {
			p.regular(g, run, cells, chance(g, key, len(cells), int64(len(list)), all, own, coarse(run, list[:from], list[to:])))
		}
		from = to
	}
}

// coarse reports whether a bench seems to have a coarse instrument: by its readings
// outside of the run, or by the run where there are fewer of them.
func coarse(run, before, after []alike) bool {
	others := [][]alike{before, after}
	if len(before)+len(after) < len(run) {
		others = [][]alike{run}
	}
	n, of := 0, 0
	for _, list := range others {
		of += len(list)
		for i := range list {
			if list[i].fine {
				n++
			}
		}
	}
	return 2*n <= of
}

// cellsOf are the tags of a run, each once: the same cell read again tells nothing.
func cellsOf(run []alike) (tags []string) {
	seen := map[string]bool{}
	for i := range run {
		if t := run[i].cell.Tag; !seen[t] {
			seen[t], tags = true, append(tags, t)
		}
	}
	return tags
}

// What is taken of the share of a value before anything is counted: weight readings of
// which the prior is like it. With a fine meter one reading in ten has the hundredths of a given voltage
// in the middle of charge, where pulled cells are; a meter of tenths of a volt, a
// caliper of tenths of a millimetre and a thermometer of whole degrees give every
// second reading alike, whatever the other benches have. Our own estimates, on the side that accuses nobody.
const (
	priorWeight = 10
	priorFine   = 0.1
	priorCoarse = 0.5
	restLeast   = 30 // readings of other benches from which on they alone are the measure
)

// chance is how many such runs a log of that many readings has by chance. A bench is
// measured by the others, so that a habit is not its own excuse; where they have too
// few readings, by all readings outside of the run.
func chance(g *regularity, key triage.Micro, run int, bench int64, all, own map[triage.Micro]int64, coarse bool) float64 {
	var n int64
	for _, k := range all {
		n += k
	}
	rest, like := n-bench, all[key]-own[key]
	if rest < restLeast {
		rest, like = n-int64(run), all[key]-int64(run)
	}
	prior, free := priorCoarse, 0
	if g.other == 0 {
		free = 1 // the first reading of a run may be any
		if !coarse {
			prior = priorFine
		}
	}
	share := (prior*priorWeight + float64(max(0, like))) / (priorWeight + float64(max(0, rest)))
	if coarse {
		share = max(share, priorCoarse)
	}
	return float64(n) * math.Pow(share, float64(run-free))
}

// regular adds a run, unless chance gives it often enough. It is over when each of its
// cells was measured again or has left.
func (p *pass) regular(g *regularity, run []alike, tags []string, chance float64) {
	if chance*float64(p.limit("one_in_count")) > 1 {
		return
	}
	first, last := run[0].step, run[len(run)-1].step
	what := g.text
	if g.other == 0 {
		what = fmt.Sprintf(g.text, run[0].key)
	}
	if last.Happened.Before(first.Happened) {
		first, last = last, first // entered late
	}
	f := Finding{Subject: run[0].bench, Tags: tags, Since: first.Happened,
		Text: fmt.Sprintf("%s: %s for %d cells in a row, %s to %s; by chance in less than one of %s logs", run[0].bench, what, len(tags),
			minute(first.Happened), minute(last.Happened), roundDown(1/chance))}
	for i := range run {
		f.Entries = append(f.Entries, run[i].step.Entry)
	}
	f.Until = settled(g, run)
	p.find(f)
}

// settled is when the last cell of a run was measured again or left, zero while one
// is still to be measured.
func settled(g *regularity, run []alike) (last time.Time) {
	for i := range run {
		x := &run[i]
		at := time.Time{}
		for j := x.at + 1; j < len(x.cell.Steps) && at.IsZero(); j++ {
			s := &x.cell.Steps[j]
			again := s.Look != nil && !s.Void && s.Look.Get(g.field).State == triage.Known
			if again || s.Now.Is != Here {
				at = later(s.Happened, x.step.Happened)
			}
		}
		if at.IsZero() {
			return at
		}
		last = later(last, at)
	}
	return last
}

// roundDown prints a number by its first digit: 1000, 40000; above a million no more
// is claimed.
func roundDown(x float64) string {
	if x >= 1e6 {
		return "a million"
	}
	unit := math.Pow(10, math.Floor(math.Log10(x)))
	return fmt.Sprintf("%.0f", math.Floor(x/unit)*unit)
}
