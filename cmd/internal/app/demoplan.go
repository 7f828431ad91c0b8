package app

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// newDemoYear makes the shop on the morning of its first day.
func newDemoYear(on triage.Date) (*demoYear, error) {
	zone, err := loadZone(demoZone)
	if err != nil {
		return nil, err
	}
	tables, err := triage.Embedded()
	if err != nil {
		return nil, fmt.Errorf("loading the embedded rule tables: %w", err)
	}
	house, err := triage.ParseHouse(houseName, []byte(demoHouse), tables)
	if err != nil {
		return nil, err
	}
	y := &demoYear{rng: rand.New(rand.NewPCG(demoSeed, 0)), zone: zone, first: on - demoDays, today: on,
		tables: append(tables[:len(tables):len(tables)], house.Table()), house: house, bins: map[string]string{}, boxAt: map[string]string{}, inTin: map[string]*demoCell{}}
	y.now = y.moment(y.nextStaffed(y.first), demoOpens-30)
	return y, nil
}

// live lets the year pass, and signs the log on its last evening.
func (y *demoYear) live(place LogPlace) (*Demoed, *logbook.Checkpoint, error) {
	if y.day(); y.err != nil {
		return nil, nil, y.err
	}
	l, key, err := logbook.CreateKnown(place.Path, place.Site, demoKey(), place.Options)
	if err != nil {
		return nil, nil, err
	}
	if err := l.Close(); err != nil {
		return nil, nil, err
	}
	var printed Made
	if err := reserve(place, logbook.Draft{}, 24, &printed, func() error { return nil }); err != nil {
		return nil, nil, err
	}
	y.block = printed.Block
	if y.rec, err = OpenRecording(place, ""); err != nil {
		return nil, nil, err
	}
	y.plant("review-recall-list", "recall list", plantOpen, "nobody copied the recall list for more than a month")
	y.plan()
	y.run()
	made, cp, err := y.evening(key)
	return made, cp, errors.Join(y.err, err, y.rec.Close())
}

// evening sums up the year while its log is still open for writing: whoever only
// reads a log leaves SQLite's files beside it.
func (y *demoYear) evening(key logbook.Key) (*Demoed, *logbook.Checkpoint, error) {
	y.now = y.moment(y.today, 0).Add(-time.Hour)
	l := y.rec.log
	size, err := l.Size()
	if err != nil {
		return nil, nil, err
	}
	cp, err := l.Checkpoint(size, key)
	if err != nil {
		return nil, nil, err
	}
	r, err := Stock(l, y.today, "", "")
	if err != nil {
		return nil, nil, err
	}
	return &Demoed{On: y.today, Cells: len(y.cells), Entries: size, Stock: r.Total.Cells, Paper: cp.Paper()}, cp, nil
}

// plan fills the agenda: what comes in, what is out of the ordinary, and what
// comes round.
func (y *demoYear) plan() {
	y.in(10, func() {
		for range 6 {
			y.addTin()
		}
	})
	carrier := map[triage.Date]bool{}
	for _, before := range []int{330, 240, 150, 60} {
		day := y.openBy(before)
		carrier[day] = true
		y.at(y.moment(day, 15*60+5), y.handOver)
	}
	var fates []demoFate
	for fate, n := range demoFates {
		for range n {
			fates = append(fates, demoFate(fate))
		}
	}
	y.rng.Shuffle(len(fates), func(i, j int) { fates[i], fates[j] = fates[j], fates[i] })
	var days []triage.Date
	for d := y.first; d < y.today; d++ {
		if y.open(d) {
			days = append(days, d)
		}
	}
	for _, fate := range fates {
		day := days[y.rng.IntN(len(days))]
		if day == days[len(days)-1] && fate != plain && fate != reused && fate != worn {
			day = days[len(days)-3] // what has to be looked at within a day is settled by the end of the year
		}
		minute := y.rng.IntN(demoCloses - demoOpens - 105)
		if carrier[day] {
			minute %= 200 // in the afternoon everybody packs
		}
		y.at(y.moment(day, demoOpens+35+minute), func() { y.arrive(y.newCell(fate)) })
	}
	y.tellStories()
	y.planRecords()
	y.planPapers()
	y.planEditions()
}

// examples returns the tags of a cell that two people lowered, of an isolated one that
// is in the shop, and of the container that holds it.
func (y *demoYear) examples() (some, isolated, kept string) {
	if y.lowered != nil {
		some = y.lowered.tag
	}
	for _, c := range y.cells {
		if !c.gone && c.class == triage.Isolate && isolated == "" {
			isolated, kept = c.tag, c.where
		}
	}
	return some, isolated, kept
}

// intake is the sheet of what waits on the day.
func (y *demoYear) intake() string {
	var waiting []*demoCell
	for _, fate := range []demoFate{plain, swollen, plain, reused, dented, plain, low, unread} {
		c := y.newCell(fate)
		waiting = append(waiting, c)
	}
	return demoSheet(waiting, y.moment(y.today, demoOpens+5))
}
