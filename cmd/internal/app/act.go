package app

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// An Act says who did something, and when where that was not now.
type Act struct {
	Who      string
	Happened time.Time // zero: now
}

// An Outcome is what an entry, or a linked few, made of a cell.
type Outcome struct {
	Shop     *Shop
	Tag      string
	Was, Is  logbook.State   // before and after
	Verdict  *triage.Verdict // as judged after
	Refused  []string        // readings that were refused
	Receipts []logbook.Receipt
	Notes    []string // what must not be overlooked
}

// Worse reports whether the entry put a class up.
func (o *Outcome) Worse() bool {
	was, known := triage.HandlingByName(o.Was.Handling)
	is, _ := triage.HandlingByName(o.Is.Handling)
	return !known || is > was
}

// noteBack says when an entry brings a cell back: a tag misread would count one
// that a recycler has.
func (o *Outcome) noteBack() {
	if o.Was.Is == logbook.Out && o.Is.Is == logbook.Here {
		o.note("%s had left the shop by the log. This entry puts it back into the stock: is the tag read rightly?", triage.SpacedTag(o.Is.Tag))
	}
}

func (o *Outcome) note(format string, args ...any) {
	o.Notes = append(o.Notes, fmt.Sprintf(format, args...))
}

// onCell runs fn on a cell within one write: all its entries or none.
func (r *Recording) onCell(shop *Shop, tag string, fn func(*logbook.Tx, *Cell, *Outcome) error) (*Outcome, error) {
	tag, err := findTag(r.log, tag)
	if err != nil {
		return nil, err
	}
	if tag, err = cellTag(tag); err != nil {
		return nil, Usage("%v", err)
	}
	o := &Outcome{Shop: shop}
	err = r.log.Write(func(tx *logbook.Tx) error {
		c, err := readCell(tx, tag)
		if err != nil {
			return err
		}
		if c.Tag != tag {
			o.note("%s is another tag of %s.", triage.SpacedTag(tag), triage.SpacedTag(c.Tag))
		}
		o.Tag, o.Was = c.Tag, c.State
		if err := r.before(shop, c); err != nil {
			return err
		}
		err = fn(tx, c, o)
		o.Is = c.State
		o.noteBack()
		if err == nil {
			err = r.written(shop, c)
		}
		return err
	})
	if err != nil && !errors.Is(err, errTentative) {
		return nil, fmt.Errorf("not recorded: %w", err)
	}
	return o, nil
}

// known refuses a cell that nothing was ever recorded of.
func (c *Cell) known() error {
	if len(c.looks) == 0 && len(c.raised) == 0 {
		return Usage("no assessment of %s is on record; begin with pouchward assess --tag %s --record", triage.SpacedTag(c.Tag), c.Tag)
	}
	return nil
}

// put writes an entry about a cell, with what it makes of it.
func (r *Recording) put(tx *logbook.Tx, c *Cell, o *Outcome, act Act, kind string, body any) error {
	d, err := r.draft(o.Shop, act, kind, body, c.Tag)
	if err != nil {
		return err
	}
	if err := c.add(tx, &d); err != nil {
		return err
	}
	o.Verdict = c.judge(o.Shop)
	if b, ok := body.(correctionBody); ok {
		// What the corrected readings show holds like what a look shows.
		b.Handling, b.Condition, b.Findings = o.Verdict.Handling.String(), o.Verdict.Condition.String(), fired(o.Verdict)
		err := c.find(&logbook.Entry{Draft: d, Number: tx.Next()}, assessmentBody{Handling: b.Handling, Condition: b.Condition, Findings: b.Findings})
		if err != nil {
			return err
		}
		if d.Body, err = logbook.MakeBody(b); err != nil {
			return err
		}
	}
	c.State = c.after(o.Shop, o.Verdict, d.Happened, false)
	d.Now = []logbook.State{c.State}
	return o.append(tx, d)
}

func (o *Outcome) append(tx *logbook.Tx, d logbook.Draft) error {
	receipt, err := tx.Append(d)
	o.Receipts = append(o.Receipts, receipt)
	return err
}

