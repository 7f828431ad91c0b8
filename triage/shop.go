package triage

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// A Shop holds the facts about a shop.
type Shop struct {
	Site       string `toml:"site"`
	Country    string `toml:"country"` // ISO 3166 alpha-2; blank is US, whose federal baseline stands in
	State      string `toml:"state"`
	Origin     string `toml:"origin"` // of the waste: municipal (households and the like) or trade; blank prints both
	TimeZone   string `toml:"time_zone"`
	Solo       bool   `toml:"solo"` // one person may determine
	RecallList string `toml:"recall_list"`

	Opens      string   `toml:"opens"` // "09:00", of the shop's own clock; opens and closes stand together
	Closes     string   `toml:"closes"`
	ClosedDays []string `toml:"closed_days"` // "sunday"

	FireService       string `toml:"fire_service"`        // the number on the emergency card
	EmergencyNumber   string `toml:"emergency_number"`    // the number of shipping papers
	EmergencyNumberBy string `toml:"emergency_number_by"` // who answers it and under what contract
	IsolationPlace    string `toml:"isolation_place"`
	StorePlace        string `toml:"store_place"`
	Consignee         string `toml:"consignee"` // the recycler's name
}

// A fact of the shop that is printed on cards and papers. A number is dialled
// in a hurry, so it is short and has a digit.
type shopText struct {
	key, value string
	longest    int // characters, so that one line of a card holds it
	number     bool
}

func (s *Shop) texts() []shopText {
	return []shopText{
		{"fire_service", s.FireService, 40, true},
		{"emergency_number", s.EmergencyNumber, 40, true},
		{"emergency_number_by", s.EmergencyNumberBy, 120, false},
		{"isolation_place", s.IsolationPlace, 60, false},
		{"store_place", s.StorePlace, 60, false},
		{"consignee", s.Consignee, 120, false},
	}
}

// check reports every fact that cannot be right, each with its key.
func (s *Shop) check() []error {
	var errs []error
	if c := s.Country; c != "" && (len(c) != 2 || strings.ToUpper(c) != c) {
		errs = append(errs, fmt.Errorf("shop: country %q: use two capital letters, such as US, DE or GB", c))
	}
	if o := s.Origin; o != "" && !slices.Contains(originWords, o) {
		errs = append(errs, slip(fmt.Sprintf("shop: origin %q is none of %s", o, strings.Join(originWords, ", ")), o, originWords))
	}
	for _, t := range s.texts() {
		if err := t.check(); err != nil {
			errs = append(errs, fmt.Errorf("shop: %s %q: %w", t.key, t.value, err))
		}
	}
	if s.EmergencyNumberBy != "" && s.EmergencyNumber == "" {
		errs = append(errs, errors.New("shop: emergency_number_by says who answers a number that is not there: give emergency_number too"))
	}
	if _, err := s.hours(); err != nil {
		errs = append(errs, fmt.Errorf("shop: %w", err))
	}
	return errs
}

func (t *shopText) check() error {
	if t.value == "" {
		return nil
	}
	at := strings.IndexFunc(t.value, func(r rune) bool { return !unicode.IsPrint(r) })
	switch n := len([]rune(t.value)); {
	case at >= 0:
		return fmt.Errorf("holds a character that does not print after %q: type it again on one line", t.value[:at])
	case strings.TrimSpace(t.value) != t.value:
		return errors.New("begins or ends with a space: take it away")
	case n > t.longest:
		return fmt.Errorf("is %d characters long, and %d fit on the card: shorten it", n, t.longest)
	case t.number && !strings.ContainsAny(t.value, "0123456789"):
		return errors.New("has no digit: give the telephone number")
	}
	return nil
}
