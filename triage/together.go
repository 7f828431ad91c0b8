package triage

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// A Together says what the items of one package, or the packages of one overpack,
// must have in common; or, as an exception, which ways may share a package all
// the same. It takes no part in judging a cell.
type Together struct {
	Record
	Routes []string `toml:"routes"`
	Within string   `toml:"within"` // package or overpack
	Same   string   `toml:"same"`   // condition, number (the UN number) or way
	Allows []string `toml:"allows"` // ids of ways that may share a package although the above differs

	routes uint8
}

// A StockOuter is an outer packaging that the planner takes where a shop names
// none: a figure of this program, replaced by the shop's own.
type StockOuter struct {
	Record
	Level    string `toml:"level"`
	UNMark   string `toml:"un_mark"`
	Tare     string `toml:"tare"`      // with inner packagings and cushioning
	MaxGross string `toml:"max_gross"` // as it may be filled

	TareG, MaxGrossG Micro `toml:"-"`
}

// Togethers returns what must be in common on a route.
func (rb *Rulebook) Togethers(route Route) []*Together {
	var list []*Together
	for _, t := range rb.tables {
		for i := range t.Togethers {
			if x := &t.Togethers[i]; x.inForce(rb.On) && x.routes>>route&1 == 1 {
				list = append(list, x)
			}
		}
	}
	return list
}

// StockOuters returns the outer packagings that stand in for a shop's own.
func (rb *Rulebook) StockOuters() []*StockOuter {
	var list []*StockOuter
	for _, t := range rb.tables {
		for i := range t.Outers {
			if x := &t.Outers[i]; x.inForce(rb.On) {
				list = append(list, x)
			}
		}
	}
	return list
}

func (x *Together) compile(t *Table) error {
	errs := []error{x.Record.compile(t)}
	set, err := bitsOf("route", x.Routes, routeWords[:])
	errs = append(errs, err)
	if x.routes = set; len(x.Routes) == 0 {
		errs = append(errs, errors.New("names no route"))
	}
	if !slices.Contains([]string{"package", "overpack"}, x.Within) {
		errs = append(errs, fmt.Errorf("within %q is neither package nor overpack", x.Within))
	}
	if !slices.Contains([]string{"condition", "number", "way"}, x.Same) {
		errs = append(errs, fmt.Errorf("same %q is none of condition, number, way", x.Same))
	}
	return errors.Join(errs...)
}

func (x *Together) outcome() string {
	if len(x.Allows) > 0 {
		return "may share a " + x.Within + ": " + strings.Join(x.Allows, ", ")
	}
	return "one " + x.Same + " to each " + x.Within
}

func (x *StockOuter) compile(t *Table) error {
	errs := []error{x.Record.compile(t)}
	if !slices.Contains(Levels, x.Level) {
		errs = append(errs, fmt.Errorf("level %q is none of %s", x.Level, strings.Join(Levels, ", ")))
	}
	for _, m := range [...]struct {
		text string
		to   *Micro
	}{{x.Tare, &x.TareG}, {x.MaxGross, &x.MaxGrossG}} {
		n, err := ParseQuantity(m.text, "g", true)
		if err != nil || n <= 0 {
			errs = append(errs, fmt.Errorf("mass %q: needs a number above 0 with its unit", m.text))
		}
		*m.to = n
	}
	return errors.Join(errs...)
}
