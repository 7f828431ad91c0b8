package exports

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"pouchward/triage"
	"pouchward/triage/hazard"
)

// Hazard writes a screening of what stands together as text. What it is not
// stands first.
func Hazard(w io.Writer, s *hazard.Screen) error {
	c := card{width: width}
	fmt.Fprintf(&c.b, "%s\n\n", strings.Join(Wrap(Clean("HAZARD SCREEN on "+s.On.String()+": "+s.Of), width), "\n"))
	c.item("CAUTION", hazard.Caution)
	cases := s.Stand.Cases()
	c.stand(s)
	if len(cases) > 0 {
		if s.Room != nil && hazard.Main(cases).Wh > 0 {
			c.item("AT WORST", strings.TrimPrefix(HazardHeadline(s), "At worst ")+", if "+CaseText(hazard.Main(cases))+" reacts.")
		}
		c.fluoride(s, cases)
		c.limits(s, cases)
		c.otherGases(s, cases)
	}
	c.mayStand(s)
	c.storage(s)
	c.b.WriteString("\nEvery figure and rule with its source: pouchward rules explain ID.\n")
	_, err := io.WriteString(w, c.b.String())
	return err
}

// stand says what stands there and what is not known of it.
func (c *card) stand(s *hazard.Screen) {
	t := s.Stand.Total()
	c.b.WriteByte('\n')
	if t.Worst == triage.Emergency.String() {
		c.item("FIRST", "Something here is reacting: get away and warn (pouchward emergency). The figures can wait.")
	}
	c.item("HERE", standText(s, &t))
	for _, line := range notCounted(s, &t) {
		c.item("NOT KNOWN", line)
	}
	room := "none given: masses alone can be told (--room-m3 gives the air)"
	if s.Room != nil {
		room = fmt.Sprintf("%g m3, %s", s.Room.M3, changesText(s.Room))
	}
	c.item("ROOM", room)
}

func standText(s *hazard.Screen, t *hazard.Load) string {
	if t.Cells == 0 {
		return "no cell that is on record. What was not recorded is not counted."
	}
	text := Count(t.Cells, "cell") + ", " + WhText(t.Wh, s.Stand.AtLeast())
	boxes, litres, loose := int64(0), 0.0, false
	for i := range s.Stand.Groups {
		g := &s.Stand.Groups[i]
		loose = loose || g.Loose && g.Cells > 0
		if g.Cells > 0 && g.Tag != "" {
			boxes++
			litres += g.Litres
		}
	}
	if boxes > 0 {
		text += ", in " + Count(boxes, "container")
		if litres > 0 {
			text += fmt.Sprintf(" (%s L known)", Sig(litres))
		}
		if loose {
			text += " and outside of them"
		}
	}
	if t.Grams > 0 {
		text += fmt.Sprintf("; %s kg weighed", Amount(int64(t.Grams), 1_000_000_000))
	}
	if t.Unweighed > 0 {
		text += fmt.Sprintf("; %s not weighed", Count(t.Unweighed, "cell"))
	}
	if t.Worst != "" {
		text += "; worst class " + HandlingText(t.Worst)
	}
	if t.Oldest != "" {
		text += "; oldest " + t.Oldest
	}
	return text + "."
}

// notCounted says what makes the figures "at least", or larger than they may be.
func notCounted(s *hazard.Screen, t *hazard.Load) (list []string) {
	if t.Unknown > 0 {
		list = append(list, fmt.Sprintf("%s without a rating or a mass: the size is unknown and every figure is \"at least\".", Count(t.Unknown, "cell")))
	}
	if t.Bounded > 0 {
		list = append(list, fmt.Sprintf("%s without a rating: counted with the most that the mass can hold, %g Wh/kg (gas-energy-density, from memory).", Count(t.Bounded, "cell"), s.Figures.Density))
	}
	if s.Stand.Unplaced > 0 {
		list = append(list, fmt.Sprintf("%s without a place on record: may stand here, and not counted.", Count(s.Stand.Unplaced, "cell")))
	}
	if t.Lots > 0 {
		list = append(list, fmt.Sprintf("%s in lots: one of them may be larger than their average, which counts as one cell.", Count(t.Lots, "cell")))
	}
	return list
}

