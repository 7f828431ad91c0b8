package app

import (
	"pouchward/exports/label"
	"pouchward/logbook"
	"pouchward/triage"
)

// container makes the label of a container.
func (x *Labelled) container(shop *Shop, l *logbook.Log, tag string) (*label.Container, error) {
	h, ok, err := l.HeldAs(tag)
	if err != nil {
		return nil, err
	}
	if s, err := shipmentOfPackage(l, tag); err != nil {
		return nil, err
	} else if s != nil {
		return nil, Usage("%s is a package of shipment %s: a shop label does not go on it (pouchward label --marks lists the words for packages; pouchward ship show %s)",
			triage.SpacedTag(tag), triage.SpacedTag(s.tag()), tag)
	}
	if !ok {
		return nil, Usage("container %s is not in the shop by the log (pouchward container add --tag %s)", triage.SpacedTag(tag), tag)
	}
	in, err := insideOf(shop, l, &h)
	if err != nil {
		return nil, err
	}
	for _, line := range in.Worst.StateLines() {
		x.note("%s", line)
	}
	return label.NewContainer(&h, in, shop.Rulebook.On), nil
}

// insideOf reads what stands in a container.
func insideOf(shop *Shop, l *logbook.Log, h *logbook.Held) (*label.Contents, error) {
	in := &label.Contents{Start: h.Start, StartBy: startBy[h.StartBy]}
	var err error
	if in.Size, err = l.Size(); err != nil {
		return nil, err
	}
	if h.Count > 0 {
		addLot(shop, in, h)
	}
	var inside []string
	err = l.SingleCells(func(c *logbook.Held) error {
		if c.In == h.Tag {
			inside = append(inside, c.Tag)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	for _, tag := range inside {
		c, err := readCell(l, tag)
		if err != nil {
			return nil, err
		}
		addCell(in, c, c.atWorst(shop))
	}
	if in.Cells == 0 {
		in.Worst, err = wholeCell(shop)
		in.Start, in.StartBy = h.Start, startBy[h.StartBy]
	}
	return in, err
}

func addCell(in *label.Contents, c *Cell, v *triage.Verdict) {
	in.Cells++
	see(in, v, 1)
	if e := v.Facts[triage.FEnergy]; e.State == triage.Known {
		in.Wh += float64(e.Hi) / 1e6
	} else {
		in.Unrated++
	}
	if c.State.MilliGram > 0 {
		in.Kg += float64(c.State.MilliGram) / 1e6
	} else {
		in.Unweighed++
	}
	switch s := &c.State; {
	case v.Waste == triage.NotWaste:
	case s.Start == "":
		in.Undated++
	case in.Start == "" || s.Start < in.Start:
		in.Start, in.StartBy = s.Start, startBy[s.StartBy]
	}
}

// see takes a verdict on so many cells into account.
func see(in *label.Contents, v *triage.Verdict, cells int64) {
	if in.Worst == nil || v.Handling > in.Worst.Handling || v.Handling == in.Worst.Handling && v.Condition > in.Worst.Condition {
		in.Worst = v
	}
	in.ByWaste[v.Waste] += cells
	in.OfWaste[v.Waste] = v
}

// addLot counts a lot: nothing is known of its cells but the class that it was put
// up to.
func addLot(shop *Shop, in *label.Contents, h *logbook.Held) {
	k := shop.Case()
	handling, condition := h.ClassOn(shop.Rulebook.On.String())
	k.Raises = append(k.Raises, triage.Raise{Handling: handling, Condition: condition, Waste: wasteByName(h.Waste), By: "the lot"})
	v := new(triage.Verdict)
	shop.Rulebook.Judge(&k, v)
	in.Cells, in.Unrated = h.Count, h.Count
	see(in, v, h.Count)
	if h.MilliGram > 0 {
		in.Kg = float64(h.MilliGram) / 1e6
	} else {
		in.Unweighed = h.Count
	}
}

// wholeCell judges a lithium-ion cell for recycling whose casing is whole: the words
// that an empty container may come to bear.
func wholeCell(shop *Shop) (*triage.Verdict, error) {
	k := shop.Case()
	for _, g := range []Given{{triage.Signs, "none"}, {triage.Chemistry, "li-ion"}, {triage.Purpose, "recycle"}} {
		if err := k.Reading.Set(g.Field, g.Text); err != nil {
			return nil, err
		}
	}
	v := new(triage.Verdict)
	shop.Rulebook.Judge(&k, v)
	return v, nil
}
