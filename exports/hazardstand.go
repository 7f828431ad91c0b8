package exports

import (
	"fmt"
	"strings"

	"pouchward/triage"
	"pouchward/triage/hazard"
)

// A phone cell, for scale: 10 to 20 Wh.
const phoneLow, phoneHigh = 10, 20

// mayStand answers how many may stand here, honestly.
func (c *card) mayStand(s *hazard.Screen) {
	fmt.Fprintf(&c.b, "\n HOW MANY MAY STAND HERE?\n")
	g, l := s.Asked()
	limit := fmt.Sprintf("%g ppm of %s (%s)", l.PPM, g.Name, l.Name)
	if s.Room == nil {
		c.item("", "Not to be said without a room (--room-m3).")
	} else {
		c.item("", MayStandText(s, limit))
	}
	if l != s.Under {
		c.item("", fmt.Sprintf("The level asked for, %g ppm of %s (%s), would let more stand, at what is immediately dangerous already: it is not used.", s.Under.PPM, s.Gas.Name, s.Under.Name))
	}
	c.item("WHY", fmt.Sprintf("One phone cell of %d to %d Wh alone, by the worst yield, brings %.0f to %.0f m3 of air to %s. A fire adds heat, soot and "+
		"other gas, which no figure here counts; and what reaches one cell in a container may reach all. So the usual answer is none indoors: outdoors "+
		"or in a fire-resistant place, few together, apart.", phoneLow, phoneHigh, g.RoomFor(l, g.Yield.Worst*phoneLow), g.RoomFor(l, g.Yield.Worst*phoneHigh), limit))
}

// MayStandText is the answer to how many may stand in one container.
func MayStandText(s *hazard.Screen, limit string) string {
	g, l := s.Asked()
	m := s.Stand.HowMany(g, l, *s.Room)
	text := fmt.Sprintf("One container stays under %s at worst only with less than %g Wh in this room.", limit, m.Wh)
	t := s.Stand.Total()
	switch {
	case t.Cells == 0:
		return text
	case !m.Known:
		return text + " The size of a cell here is not known: NONE INDOORS until it is."
	case m.Cells == 0:
		return text + fmt.Sprintf(" The largest cell here has %s Wh: NONE INDOORS.", t.Largest.Rounded(2))
	}
	return text + fmt.Sprintf(" That is %s of %s Wh, the largest here, by this gas alone. It is no permission: the rules below and whoever enforces them decide.",
		Count(m.Cells, "cell"), t.Largest.Rounded(2))
}

// storage writes the storage rules: those with a volume held against what stands
// there, the questions, and common practice. The rest is in rules list.
func (c *card) storage(s *hazard.Screen) {
	fmt.Fprintf(&c.b, "\n STORAGE RULES, each of its own place and edition\n")
	for _, a := range s.Stand.Storage(s.Storages) {
		c.item("", fmt.Sprintf("%s %s [%s; %s]", a.Rule.Text, volumeText(&a), a.Rule.Jurisdiction, a.Rule.Source))
	}
	for _, r := range s.Storages {
		if r.Question != "" {
			c.item("QUESTION", fmt.Sprintf("%s %s Ask %s: it is not answered here. [%s]", r.Text, r.Question, r.Ask, r.Source))
		}
	}
	var practice []string
	rest := 0
	for _, r := range s.Storages {
		switch {
		case r.About == "practice":
			practice = append(practice, r.Text)
		case r.Litres() == 0 && r.Question == "":
			rest++
		}
	}
	c.item("PRACTICE", strings.Join(practice, " ")+" [common practice]")
	c.item("", fmt.Sprintf("%d more, of spacing, charge, temperature and other places: pouchward rules list.", rest))
}

// volumeText says how what stands there lies to a volume.
func volumeText(a *hazard.StorageAnswer) string {
	known := fmt.Sprintf("%s of %s L", Sig(a.Litres), Sig(a.Rule.Litres()))
	switch {
	case a.Over:
		return "OVER: " + known + "."
	case a.Unsized > 0:
		return "Not known here: no volume on record."
	case a.Litres == 0:
		return "Nothing on record here."
	}
	return "Here " + known + "."
}

// A StockHazard is the line of the stock on what the largest container could do.
type StockHazard struct {
	Case    string  `json:"case"` // which container, or cell
	Wh      float64 `json:"wh"`
	AtLeast bool    `json:"at_least"`
	HFLow   float64 `json:"hf_low_g"`
	HFWorst float64 `json:"hf_worst_g"`
	Air     float64 `json:"air_m3"` // that the worst brings to the limit
	Limit   string  `json:"limit"`
	Source  string  `json:"source"`
	Caution string  `json:"caution"`
}

// NewStockHazard reads the line off a screening; nil where no cell stands.
func NewStockHazard(s *hazard.Screen) *StockHazard {
	cases := s.Stand.Cases()
	if len(cases) == 0 {
		return nil
	}
	k, g := hazard.Main(cases), s.Gas
	mg := k.MG(g)
	h := &StockHazard{Case: CaseText(k), Wh: float64(k.Wh) / 1e6, AtLeast: k.AtLeast, HFLow: roundTo(mg.Low/1000, 3), HFWorst: roundTo(mg.Worst/1000, 3),
		Air: roundTo(g.RoomFor(s.Under, mg.Worst), 3), Limit: fmt.Sprintf("%g ppm (%s)", s.Under.PPM, s.Under.Name), Source: g.Figures[0].Source, Caution: hazard.Caution}
	if k.Group != nil && k.Group.Tag != "" {
		h.Case += " (" + strings.TrimSpace(triage.SpacedTag(k.Group.Tag)+" "+k.Group.What) + ")"
	}
	return h
}

// Text is the line with its caution.
func (h *StockHazard) Text() string {
	least := ""
	if h.AtLeast {
		least = "at least "
	}
	if h.Wh == 0 {
		return fmt.Sprintf("HAZARD if %s reacts: not known, since no cell of it has a rating or a mass. %s", h.Case, h.Caution)
	}
	return fmt.Sprintf("HAZARD if %s reacts: %s%s to %s g of hydrogen fluoride, at worst %s%s m3 of air brought to %s. %s pouchward hazard says more.",
		h.Case, least, Sig(h.HFLow), Sig(h.HFWorst), least, Sig(h.Air), h.Limit, h.Caution)
}

// write writes the line and its caution.
func (h *StockHazard) write(b *strings.Builder) {
	b.WriteString("\n" + strings.Join(Wrap(Clean(h.Text()), width), "\n") + "\n")
}
