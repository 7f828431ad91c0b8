package app

import (
	"fmt"
	"strings"
	"time"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// dues gathers what is owed at a moment.
type dues struct {
	shop *Shop
	log  *logbook.Log
	now  time.Time // on the shop's clock
	day  triage.Date
	last triage.Date // of the days looked ahead
	list []exports.DueRow

	sources map[*triage.Interval]string // how each interval is told, made once
}

// OnDay returns now, or that time of day on a day given as text.
func OnDay(day string, now time.Time) (time.Time, error) {
	if day == "" {
		return now, nil
	}
	d, err := triage.ParseDate(day)
	if err != nil {
		return now, Usage("--on %q: %v", day, err)
	}
	t := d.In(time.UTC)
	return time.Date(t.Year(), t.Month(), t.Day(), now.Hour(), now.Minute(), now.Second(), now.Nanosecond(), now.Location()), nil
}

// Due lists what is owed now, and within so many days, the most pressing first.
func Due(shop *Shop, l *logbook.Log, now time.Time, days int) ([]exports.DueRow, error) {
	if days < 0 || days > 366 {
		return nil, Usage("--days %d: use a number from 0 to 366", days)
	}
	d := &dues{shop: shop, log: l, now: now, day: triage.DateOf(now), sources: map[*triage.Interval]string{}}
	d.last = d.day + triage.Date(days)
	for _, part := range []struct {
		what string
		add  func() error
	}{{"the rechecks", d.rechecks}, {"what is not secured", d.unsecured}, {"the accumulation clocks", d.clocks},
		{"the determinations", d.lapsing}, {"the rounds", d.rounds}, {"the incidents", d.incidents}, {"the training", d.training},
		{"the emergency number", d.number}, {"the shipments", d.receipts}, {"the local rules", d.locals}, {"the recall list", d.recalls},
		{"the rulebook's dates", d.changes}} {
		if err := part.add(); err != nil {
			return nil, fmt.Errorf("listing %s: %w", part.what, err)
		}
	}
	return d.list, nil
}

// put adds a row that is owed at a moment; to the minute says that the hour
// counts.
func (d *dues) put(at time.Time, minute bool, by *triage.Interval, x exports.DueRow) {
	day := triage.DateOf(at)
	if day > d.last {
		return
	}
	x.When, x.State = at, "soon"
	switch {
	case at.Before(triage.DueNow.AddDate(1, 0, 0)):
		x.At, x.State = "start not known", "overdue"
	case minute:
		x.At = at.Format("2006-01-02 15:04")
		if !at.After(d.now) {
			x.State = "overdue"
		} else if day == d.day {
			x.State = "due"
		}
	default:
		x.At = at.Format(time.DateOnly)
		if day < d.day {
			x.State = "overdue"
		} else if day == d.day {
			x.State = "due"
		}
	}
	if by != nil {
		text, ok := d.sources[by]
		if !ok {
			text = by.Text() + " (" + basisAnd(by.Source, string(by.Basis)) + ")"
			d.sources[by] = text
		}
		x.Rule, x.Source = by.ID, text
	}
	d.list = append(d.list, x)
}

// basisAnd writes a source with what it rests on, unless it says so itself.
func basisAnd(source, basis string) string {
	if strings.HasPrefix(source, strings.ReplaceAll(basis, "-", " ")) {
		return source
	}
	return basis + ": " + source
}

// putDay is put for what is owed on a day.
func (d *dues) putDay(day triage.Date, by *triage.Interval, x exports.DueRow) {
	d.put(day.In(d.now.Location()), false, by, x)
}

func (d *dues) hours() triage.Hours {
	if d.shop.House == nil {
		return triage.Hours{}
	}
	return d.shop.House.Shop.Hours()
}

func (d *dues) country() string {
	if d.shop.House == nil {
		return ""
	}
	return d.shop.House.Shop.Country
}

func (d *dues) rechecks() error {
	hours := d.hours()
	return d.log.Watched(d.day.String(), func(h *logbook.Held) error {
		if h.Handling == "" {
			return nil // a container without a lot
		}
		handling, condition := h.ClassOn(d.day.String())
		at, by := d.shop.Rulebook.NextLook(watchOf(&h.State, handling, d.now), hours)
		if at.IsZero() {
			return nil
		}
		x := exports.DueRow{What: "recheck", Tag: h.Tag, Text: fmt.Sprintf("look again: %s, %s", exports.HandlingText(handling.String()), condition), Where: where(h),
			Do: "pouchward recheck " + h.Tag + " same-or-worse --cell-c ... --ambient-c ..."}
		switch {
		case handling == triage.Emergency:
			x.Do = "from a distance; nobody touches it. pouchward emergency"
		case h.Count > 0:
			x.Text, x.Do = fmt.Sprintf("look over the lot of %d, none assessed", h.Count), "pouchward lot "+h.Tag+" --count ... (what is left)"
		}
		d.put(at, true, by, x)
		return nil
	})
}

// watchOf is what the next look at something hangs on, on the clock of now.
func watchOf(s *logbook.State, handling triage.Handling, now time.Time) triage.Watch {
	return triage.Watch{Handling: handling, Since: local(s.Since, now), Looked: local(s.Looked, now), LookAgainMin: int(s.LookIn)}
}

func local(t, like time.Time) time.Time {
	if t.IsZero() {
		return t
	}
	return t.In(like.Location())
}

// where says where something stands.
func where(h *logbook.Held) string {
	switch {
	case h.In != "":
		return "in " + triage.SpacedTag(h.In)
	case h.Place != "":
		return "at " + h.Place
	}
	return "place not said"
}

func (d *dues) unsecured() error {
	by := d.shop.Rulebook.Interval("made-safe-wait")
	return d.log.Unsecured(func(h *logbook.Held) error {
		if by == nil || h.Handling == triage.Emergency.String() {
			return nil // nobody touches it
		}
		since := local(h.Since, d.now)
		if h.Looked.After(since) {
			since = local(h.Looked, d.now)
		}
		do := "pouchward secure " + h.Tag + " --terminals --bag"
		if class, _ := triage.HandlingByName(h.Handling); class >= triage.Isolate {
			do += " --fill"
		}
		d.put(by.NextTime(since), true, by, exports.DueRow{What: "secured", Tag: h.Tag, Text: "not recorded as secured: " + exports.HandlingText(h.Handling), Where: where(h), Do: do})
		return nil
	})
}

// clocks lists the accumulation clocks that reached a step, or will. Cells of no
// container are told by place, by the oldest.
func (d *dues) clocks() error {
	steps := d.shop.Rulebook.Accumulation(d.day, d.country())
	if len(steps) == 0 {
		return nil
	}
	const slack = 3 // days by which months differ in length
	list, err := d.log.Clocks((d.last - (steps[0].On - d.day) + slack).String())
	if err != nil {
		return err
	}
	type group struct {
		clock logbook.Clock
		cells int64
	}
	var groups []group
	at := map[string]int{}
	for _, c := range list {
		key := "in " + c.Container
		if c.Container == "" {
			key = "at " + c.Place
		}
		i, seen := at[key]
		if !seen {
			at[key] = len(groups)
			groups = append(groups, group{c, c.Cells})
			continue
		}
		groups[i].cells += c.Cells // the list is by start: the first is the earliest
	}
	for _, g := range groups {
		d.clock(&g.clock, g.cells)
	}
	return nil
}

func (d *dues) clock(c *logbook.Clock, cells int64) {
	start, err := triage.ParseDate(c.Start)
	if err != nil {
		start = 0 // a date that cannot be read has run out
	}
	var now, next *triage.Accrual
	for _, a := range d.shop.Rulebook.Accumulation(start, d.country()) {
		if a.On <= d.day {
			now = &a
		} else if next == nil {
			next = &a
		}
	}
	x := exports.DueRow{What: "accumulation", Text: fmt.Sprintf("%s at %s, the oldest %s since %s (%s)", exports.Count(cells, "cell"), placeText(c.Place), triage.SpacedTag(c.Tag), c.Start, startText(c.StartBy)),
		Do: "ship it, or show why it is kept longer: it must only be to gather a quantity"}
	if c.Container == "" {
		x.Subject = c.Place
	} else {
		x.Tag, x.Text = c.Container, fmt.Sprintf("%s at %s, the oldest %s since %s (%s)", exports.Count(cells, "cell"), placeText(c.Place), triage.SpacedTag(c.Tag), c.Start, startText(c.StartBy))
		if c.Container == c.Tag {
			x.Text = fmt.Sprintf("accumulation began %s (%s)", c.Start, startText(c.StartBy))
		}
	}
	switch {
	case now == nil && next == nil:
		return
	case now == nil:
		d.putDay(next.On, next.By, x)
		return
	}
	if next != nil {
		x.Text += fmt.Sprintf("; %s on %s", strings.TrimPrefix(next.By.Text(), "after "), next.On)
	}
	d.putDay(now.On, now.By, x)
	// A step that was reached is as pressing as its rule says, not as it is late.
	row := &d.list[len(d.list)-1]
	row.State = map[string]string{"notice": "soon", "due": "due", "overdue": "overdue"}[now.By.Severity]
	row.Text = strings.TrimPrefix(now.By.Text(), "after ") + " reached: " + row.Text
}

func placeText(place string) string {
	if place == "" {
		return "a place not said"
	}
	return place
}

// startText says what a clock counts from.
func startText(by string) string {
	if by == "recorded" {
		return "the day it was first recorded; pulled_on was not said"
	}
	return by
}

func (d *dues) lapsing() error {
	return d.log.Lapsing(d.last.String(), func(h *logbook.Held) error {
		until, err := triage.ParseDate(h.Lapses)
		if err != nil {
			return fmt.Errorf("tag %s: %w", h.Tag, err)
		}
		d.putDay(until, nil, exports.DueRow{What: "determination", Tag: h.Tag, Where: where(h),
			Text: fmt.Sprintf("the determination lapses: after that %s, %s", exports.HandlingText(h.LapsedHandling), h.LapsedCondition),
			Do:   "pouchward determine " + h.Tag + " (two people, anew)"})
		return nil
	})
}