// draft makes an entry about tags.
func (r *Recording) draft(shop *Shop, act Act, kind string, body any, tags ...string) (logbook.Draft, error) {
	if err := r.past(act.Happened); err != nil {
		return logbook.Draft{}, err
	}
	b, err := logbook.MakeBody(body)
	if err == nil {
		err = fits(b.Raw())
	}
	d := logbook.Draft{Kind: kind, Bench: r.bench, Who: strings.TrimSpace(act.Who), Happened: r.at(act.Happened), Tags: tags, Body: b}
	if shop != nil {
		d.Rulebook = shop.Rulebook.Digest
	}
	return d, err
}

// past refuses a time that is still to come.
func (r *Recording) past(at time.Time) error {
	if now := r.now(); at.After(now) {
		return Usage("%s is still to come: an entry is about what has happened", at.Format("2006-01-02 15:04"))
	}
	return nil
}

// needWho refuses an entry that must name a person.
func (a Act) needWho(what string) error {
	if strings.TrimSpace(a.Who) == "" {
		return Usage("%s names the person: --who INITIALS", what)
	}
	return nil
}

// ParseHappened reads when something happened: 2026-11-24 17:40, or with a T
// between, or a time alone for today, in the shop's zone; or RFC 3339.
func ParseHappened(text string, now time.Time) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	t, err := parseMoment(text, now)
	if err == nil && t.Year() < firstYear {
		return time.Time{}, Usage("--happened %q: a log tells of nothing before %d", text, firstYear)
	}
	if err == nil && t.Year() > lastYear {
		return time.Time{}, Usage("--happened %q: a log tells of nothing after %d", text, lastYear)
	}
	return t, err
}

// firstYear and lastYear are those of a date in a reading too (triage.ParseDate).
const (
	firstYear = 1980
	lastYear  = 2200
)

func parseMoment(text string, now time.Time) (time.Time, error) {
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t.In(now.Location()), nil
	}
	for _, form := range []string{"2006-01-02 15:04", "2006-01-02T15:04", "2006-01-02"} {
		if t, err := time.ParseInLocation(form, text, now.Location()); err == nil {
			return t, nil
		}
	}
	if t, err := time.ParseInLocation("15:04", text, now.Location()); err == nil {
		y, m, d := now.Date()
		return time.Date(y, m, d, t.Hour(), t.Minute(), 0, 0, now.Location()), nil
	}
	return time.Time{}, Usage("--happened %q: use 2026-11-24 17:40, or 17:40 for today", text)
}

// Raise puts a cell up at once; it needs no reading and no reason. The condition
// follows from the handling unless it is given.
func (r *Recording) Raise(shop *Shop, act Act, tag string, to triage.Handling, condition triage.ConditionClass, note string) (*Outcome, error) {
	implied := map[triage.Handling]triage.ConditionClass{triage.Hold: triage.Undetermined, triage.Isolate: triage.Damaged, triage.Emergency: triage.Reacting}
	least, ok := implied[to]
	if !ok {
		return nil, Usage("a raise goes to hold, isolate or emergency; lowering takes a determination")
	}
	body := raiseBody{Handling: to.String(), Condition: max(condition, least).String(), Note: note}
	return r.onCell(shop, tag, func(tx *logbook.Tx, c *Cell, o *Outcome) error {
		return r.put(tx, c, o, act, "raise", body)
	})
}

// Secure records what was done to make cells safe to keep; what was not done
// stays owed.
func (r *Recording) Secure(shop *Shop, act Act, tag string, done securedBody) (*Outcome, error) {
	if done == (securedBody{}) {
		return nil, Usage("say what was done: --terminals, --bag, --fill, or --all")
	}
	return r.onCell(shop, tag, func(tx *logbook.Tx, c *Cell, o *Outcome) error {
		if err := c.known(); err != nil {
			return err
		}
		p := c.secured
		done = securedBody{done.Terminals || p.Terminals, done.Bag || p.Bag, done.Fill || p.Fill}
		if err := r.put(tx, c, o, act, "secured", done); err != nil {
			return err
		}
		owed := c.owed(o.Verdict.Handling)
		switch {
		case o.Verdict.Handling == triage.Emergency:
			o.note("%s is an EMERGENCY: nobody touches it. Away, warn, call.", triage.SpacedTag(c.Tag))
		case len(owed) > 0:
			o.note("Still owed: %s.", strings.Join(owed, "; "))
		}
		return nil
	})
}

