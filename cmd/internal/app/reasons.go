package app

import (
	"slices"
	"strings"
)

// Reasons is the error of what is refused for several reasons, the gravest first. A
// screen has a line for each.
type Reasons struct{ List []string }

// Error implements error.
func (r *Reasons) Error() string { return strings.Join(r.List, "; ") }

// usageReasons is Usage of several reasons.
func usageReasons(list []string) error { return &ExitError{ExitUsage, &Reasons{list}} }

// How grave a reason against a package is. What may not travel, or not together, is
// settled before anybody asks what is not on record: else a bag is recorded, and only
// then comes out that the cell had to be taken out.
type grave uint8

const (
	barred     grave = iota // a cell may not travel at all
	apart                   // what may not be together, or is not as it was closed
	unrecorded              // what is not known, not said or not asked for yet
)

// A reason says what keeps a package, and how grave that is.
type reason struct {
	grave grave
	text  string
}

// textsOf returns the reasons in words, the gravest first, each once.
func textsOf(list []reason) (texts []string) {
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(a, b reason) int { return int(a.grave) - int(b.grave) })
	for _, r := range list {
		if !slices.Contains(texts, r.text) {
			texts = append(texts, r.text)
		}
	}
	return texts
}

// graver reports whether some reason is graver than what is not on record.
func graver(list []reason) bool {
	return slices.ContainsFunc(list, func(r reason) bool { return r.grave < unrecorded })
}
