package app

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pouchward/exports"
	"pouchward/exports/label"
	"pouchward/logbook"
	"pouchward/triage"
)

// Labelled are labels with what must be said beside them.
type Labelled struct {
	List  []label.Label
	Tags  []string
	Notes []string
}

// MostLabels bounds one printing.
const MostLabels = 400

// Labels makes the label of each cell or container, by the kind of its tag.
func Labels(shop *Shop, l *logbook.Log, tags []string, now time.Time) (*Labelled, error) {
	if len(tags) > MostLabels {
		return nil, Usage("%d tags: print at most %d labels at once", len(tags), MostLabels)
	}
	x := &Labelled{}
	for _, text := range tags {
		tag, err := findTag(l, text)
		if err != nil {
			return nil, err
		}
		var made label.Label
		switch kind, _ := triage.TagNumber(tag); kind {
		case triage.CellTag:
			made, tag, err = x.cell(shop, l, tag, now)
		case triage.ContainerTag:
			made, err = x.container(shop, l, tag)
		default:
			err = Usage("%s is the tag of a shipment, which has no label: its packages have marks (pouchward label --marks)", triage.SpacedTag(tag))
		}
		if err != nil {
			return nil, err
		}
		if slices.Contains(x.Tags, tag) {
			continue // one label is enough
		}
		x.List, x.Tags = append(x.List, made), append(x.Tags, tag)
	}
	return x, nil
}

func (x *Labelled) note(format string, args ...any) {
	if text := fmt.Sprintf(format, args...); !slices.Contains(x.Notes, text) {
		x.Notes = append(x.Notes, text)
	}
}

// cell makes the label of a cell; the tag returned is the one that it is known by.
func (x *Labelled) cell(shop *Shop, l *logbook.Log, tag string, now time.Time) (*label.Cell, string, error) {
	c, err := readCell(l, tag)
	if err != nil {
		return nil, "", err
	}
	if err := c.known(); err != nil {
		return nil, "", err
	}
	if c.Tag != tag {
		x.note("%s is another tag of %s, which is on the label.", triage.SpacedTag(tag), triage.SpacedTag(c.Tag))
	}
	if c.State.Is == logbook.Out {
		return nil, "", Usage("%s has left the shop by the log; a label is for what is here (pouchward log history %s)", triage.SpacedTag(c.Tag), c.Tag)
	}
	v := c.atWorst(shop)
	k := &label.Known{State: c.State, Start: startWords(c.State.Start, c.State.StartBy), Look: lookWords(shop, v.Handling, &c.State, now),
		Entry: c.Entries[len(c.Entries)-1].Number}
	k.State.Tag = c.Tag
	for _, h := range c.lowerables(shop, v) {
		k.Holds = append(k.Holds, exports.Hold{Rule: h.ID, Title: h.Title, Entry: h.Entry})
	}
	if k.Where, err = standsAt(l, &c.State); err != nil {
		return nil, "", err
	}
	if v.Handling == triage.Emergency {
		x.note("%s is an EMERGENCY: do not go near it to stick a label on. Put the label where people are kept away.", triage.SpacedTag(c.Tag))
	}
	return label.NewCell(v, k), c.Tag, nil
}

// atWorst judges the cell by all that is known of it, and puts it up to what its last
// entry says: a label never says less than the stock.
func (c *Cell) atWorst(shop *Shop) *triage.Verdict {
	k, v := c.asItStands(shop)
	handling, condition := c.State.ClassOn(shop.Rulebook.On.String())
	waste := wasteByName(c.State.Waste)
	if handling > v.Handling || condition > v.Condition || waste > v.Waste {
		k.Raises = append(k.Raises, triage.Raise{Handling: handling, Condition: condition, Waste: waste, By: "what its last entry says"})
		shop.Rulebook.Judge(&k, v)
	}
	return v
}

// wasteByName returns the class of a word of a state; blank, and a word that this
// program does not know, is not known to be whole.
func wasteByName(word string) triage.Waste {
	for w := triage.NotWaste; w <= triage.CasingBreached; w++ {
		if w.String() == word {
			return w
		}
	}
	return triage.WasteUnknown
}

// startWords is the day on which accumulation began, with what the day is.
func startWords(day, by string) string {
	if day == "" {
		return ""
	}
	return day + " (" + startBy[by] + ")"
}

// startBy says in words what the day is on which accumulation began.
var startBy = map[string]string{"waste_on": "became waste", "pulled_on": "came out of the device", "recorded": "first recorded", "stated": "as stated"}

// lookWords is when to look again, on the clock of the shop.
func lookWords(shop *Shop, handling triage.Handling, s *logbook.State, now time.Time) string {
	var hours triage.Hours
	if shop.House != nil {
		hours = shop.House.Shop.Hours()
	}
	at, _ := shop.Rulebook.NextLook(watchOf(s, handling, now), hours)
	switch {
	case at.IsZero():
		return ""
	case at.Equal(triage.DueNow):
		return "now"
	}
	return at.In(now.Location()).Format("01-02 15:04")
}

// standsAt says where a cell stands.
func standsAt(l *logbook.Log, s *logbook.State) (string, error) {
	if s.In == "" {
		return s.Place, nil
	}
	box, ok, err := l.HeldAs(s.In)
	if err != nil || !ok {
		return triage.SpacedTag(s.In), err
	}
	return strings.TrimSuffix(triage.SpacedTag(s.In)+" "+box.What+", "+box.Place, ", "), nil
}