func changesText(r *hazard.Room) string {
	if r.AirChanges == 0 {
		return "no air change stated, so none is counted: the gas stays"
	}
	return fmt.Sprintf("%g air changes an hour as stated", r.AirChanges)
}

// WhText writes an energy, "at least" where it may be more.
func WhText(wh triage.Micro, atLeast bool) string {
	switch {
	case atLeast && wh == 0:
		return "Wh not known"
	case atLeast:
		return "at least " + wh.Rounded(2).String() + " Wh"
	}
	return wh.Rounded(2).String() + " Wh"
}

// CaseText says which cells react.
func CaseText(k *hazard.Case) string {
	text := map[string]string{"only": "the cell", "cell": "the largest cell", "container": "the largest container", "all": "everything"}[k.Key]
	if k.Key == "container" && k.Group.Loose {
		text = "all that stands loose"
	}
	return text
}

// Sig writes a figure that is not negative to three places, without noughts behind
// the point.
func Sig(x float64) string {
	if x == 0 || math.IsInf(x, 0) || math.IsNaN(x) {
		return fmt.Sprint(x)
	}
	if x >= 1e8 || x < 1e-4 {
		return fmt.Sprintf("%.3g", x)
	}
	decimals := max(2-int(math.Floor(math.Log10(x)+1e-9)), 0)
	text := fmt.Sprintf("%.*f", decimals, x)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}

// labelled is the width of a label before the columns.
const labelled = 50

// columns writes a label and cells set right in columns of ten; a label that is
// too long has a line of its own.
func (c *card) columns(label string, cells ...string) {
	label = " " + Clean(label)
	if utf8.RuneCountInString(label) > labelled {
		c.b.WriteString(label + "\n")
		label = ""
	}
	line := fmt.Sprintf("%-*s", labelled, label)
	for _, s := range cells {
		line += fmt.Sprintf("%10s", s)
	}
	c.b.WriteString(strings.TrimRight(line, " ") + "\n")
}

func band(b hazard.Band) []string {
	middle := "-"
	if b.Middle > 0 {
		middle = Sig(b.Middle)
	}
	return []string{Sig(b.Low), middle, Sig(b.Worst)}
}

// inGrams takes milligrams.
func inGrams(mg hazard.Band) hazard.Band {
	return hazard.Band{Low: mg.Low / 1000, Middle: mg.Middle / 1000, Worst: mg.Worst / 1000}
}

// bandOf is a band of a case, not known where nothing of it is.
func bandOf(k *hazard.Case, b hazard.Band) []string {
	if k.Wh == 0 {
		return []string{"not known", "not known", "not known"}
	}
	return band(b)
}

// fluoride writes the hydrogen fluoride of each case.
func (c *card) fluoride(s *hazard.Screen, cases []hazard.Case) {
	hf := &s.Figures.HF
	unit := "g let off"
	if s.Room != nil {
		unit = "mg/m3 in the room"
	}
	c.b.WriteByte('\n')
	c.columns("HYDROGEN FLUORIDE, "+unit+", if", "low", "middle", "worst")
	for i := range cases {
		k := &cases[i]
		b := inGrams(k.MG(hf))
		if s.Room != nil {
			b = k.MgM3(hf, *s.Room)
		}
		c.columns("  "+CaseText(k)+" reacts, "+WhText(k.Wh, k.AtLeast), bandOf(k, b)...)
	}
	y := hf.Yield
	c.item("", fmt.Sprintf("Low %g and worst %g mg/Wh are the ends of published fire tests [%s]; the middle, %g, is our own. None of the cells tested was a phone pouch.",
		y.Low, y.Worst, hf.Figures[0].Source, y.Middle))
}
