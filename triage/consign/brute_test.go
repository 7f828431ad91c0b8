package consign

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pouchward/triage"
)

// owing names what a package owes beyond marks.
func owing(x *Judgement) string {
	var kinds []string
	for _, d := range x.Marks {
		if d.Kind != "mark" && !slices.Contains(kinds, d.Kind) {
			kinds = append(kinds, d.Kind)
		}
	}
	slices.Sort(kinds)
	return strings.Join(kinds, " ")
}

// No partition of the planned items into lawful packages that owe the same papers,
// label and telephone as in the plan has fewer packages than the bound.
func TestBoundAgainstEveryPartition(t *testing.T) {
	rb := book(t)
	rapid.Check(t, func(rt *rapid.T) {
		items, outers := drawItems(rt, t, 5), drawOuters(rt)
		if len(outers) == 0 {
			return
		}
		r := triage.Route(rapid.IntRange(0, int(triage.NumRoutes)-1).Draw(rt, "route"))
		p := MakePlan(rb, r, items, outers)
		var going []Item
		var papers []string
		for i, pkg := range p.Packages {
			for k := range pkg.Items {
				going, papers = append(going, pkg.Items[k]), append(papers, owing(p.Judged[i]))
			}
		}
		lawful := func(block []int) bool {
			pkg := &Package{Inner: true, Fill: true}
			for _, n := range block {
				if pkg.Items = append(pkg.Items, going[n]); papers[n] != papers[block[0]] {
					return false // one would come to owe what it does not owe
				}
			}
			for _, o := range outers {
				pkg.Outer = o
				if x := Judge(rb, r, pkg); x.Lawful() && owing(x) == papers[block[0]] {
					return true
				}
			}
			return false
		}
		best := len(p.Packages)
		var blocks [][]int
		var place func(n int)
		place = func(n int) {
			if len(blocks) >= best {
				return
			}
			if n == len(going) {
				for _, b := range blocks {
					if !lawful(b) {
						return
					}
				}
				best = len(blocks)
				return
			}
			for i := range blocks {
				blocks[i] = append(blocks[i], n)
				place(n + 1)
				blocks[i] = blocks[i][:len(blocks[i])-1]
			}
			blocks = append(blocks, []int{n})
			place(n + 1)
			blocks = blocks[:len(blocks)-1]
		}
		place(0)
		if p.Bound > best {
			rt.Fatalf("%s: bound %d, and %d packages are lawful", r, p.Bound, best)
		}
	})
}
