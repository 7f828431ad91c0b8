package consign

import (
	"cmp"
	"slices"

	"pouchward/triage"
)

// bound returns the number of packages below which no plan of the group's items by
// its way can go.
func (g *group) bound() int {
	n := len(g.items)
	byMass := atLeast(masses(g.items, func(s *seen) triage.Micro { return s.massG }), g.roomG())
	if g.netG > 0 {
		byMass = max(byMass, atLeast(masses(g.items, func(s *seen) triage.Micro { return s.netG }), g.netG))
	}
	if g.most > 0 {
		byMass = max(byMass, (n+g.most-1)/g.most)
	}
	return byMass
}

func masses(items []*seen, of func(*seen) triage.Micro) []triage.Micro {
	list := make([]triage.Micro, len(items))
	for i, s := range items {
		list[i] = of(s)
	}
	slices.Sort(list)
	slices.Reverse(list)
	return list
}

// atLeast is the lower bound of Martello and Toth for bin packing (Discrete
// Applied Mathematics 28 (1990), bound L2; the paper from memory): for each k up to
// half a bin, items over room - k need a bin each, those over half need one too,
// and what is from k to half fills what the latter leave and then bins of its own.
// sizes are in decreasing order.
func atLeast(sizes []triage.Micro, room triage.Micro) int {
	n := len(sizes)
	if n == 0 {
		return 0
	}
	if room >= huge {
		return 1
	}
	sums := make([]triage.Micro, n+1)
	for i, s := range sizes {
		sums[i+1] = sums[i] + s
	}
	// above returns how many sizes are above x.
	above := func(x triage.Micro) int {
		i, _ := slices.BinarySearchFunc(sizes, x, func(s, x triage.Micro) int {
			if s > x {
				return -1
			}
			return 1
		})
		return i
	}
	best := int((sums[n] + room - 1) / room)
	half := above(room / 2)
	for i := half; i <= n; i++ {
		k := triage.Micro(0)
		if i < n {
			k = sizes[i]
		}
		if i > half && i < n && sizes[i] == sizes[i-1] {
			continue
		}
		big := min(above(room-k), half)
		mid, small := half-big, above(k-1)
		rest := sums[small] - sums[half] - (triage.Micro(mid)*room - (sums[half] - sums[big]))
		count := half
		if rest > 0 {
			count += int((rest + room - 1) / room)
		}
		best = max(best, count)
	}
	return max(best, 1)
}

// shared returns the UN numbers of groups that an exception lets share packages. A
// plan need not use one, a bound counts with it; and with it count the other groups
// of those numbers, which may share packages with these.
func (j *judge) shared(groups []*group) (numbers []string) {
	for _, t := range j.together {
		if t.Within != "package" || len(t.Allows) == 0 {
			continue
		}
		for _, g := range groups {
			// Not the way of the group alone: another that is open to its items counts.
			if slices.ContainsFunc(g.items, func(s *seen) bool {
				return slices.ContainsFunc(s.open, func(w *triage.Way) bool { return slices.Contains(t.Allows, w.ID) })
			}) {
				numbers = append(numbers, g.un)
			}
		}
	}
	return numbers
}

// bound is that of a whole plan: groups that may share packages are bounded
// together, by the roomiest of them. An item that must stand alone has its own.
func (j *judge) bound(groups []*group) int {
	var keys []string
	family := map[string]*group{}
	total, shared := 0, j.shared(groups)
	for _, g := range groups {
		if g.most == 1 {
			total += len(g.items)
			continue
		}
		number := g.un
		if slices.Contains(shared, number) {
			number = "shared"
		}
		key := number + " " + g.cond.String() + " " + g.light
		all := family[key]
		if all == nil {
			all = &group{most: g.most}
			keys, family[key] = append(keys, key), all
		}
		if g.most == 0 || all.most == 0 {
			all.most = 0
		} else {
			all.most = max(all.most, g.most)
		}
		all.items, all.rooms = append(all.items, g.items...), append(all.rooms, g.rooms...)
	}
	for _, key := range keys {
		all := family[key]
		slices.SortStableFunc(all.rooms, func(a, b room) int { return cmp.Compare(a.massG, b.massG) })
		total += all.bound()
	}
	return total
}
