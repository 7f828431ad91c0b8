package triage

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// PackingTerms are what a duty asks of a package in words that a program can
// check. A duty without any of them is for people alone.
type PackingTerms struct {
	Level    string   `toml:"level" json:"level,omitempty"`         // least level of the outer packaging: strong, pg2 or pg1
	Codes    []string `toml:"codes" json:"codes,omitempty"`         // UN codes of packagings that will do; empty is any
	CodesOne []string `toml:"codes_one" json:"codes_one,omitempty"` // those that will do for a single item alone
	Asks     string   `toml:"asks" json:"asks,omitempty"`           // inner: each item enclosed; fill: the cushioning that is asked
	Lifted   string   `toml:"lifted" json:"lifted,omitempty"`       // the cap is not asked of an outer packaging of this level
	Per      string   `toml:"per" json:"per,omitempty"`             // consignment: the cap is over all packages that go by it
	Over     string   `toml:"over" json:"over,omitempty"`           // owed only by a package with more than this net mass
	Overpack bool     `toml:"overpack" json:"overpack,omitempty"`   // owed in an overpack alone
	Spared   *Spared  `toml:"spared" json:"spared,omitempty"`       // when a mark is not owed

	cap  Cap
	over Micro
}

// Spared says when a mark is not owed: in a consignment of so few packages, each
// with so few cells or batteries in equipment and nothing else.
type Spared struct {
	Packages  int `toml:"packages" json:"packages"`
	Cells     int `toml:"cells" json:"cells"`
	Batteries int `toml:"batteries" json:"batteries"`
}

// Levels are the levels of an outer packaging, the weakest first: strong outer
// packaging, and UN specification packaging of packing group II and I level.
var Levels = []string{"strong", "pg2", "pg1"}

// LevelMeets reports whether an outer packaging of one level will do where
// another is asked. A level that is not known meets none.
func LevelMeets(have, asked string) bool {
	return slices.Index(Levels, have) >= slices.Index(Levels, asked)
}

// The units of a cap.
const (
	CapMass  = "g"
	CapItems = "items"
	CapSets  = "spare sets"
)

// A Cap is the limit of a duty: a mass in grams, or a number.
type Cap struct {
	Most Micro
	Unit string // CapMass, CapItems or CapSets; "" for none
}

// capKinds are the kinds of duty whose at_most is a cap that packages are judged
// by. Elsewhere at_most is for people.
var capKinds = []string{"one-per-outer", "gross-cap", "net-cap", "count-cap"}

// parseCap reads "30 kg", "1 item", "4 cells" or "2 spare sets".
func parseCap(text string) (Cap, error) {
	number, unit, _ := strings.Cut(text, " ")
	switch unit {
	case "item", "items":
		n, err := ParseQuantity(number, "", true)
		return Cap{n, CapItems}, err
	case "spare set", "spare sets":
		n, err := ParseQuantity(number, "", true)
		return Cap{n, CapSets}, err
	}
	n, err := ParseQuantity(text, "g", true)
	return Cap{n, CapMass}, err
}

// Cap returns the limit of the duty; its unit is "" where it has none.
func (d *Duty) Cap() Cap { return d.cap }

// OverMass returns the net mass in grams above which alone the duty is owed; 0
// is always.
func (d *Duty) OverMass() Micro { return d.over }

func (d *Duty) compilePacking() error {
	var errs []error
	for _, level := range []string{d.Level, d.Lifted} {
		if level != "" && !slices.Contains(Levels, level) {
			errs = append(errs, fmt.Errorf("level %q is none of %s", level, strings.Join(Levels, ", ")))
		}
	}
	if !slices.Contains([]string{"", "inner", "fill"}, d.Asks) {
		errs = append(errs, fmt.Errorf("asks %q is neither inner nor fill", d.Asks))
	}
	if d.Per != "" && d.Per != "consignment" {
		errs = append(errs, fmt.Errorf("per %q is not consignment", d.Per))
	}
	if d.Lifted+d.Per != "" && !slices.Contains(capKinds, d.Kind) {
		errs = append(errs, errors.New("lifted and per belong to a cap"))
	}
	if s := d.Spared; s != nil && (d.Kind != "mark" || s.Packages < 1 || s.Cells < 1 || s.Batteries < 1) {
		errs = append(errs, errors.New("spared belongs to a mark, and names packages, cells and batteries"))
	}
	var err error
	if slices.Contains(capKinds, d.Kind) {
		if d.cap, err = parseCap(d.AtMost); err != nil {
			errs = append(errs, fmt.Errorf("at_most %q: %w", d.AtMost, err))
		}
	}
	if d.Over != "" {
		if d.over, err = ParseQuantity(d.Over, "g", true); err != nil || d.over <= 0 {
			errs = append(errs, fmt.Errorf("over %q is no mass", d.Over))
		}
	}
	return errors.Join(errs...)
}

// RouteClass returns the class of the way.
func (w *Way) RouteClass() RouteClass { return w.class }

// An Owing is a duty of a way that a cell owes. It is not Sure while an open fact
// may yet take it away.
type Owing struct {
	*Duty
	Sure bool
}

// Owing returns what a cell owes that goes by way w on a route and a day; a duty
// is owed until the facts say otherwise.
func (f *Facts) Owing(w *Way, route Route, on Date) []Owing {
	var list []Owing
	for i := range w.Duties {
		d := &w.Duties[i]
		if !inForce(on, d.from, d.until) || len(d.Routes) > 0 && !slices.Contains(d.Routes, route.String()) {
			continue
		}
		if t, _ := d.when.eval(f); t != No {
			list = append(list, Owing{d, t == Yes})
		}
	}
	return list
}
