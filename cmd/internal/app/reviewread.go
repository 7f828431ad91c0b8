package app

import (
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/review"
)

// A reviewReader folds the entries of a log, in order, into a review.Snapshot.
type reviewReader struct {
	shop   *Shop
	rules  *ruleDays
	zone   *time.Location
	past   bool  // what is reviewed is a day that is over
	upTo   int64 // the last entry that is read; 0: all
	readTo int64 // up to which entry all were taken in while the log was verified; 0: not so
	site   string
	s      *review.Snapshot

	sites     map[string]bool
	firstSite string
	words     map[string]string // each word once: a long log names few people and places

	cells     map[string]*readCellOf
	alias     map[string]string
	boxes     map[string]*readBox
	ships     map[string]*readShip
	incidents map[string]*review.Incident
	people    map[string]*review.Person
	retracts  [][2]int64 // retractions, and what they take back
	issued    map[string]bool
	used      map[string]review.Source // where a tag was first named

	wrongFiles map[int64]string // by entry
	moreFiles  bool             // there are more than it holds
	broken     map[int64]bool   // entries with a trouble
}

func newReader(shop *Shop, zone *time.Location) *reviewReader {
	r := &reviewReader{shop: shop, zone: zone, s: &review.Snapshot{}, sites: map[string]bool{}, words: map[string]string{}, cells: map[string]*readCellOf{}, alias: map[string]string{},
		boxes: map[string]*readBox{}, ships: map[string]*readShip{}, incidents: map[string]*review.Incident{}, people: map[string]*review.Person{},
		issued: map[string]bool{}, used: map[string]review.Source{}, wrongFiles: map[int64]string{}, broken: map[int64]bool{}}
	s := r.s
	s.Solo = shop.solo()
	if shop.House != nil {
		s.Country, s.Hours = shop.House.Shop.Country, shop.House.Shop.Hours()
	}
	if shop.Recalls != nil {
		s.Recalls = &review.Recalls{ReadOn: shop.Recalls.ReadOn}
	}
	return r
}

// trouble notes what is wrong with an entry, once for each.
func (r *reviewReader) trouble(n int64, text string) {
	if n > 0 && r.broken[n] {
		return
	}
	r.broken[n] = true
	r.s.Troubles = append(r.s.Troubles, review.Trouble{Entry: n, Text: text})
}

// decode reads a body; one that cannot be read is a trouble.
func (r *reviewReader) decode(e *logbook.Entry, into any) bool {
	err := e.Body.Decode(into)
	if err != nil {
		r.trouble(e.Number, "its body cannot be read: "+err.Error())
	}
	return err == nil
}

// word returns a string that is kept once.
func (r *reviewReader) word(s string) string {
	if w, ok := r.words[s]; ok {
		return w
	}
	r.words[s] = s
	return s
}

// at is a time on the shop's clock, none where there is none. A clock that stood ahead
// must not take a step out of the time that is reviewed.
func (r *reviewReader) at(t time.Time) time.Time {
	switch {
	case t.IsZero():
		return t
	case t.After(r.s.Now):
		return r.s.Now
	}
	return t.In(r.zone)
}

func (r *reviewReader) source(e *logbook.Entry) review.Source {
	return review.Source{Entry: e.Number, Who: r.word(strings.TrimSpace(e.Who)), Bench: r.word(e.Bench), Happened: r.at(e.Happened), Entered: r.at(e.Entered), Clock: e.Clock}
}

// date reads a day of an entry, 0 for none; one that cannot be read is long past.
func (r *reviewReader) date(n int64, text string) triage.Date {
	if text == "" || text == notSaid {
		return 0
	}
	d, err := triage.ParseDate(text)
	if err != nil {
		r.trouble(n, "the date "+strconv.Quote(text)+" cannot be read")
		return 1
	}
	return d
}

// entries takes in the entries of a log up to a size. One goroutine reads ahead.
func (r *reviewReader) entries(l *logbook.Log, size int64) {
	type read struct {
		e   *logbook.Entry
		n   int64
		err error
	}
	ahead := make(chan read, 512)
	go func() {
		defer close(ahead)
		l.Salvage(1, size, func(e *logbook.Entry) { ahead <- read{e: e} }, func(n int64, err error) { ahead <- read{n: n, err: err} })
	}()
	for x := range ahead {
		if x.err != nil {
			r.trouble(x.n, x.err.Error())
			continue
		}
		r.entry(x.e)
	}
}

