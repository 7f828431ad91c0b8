package app

import (
	"slices"

	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/hazard"
)

// standOf reads what stands in the shop, or at one place of it. Cells of which
// nobody said where may stand at the place too.
func standOf(l *logbook.Log, f *hazard.Figures, day triage.Date, place string) (*hazard.Stand, error) {
	stand, at, seen := &hazard.Stand{}, map[string]int{}, []string{}
	group := func(key string, g hazard.Group) *hazard.Group {
		i, ok := at[key]
		if !ok {
			i = len(stand.Groups)
			at[key] = i
			stand.Groups = append(stand.Groups, g)
		}
		return &stand.Groups[i]
	}
	err := l.Everything(func(h *logbook.Held) error {
		var g *hazard.Group
		switch isBox := h.Key < triage.TagCount(triage.ContainerTag); {
		case isBox:
			g = group(h.Tag, hazard.Group{Tag: h.Tag, What: h.What, Place: h.Place, Litres: float64(h.MilliLitr) / 1000})
		case h.In != "":
			g = group(h.In, hazard.Group{Tag: h.In, Place: h.Place})
		default:
			g = group("at "+h.Place, hazard.Group{Place: h.Place, Loose: true})
		}
		if g.Place != "" && !slices.Contains(seen, g.Place) {
			seen = append(seen, g.Place)
		}
		if c := heldCells(h, day); c.Count > 0 {
			g.Add(f, c)
		}
		return nil
	})
	if err != nil || place == "" {
		return stand, err
	}
	if !slices.Contains(seen, place) {
		if near := triage.Nearest(place, seen); near != "" {
			return nil, Usage("--place %q: nothing is on record there; did you mean %s?", place, near)
		}
		return nil, Usage("--place %q: nothing is on record there (pouchward stock --by place lists the places)", place)
	}
	return only(stand, place), nil
}

// heldCells is what the log holds under a tag; Count is 0 for none, as of a
// container that is not a lot itself.
func heldCells(h *logbook.Held, day triage.Date) hazard.Cells {
	c := hazard.Cells{Count: h.Count, Wh: triage.Micro(h.MicroWh), Grams: triage.Micro(h.MilliGram) * 1000, Class: h.Handling, Start: h.Start}
	if h.Lapses != "" && h.Lapses < day.String() {
		c.Class = h.LapsedHandling
	}
	if c.Count == 0 && h.Key >= triage.TagKeys()-triage.TagCount(triage.CellTag) {
		c.Count = 1
	}
	return c
}

// only leaves the groups of one place, and counts those whose place is not said.
func only(all *hazard.Stand, place string) *hazard.Stand {
	stand := &hazard.Stand{}
	for _, g := range all.Groups {
		switch g.Place {
		case place:
			stand.Groups = append(stand.Groups, g)
		case "":
			stand.Unplaced += g.Cells
		}
	}
	return stand
}
