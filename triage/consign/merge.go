package consign

import "slices"

// merge puts groups together whose items may share packages by one way, where that
// saves a package and no item comes to owe papers, label or telephone that it
// does not owe anyway.
func merge(groups []*group, p *planner) []*group {
	for again := true; again; {
		again = false
		for i := 0; i < len(groups) && !again; i++ {
			for k := 0; k < len(groups) && !again; k++ {
				if i == k {
					continue
				}
				if g := p.joined(groups[i], groups[k]); g != nil {
					groups[k] = g
					groups = slices.Delete(groups, i, i+1)
					again = true
				}
			}
		}
	}
	return groups
}

// joined returns the group of all items of a and b by the way of b, nil where it
// cannot be or saves nothing.
func (p *planner) joined(a, b *group) *group {
	if a.un != b.un || a.cond != b.cond || a.light != b.light || a.most == 1 || b.most == 1 {
		return nil
	}
	g := &group{key: b.key, way: b.way, un: b.un, cond: b.cond, light: b.light, over: b.over, mark: b.mark,
		rooms: b.rooms, most: b.most, netG: b.netG, items: slices.Concat(a.items, b.items)}
	seen := map[string]bool{b.key: true}
	for _, s := range a.items {
		if !s.opens(b.way) {
			return nil
		}
		key := p.keyOf(s, b.way)
		if seen[key] {
			continue
		}
		seen[key] = true
		if !g.narrow(p.newGroup(s, b.way)) {
			return nil
		}
	}
	for _, s := range g.items {
		if s.massG > g.roomG() || g.netG > 0 && s.netG > g.netG {
			return nil
		}
	}
	if len(g.pack(0)) >= len(a.pack(0))+len(b.pack(0)) {
		return nil
	}
	return g
}

// narrow takes over what a group of other items by the same way allows less;
// false where they cannot share a package.
func (g *group) narrow(x *group) bool {
	if x.light != g.light || x.most == 1 {
		return false
	}
	if x.most > 0 && (g.most == 0 || x.most < g.most) {
		g.most = x.most
	}
	if x.netG > 0 && (g.netG == 0 || x.netG < g.netG) {
		g.netG = x.netG
	}
	if x.over != nil {
		g.over = x.over
	}
	var rooms []room
	for _, r := range g.rooms {
		for _, o := range x.rooms {
			if r.outer == o.outer {
				rooms = append(rooms, room{r.outer, min(r.massG, o.massG)})
			}
		}
	}
	g.rooms = rooms
	return len(rooms) > 0
}