// entry takes in one entry. Each kind is in some list of the snapshot, but for what
// Snapshot says.
func (r *reviewReader) entry(e *logbook.Entry) {
	if r.past && e.Entered.After(r.s.Now) {
		return
	}
	r.sites[e.Site] = true
	x := &readEntry{Entry: e, source: r.source(e)}
	if r.firstSite == "" {
		r.firstSite = e.Site
		if r.s.From == 0 {
			r.s.From = max(yearBefore(r.s.To), min(x.source.Day(), r.s.To))
		}
	}
	r.tags(x) // of every site: a tag is issued once for all
	if r.site != "" && e.Site != r.site {
		return
	}
	r.numbers(x)
	var err error
	if x.states, err = e.Now(); err != nil {
		x.lost = true
		r.trouble(e.Number, "what holds after it cannot be read: "+err.Error())
	}
	switch e.Kind {
	case "inspection":
		r.round(x)
	case "incident":
		r.incident(x)
		r.boxSteps(x)
	case "record":
		r.record(x)
	case "sign-off":
		r.signOff(x)
	case "container":
		r.boxSteps(x)
	case "shipment":
		r.shipment(x)
		r.boxSteps(x)
		r.cellSteps(x)
	case "merge":
		r.cellSteps(x)
		r.merged(x)
	default: // about cells; a move is about containers too
		r.boxSteps(x)
		r.cellSteps(x)
	}
}

// A readEntry is an entry with what of it several lists want.
type readEntry struct {
	*logbook.Entry
	source review.Source
	states []logbook.State
	lost   bool // what holds after it cannot be read
	ship   *shipmentBody
}

// state returns what the entry says of a tag, nil for nothing.
func (x *readEntry) state(tag string) *logbook.State {
	i := slices.IndexFunc(x.states, func(s logbook.State) bool { return s.Tag == tag })
	if i < 0 {
		return nil
	}
	return &x.states[i]
}

// numbers counts the entry among all.
func (r *reviewReader) numbers(x *readEntry) {
	n := &r.s.Entries
	if n.Count++; n.First == 0 {
		n.First, n.Began = x.Number, x.source.Entered
	}
	n.Last = x.Number
	// Limits are whole hours: what took less is late by none.
	if x.Entered.Sub(x.Happened) >= time.Hour {
		n.Late = append(n.Late, x.source)
	}
	if x.Clock != "" {
		n.ClockBack = append(n.ClockBack, x.source)
	}
	switch x.Kind {
	case "correction":
		n.Corrections++
	case "retraction":
		n.Retractions++
	}
}

// tags notes which tags an entry names, and which it took from the log.
func (r *reviewReader) tags(x *readEntry) {
	for _, t := range x.Tags {
		if _, seen := r.used[t]; !seen {
			r.used[t] = x.source
		}
	}
	if len(x.Tags) > 0 && x.Issued() {
		for _, t := range x.Tags {
			r.issued[t] = true
		}
	}
}

// met notes that somebody had a cell in hand.
func (r *reviewReader) met(x *readEntry) {
	name := x.source.Who
	if name == "" {
		return
	}
	p := r.people[name]
	if p == nil {
		p = &review.Person{Name: name}
		p.Began = x.source
		r.people[name] = p
	}
	p.Entries++
	if day := x.source.Day(); p.First.Entry == 0 && day >= r.s.From && day <= r.s.To {
		p.First = x.source
	}
}

// finish puts what was gathered into the order of the snapshot.
func (r *reviewReader) finish() {
	s := r.s
	void := map[int64]bool{}
	for _, x := range slices.Backward(r.retracts) {
		if !void[x[0]] { // the last word counts: one that was itself taken back takes nothing back
			void[x[1]] = true
		}
	}
	for i := range s.Files {
		x := &s.Files[i]
		x.Wrong = r.wrongFiles[x.Entry] // a review verifies, and that reads each
		x.Read = x.Wrong != "" || !r.moreFiles
	}
	r.finishCells(void)
	r.finishRecords(void)
	for _, tag := range slices.Sorted(maps.Keys(r.boxes)) {
		s.Containers = append(s.Containers, r.boxes[tag].box)
	}
	for _, tag := range slices.Sorted(maps.Keys(r.ships)) {
		s.Shipments = append(s.Shipments, r.ships[tag].ship)
	}
	slices.SortFunc(s.Shipments, func(a, b review.Shipment) int { return int(a.Steps[0].Entry - b.Steps[0].Entry) })
	for _, name := range slices.Sorted(maps.Keys(r.people)) {
		s.People = append(s.People, *r.people[name])
	}
	for _, about := range slices.SortedFunc(maps.Keys(r.incidents), func(a, b string) int { return int(r.incidents[a].Entry - r.incidents[b].Entry) }) {
		s.Incidents = append(s.Incidents, *r.incidents[about])
	}
	for tag, first := range r.used {
		if !r.issued[tag] {
			s.Unissued = append(s.Unissued, review.Unissued{Source: first, Tag: tag})
		}
	}
	slices.SortFunc(s.Unissued, func(a, b review.Unissued) int {
		if a.Entry != b.Entry {
			return int(a.Entry - b.Entry)
		}
		return strings.Compare(a.Tag, b.Tag)
	})
	slices.SortStableFunc(s.Troubles, func(a, b review.Trouble) int { return int(a.Entry - b.Entry) })
}

// quoted lists names.
func quoted(names map[string]bool) string {
	var list []string
	for _, n := range slices.Sorted(maps.Keys(names)) {
		list = append(list, strconv.Quote(n))
	}
	return strings.Join(list, ", ")
}
