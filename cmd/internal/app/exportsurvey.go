package app

import (
	"cmp"
	"math"
	"slices"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// A survey is what must be known of the whole log before a row is written: the
// kind of each entry, what was taken back or put right later, the stock month by
// month, and who is named. It grows by one byte an entry, by the slips, the months
// and the people, and not by the cells: those have a fixed place each.
type survey struct {
	kinds  []uint8          // by number, from 1: kindCode
	void   map[int64]int64  // entries taken back, and by which
	fixed  map[int64]int64  // entries put right, and by which last
	last   map[string]int64 // the last entry about each shipment
	counts map[string]int64 // entries by kind
	unread []int64          // entries that cannot be read
	within int64            // entries that happened within the period, where there is one
	began  time.Time        // the first entry
	latest time.Time        // the latest by the clock, of those entered by the end of today
	months map[int]*monthChange
	held   heldNow
	slips  []slip
	wrong  error // the first entry of which something could not be read
}

// kindCode numbers the kinds of entries; 0 is none.
func kindCode(kind string) uint8 { return uint8(slices.Index(logbook.Kinds, kind) + 1) }

// A monthChange is by how much the stock of each handling class changed within a
// month.
type monthChange [triage.Emergency + 1]holding

// A holding is cells with what is known of them.
type holding struct {
	cells, rated, weighed int64
	microWh, milliGram    int64
}

func (h *holding) add(o holding, sign int64) {
	h.cells += sign * o.cells
	h.rated += sign * o.rated
	h.weighed += sign * o.weighed
	h.microWh += sign * o.microWh
	h.milliGram += sign * o.milliGram
}

// heldNow is what stands under each tag, in as few bytes as a million cells allow:
// fixed places by the key of the tag, and a map for what does not fit.
type heldNow struct {
	class   []uint8 // handling + 1; 0 nothing
	microWh []uint32
	mg      []uint32
	month   []uint16          // of the last change, from the month in which the log began
	big     map[int64]holding // lots, and cells of more than four kilowatt-hours
}

func newHeldNow() heldNow {
	n := triage.TagKeys()
	return heldNow{make([]uint8, n), make([]uint32, n), make([]uint32, n), make([]uint16, n), map[int64]holding{}}
}

func (h *heldNow) get(key int64) (class triage.Handling, x holding, ok bool) {
	if h.class[key] == 0 {
		return 0, x, false
	}
	class = triage.Handling(h.class[key] - 1)
	if x, ok := h.big[key]; ok {
		return class, x, true
	}
	x = holding{cells: 1, microWh: int64(h.microWh[key]), milliGram: int64(h.mg[key])}
	x.know()
	return class, x, true
}

func (h *heldNow) put(key int64, class triage.Handling, x holding) {
	delete(h.big, key)
	h.class[key] = uint8(class) + 1
	if x.cells != 1 || x.microWh > math.MaxUint32 || x.milliGram > math.MaxUint32 {
		h.big[key] = x
		return
	}
	h.microWh[key], h.mg[key] = uint32(x.microWh), uint32(x.milliGram)
}

func (h *heldNow) drop(key int64) {
	delete(h.big, key)
	h.class[key] = 0
}

// know counts the cells whose rating and mass are known.
func (h *holding) know() {
	if h.microWh > 0 {
		h.rated = h.cells
	}
	if h.milliGram > 0 {
		h.weighed = h.cells
	}
}

// begin begins the survey.
func (e *exporter) begin() {
	e.survey = &survey{kinds: []uint8{0}, void: map[int64]int64{}, fixed: map[int64]int64{}, last: map[string]int64{},
		counts: map[string]int64{}, months: map[int]*monthChange{}, held: newHeldNow()}
	if e.ask.Redact {
		e.people = newPeople()
	}
}

// surveyed takes in an entry while the log is verified: whether what cannot be read of
// it may be passed over is known only after that.
func (e *exporter) surveyed(entry *logbook.Entry) {
	if err := e.meet(entry); e.survey.wrong == nil {
		e.survey.wrong = err
	}
	if (e.from != 0 || e.to != 0) && e.in(entry) {
		e.survey.within++
	}
}

// look ends the survey. Of a log that does not verify it is made anew, of every entry
// that is there.
func (e *exporter) look() error {
	if !e.report.Sound() {
		e.begin()
		err := e.log.Scan(1, e.report.Tree.Size, func(r logbook.RawEntry) error {
			entry, err := e.parse(&r)
			if err != nil || entry == nil {
				e.survey.unread = append(e.survey.unread, r.Number)
				return err
			}
			e.surveyed(entry)
			return e.ctx.Err()
		})
		if err != nil {
			return err
		}
	}
	s := e.survey
	s.held = heldNow{} // nobody asks it again
	if e.people != nil {
		e.people.settle()
	}
	s.settle()
	if e.damage == "" && s.wrong != nil {
		return s.wrong
	}
	return e.ctx.Err()
}

// A slip is a retraction or a correction.
type slip struct {
	entry, of int64
	retracts  bool
}

// settle finds which slips count: the last word does, so one that was itself taken
// back does not.
func (s *survey) settle() {
	for _, x := range slices.Backward(s.slips) {
		switch {
		case s.void[x.entry] != 0:
		case x.retracts:
			s.void[x.of] = x.entry
		case s.fixed[x.of] == 0:
			s.fixed[x.of] = x.entry
		}
	}
}

// meet takes in an entry, all of it that can be read, and says what could not.
func (e *exporter) meet(entry *logbook.Entry) (wrong error) {
	s := e.survey
	fail := func(err error) { wrong = cmp.Or(wrong, err) }
	for int64(len(s.kinds)) <= entry.Number {
		s.kinds = append(s.kinds, 0)
	}
	s.kinds[entry.Number] = kindCode(entry.Kind)
	s.counts[entry.Kind]++
	if s.began.IsZero() {
		s.began = entry.Local(entry.Entered)
	}
	if entry.Entered.After(s.latest) && entry.Entered.Before(e.tomorrow) {
		s.latest = entry.Entered
	}
	switch entry.Kind {
	case "retraction", "correction":
		var b struct {
			Entry int64 `json:"entry"`
		}
		fail(e.decode(entry, &b))
		s.slips = append(s.slips, slip{entry.Number, b.Entry, entry.Kind == "retraction"})
	case "shipment":
		_, about, err := entry.Topic()
		fail(err)
		s.last[about] = entry.Number
	}
	states, err := entry.Now()
	fail(err)
	for i := range states {
		s.holds(entry, &states[i])
	}
	if e.people != nil {
		fail(e.meetPeople(entry))
	}
	return wrong
}

// holds notes what an entry makes of the stock in the month in which it happened,
// or in that of the tag's last change where it was entered late; what happened
// before the log began counts from then.
func (s *survey) holds(entry *logbook.Entry, is *logbook.State) {
	if _, _, err := triage.CheckTag(is.Tag); err != nil {
		return // of a damaged log
	}
	key, began := triage.TagKey(is.Tag), monthOf(s.began)
	since := min(max(monthOf(entry.Local(entry.Happened))-began, int(s.held.month[key])), math.MaxUint16)
	s.held.month[key] = uint16(since)
	m := s.months[began+since]
	if m == nil {
		m = new(monthChange)
		s.months[began+since] = m
	}
	if class, was, ok := s.held.get(key); ok {
		m[class].add(was, -1)
		s.held.drop(key)
	}
	class, known := triage.HandlingByName(is.Handling)
	if is.Is != logbook.Here || !known {
		return
	}
	x := holding{cells: max(is.Count, 1), microWh: is.MicroWh, milliGram: is.MilliGram}
	x.know()
	m[class].add(x, 1)
	s.held.put(key, class, x)
}

// monthOf counts months from the year 0.
func monthOf(t time.Time) int { return t.Year()*12 + int(t.Month()) - 1 }
