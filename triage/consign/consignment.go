package consign

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pouchward/triage"
)

// JudgeAll judges each package knowing the consignment, so that mark exceptions
// count, and what holds over all of them.
func JudgeAll(rb *triage.Rulebook, route triage.Route, list []*Package) ([]*Judgement, []Breach) {
	j := newJudge(rb, route)
	items := make([][]*seen, len(list))
	for i, p := range list {
		items[i] = j.lookAll(p)
	}
	return j.judgeAll(list, items)
}

func (j *judge) judgeAll(list []*Package, items [][]*seen) ([]*Judgement, []Breach) {
	judged := make([]*Judgement, len(list))
	for i, p := range list {
		judged[i] = j.judge(p, items[i], nil)
	}
	if spared := j.sparedMarks(judged, items); len(spared) > 0 {
		for i, p := range list {
			judged[i] = j.judge(p, items[i], spared)
		}
	}
	var breaches []Breach
	breaches = append(breaches, twice(list)...)
	breaches = append(breaches, j.overpacks(list, items)...)
	return judged, append(breaches, j.totals(judged, items)...)
}

// sparedMarks returns the marks that this consignment need not show: every
// package of it must meet the exception.
func (j *judge) sparedMarks(judged []*Judgement, items [][]*seen) spares {
	var out spares
	for _, x := range judged {
		for _, d := range x.Marks {
			if d.Spared == nil || out[d] || len(judged) > d.Spared.Packages {
				continue
			}
			if !slices.ContainsFunc(items, func(list []*seen) bool { return !few(list, d.Spared) }) {
				if out == nil {
					out = spares{}
				}
				out[d] = true
			}
		}
	}
	return out
}

// few reports whether a package holds nothing but so few cells or batteries in
// equipment. Where both are in it, all are counted as batteries.
func few(items []*seen, most *triage.Spared) bool {
	count, limit := 0, most.Cells
	for _, s := range items {
		if !s.installed || len(s.open) == 0 {
			return false
		}
		if count += s.count(); s.battery {
			limit = min(limit, most.Batteries)
		}
	}
	return count > 0 && count <= limit
}

// twice finds a tag in two packages.
func twice(list []*Package) (breaches []Breach) {
	in := map[string]int{} // packages by their place: two may bear one name
	name := func(n int) string { return cmp.Or(list[n].Tag, fmt.Sprint(n+1)) }
	for n, p := range list {
		for i := range p.Items {
			t := p.Items[i].Tag
			if was, ok := in[t]; t != "" && ok && was != n {
				breaches = append(breaches, Breach{Package: name(n), Item: t, Text: t + " is in package " + name(was) + " too", Source: common})
			}
			in[t] = n
		}
	}
	return breaches
}

// overpacks checks what the packages of one overpack must have in common.
func (j *judge) overpacks(list []*Package, items [][]*seen) (breaches []Breach) {
	var names []string
	in := map[string][]string{}
	for i, p := range list {
		if p.Overpack == "" {
			continue
		}
		if _, ok := in[p.Overpack]; !ok {
			names = append(names, p.Overpack)
		}
		for _, s := range items[i] {
			if w := s.condition.String(); !slices.Contains(in[p.Overpack], w) {
				in[p.Overpack] = append(in[p.Overpack], w)
			}
		}
	}
	for _, t := range j.together {
		if t.Within != "overpack" || t.Same != "condition" {
			continue
		}
		for _, name := range names {
			if words := in[name]; len(words) > 1 {
				slices.Sort(words)
				breaches = append(breaches, Breach{Text: fmt.Sprintf("overpack %s: %s. %s", name, strings.Join(words, " and "), t.Title), Source: t.Source, Rule: t.ID})
			}
		}
	}
	return breaches
}

// totals checks the caps over all packages. A way that has one counts every cell
// of the consignment.
func (j *judge) totals(judged []*Judgement, items [][]*seen) (breaches []Breach) {
	net, known := triage.Micro(0), true
	for _, x := range judged {
		net += x.NetG
		known = known && x.NetG > 0
	}
	var done []string
	for i, x := range judged {
		for n, s := range items[i] {
			w := x.Ways[n]
			if w == nil {
				continue
			}
			for _, o := range s.duties(j, w) {
				if o.Per != "consignment" || slices.Contains(done, o.AtMost) {
					continue
				}
				done = append(done, o.AtMost)
				switch most := o.Cap().Most; {
				case net > most:
					breaches = append(breaches, Breach{Text: fmt.Sprintf("%s net in all, at most %s. %s", kg(net), kg(most), o.Text), Source: o.Source, Rule: w.ID, Missing: !o.Sure})
				case !known:
					breaches = append(breaches, Breach{Text: fmt.Sprintf("the net mass in all is not known, at most %s. %s", kg(most), o.Text), Source: o.Source, Rule: w.ID, Missing: true})
				}
			}
		}
	}
	return breaches
}
