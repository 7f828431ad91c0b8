package app

import (
	"errors"
	"slices"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/review"
)

// A readBox is a container on its way into the snapshot.
type readBox struct {
	box review.Container
	lot bool // it held, or holds, cells that have no tags
}

func (b *readBox) last() *review.ContainerStep {
	if n := len(b.box.Steps); n > 0 {
		return &b.box.Steps[n-1]
	}
	return new(review.ContainerStep)
}

// boxBody is what a review reads of the entry that begins a container, a package, or
// counts a lot.
type boxBody struct {
	Kind     string `json:"kind"`
	Lid      string `json:"lid"`
	Shipment string `json:"shipment"`
}

// boxSteps adds a step to each container that an entry names. A lot is a cell too.
func (r *reviewReader) boxSteps(x *readEntry) {
	var b boxBody
	if x.Kind == "container" && !r.decode(x.Entry, &b) {
		b = boxBody{}
	}
	for _, tag := range x.Tags {
		if kind, _ := triage.TagNumber(tag); kind != triage.ContainerTag {
			continue
		}
		s := x.state(tag)
		if s == nil && x.Kind == "incident" {
			continue // it says nothing of the container
		}
		box := r.boxes[tag]
		if box == nil {
			box = &readBox{box: review.Container{Tag: tag}}
			r.boxes[tag] = box
		}
		step := *box.last()
		step.Source, step.Kind = x.source, r.word(x.Kind)
		if s != nil {
			r.boxState(&step, x.Number, s)
		}
		if b.Lid != "" {
			step.Lid = r.word(b.Lid)
		}
		if b.Kind == "package" {
			step.Package, step.Shipment = true, r.word(b.Shipment)
		}
		box.box.Steps = append(box.box.Steps, step)
		r.lotStep(x, box, s)
	}
}

func (r *reviewReader) boxState(to *review.ContainerStep, n int64, s *logbook.State) {
	to.Is = isWords[s.Is]
	to.What, to.MilliLitr, to.Place, to.Stated = r.word(s.What), s.MilliLitr, r.word(s.Place), 0
	if s.StartBy == "stated" {
		to.Stated = r.date(n, s.Start)
	}
}

// lotStep adds a step of the lot in a container: its cells have no tags, and stand
// under that of the container, in it.
func (r *reviewReader) lotStep(x *readEntry, box *readBox, s *logbook.State) {
	if s == nil || s.Count == 0 && !box.lot {
		return
	}
	box.lot = true
	c := r.cellOf(box.box.Tag)
	_, step := r.detail(x)
	if s.Count == 0 {
		step.Now = review.State{} // each was assessed: none is left
	} else {
		step.Now = r.state(x.Number, s)
		step.Now.In, step.Now.Place = c.cell.Tag, ""
	}
	c.cell.Steps = append(c.cell.Steps, step)
	r.met(x)
}

// unmeasured counts the containers at a place, or the one that it is, whose volume the
// log did not know at the entry at hand.
func (r *reviewReader) unmeasured(about string) (n int64) {
	for tag, b := range r.boxes {
		if s := b.last(); s.Is == review.Here && s.MilliLitr == 0 && (tag == about || s.Place == about) {
			n++
		}
	}
	return n
}

// counted reads the stock as the view of the log has it, at a size at which nobody
// wrote meanwhile, and returns the size.
func (r *reviewReader) counted(l *logbook.Log) (size int64, err error) {
	if size, err = l.Size(); err != nil || r.past {
		return size, err
	}
	const tries = 5
	for range tries {
		list, err := stockOf(l)
		switch {
		case errors.Is(err, logbook.ErrOldSchema), err != nil && len(r.s.Troubles) > 0:
			return size, nil // there is no view, or it is known not to verify
		case err != nil:
			return size, err
		}
		after, err := l.Size()
		if err != nil {
			return size, err
		}
		if after == size {
			r.s.Counted = list
			return size, nil
		}
		size = after
	}
	return size, nil
}

func stockOf(l *logbook.Log) ([]review.Counted, error) {
	list, at, places := []review.Counted{}, map[[2]string]int{}, map[string]string{}
	err := l.Everything(func(h *logbook.Held) error { // containers before cells
		isBox := h.Key < triage.TagCount(triage.ContainerTag)
		if isBox {
			places[h.Tag] = h.Place
			if h.Count == 0 {
				return nil
			}
			h.In = h.Tag
		}
		key := [2]string{h.In, h.Place}
		if p, ok := places[h.In]; ok {
			key[1] = p
		}
		i, seen := at[key]
		if !seen {
			i = len(list)
			at[key] = i
			list = append(list, review.Counted{Key: key[0], Place: key[1]})
		}
		c := &list[i]
		c.Cells, c.MicroWh, c.MilliGram = c.Cells+max(h.Count, 1), c.MicroWh+h.MicroWh, c.MilliGram+h.MilliGram
		return nil
	})
	slices.SortFunc(list, func(a, b review.Counted) int {
		if a.Key != b.Key {
			return strings.Compare(a.Key, b.Key)
		}
		return strings.Compare(a.Place, b.Place)
	})
	return list, err
}
