package exports

import (
	"fmt"
	"math"

	"pouchward/triage"
	"pouchward/triage/hazard"
)

// limits writes the main case against the limits that one accident can be held
// against: for how long it stays above each; without a room, how much air it
// takes.
func (c *card) limits(s *hazard.Screen, cases []hazard.Case) {
	k, hf := hazard.Main(cases), &s.Figures.HF
	head := "TIME ABOVE, if " + CaseText(k) + " reacts"
	if s.Room == nil {
		head = "AIR IN m3, if " + CaseText(k) + " reacts"
	}
	c.b.WriteByte('\n')
	c.columns(head, "low", "middle", "worst")
	for _, l := range hf.Limits {
		if !l.Short() {
			continue
		}
		label := fmt.Sprintf("  %-21s %4g ppm %6s mg/m3", l.Name, l.PPM, Sig(hf.MgM3(l.PPM)))
		if s.Room == nil {
			mg := k.MG(hf)
			c.columns(label, bandOf(k, hazard.Band{Low: hf.RoomFor(l, mg.Low), Middle: hf.RoomFor(l, mg.Middle), Worst: hf.RoomFor(l, mg.Worst)})...)
			continue
		}
		b := k.MgM3(hf, *s.Room)
		c.columns(label, aboveText(s, k, l, b.Low), aboveText(s, k, l, b.Middle), aboveText(s, k, l, b.Worst))
	}
	if s.Room == nil {
		c.item("", "So much air the gas brings up to each level.")
	}
	_, idlh := s.Figures.Limit("hf-niosh-idlh")
	if idlh == nil {
		return
	}
	c.item("", fmt.Sprintf("%s, %s: %g ppm, about %.0f mg/m3 [%s]. ppm = mg/m3 x %g / %g at 25 °C.",
		idlh.Name, lastPart(idlh.Title), idlh.PPM, hf.MgM3(idlh.PPM), idlh.Source, roundTo(hf.PPM(1)*hf.Molar, 4), hf.Molar))
}

// aboveText says for how long a concentration stays above a limit.
func aboveText(s *hazard.Screen, k *hazard.Case, l *triage.Limit, mgM3 float64) string {
	reach, minutes := k.Above(&s.Figures.HF, l, mgM3, *s.Room)
	switch {
	case reach == hazard.NotKnown:
		return "not known"
	case reach == hazard.NotReached:
		return "under"
	case math.IsInf(minutes, 1):
		return "stays"
	}
	return minutesText(minutes, k.AtLeast)
}

// minutesText writes a time, rounded up; ">" where it may be longer.
func minutesText(minutes float64, atLeast bool) string {
	if atLeast {
		return "> " + Minutes(minutes)
	}
	return Minutes(minutes)
}

// Minutes writes a time, rounded up.
func Minutes(minutes float64) string {
	switch {
	case minutes > 6000:
		return fmt.Sprintf("%.0f h", math.Ceil(minutes/60))
	case minutes > 180:
		return fmt.Sprintf("%.1f h", math.Ceil(minutes/6)/10)
	}
	return fmt.Sprintf("%.0f min", max(math.Ceil(minutes), 1))
}

// HazardHeadline holds the worst of the main case against the immediately
// dangerous level. There is a room and a cell.
func HazardHeadline(s *hazard.Screen) string {
	k := hazard.Main(s.Stand.Cases())
	worst := k.MgM3(&s.Figures.HF, *s.Room).Worst
	g, l := s.Figures.Limit("hf-niosh-idlh")
	if l == nil {
		return "At worst " + Sig(worst) + " mg/m3"
	}
	times := worst / g.MgM3(l.PPM)
	reach, minutes := k.Above(g, l, worst, *s.Room)
	least := ""
	if k.AtLeast {
		least = "at least "
	}
	switch {
	case reach == hazard.NotKnown:
		return "May be immediately dangerous: not all that stands here is known"
	case reach == hazard.NotReached:
		return fmt.Sprintf("At worst %.0f %% of the immediately dangerous level", math.Ceil(times*100))
	case math.IsInf(minutes, 1):
		return fmt.Sprintf("At worst %s%s times the immediately dangerous level", least, Sig(times))
	}
	return fmt.Sprintf("At worst %s%s times the immediately dangerous level, over it for %s%s", least, Sig(times), least, Minutes(minutes))
}

// otherGases writes what else there is, with how little is known of it.
func (c *card) otherGases(s *hazard.Screen, cases []hazard.Case) {
	k := hazard.Main(cases)
	unit := "g let off"
	if s.Room != nil {
		unit = "ppm in the room"
	}
	c.b.WriteByte('\n')
	c.columns("OTHER GASES, if "+CaseText(k)+" reacts", "low", "middle", "worst")
	for _, g := range []*hazard.Gas{&s.Figures.POF3, &s.Figures.CO} {
		b := inGrams(k.MG(g))
		if s.Room != nil {
			m := k.MgM3(g, *s.Room)
			b = hazard.Band{Low: g.PPM(m.Low), Worst: g.PPM(m.Worst)}
		}
		c.columns("  "+g.Name+", "+unit, bandOf(k, b)...)
	}
	c.columns("  all gas, litres", bandOf(k, k.Litres(s.Figures))...)
	pof3 := s.Figures.POF3.Figures[0]
	text := "Phosphoryl fluoride: in some tests only, and no limit was found [" + pof3.Source + "]. Carbon monoxide and all gas: LOW CONFIDENCE, from memory"
	if _, l := s.Figures.Limit("co-niosh-idlh"); l != nil {
		text += fmt.Sprintf("; for carbon monoxide the %s is %g ppm", l.Name, l.PPM)
	}
	c.item("", text+". The gas also burns.")
}

// lastPart is the part of a title behind the colon.
func lastPart(title string) string {
	for i := range title {
		if title[i] == ':' {
			return title[i+2:]
		}
	}
	return title
}

// roundTo rounds to so many places, for print alone.
func roundTo(x float64, places int) float64 {
	if x == 0 || math.IsInf(x, 0) || math.IsNaN(x) {
		return x
	}
	p := math.Pow(10, float64(places)-1-math.Floor(math.Log10(math.Abs(x))))
	if math.IsInf(p, 0) || p == 0 {
		return x
	}
	return math.Round(x*p) / p
}
