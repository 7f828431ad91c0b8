package app

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// A Desk keeps one log open for somebody who works at it all day. It may be used
// by several goroutines.
type Desk struct {
	Place LogPlace

	log        *logbook.Log
	readOnly   error  // why nothing can be recorded
	day, house string // as of --on and --house

	mu       sync.Mutex
	checking bool      // the log is being verified for the first time
	checked  time.Time // when it last was
	damaged  string    // what that found

	shop    *Shop
	recalls string // file of the recall list
	stamp   string // what the shop was opened from
	part    struct {
		name   string
		size   int64 // of the log
		memory *PartMemory
	}
}

// OpenDesk opens the log of a place, and the shop of a house file (blank: none)
// on a day given as text (blank: each day as it comes). A log that may not be written
// here is opened for reading (ReadOnly).
func OpenDesk(p LogPlace, day, house string) (*Desk, error) {
	d := &Desk{Place: p, day: day, house: house}
	if _, err := d.Shop(); err != nil {
		return nil, err
	}
	if err := d.openLog(); err != nil {
		return nil, err
	}
	return d, nil
}

// Close closes the log.
func (d *Desk) Close() error { return d.log.Close() }

// Log is the log, for reading.
func (d *Desk) Log() *logbook.Log { return d.log }

// Now is the time on the clock of the shop.
func (d *Desk) Now() time.Time { return d.Place.Now() }

// Shop returns the shop as it is today. The house file and its recall list are read
// again when one was changed. Files that can no longer be read take no verdict
// away: what they said last holds, and the shop's notice says so.
func (d *Desk) Shop() (*Shop, error) {
	now := d.Now()
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.shop != nil && d.stamp == d.stampNow(now) {
		return d.shop, nil
	}
	s, err := OpenShop(d.day, d.house, now)
	switch {
	case err == nil:
		d.recalls = ""
		if s.House != nil {
			d.recalls = recallsOf(d.house, s.House)
		}
		d.shop, d.stamp = s, d.stampNow(now)
	case d.shop != nil:
		kept := *d.shop
		kept.Notice = fmt.Sprintf("The house file cannot be read any more; what it said before holds, by the rules of %s. %s",
			kept.Rulebook.On, exports.Clean(strings.ReplaceAll(err.Error(), "\n", "; ")))
		return &kept, nil
	default:
		return nil, err
	}
	return d.shop, nil
}

// stampNow tells one state of the day and the files from another.
func (d *Desk) stampNow(now time.Time) string {
	stamp := triage.DateOf(now).String()
	for _, name := range []string{d.house, d.recalls} {
		if info, err := os.Stat(name); err == nil {
			stamp += fmt.Sprint(" ", info.Size(), " ", info.ModTime().UnixNano())
		} else {
			stamp += " none"
		}
	}
	return stamp
}

// Recording writes for one person at one bench; it is not closed.
func (d *Desk) Recording(bench, who string) *Recording {
	return &Recording{Who: who, log: d.log, bench: bench, now: d.Place.Now}
}

// lastEntries is how far back the log is read for who works here.
const lastEntries = 400

// recent calls fn for the last entries, the newest first, until it returns false.
func (d *Desk) recent(fn func(*logbook.Entry) bool) error {
	size, err := d.log.Size()
	if err != nil {
		return err
	}
	var list []*logbook.Entry
	err = d.log.Entries(max(1, size-lastEntries+1), size, func(e *logbook.Entry) error {
		list = append(list, e)
		return nil
	})
	for _, e := range slices.Backward(list) {
		if !fn(e) {
			break
		}
	}
	return err
}

// People returns who wrote the last entries, at most so many, in the order of the
// alphabet.
func (d *Desk) People(most int) (people []string, err error) {
	err = d.recent(func(e *logbook.Entry) bool {
		if e.Who != "" && !slices.Contains(people, e.Who) {
			people = append(people, e.Who)
		}
		return len(people) < most
	})
	slices.Sort(people)
	return people, err
}

// Spots are where a cell may be put: places by name, containers by tag.
type Spots struct {
	Places     []string
	Containers []logbook.State
}

// Spots returns the places and containers of the log.
func (d *Desk) Spots() (s Spots, err error) {
	counts, err := d.log.PlaceCounts()
	if err != nil {
		return s, err
	}
	for _, p := range counts {
		if p.Place != "" {
			s.Places = append(s.Places, p.Place)
		}
	}
	err = d.log.Containers(func(h *logbook.Held) error {
		s.Containers = append(s.Containers, h.State)
		if h.Place != "" && !slices.Contains(s.Places, h.Place) {
			s.Places = append(s.Places, h.Place)
		}
		return nil
	})
	slices.Sort(s.Places)
	return s, err
}

// LastLabel returns the label facts of the last assessment that was recorded at a
// bench, with its part number, and the tag of its cell. Nothing measured, seen or
// looked up is among them.
func (d *Desk) LastLabel(bench string) (given []Given, tag string, err error) {
	var tried error
	err = d.recent(func(e *logbook.Entry) bool {
		if e.Kind != "assessment" || e.Bench != bench || len(e.Tags) == 0 {
			return true
		}
		c, err := readCell(d.log, e.Tags[0]) // with what was corrected since
		if err != nil {
			tried = err
			return false
		}
		i := slices.IndexFunc(c.looks, func(l look) bool { return l.entry.Number == e.Number })
		if i < 0 {
			return true // it was retracted
		}
		tag = c.Tag
		for _, g := range c.looks[i].given {
			if IsLabelFact(g.Field) && !c.looks[i].tookOver(g.Field) {
				given = append(given, g)
			}
		}
		return false
	})
	return given, tag, errors.Join(err, tried)
}

// IsLabelFact reports whether a field is read off the label of a part, and so is the
// same on the next cell of that part.
func IsLabelFact(f triage.FieldID) bool {
	return f == triage.Part || f == triage.DesignationText || f == triage.TypicalMah || f == triage.WhMarked || f == triage.LithiumG ||
		slices.Contains(triage.PartFields[:], f)
}
