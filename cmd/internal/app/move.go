package app

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
)

// A Move says where cells, or containers with all that is in them, went.
type Move struct {
	Tags    []string
	To      string // a place, or the tag of a container on record
	Out     string // it left the shop: one of OutWords
	Because string // why, where the move goes against what is printed
}

// OutWords are the ways in which a cell leaves the shop.
var OutWords = []string{"reused", "returned", "handed-over"}

func (m *Move) check() error {
	switch {
	case len(m.Tags) == 0:
		return Usage("name the tags that were moved")
	case (m.To == "") == (m.Out == ""):
		return Usage("say where to: --to PLACE or CONTAINER, or --out %s", strings.Join(OutWords, ", "))
	case m.Out != "" && !slices.Contains(OutWords, m.Out):
		return Usage("--out %q is none of %s", m.Out, strings.Join(OutWords, ", "))
	}
	var err error
	m.To, err = placeName("--to", m.To)
	return err
}

// A Moved is what a move came to.
type Moved struct {
	Outcome
	Cells []*Outcome
	Boxes []logbook.State // containers that were moved, as they are now
}

// Move records where cells went, in one entry. A move against what is printed
// (into a container beside others, out of the shop damaged) is refused unless it
// says why it was made all the same.
func (r *Recording) Move(shop *Shop, act Act, m Move) (*Moved, error) {
	if err := m.check(); err != nil {
		return nil, err
	}
	tags, err := readTags(m.Tags)
	if err != nil {
		return nil, err
	}
	into := ""
	if tag, kind, err := triage.CheckTag(m.To); err == nil && kind == triage.ContainerTag {
		m.To, into = tag, tag
	}
	out := &Moved{Outcome: Outcome{Shop: shop}}
	err = r.log.Write(func(tx *logbook.Tx) error { return r.moveIn(tx, out, act, m, tags, into) })
	if err != nil {
		return nil, fmt.Errorf("not recorded: %w", err)
	}
	return out, nil
}

// readTags reads tags as typed; one named twice counts once.
func readTags(list []string) (tags []string, err error) {
	for _, s := range list {
		tag, err := ReadTag(s)
		if err != nil {
			return nil, err
		}
		if !slices.Contains(tags, tag) {
			tags = append(tags, tag)
		}
	}
	return tags, nil
}

func (r *Recording) moveIn(tx *logbook.Tx, out *Moved, act Act, m Move, tags []string, into string) error {
	shop := out.Shop
	box, err := r.container(tx, into)
	if err != nil {
		return err
	}
	if into != "" && slices.Contains(tags, into) {
		return Usage("%s cannot be moved into itself", triage.SpacedTag(into))
	}
	cells, boxes, err := r.movable(tx, tags, m.Out != "")
	if err != nil {
		return err
	}
	if why, err := against(tx, shop, m, cells, boxes, into); err != nil {
		return err
	} else if why != "" && m.Because == "" {
		return Usage("%s If it was done all the same, record it with --because \"why\"", why)
	} else if why != "" {
		out.note("Recorded against what is printed: %s", why)
	}
	d, err := r.draft(shop, act, "move", moveBody{To: m.To, Out: m.Out, Because: m.Because})
	if err != nil {
		return err
	}
	for _, c := range cells {
		d.Tags = append(d.Tags, c.Tag)
	}
	for i := range boxes {
		d.Tags = append(d.Tags, boxes[i].Tag)
	}
	if into != "" && !slices.Contains(d.Tags, into) {
		d.Tags = append(d.Tags, into)
		d.Now = append(d.Now, box)
	}
	for _, c := range cells {
		o := &Outcome{Shop: shop, Tag: c.Tag, Was: c.State}
		if err := c.add(tx, &d); err != nil {
			return err
		}
		o.Verdict = c.judge(shop)
		c.State = c.after(shop, o.Verdict, d.Happened, false)
		o.Is = c.State
		if o.Was.Is == logbook.Out && m.Out == "" {
			o.note("back in the stock, which it had left by the log: is the tag read rightly?")
		}
		d.Now = append(d.Now, c.State)
		out.Cells = append(out.Cells, o)
		switch {
		case o.Verdict.Handling == triage.Emergency:
			o.note("in EMERGENCY: nobody touches it. Away, warn, call.") // nothing is asked of hands
		case !c.State.MadeSafe && m.Out == "":
			o.note("not recorded as secured: %s (pouchward secure %s)", strings.Join(c.owed(o.Verdict.Handling), "; "), c.Tag)
		}
	}
	for _, s := range boxes {
		s.Place = m.To
		if m.Out != "" {
			s.Is = logbook.Out
		}
		d.Now = append(d.Now, s)
		out.Boxes = append(out.Boxes, s)
	}
	return out.append(tx, d)
}

