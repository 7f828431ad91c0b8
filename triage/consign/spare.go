package consign

// spare packs again where marks can be left off without a package more: the whole
// plan must be few packages of few cells in equipment.
func (p *planner) spare(groups []*group, bins [][]*bin) {
	total := 0
	for i, g := range groups {
		if g.mark == nil {
			return
		}
		total += len(bins[i])
	}
	again := make([][]*bin, len(bins))
	for i, g := range groups {
		most := g.mark.Spared
		if total > most.Packages {
			return
		}
		limit := most.Cells
		for _, s := range g.items {
			if s.battery {
				limit = most.Batteries
			}
		}
		if again[i] = g.pack(limit); len(again[i]) > len(bins[i]) {
			return
		}
		for _, b := range again[i] {
			if !few(b.items, most) {
				return
			}
		}
	}
	copy(bins, again)
}
