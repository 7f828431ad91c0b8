package triage

import (
	"fmt"
	"slices"
	"strings"
)

// Handling says what hands do now. The greater is the worse.
type Handling uint8

// The handling classes.
const (
	Sound     Handling = iota // no fault shown by these readings
	Retire                    // no damage seen, not to be charged again
	Hold                      // not enough known, or borderline
	Isolate                   // damaged or suspect
	Emergency                 // reacting
)

var handlingWords = [...]string{"sound", "retire", "hold", "isolate", "emergency"}

// String returns the class word.
func (h Handling) String() string { return handlingWords[h] }

// HandlingByName returns the class of a word.
func HandlingByName(name string) (Handling, bool) {
	i := slices.Index(handlingWords[:], name)
	return Handling(max(i, 0)), i >= 0
}

// Condition classes for carriage. The greater is the worse.
type ConditionClass uint8

// The condition classes.
const (
	Undamaged ConditionClass = iota
	Undetermined
	Damaged
	RecalledCell
	Liable
	Reacting
)

var conditionWords = [...]string{"undamaged", "undetermined", "damaged", "recalled", "liable", "reacting"}

// String returns the class word.
func (c ConditionClass) String() string { return conditionWords[c] }

// ConditionByName returns the class of a word.
func ConditionByName(name string) (ConditionClass, bool) {
	i := slices.Index(conditionWords[:], name)
	return ConditionClass(max(i, 0)), i >= 0
}

// Size is the size class for carriage.
type Size uint8

// The size classes.
const (
	SizeUnknown Size = iota
	Small
	Medium
	Large
)

var sizeWords = [...]string{"unknown", "small", "medium", "large"}

// String returns the class word.
func (s Size) String() string { return sizeWords[s] }

// SizeByName returns the class of a word.
func SizeByName(name string) (Size, bool) {
	i := slices.Index(sizeWords[:], name)
	return Size(max(i, 0)), i >= 0
}

// Waste is the state of the casing for waste law. The greater is the worse.
type Waste uint8

// The waste classes.
const (
	NotWaste Waste = iota
	CasingIntact
	WasteUnknown
	CasingBreached
)

var wasteWords = [...]string{"not-waste", "casing-intact", "unknown", "casing-breached"}

// String returns the class word.
func (w Waste) String() string { return wasteWords[w] }

// WasteByName returns the class of a word.
func WasteByName(name string) (Waste, bool) {
	i := slices.Index(wasteWords[:], name)
	return Waste(max(i, 0)), i >= 0
}

// Route is a transport regime and mode.
type Route uint8

// The routes.
const (
	USHighway Route = iota
	USRail
	USVessel
	AirPassenger
	AirCargo
	Sea
	ADRRoad
	NumRoutes
)

var routeWords = [...]string{"us-highway", "us-rail", "us-vessel", "air-passenger", "air-cargo", "sea", "adr-road"}

// String returns the route word.
func (r Route) String() string { return routeWords[r] }

// RouteNames lists the routes in order.
func RouteNames() []string { return slices.Clone(routeWords[:]) }

// ParseRoutes reads route words; "all" is every route.
func ParseRoutes(words []string) ([]Route, error) {
	var list []Route
	for _, w := range words {
		if w == "all" {
			for r := range NumRoutes {
				list = append(list, r)
			}
			continue
		}
		i := slices.Index(routeWords[:], w)
		if i < 0 {
			return nil, slip(fmt.Sprintf("%q is none of %s, all", w, strings.Join(routeWords[:], ", ")), w, routeWords[:])
		}
		list = append(list, Route(i))
	}
	return list, nil
}

// RouteClass is the answer on one route. The classes of an open way come first,
// the lightest first.
type RouteClass uint8

// The route classes.
const (
	RouteSmall RouteClass = iota
	RouteGroundOnly
	RouteRecycling
	RouteRegulated
	RouteDamaged
	RouteCritical
	RouteApproval
	RouteUndecided
	RouteForbidden
)

var routeClassWords = [...]string{"small", "ground-only", "recycling", "regulated", "damaged", "critical", "approval",
	"undecided", "forbidden"}

// String returns the class word.
func (c RouteClass) String() string { return routeClassWords[c] }

// word returns the index of a class word, for reading a rule table.
func word(what, w string, words []string) (uint8, error) {
	i := slices.Index(words, w)
	if i < 0 {
		return 0, fmt.Errorf("%s %q is none of %s", what, w, strings.Join(words, ", "))
	}
	return uint8(i), nil
}

// AnswerWords returns the words of one of the four answers; ok false for any
// other column.
func AnswerWords(answer string) (words []string, ok bool) {
	switch answer {
	case "handling":
		return handlingWords[:], true
	case "condition":
		return conditionWords[:], true
	case "size":
		return sizeWords[:], true
	case "waste":
		return wasteWords[:], true
	}
	return nil, false
}