// owed lists what is not recorded as done.
func (c *Cell) owed(h triage.Handling) (list []string) {
	p := c.secured
	for _, x := range []struct {
		done bool
		what string
	}{{p.Terminals, "terminals insulated"}, {p.Bag, "one cell, one bag that is no metal"},
		{p.Fill || h < triage.Isolate, "dry fill that neither burns nor conducts"}} {
		if !x.done {
			list = append(list, x.what)
		}
	}
	return list
}

// Secured are the three things that make a cell safe to keep.
func Secured(terminals, bag, fill bool) securedBody { return securedBody{terminals, bag, fill} }

// Recheck records a look at a cell that was found the same or worse, with the
// readings taken. It keeps the class or puts it up; it never lowers one.
func (r *Recording) Recheck(shop *Shop, act Act, tag, foundAs string, given []Given) (*Outcome, error) {
	if foundAs != "same" && foundAs != "worse" {
		return nil, Usage("say how it was found: same or worse")
	}
	return r.onCell(shop, tag, func(tx *logbook.Tx, c *Cell, o *Outcome) error {
		if len(c.looks) == 0 {
			return Usage("no assessment of %s is on record; begin with pouchward assess --tag %s --record", triage.SpacedTag(c.Tag), c.Tag)
		}
		d, err := r.draft(shop, act, "recheck", struct{}{})
		if err != nil {
			return err
		}
		given = slices.DeleteFunc(joined(given), func(g Given) bool { return g.Field == triage.Tag })
		if act.Who != "" {
			given = append(given, Given{triage.Who, act.Who})
		}
		a := c.lookedAt(shop, given, foundAs, d.Happened)
		if d, err = r.lookEntry(tx, a, c, false, foundAs); err != nil {
			return err
		}
		if foundAs == "same" && d.Now[0].Looked.Equal(d.Happened) {
			d.Now[0].LookIn = ruleLook(&a.Verdict) // the class's own look comes by the schedule
		}
		c.State, o.Verdict, o.Refused = d.Now[0], &a.Verdict, a.Refused
		return o.append(tx, d)
	})
}

// lookedAt judges a recheck: the last full reading with what is new, held to the
// class that the cell had.
func (c *Cell) lookedAt(shop *Shop, given []Given, foundAs string, at time.Time) *Assessment {
	a := &Assessment{Shop: shop, given: given, at: at, earlier: c.numbers()}
	own, refused := readGiven(given)
	a.Refused = refused
	_, full, last := c.readings(len(c.looks))
	k := shop.Case()
	hours := hoursBetween(last, at)
	k.Reading = lookedAgain(&full, &own, hours)
	c.bind(shop, &k, &own, at)
	if as := own; c.dayOld(len(c.looks), &as, at) {
		k.Raises = append(k.Raises, driftOf(shop, &k)...)
		k.Reading = lookedAgain(&full, &as, hours)
	}
	k.Reading[triage.Tag] = triage.Value{State: triage.Known, Text: c.Tag}

	h, _ := triage.HandlingByName(c.State.Handling)
	cond, _ := triage.ConditionByName(c.State.Condition)
	if h == triage.Emergency && saysQuiet(&own) {
		h, cond = triage.Isolate, min(cond, triage.Liable)
	}
	k.Raises = append(k.Raises, triage.Raise{Handling: h, Condition: cond, By: c.standingBy()})
	if foundAs == "worse" {
		up := triage.Raise{Handling: triage.Isolate, Condition: triage.Damaged, By: "this recheck, which found it worse"}
		if h >= triage.Isolate {
			up.Handling, up.Condition = triage.Emergency, triage.Reacting
		}
		k.Raises = append(k.Raises, up)
	}
	shop.Rulebook.Judge(&k, &a.Verdict)
	return a
}

// standingBy names the entry by which the class of a cell stands.
func (c *Cell) standingBy() string {
	if n := len(c.said); n > 0 {
		return fmt.Sprintf("entry %d of the log", c.said[n-1].entry)
	}
	return "the class that it had"
}

// ruleLook is the time in minutes after which a rule that fired wants another
// look within the hour, as for warmth; 0 for none. A longer one is left to the
// schedule: a recheck would else always bring the next.
func ruleLook(v *triage.Verdict) int64 {
	least := 60
	for i := range v.HandlingFindings {
		if f := &v.HandlingFindings[i]; f.State == triage.Fired && f.Rule != nil && f.Rule.LookAgainMin > 0 {
			least = min(least, f.Rule.LookAgainMin)
		}
	}
	return int64(least % 60)
}
