package triage

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// A Local is a question that only the place can answer, and whom to ask. It takes
// no part in judging a cell.
type Local struct {
	Record
	Question string `toml:"question"`
	Ask      string `toml:"ask"`   // whose authority it is: "the fire code official"
	Order    int    `toml:"order"` // 1 is the most important
	// One word of the first three lists that the verdict has is a ground.
	Classes    []string `toml:"classes"` // of handling
	Conditions []string `toml:"conditions"`
	Sizes      []string `toml:"sizes"`
	Waste      []string `toml:"waste"` // narrows the grounds, as When does; empty is all

	classes, conditions, sizes, waste uint8
}

// localWidth is what stands on one line of a card beside its label.
const localWidth = 69

// Line is the question with whom to ask, one line of a card.
func (l *Local) Line() string { return l.Question + " Ask " + l.Ask + "." }

// Locals returns the questions in force, the most important first.
func (rb *Rulebook) Locals() []*Local {
	list := slices.Clone(rb.locals)
	slices.SortStableFunc(list, func(a, b *Local) int { return cmp.Compare(a.Order, b.Order) })
	return list
}

// LocalBearing returns the most important question that bears on the verdict and
// has no answer, nil for none. answered says which have one; nil is none has.
func (rb *Rulebook) LocalBearing(v *Verdict, answered func(id string) bool) *Local {
	for _, l := range rb.Locals() {
		if l.bears(v) && (answered == nil || !answered(l.ID)) {
			return l
		}
	}
	return nil
}

// bears reports whether the question matters to this very cell. A condition that
// is not known does not make it matter: the reading comes first.
func (l *Local) bears(v *Verdict) bool {
	ground := l.classes|l.conditions|l.sizes == 0 ||
		l.classes>>v.Handling&1 == 1 || l.conditions>>v.Condition&1 == 1 || l.sizes>>v.Size&1 == 1
	if !ground || l.waste != 0 && l.waste>>v.Waste&1 == 0 {
		return false
	}
	t, _ := l.when.eval(&v.Facts)
	return t >= Straddle
}

func (l *Local) compile(t *Table) error {
	errs := []error{l.Record.compile(t)}
	for _, list := range [...]struct {
		what       string
		words, all []string
		set        *uint8
	}{{"handling", l.Classes, handlingWords[:], &l.classes}, {"condition", l.Conditions, conditionWords[:], &l.conditions},
		{"size", l.Sizes, sizeWords[:], &l.sizes}, {"waste", l.Waste, wasteWords[:], &l.waste}} {
		var err error
		*list.set, err = bitsOf(list.what, list.words, list.all)
		errs = append(errs, err)
	}
	if len(l.For) > 0 {
		errs = append(errs, errors.New("takes no for: name conditions"))
	}
	if l.classes|l.conditions|l.sizes|l.waste == 0 && len(l.When) == 0 {
		errs = append(errs, errors.New("says nothing of where it bears, so it would stand on every card"))
	}
	if l.Question == "" || l.Ask == "" || l.Order < 1 {
		errs = append(errs, errors.New("needs question, ask and an order of 1 or more"))
	}
	if n := len([]rune(l.Line())); n > localWidth {
		errs = append(errs, fmt.Errorf("%q is %d characters long, and %d fit on a line of the card", l.Line(), n, localWidth))
	}
	return errors.Join(errs...)
}

// outcome says the question and where it bears.
func (l *Local) outcome() string {
	var parts []string
	for _, list := range [...]struct {
		what  string
		words []string
	}{{"handling", l.Classes}, {"condition", l.Conditions}, {"size", l.Sizes}} {
		if len(list.words) > 0 {
			parts = append(parts, list.what+" "+strings.Join(list.words, ", "))
		}
	}
	text := strings.Join(parts, "; or ")
	if len(l.Waste) > 0 {
		if text != "" {
			text += "; "
		}
		text += "waste " + strings.Join(l.Waste, ", ")
	}
	if text == "" {
		return l.Line()
	}
	return l.Line() + " Bears on " + text
}