// movable reads what is moved. What leaves the shop in a container leaves it too.
func (r *Recording) movable(tx *logbook.Tx, tags []string, out bool) (cells []*Cell, boxes []logbook.State, err error) {
	for i := 0; i < len(tags); i++ {
		if kind, _ := triage.TagNumber(tags[i]); kind == triage.ContainerTag {
			s, err := r.container(tx, tags[i])
			if err != nil {
				return nil, nil, err
			}
			boxes = append(boxes, s)
			if !out {
				continue
			}
			err = tx.Contents(s.Tag, func(h *logbook.Held) error {
				if !slices.Contains(tags, h.Tag) {
					tags = append(tags, h.Tag)
				}
				return nil
			})
			if err != nil {
				return nil, nil, err
			}
			continue
		}
		c, err := readCell(tx, tags[i])
		if err == nil {
			err = c.known()
		}
		if err != nil {
			return nil, nil, err
		}
		if !slices.ContainsFunc(cells, func(x *Cell) bool { return x.Tag == c.Tag }) {
			cells = append(cells, c)
		}
	}
	return cells, boxes, nil
}

// container returns a container on record; a blank tag is none.
func (r *Recording) container(tx *logbook.Tx, tag string) (logbook.State, error) {
	if tag == "" {
		return logbook.State{}, nil
	}
	h, ok, err := tx.HeldAs(tag)
	if err == nil && !ok {
		err = Usage("container %s is not on record: pouchward container add --tag %s --kind tin --place ...", triage.SpacedTag(tag), tag)
	}
	return h.State, err
}

// against says what a move goes against, blank for nothing.
func against(tx *logbook.Tx, shop *Shop, m Move, cells []*Cell, boxes []logbook.State, into string) (string, error) {
	worst := triage.Sound
	for _, c := range cells {
		v := c.judge(shop) // a determination may have lapsed since the last entry
		h := v.Handling
		worst = max(worst, h)
		name := triage.SpacedTag(c.Tag)
		switch {
		case h == triage.Emergency:
			return fmt.Sprintf("%s is an EMERGENCY: nobody carries it. Away, warn, call.", name), nil
		case m.Out == "reused" && h >= triage.Retire:
			return fmt.Sprintf("%s is %s: it is not fitted into a device.", name, strings.ToUpper(h.String())), nil
		case m.Out != "" && h >= triage.Isolate && m.Out != "handed-over":
			return fmt.Sprintf("%s is %s, %s: how it may travel says pouchward assess --papers.", name, strings.ToUpper(h.String()), v.Condition), nil
		}
	}
	for i := range boxes {
		if h, _ := boxes[i].ClassOn(shop.Rulebook.On.String()); boxes[i].Count > 0 && (h == triage.Emergency || m.Out != "" && m.Out != "handed-over") {
			return fmt.Sprintf("%s holds a lot of %d that nobody assessed: %s.", triage.SpacedTag(boxes[i].Tag), boxes[i].Count, strings.ToUpper(h.String())), nil
		}
	}
	if why, err := againstPackages(tx, m, cells, boxes, into); why != "" || err != nil {
		return why, err
	}
	if into == "" {
		return "", nil
	}
	if len(boxes) > 0 {
		return "A container does not go into a container.", nil
	}
	beside, worstIn, err := contents(tx, shop, into, cells)
	if err != nil {
		return "", err
	}
	switch {
	case worst >= triage.Isolate && beside+len(cells) > 1:
		return fmt.Sprintf("An isolated cell stands alone: %s would hold %d.", triage.SpacedTag(into), beside+len(cells)), nil
	case worstIn >= triage.Isolate:
		return fmt.Sprintf("%s holds an isolated cell, which stands alone.", triage.SpacedTag(into)), nil
	}
	return "", nil
}

// contents counts what a container holds besides the cells at hand, a lot too,
// and returns the worst class of it.
func contents(tx *logbook.Tx, shop *Shop, box string, but []*Cell) (count int, worst triage.Handling, err error) {
	add := func(h *logbook.Held) error {
		if slices.ContainsFunc(but, func(c *Cell) bool { return c.Tag == h.Tag }) {
			return nil
		}
		class, _ := h.ClassOn(shop.Rulebook.On.String())
		count, worst = count+int(max(h.Count, 1)), max(worst, class)
		return nil
	}
	if err := tx.Contents(box, add); err != nil {
		return 0, 0, err
	}
	own, ok, err := tx.HeldAs(box)
	if ok && own.Count > 0 && err == nil {
		err = add(&own)
	}
	return count, worst, err
}
