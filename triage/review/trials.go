package review

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pouchward/triage"
)

// emergencyNumber looks for hand-overs whose emergency telephone had not answered
// within the interval before. It is over when it answered after all, or the shipment is
// no longer on its way.
func emergencyNumber(p *pass) {
	by := p.Rules.Interval("emergency-number-test")
	var untold, silent int64
	p.departures(func(d *departure) {
		h := d.handover()
		in := p.within(d.step.Happened)
		switch {
		case d.step.Handover == nil || by == nil:
			if in {
				untold++
			}
			return
		case unsaid(h.Phone) && !h.Papers:
			return
		}
		last, why := p.lastRing(d, by.Next)
		if why == "" {
			if in && sameNumber(last.Number, h.Phone) {
				p.checked++
			} else if in {
				silent++
			}
			return
		}
		if in {
			p.checked++
		}
		f := Finding{Subject: d.ship.Tag, Tags: d.tags(), Entries: []int64{d.step.Entry}, Since: d.step.Happened, Until: d.ended(), Text: d.name() + " " + why}
		if last != nil {
			f.Entries = append(f.Entries, last.Entry)
		}
		if at := p.rungAfter(d); !at.IsZero() && (f.Until.IsZero() || at.Before(f.Until)) {
			f.Until = at
		}
		p.find(f)
	})
	p.cannotTell(untold, "hand-overs of which the telephone, or how often it is tried, is not known")
	p.cannotTell(silent, "hand-overs before which a telephone answered, and the entry does not say which")
}

// lastRing is the last trial of the telephone before a hand-over, with what is wrong
// with it, blank for nothing. A trial of no number said may have been of this one.
func (p *pass) lastRing(d *departure, next func(triage.Date) triage.Date) (last *Trial, why string) {
	phone := d.handover().Phone
	if unsaid(phone) {
		return nil, "with papers, and names no emergency telephone"
	}
	for i := range p.Trials {
		t := &p.Trials[i]
		if t.Instrument != "" || t.Void || t.Happened.After(d.step.Happened) || !sameNumber(t.Number, phone) && !unsaid(t.Number) {
			continue
		}
		if last == nil || !t.Happened.Before(last.Happened) {
			last = t
		}
	}
	switch {
	case last == nil:
		return nil, fmt.Sprintf("with the emergency telephone %s, never tried before", phone)
	case !last.Passed:
		return last, fmt.Sprintf("with the emergency telephone %s, which had not answered on %s", phone, minute(last.Happened))
	case next(last.Day()) < d.step.Day():
		return last, fmt.Sprintf("with the emergency telephone %s, last tried on %s, %s before", phone, last.Day(), plural(int64(d.step.Day()-last.Day()), "day"))
	}
	return last, ""
}

// rungAfter is when the telephone first answered after a hand-over; zero: it did not.
// What ends a finding must name the number.
func (p *pass) rungAfter(d *departure) (at time.Time) {
	for i := range p.Trials {
		t := &p.Trials[i]
		if t.Instrument != "" || t.Void || !t.Passed || !t.Happened.After(d.step.Happened) || !sameNumber(t.Number, d.handover().Phone) {
			continue
		}
		if at.IsZero() || t.Happened.Before(at) {
			at = t.Happened
		}
	}
	return at
}

// sameNumber compares the figures of two telephone numbers.
func sameNumber(a, b string) bool {
	figures := func(s string) string {
		return strings.Map(func(r rune) rune {
			if r >= '0' && r <= '9' {
				return r
			}
			return -1
		}, s)
	}
	return figures(a) != "" && figures(a) == figures(b)
}

// readWith are the fields of a look that are read with an instrument of a unit. What
// was read at an earlier look, or off a label, is not among them.
var readWith = map[string][]triage.FieldID{
	"V":  {triage.OcvV, triage.CellVolts},
	"mm": {triage.ThicknessMm, triage.ThicknessEndsMm},
	"C":  {triage.CellC, triage.AmbientC, triage.EarlierCellC},
	"g":  {triage.MassG},
	"mΩ": {triage.ResistanceMohm}, "mAh": {triage.MeasuredMah},
}

// instrument looks for readings between a check that an instrument failed and the next
// that it passed. A check that nobody judged neither fails nor passes.
func instrument(p *pass) {
	var unjudged, unknown int64
	type key struct{ instrument, unit string } // a meter that fails in volts may pass in ohms
	failing := map[key]*failure{}
	var runs []*failure
	for _, t := range byTime(p.Trials, func(t *Trial) *Source { return &t.Source }) {
		if t.Instrument == "" || t.Void {
			continue
		}
		in := p.within(t.Happened)
		k := key{t.Instrument, strings.TrimPrefix(t.Unit, "°")}
		x := failing[k]
		fields, known := readWith[k.unit]
		switch {
		case t.Unjudged:
			if in {
				unjudged++
			}
			continue
		case t.Passed && x != nil:
			x.until = t
			delete(failing, k)
		case !t.Passed && !known:
			if in {
				unknown++
			}
			continue
		case !t.Passed && x == nil:
			x = &failure{from: t, fields: fields}
			failing[k], runs = x, append(runs, x)
		}
		if in {
			p.checked++
		}
	}
	for _, x := range runs {
		p.readSince(x)
	}
	p.cannotTell(unjudged, "instrument checks that were not judged")
	p.cannotTell(unknown, "failed checks of instruments whose unit no reading is taken in")
}

// A failure is the time from a failed check to the next passed one, nil: it lasts.
type failure struct {
	from, until *Trial
	fields      []triage.FieldID
}

// readSince tells what was read in that time. A look that was taken back counts for
// nothing any more, so nothing rests on its readings.
func (p *pass) readSince(x *failure) {
	f := Finding{Subject: x.from.Instrument, Entries: []int64{x.from.Entry}}
	var looks int64
	var first *Step
	for i := range p.Cells {
		c := &p.Cells[i]
		for j := range c.Steps {
			s := &c.Steps[j]
			if s.Look == nil || s.Void || s.Happened.Before(x.from.Happened) || x.until != nil && !s.Happened.Before(x.until.Happened) || !s.Look.readAny(x.fields) {
				continue
			}
			if looks++; len(f.Tags) == 0 || f.Tags[len(f.Tags)-1] != c.Tag {
				f.Tags = append(f.Tags, c.Tag)
			}
			f.Entries = append(f.Entries, s.Entry)
			if first == nil || s.Happened.Before(first.Happened) {
				first = s
			}
		}
	}
	if first == nil {
		return
	}
	f.Since = first.Happened
	f.Text = fmt.Sprintf("%s failed its check on %s, and %s with readings in %s followed, the first on %s", x.from.Instrument, minute(x.from.Happened),
		plural(looks, "look"), x.from.Unit, minute(first.Happened))
	if x.until != nil {
		f.Until, f.Entries = x.until.Happened, append(f.Entries, x.until.Entry)
		f.Text += ", until it passed on " + minute(x.until.Happened)
	}
	p.find(f)
}

// readAny reports whether one of the fields was read, and not taken over from a part.
func (l *Look) readAny(fields []triage.FieldID) bool {
	return slices.ContainsFunc(fields, func(f triage.FieldID) bool {
		return l.Get(f).State == triage.Known && !slices.Contains(l.FromPart, triage.Fields[f].Name)
	})
}
