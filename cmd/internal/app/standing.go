package app

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// solo reports whether one person may determine in this shop.
func (s *Shop) solo() bool { return s.House != nil && s.House.Shop.Solo }

// apply adds to a case what is known of the cell when somebody looks at it at a
// time.
func (c *Cell) apply(shop *Shop, k *triage.Case, at time.Time) {
	before := 0
	for before < len(c.looks) && !c.looks[before].entry.Happened.After(at) {
		before++
	}
	if before > 0 {
		merged, _, last := c.readings(before)
		k.Earlier, k.HoursBetween = &merged, hoursBetween(last, at)
	}
	own := k.Reading
	c.bind(shop, k, &own, at)
	near := *k
	if c.dayOld(before, &k.Reading, at) {
		k.Raises = append(k.Raises, driftOf(shop, &near)...)
	}
}

// driftOf returns what a case shows of a drift, as raises.
func driftOf(shop *Shop, k *triage.Case) (raises []triage.Raise) {
	var v triage.Verdict
	shop.Rulebook.Judge(k, &v)
	for _, list := range [][]triage.Finding{v.HandlingFindings, v.ConditionFindings} {
		for i := range list {
			if f := &list[i]; f.Rule != nil && f.State == triage.Fired && f.Shown != nil && f.Shown.Fact == triage.FDrift {
				h, cond := f.Rule.Outcome()
				raises = append(raises, triage.Raise{Handling: h, Condition: cond, By: "the drift since the last look"})
			}
		}
	}
	return raises
}

// dayOld gives a new voltage the last one of the first n looks that is a day or
// more older to be compared with, and reports whether that is another than the
// nearest: looks an hour apart would else hide a drift that a day shows, and a
// second voltage a day later would never come.
func (c *Cell) dayOld(n int, r *triage.Reading, at time.Time) bool {
	if r[triage.OcvV].State != triage.Known || r[triage.EarlierOcvV].State != triage.Blank || r[triage.EarlierH].State != triage.Blank {
		return false
	}
	var old triage.Value
	var hours triage.Micro
	nearest := true
	for i := range c.looks[:n] {
		l := &c.looks[i]
		v := l.reading[triage.OcvV]
		if v.State != triage.Known {
			continue
		}
		if h := hoursBetween(l.entry.Happened, at); h >= dayHours {
			old, hours, nearest = v, h, true
		} else {
			nearest = false
		}
	}
	if old.State == triage.Blank || nearest {
		return false
	}
	r[triage.EarlierOcvV] = old
	r[triage.EarlierH] = triage.Value{State: triage.Known, Num: hours, Hi: hours}
	return true
}

// dayHours is how far apart two voltages must be to show a drift (common
// practice, as in the handling table).
const dayHours triage.Micro = 24_000_000

// bind adds the determinations and the holds to a case; own is what the look at
// hand read, at a time, nil where there is none.
func (c *Cell) bind(shop *Shop, k *triage.Case, own *triage.Reading, at time.Time) {
	if own == nil || !saysQuiet(own) {
		at = time.Time{}
	}
	list := c.standing(shop, at)
	slices.SortStableFunc(list, func(a, b held) int {
		return cmp.Or(cmp.Compare(b.handling, a.handling), cmp.Compare(b.condition, a.condition))
	})
	for _, h := range list {
		// One entry that holds a cell to a class says it for all that come to less.
		if !slices.ContainsFunc(k.Raises, func(r triage.Raise) bool {
			return r.Handling >= h.handling && r.Condition >= h.condition && r.Waste >= h.casing
		}) {
			k.Raises = append(k.Raises, triage.Raise{Handling: h.handling, Condition: h.condition, Waste: h.casing, By: fmt.Sprintf("entry %d of the log", h.entry)})
		}
	}
	k.Determinations = append(k.Determinations, c.determinations(shop, own)...)
}

// determinations returns those that stand. One speaks of what was seen until
// then: a sign that a later look, or the one at hand, reports again needs another.
func (c *Cell) determinations(shop *Shop, own *triage.Reading) (list []triage.Determination) {
	for _, d := range c.decided(shop) {
		x := d.determination()
		since := func(r *triage.Reading) {
			again := firedAlone(shop, r)
			x.SetsAside = slices.DeleteFunc(x.SetsAside, func(a triage.Aside) bool {
				return a.Seen.State != triage.Known && slices.Contains(again, a.Rule)
			})
		}
		for i := range c.looks {
			l := &c.looks[i]
			if l.entry.Number > d.entry.Number {
				since(&l.reading)
				continue
			}
			// What a later correction brought was not judged either.
			if j := slices.IndexFunc(l.changes, func(x change) bool { return x.entry > d.entry.Number }); j >= 0 {
				news := newsOf(shop, &l.changes[j].before, &l.reading)
				x.SetsAside = slices.DeleteFunc(x.SetsAside, func(a triage.Aside) bool { return a.Seen.State != triage.Known && slices.Contains(news, a.Rule) })
			}
		}
		if own != nil {
			since(own)
		}
		list = append(list, x)
	}
	return list
}

