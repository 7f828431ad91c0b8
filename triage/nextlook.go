package triage

import "time"

// A Watch is a cell that has to be looked at again. Its times are on the clock
// of the shop: their Location is the shop's.
type Watch struct {
	Handling Handling
	Since    time.Time // since when the cell has this class; zero is not known
	Looked   time.Time // the last look; zero is none
	// LookAgainMin is what the verdict given at Looked asks for, in minutes. It
	// is 0 where that look gave no verdict: else every recheck would bring the next.
	LookAgainMin int
}

// NextLook returns when the cell has next to be looked at, and the interval that
// says so; the zero time when no look is owed, and a nil interval where the
// verdict's own LookAgainMin comes first.
//
// Each interval of the class sets times after Since: one, or one every so often.
// A look at or after such a time settles it, a look before does not; the earliest
// that is not settled is the answer, be it past and be the shop closed by then. A
// house interval adds its times to those of the shipped one, which stay: so it can
// never put a look off. While Since is not known the look is due at once: at
// Looked, or else DueNow.
func (rb *Rulebook) NextLook(w Watch, h Hours) (at time.Time, by *Interval) {
	take := func(i *Interval) {
		p := i.unsettled(&w, h)
		if !p.IsZero() && (at.IsZero() || p.Before(at)) {
			at, by = p, i
		}
	}
	for _, i := range rb.intervals {
		if i.What != "recheck" || i.classes>>w.Handling&1 == 0 {
			continue
		}
		take(i)
		if i.shipped != nil {
			take(i.shipped)
		}
	}
	if w.LookAgainMin <= 0 {
		return at, by
	}
	again, from := DueNow, w.Looked
	if from.IsZero() {
		from = w.Since
	}
	if !from.IsZero() {
		again = from.Add(time.Duration(w.LookAgainMin) * time.Minute)
	}
	if at.IsZero() || again.Before(at) {
		return again, nil
	}
	return at, by
}

// unsettled returns the first time of the interval that no look has settled, the
// zero time for none.
func (i *Interval) unsettled(w *Watch, h Hours) time.Time {
	if w.Since.IsZero() {
		if w.Looked.IsZero() {
			return DueNow
		}
		return w.Looked
	}
	k := 1
	if i.Every != "" {
		k = i.amount.times(w.Looked.Sub(w.Since))
	}
	for ; ; k++ {
		p := i.amount.after(w.Since, k, h)
		if p.After(w.Looked) {
			return p
		}
		if i.Every == "" {
			return time.Time{}
		}
	}
}

// times returns how often the amount has surely passed in d, at least 1.
func (a amount) times(d time.Duration) int {
	longest := map[amountUnit]time.Duration{minutes: time.Minute, days: 26 * time.Hour, months: 32 * 24 * time.Hour}[a.unit]
	return max(1, int(d/(longest*time.Duration(a.n))))
}
