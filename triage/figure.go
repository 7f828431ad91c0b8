package triage

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// A Figure is a number, or a band, of how much gas a cell gives off, or what it
// takes to convert it. It takes no part in judging a cell.
type Figure struct {
	Record
	What string `toml:"what"` // one of figureUnits
	Gas  string `toml:"gas"`  // one of gasWords; blank is all gas together
	// A value, or both ends of a band.
	Value float64 `toml:"value"`
	Low   float64 `toml:"low"`
	High  float64 `toml:"high"`
	Unit  string  `toml:"unit"`
}

// figureUnits gives what a figure may be about, its unit, and whether it is a
// band.
var figureUnits = map[string]struct {
	unit string
	band bool
}{
	"yield":          {"mg/Wh", true},
	"middle":         {"mg/Wh", false}, // between the ends of a yield
	"gas-volume":     {"L/Wh", true},
	"share":          {"%", false}, // of one gas in the gas volume
	"molar-mass":     {"g/mol", false},
	"molar-volume":   {"L/mol", false},
	"energy-density": {"Wh/kg", false},
}

// The gases: hydrogen fluoride, phosphoryl fluoride, carbon monoxide.
var gasWords = []string{"hf", "pof3", "co"}

// A Limit is a level of a gas in air that an agency has set.
type Limit struct {
	Record
	Name    string  `toml:"name"` // short, for a column
	Gas     string  `toml:"gas"`
	Kind    string  `toml:"kind"` // one of limitKinds
	Agency  string  `toml:"agency"`
	PPM     float64 `toml:"ppm"`     // parts per million by volume, the unit in which it is set
	MgM3    float64 `toml:"mg_m3"`   // as the agency rounds it, 0 where it prints none
	Minutes int     `toml:"minutes"` // over which it is set, 0 for an instant
	Drawn   bool    `toml:"drawn"`   // stands in the picture, which has room for few
}

// limitKinds are what a limit is: dangerous at once, not to be passed at work, for
// an accident, an average of a working day.
var limitKinds = []string{"immediate", "ceiling", "emergency", "day"}

// Short reports whether one accident can be held against the limit: an average
// of a working day cannot.
func (l *Limit) Short() bool { return l.Kind != "day" }

// Figures returns the figures in force, in rulebook order.
func (rb *Rulebook) Figures() []*Figure { return rb.figures }

// Limits returns the limits in force of a gas, the highest first.
func (rb *Rulebook) Limits(gas string) []*Limit {
	list := slices.DeleteFunc(slices.Clone(rb.limits), func(l *Limit) bool { return l.Gas != gas })
	slices.SortStableFunc(list, func(a, b *Limit) int { return cmp.Compare(b.PPM, a.PPM) })
	return list
}

func (f *Figure) compile(t *Table) error {
	errs := []error{f.Record.compile(t)}
	want, ok := figureUnits[f.What]
	switch {
	case !ok:
		errs = append(errs, fmt.Errorf("what %q is no kind of figure", f.What))
	case f.Unit != want.unit:
		errs = append(errs, fmt.Errorf("unit %q: %s is in %s", f.Unit, f.What, want.unit))
	case want.band && (f.Low <= 0 || f.High < f.Low || f.Value != 0):
		errs = append(errs, errors.New("needs low and high, above 0 and in order, and no value"))
	case !want.band && (f.Value <= 0 || f.Low != 0 || f.High != 0):
		errs = append(errs, errors.New("needs a value above 0, and neither low nor high"))
	}
	if f.Gas != "" {
		_, err := word("gas", f.Gas, gasWords)
		errs = append(errs, err)
	}
	return errors.Join(append(errs, f.noConditions())...)
}

func (l *Limit) compile(t *Table) error {
	errs := []error{l.Record.compile(t), l.noConditions()}
	_, err := word("gas", l.Gas, gasWords)
	errs = append(errs, err)
	_, err = word("kind", l.Kind, limitKinds)
	errs = append(errs, err)
	if l.PPM <= 0 || l.MgM3 < 0 || l.Minutes < 0 || l.Agency == "" || l.Name == "" {
		errs = append(errs, errors.New("needs a name, an agency, ppm above 0, and no negative number"))
	}
	return errors.Join(errs...)
}

// noConditions refuses conditions on a record that no cell is judged by.
func (r *Record) noConditions() error {
	if len(r.When)+len(r.OrWhen)+len(r.For) > 0 {
		return errors.New("takes no conditions")
	}
	return nil
}

func (f *Figure) outcome() string {
	text := f.What
	if f.Gas != "" {
		text += " of " + f.Gas
	}
	if f.Value != 0 {
		return fmt.Sprintf("%s: %g %s", text, f.Value, f.Unit)
	}
	return fmt.Sprintf("%s: %g to %g %s", text, f.Low, f.High, f.Unit)
}

func (l *Limit) outcome() string {
	text := fmt.Sprintf("%s, %s: %g ppm of %s", l.Agency, l.Kind, l.PPM, l.Gas)
	if l.MgM3 > 0 {
		text += fmt.Sprintf(", %g mg/m3", l.MgM3)
	}
	if l.Minutes > 0 {
		text += fmt.Sprintf(", %d min", l.Minutes)
	}
	return strings.TrimSpace(text)
}
