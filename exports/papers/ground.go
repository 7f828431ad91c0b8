package papers

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/triage"
)

// The grounds of 49 CFR 173.185(f) and special provision 376 ("damaged or
// defective"), parted for the receiving site. Which sign is which is common practice:
// damage came from outside, a defect from within.
const (
	damage      = "damage"
	defect      = "defect"
	undiagnosed = "cannot be diagnosed"
	recall      = "recall or return"
	byHand      = "put up by hand or by a rule of the house"
)

// grounds parts the rules that make a cell damaged or recalled. A shipped rule that
// is not among them fails a test.
var grounds = map[string]string{
	"dented": damage, "cracked": damage, "leaking": damage, "burnt": damage, "wet": damage, "corroded": damage,
	"terminals-damaged": damage, "misused": damage, "puncture-settled": damage, "punctured": damage,
	"swollen": defect, "rocks": defect, "swelling-10": defect, "wedge": defect, "over-0-05": defect, "smoke-settled": defect, "hiss-settled": defect,
	"odour-settled": defect, "smoke-liable": defect, "hiss-liable": defect, "smoking": defect, "hissing": defect, "odour": defect,
	"growing-warm": defect, "rise-10": defect, "rising": defect, "surface-60": defect, "over-0-20": defect, "drift-30-warm": defect,
	"undiagnosable": undiagnosed, "recalled": recall, "return": recall,
}

// grounds lists on what grounds a cell is not undamaged.
func (c *Cell) grounds() (list []string) {
	for _, r := range c.Grounds {
		g, ok := grounds[r.ID]
		if !ok {
			g = byHand
		}
		if !slices.Contains(list, g) {
			list = append(list, g)
		}
	}
	if len(list) == 0 && c.V.Condition >= triage.Damaged || c.ByHand != "" && !slices.Contains(list, byHand) {
		list = append(list, byHand)
	}
	return list
}

// damaged says how many are damaged, defective or recalled, by ground.
func damaged(cells []*Cell) string {
	n, each := 0, map[string]int{}
	for _, c := range cells {
		if c.V.Condition < triage.Damaged {
			continue
		}
		n++
		for _, g := range c.grounds() {
			each[g]++
		}
	}
	if n == 0 {
		return fmt.Sprintf("none of %d", len(cells))
	}
	var parts []string
	for _, g := range []string{damage, defect, undiagnosed, recall, byHand} {
		if each[g] > 0 {
			parts = append(parts, fmt.Sprintf("%s %d", g, each[g]))
		}
	}
	return fmt.Sprintf("%d; by ground: %s (a cell may have several)", n, strings.Join(parts, ", "))
}

// defects lists what was found of the cells, by the titles of the rules. It says
// "none" only where every required reading of each was taken.
func defects(cells []*Cell) string {
	var titles []string
	n := map[string]int{}
	for _, c := range cells {
		for _, r := range c.Grounds {
			if n[r.Title]++; n[r.Title] == 1 {
				titles = append(titles, r.Title)
			}
		}
		if c.ByHand != "" {
			title := "Put up by hand, ground as in the log"
			if n[title]++; n[title] == 1 {
				titles = append(titles, title)
			}
		}
	}
	var parts []string
	for _, t := range titles {
		parts = append(parts, fmt.Sprintf("%s: %d", t, n[t]))
	}
	open := 0
	for _, c := range cells {
		if c.V.Condition == triage.Undetermined || len(c.grounds()) == 0 && c.V.Facts[triage.FRequiredOpen] != (triage.Fact{State: triage.Known}) {
			open++
		}
	}
	switch {
	case open > 0 || len(cells) == 0:
		parts = append(parts, fmt.Sprintf("%s of %d, which were not looked at in full", NotKnown, open))
	case len(parts) == 0:
		return "none found by the looks on record"
	}
	return strings.Join(parts, "; ")
}
