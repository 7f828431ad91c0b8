package app

import (
	"cmp"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// A Shop is what a verdict needs of a shop: the rules in force there on a day,
// and what is in hand.
type Shop struct {
	Rulebook *triage.Rulebook
	House    *triage.House // nil without a house file
	Recalls  *triage.RecallList
	Notice   string // that the clock is not believed, "" for nothing

	asOf triage.Date // the day on which facts stand, where the rules of another are tried on them; 0: the rulebook's
}

// day is the day on which what is in hand, what was decided and what was read stands.
func (s *Shop) day() triage.Date { return cmp.Or(s.asOf, s.Rulebook.On) }

// OpenShop loads the rules in force on a day given as text (blank: the day of
// now, by the clock of the shop) with the house file of that name (blank: none).
func OpenShop(day, houseFile string, now time.Time) (s *Shop, err error) {
	tables, err := triage.Embedded()
	if err != nil {
		return nil, fmt.Errorf("loading the embedded rule tables: %w", err)
	}
	newest := tables.Newest()
	s = &Shop{}
	if houseFile != "" {
		if s.House, s.Recalls, err = CheckHouse(houseFile); err != nil {
			return nil, err
		}
		tables = append(slices.Clone(tables), s.House.Table())
		p := LogPlace{Options: logbook.Options{Now: func() time.Time { return now }}}
		if err := p.shopClock(s.House.Shop.TimeZone); err != nil {
			return nil, fmt.Errorf("the house file %s: time_zone: %w", houseFile, err)
		}
		now = p.Now()
	}
	on := triage.DateOf(now)
	switch {
	case day != "":
		if on, err = triage.ParseDate(day); err != nil {
			return nil, Usage("--on %q: %v", day, err)
		}
	case on < newest:
		// A flat clock battery must not take the verdict away.
		s.Notice = fmt.Sprintf("The clock says %s, before these rules were written: judged for %s. Set the clock, or give --on.", on, newest)
		on = newest
	}
	if s.Rulebook, err = tables.On(on); err != nil {
		return nil, Usage("--on: %v", err)
	}
	return s, nil
}

// Case returns an empty case for this shop.
func (s *Shop) Case() triage.Case {
	c := triage.Case{On: s.day(), Recalls: s.Recalls}
	if s.House != nil {
		c.Solo, c.Country, c.State = s.House.Shop.Solo, s.House.Shop.Country, s.House.Shop.State
		c.Origin = s.House.Shop.Origin
		c.InHand = s.House.InHand(s.day())
	}
	return c
}

// maxHouseBytes bounds a house file: rules are written by hand.
const maxHouseBytes = 1 << 20

// CheckHouse reads a house file, checks it against the shipped rules, and reads
// the recall list that it names, whose path is relative to the file.
func CheckHouse(name string) (*triage.House, *triage.RecallList, error) {
	data, err := readSmall(name, maxHouseBytes)
	if err != nil {
		return nil, nil, fmt.Errorf("reading the house file: %w", err)
	}
	tables, err := triage.Embedded()
	if err != nil {
		return nil, nil, fmt.Errorf("loading the embedded rule tables: %w", err)
	}
	house, err := triage.ParseHouse(name, data, tables)
	if err != nil || house.Shop.RecallList == "" {
		return house, nil, err
	}
	recalls, err := LoadRecalls(recallsOf(name, house))
	return house, recalls, err
}

// recallsOf is the file of the recall list that a house file names, "" for none.
func recallsOf(name string, house *triage.House) string {
	list := house.Shop.RecallList
	if list != "" && !filepath.IsAbs(list) {
		list = filepath.Join(filepath.Dir(name), list)
	}
	return list
}

// ShopFacts returns the facts of a house file for the emergency card (blank name:
// none). A file that cannot be read takes the facts away, not the card: notice
// says what is wrong with it.
func ShopFacts(houseFile string) (shop triage.Shop, notice string) {
	if houseFile == "" {
		return shop, ""
	}
	house, _, err := CheckHouse(houseFile)
	if house != nil {
		shop = house.Shop // a recall list that cannot be read is no fault of the numbers
	}
	if err != nil {
		notice = err.Error()
	}
	return shop, notice
}

func readSmall(name string, most int64) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	if err == nil && int64(len(data)) > most {
		err = fmt.Errorf("%s is larger than %d bytes", name, most)
	}
	return data, err
}

// NewestRules returns the rulebook of the newest texts.
func NewestRules() (*triage.Rulebook, error) {
	tables, err := triage.Embedded()
	if err != nil {
		return nil, fmt.Errorf("loading the embedded rule tables: %w", err)
	}
	return tables.On(tables.Newest())
}
