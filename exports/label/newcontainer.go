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
		AsOf: fmt.Sprintf("As of %s, entry %d; a later one counts more. %s", on, x.Size, triage.LocalFirst)}
	c.Word, c.Verb = exports.Strength(x.Worst)
	add := func(name, text string) {
		if text != "" {
			c.Facts = append(c.Facts, Fact{Name: name, Parts: []string{text}, Must: true})
		}
	}
	c.Words, c.Source = boxWaste(x)
	note := ""
	switch {
	case c.Empty:
		note = "the day the first cell in it became waste: write it on that day"
	case x.worstWaste() == triage.NotWaste:
		note = "no clock runs: all in it is kept for reuse. The day the first becomes waste: write it"
	case c.Start == "":
		note = "no day on record: write the earliest one known"
	default:
		note = "accumulation start, the earliest of what is in it (" + x.StartBy + ")"
	}
	if x.Undated > 0 && c.Start != "" {
		note += fmt.Sprintf("; %d have no day", x.Undated)
	}
	add("DATE", note)
	add("MIXED", x.mixed())
	if c.Empty {
		add("IN IT", "nothing by the log")
	} else {
		add("IN IT", x.amount()+"; worst "+exports.HandlingText(x.Worst.Handling.String())+", "+x.Worst.Condition.String())
	}
	add("AT", h.Place)
	add("WORDS BY", c.Source)
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
			words = x.Worst.WasteCodes()
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
	if codes := v.WasteCodes(); len(codes) > 0 {
		return []string{strings.Join(codes, "; ")}, ""
	}
	return nil, ""
}

// mixed says that casings of several classes stand together.
func (x *Contents) mixed() string {
	var parts []string
	for w := triage.CasingBreached; w > triage.NotWaste; w-- {
		if x.ByWaste[w] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", x.ByWaste[w], casingWords[w]))
		}
	}
	if len(parts) < 2 {
		return ""
	}
	return strings.Join(parts, ", ") + ". Take apart what is not known to be whole."
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