// newsOf lists the rules that fire on a corrected reading and did not before it,
// or did for another field: one more thing that cannot be told is news.
func newsOf(shop *Shop, before, after *triage.Reading) []string {
	judged := firedAlone(shop, before)
	more := false
	for f := range after {
		more = more || after[f].State.Cannot() && !before[f].State.Cannot()
	}
	return slices.DeleteFunc(firedAlone(shop, after), func(id string) bool {
		return slices.Contains(judged, id) && !(more && id == "undiagnosable")
	})
}

// firedAlone lists the rules that fire on a reading alone.
func firedAlone(shop *Shop, r *triage.Reading) (ids []string) {
	k := shop.Case()
	k.Reading = *r
	var v triage.Verdict
	shop.Rulebook.Judge(&k, &v)
	return fired(&v)
}

// fired lists the rules that fired for the hands, the condition or the casing.
func fired(v *triage.Verdict) (ids []string) {
	for _, list := range [][]triage.Finding{v.HandlingFindings, v.ConditionFindings, v.WasteFindings} {
		for i := range list {
			if f := &list[i]; f.Rule != nil && f.State == triage.Fired && !slices.Contains(ids, f.Rule.ID) {
				ids = append(ids, f.Rule.ID)
			}
		}
	}
	return ids
}

// judge judges the cell by all that is known of it, without a new look.
func (c *Cell) judge(shop *Shop) *triage.Verdict {
	_, v := c.asItStands(shop)
	return v
}

// asItStands returns the case that the cell makes by all that is known of it, and
// its verdict.
func (c *Cell) asItStands(shop *Shop) (triage.Case, *triage.Verdict) {
	k := shop.Case()
	if n := len(c.looks); n > 0 {
		_, k.Reading, _ = c.readings(n)
	}
	k.Reading[triage.Tag] = triage.Value{State: triage.Known, Text: c.Tag}
	c.bind(shop, &k, nil, time.Time{})
	v := new(triage.Verdict)
	shop.Rulebook.Judge(&k, v)
	if f := c.lastFloor(shop); f.Handling > v.Handling || f.Condition > v.Condition {
		k.Raises = append(k.Raises, f)
		shop.Rulebook.Judge(&k, v)
	}
	return k, v
}

// lastFloor is the class that the last look found, as far as no hold stands for
// it. Neither a move nor a correction or a retraction of that look makes it better:
// the next look does, or a determination that lowers what it found.
func (c *Cell) lastFloor(shop *Shop) (r triage.Raise) {
	var last *look
	for i := range c.looks {
		if l := &c.looks[i]; !l.recheck {
			last = l
		}
	}
	holds := c.holds(shop)
	decided := c.decided(shop)
	for i := range c.found {
		f := &c.found[i]
		if last != nil && f.entry < last.entry.Number && !f.at.After(last.entry.Happened) {
			continue // a later look has been
		}
		if c.mistaken(f.entry, decided) {
			continue
		}
		stands, explained := triage.Raise{}, triage.Raise{}
		for _, id := range f.body.Findings {
			rule := shop.Rulebook.RuleByID(id)
			if rule == nil {
				continue
			}
			h, cond := rule.Outcome()
			widen(&explained, h, cond)
			if !slices.ContainsFunc(decided, func(d decision) bool { return d.lowers(f.entry, id, rule) }) {
				widen(&stands, h, cond)
			}
		}
		for _, h := range holds {
			if h.entry <= f.entry {
				widen(&explained, h.handling, h.condition)
			}
		}
		if f.kind == "recheck" || f.kind == "correction" {
			// These carry on what was found before them, and end with it.
			for j := range c.found[:i] {
				h, _ := triage.HandlingByName(c.found[j].body.Handling)
				widen(&explained, h, c.found[j].condition)
			}
		}
		// What it said beyond the rules that fired: held as it said it.
		if h, _ := triage.HandlingByName(f.body.Handling); h > explained.Handling || f.condition > explained.Condition {
			widen(&stands, h, f.condition)
		}
		widen(&r, min(stands.Handling, triage.Isolate), min(stands.Condition, triage.Undetermined))
		r.By = fmt.Sprintf("entry %d of the log", f.entry)
	}
	return r
}

