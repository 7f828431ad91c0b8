package label

import (
	"fmt"
	"strings"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// Contents are what stands in a container.
type Contents struct {
	Cells     int64
	Worst     *triage.Verdict    // of what is in it; of a cell whose casing is whole where nothing is
	ByWaste   [4]int64           // cells by triage.Waste
	OfWaste   [4]*triage.Verdict // one of each class
	Wh, Kg    float64
	Unrated   int64
	Unweighed int64
	Undated   int64 // waste cells without a day
	Start     string
	StartBy   string // in words
	Size      int64  // of the log
}

// worstWaste is the worst casing in the container.
func (x *Contents) worstWaste() triage.Waste {
	for w := triage.CasingBreached; w > triage.NotWaste; w-- {
		if x.ByWaste[w] > 0 {
			return w
		}
	}
	return triage.NotWaste
}

// NewContainer makes the label of a container. The words are those that the worst
// casing in it bears: one that is not known to be whole takes the words of the
// others away. An empty one has the words to tick and a line for the day.
func NewContainer(h *logbook.Held, x *Contents, on triage.Date) *Container {
	c := &Container{Tag: h.Tag, What: boxWords(h), Class: x.Worst.Handling, Empty: x.Cells == 0, Start: x.Start,
		AsOf: asOf(x.Size, on)}
	c.Word, c.Verb = exports.Strength(x.Worst)
	add := func(name, text string) {
		if text != "" {
			c.Facts = append(c.Facts, Fact{Name: name, Parts: []string{text}, Must: true})
		}
	}
	c.Words, c.Source = boxWaste(x)
	switch {
	case c.Empty:
		c.DateNote = "write the day the first cell in it became waste"
	case x.worstWaste() == triage.NotWaste:
		c.DateNote = "no clock runs: write the day the first became waste"
	case c.Start == "":
		c.DateNote = "no day on record: write the earliest known"
	default:
		c.DateNote = "earliest in it: " + x.StartBy
	}
	if x.Undated > 0 && c.Start != "" {
		add("DATE", fmt.Sprintf("%d of them have no day on record: they may be older", x.Undated))
	}
	add("MIXED", x.mixed())
	in := []string{"nothing by the log"}
	if !c.Empty {
		in = []string{x.amount(), "worst " + exports.HandlingText(x.Worst.Handling.String()) + ", " + x.Worst.Condition.String()}
	}
	for _, f := range []Fact{{Name: "IN IT", Parts: in}, {Name: "AT", Parts: []string{h.Place}}, {Name: "WORDS BY", Parts: []string{c.Source}}} {
		if f.Parts[0] != "" {
			c.Facts = append(c.Facts, f)
		}
	}
	return c
}

func boxWords(h *logbook.Held) string {
	what := h.What
	if h.MilliLitr > 0 {
		what += ", " + exports.Amount(h.MilliLitr, 1000) + " L"
	}
	return what
}

// boxWaste are the words of the container with their source.
func boxWaste(x *Contents) (words []string, source string) {
	if x.Cells == 0 {
		if words, source = shownWords(x.Worst); len(words) == 0 {
			if words = shownCodes(x.Worst); len(words) > codesInWords {
				words = []string{strings.Join(words, "; ")}
			}
		}
		return words, source
	}
	worst := x.worstWaste()
	if worst == triage.NotWaste {
		return []string{"Not waste while kept for reuse"}, ""
	}
	v := x.OfWaste[worst]
	if words, source = shownWords(v); len(words) > 0 {
		return words[:1], source
	}
	if codes := shownCodes(v); len(codes) > 0 {
		return []string{strings.Join(codes, "; ")}, ""
	}
	return nil, ""
}

// mixed says that casings of several classes stand together.
func (x *Contents) mixed() string {
	var parts []string
	for w := triage.CasingBreached; w > triage.NotWaste; w-- {
		if x.ByWaste[w] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", x.ByWaste[w], strings.TrimPrefix(casingWords[w], "casing ")))
		}
	}
	if len(parts) < 2 {
		return ""
	}
	return "casings: " + strings.Join(parts, ", ") + ". Take them apart."
}

// amount is what stands in it, with what has no figure.
func (x *Contents) amount() string {
	return exports.Count(x.Cells, "cell") + ", " + figure(fmt.Sprintf("%.1f Wh", x.Wh), x.Unrated, x.Cells, "without a rating") + ", " +
		figure(fmt.Sprintf("%.3f kg", x.Kg), x.Unweighed, x.Cells, "not weighed")
}

// figure is a sum, with how many have no part in it.
func figure(text string, open, of int64, what string) string {
	switch open {
	case 0:
		return text
	case of:
		return "all " + what
	}
	return fmt.Sprintf("%s and %d %s", text, open, what)
}