func widen(r *triage.Raise, h triage.Handling, c triage.ConditionClass) {
	r.Handling, r.Condition = max(r.Handling, h), max(r.Condition, c)
}

// lowers reports whether a determination lowers a rule that fired at an entry.
func (d *decision) lowers(entry int64, id string, rule *triage.Rule) bool {
	return d.entry.Number > entry && rule.LoweredWith(d.body.Expert) &&
		slices.ContainsFunc(d.body.Lowers, func(l loweredRule) bool { return l.Rule == id })
}

// after returns the state of the cell after an entry made at a time; looked says
// that somebody looked at the cell.
func (c *Cell) after(shop *Shop, v *triage.Verdict, at time.Time, looked bool) logbook.State {
	was := c.State
	s := logbook.State{Tag: c.Tag, Is: logbook.Here, Handling: v.Handling.String(), Condition: v.Condition.String(), Size: v.Size.String(),
		Waste: v.Waste.String(), LookIn: was.LookIn, Place: c.place, In: c.in, Since: was.Since, Looked: was.Looked}
	if c.out {
		s.Is = logbook.Out
	}
	if e := v.Facts[triage.FEnergy]; e.State == triage.Known {
		s.MicroWh = int64(e.Lo)
	}
	if m := v.Facts[triage.FScaleMass]; m.State == triage.Known {
		s.MilliGram = int64(m.Hi / 1000)
	}
	s.Start, s.StartBy = c.start(shop, v, at)
	if looked && at.After(s.Looked) {
		s.Looked, s.LookIn = at, int64(v.LookAgain)
	}
	if before, ok := triage.HandlingByName(was.Handling); !ok || v.Handling > before || v.Handling < triage.Hold || s.Since.IsZero() {
		s.Since = at
	}
	c.lapse(shop, &s)
	later, _ := triage.HandlingByName(s.LapsedHandling)
	p := c.secured
	s.MadeSafe = p.Terminals && p.Bag && (p.Fill || max(v.Handling, later) < triage.Isolate)
	return s
}

// start returns when accumulation began: when it became waste, else when it came
// out of the device, which is earlier, else the day on which it was first
// recorded. A day still to come is none. What is kept for reuse has no clock.
//
// A clock that runs is not set later by one hand: the earlier day stays, until two
// people say that the entry which gave it was a slip.
func (c *Cell) start(shop *Shop, v *triage.Verdict, at time.Time) (day, by string) {
	if v.Waste == triage.NotWaste {
		return "", ""
	}
	day, by = c.firstDay(at), "recorded"
	for _, f := range []triage.FieldID{triage.WasteOn, triage.PulledOn} {
		if x := v.Reading[f]; x.State == triage.Known && triage.Date(x.Num) <= triage.DateOf(at) {
			day, by = triage.Date(x.Num).String(), triage.Fields[f].Name
			break
		}
	}
	slip := slices.ContainsFunc(c.decided(shop), func(d decision) bool { return len(d.body.Mistaken) > 0 })
	if was := c.State.Start; was != "" && was < day && !slip {
		return was, c.State.StartBy
	}
	return day, by
}

// firstDay is the day on which the cell was first recorded.
func (c *Cell) firstDay(at time.Time) string {
	first := at
	for _, e := range c.Entries {
		if e.Kind != "record" { // a block of printed tags names tags that no cell has yet
			first = e.Local(e.Happened)
			break
		}
	}
	return first.Format(time.DateOnly)
}

// lapse says until when the answers hold, where a determination that lapses
// makes them better than they would be.
func (c *Cell) lapse(shop *Shop, s *logbook.State) {
	until := ""
	for _, d := range c.decided(shop) {
		if d.body.Until != "" && (until == "" || d.body.Until < until) {
			until = d.body.Until
		}
	}
	if until == "" {
		return
	}
	without := *c
	without.decisions = slices.DeleteFunc(slices.Clone(c.decisions), func(d decision) bool { return d.body.Until != "" })
	v := without.judge(shop)
	if h, cond := v.Handling.String(), v.Condition.String(); h != s.Handling || cond != s.Condition {
		s.Lapses, s.LapsedHandling, s.LapsedCondition = until, h, cond
	}
}
