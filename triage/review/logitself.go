package review

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"pouchward/triage"
)

// logDamaged tells what did not verify. A log that nobody verified is not one that
// verifies.
func logDamaged(p *pass) {
	if p.Verified {
		p.checked = p.Entries.Count
	} else {
		p.cannotTell(max(1, p.Entries.Count), "entries not verified")
	}
	for i := range p.Troubles {
		t := &p.Troubles[i]
		f := Finding{Subject: "log", Text: t.Text}
		if t.Entry != 0 {
			f.Subject, f.Entries = fmt.Sprintf("entry %d", t.Entry), []int64{t.Entry}
		}
		p.find(f)
	}
}

// fileGone tells of attached files that are missing or changed. What was not read
// again is not said to be there.
func fileGone(p *pass) {
	var unread int64
	for i := range p.Files {
		f := &p.Files[i]
		if f.Wrong == "" && !f.Read {
			unread++
			continue
		}
		p.checked++
		if f.Wrong != "" {
			p.find(Finding{Subject: fmt.Sprintf("entry %d", f.Entry), Tags: f.Tags, Entries: []int64{f.Entry}, Since: f.Entered,
				Text: fmt.Sprintf("%s %s of %s: %s", cmp.Or(f.What, "file"), f.Name, triage.DateOf(f.Entered), f.Wrong)})
		}
	}
	p.cannotTell(unread, "attached files not read again")
}

// tagUnissued tells of tags that did not come from the log.
func tagUnissued(p *pass) {
	p.checked = int64(len(p.Cells) + len(p.Containers) + len(p.Shipments))
	for i := range p.Unissued {
		u := &p.Unissued[i]
		p.find(Finding{Subject: u.Tag, Tags: []string{u.Tag}, Entries: []int64{u.Entry}, Since: u.Entered,
			Text: fmt.Sprintf("%s was first written on %s (%s) and no entry issued it", triage.SpacedTag(u.Tag), minute(u.Entered), cmp.Or(u.Who, "nobody named"))})
	}
}

// clockBack tells of entries that were made while the clock stood before the entry
// before them. Their own time is not to be trusted, so that the period is asked of the
// entries before them.
func clockBack(p *pass) {
	p.checked = p.Entries.Count
	for i := range p.Entries.ClockBack {
		s := &p.Entries.ClockBack[i]
		at := later(s.Entered, p.enteredBefore(s.Entry))
		if at.After(p.Now) {
			at = time.Time{} // the clock stood ahead before: when it was cannot be told, so it is told
		}
		text := fmt.Sprintf("entry %d says %s", s.Entry, minute(s.Entered))
		if s.Clock != "" {
			text += ", " + stoodBack(s.Clock) + " before the entry before it"
		}
		p.find(Finding{Subject: fmt.Sprintf("entry %d", s.Entry), Entries: []int64{s.Entry}, Since: at, Until: at, Text: text})
	}
}

// stoodBack says how far a clock stood back, as the entry has it where that is of
// another form.
func stoodBack(clock string) string {
	d, err := time.ParseDuration(strings.ReplaceAll(strings.TrimPrefix(clock, "-"), " ", ""))
	if err != nil || d < time.Minute {
		return clock
	}
	return fmt.Sprintf("%d min", d.Round(time.Minute)/time.Minute)
}

// enteredBefore is the latest time at which an entry about a cell with a lower number
// was made.
func (p *pass) enteredBefore(entry int64) (at time.Time) {
	for i := range p.Cells {
		for j := range p.Cells[i].Steps {
			if s := &p.Cells[i].Steps[j]; s.Entry < entry {
				at = later(at, s.Entered)
			}
		}
	}
	return at
}

// enteredLate tells, by who made them, of entries that were made long after what they
// tell. The entry itself counts for the period.
func enteredLate(p *pass) {
	p.checked = p.Entries.Count
	type sum struct {
		entries     []int64
		since, last time.Time
		worst       *Source
	}
	by := map[string]*sum{}
	var names []string
	for i := range p.Entries.Late {
		s := &p.Entries.Late[i]
		if s.late() <= p.hours("after_h") || !p.within(s.Entered) {
			continue
		}
		who := cmp.Or(s.Who, "nobody named")
		if by[who] == nil {
			by[who] = &sum{since: s.Entered, worst: s}
			names = append(names, who)
		}
		x := by[who]
		if x.entries, x.last = append(x.entries, s.Entry), later(x.last, s.Entered); s.late() > x.worst.late() {
			x.worst = s
		}
	}
	for _, who := range names {
		x := by[who]
		text := fmt.Sprintf("%s: %d entries made more than %d h after what they tell; the longest is entry %d, %d h after %s", who, len(x.entries),
			p.limit("after_h"), x.worst.Entry, int(x.worst.late().Hours()), minute(x.worst.Happened))
		if len(x.entries) == 1 {
			text = fmt.Sprintf("%s: entry %d was made %d h after what it tells, which was on %s", who, x.worst.Entry, int(x.worst.late().Hours()), minute(x.worst.Happened))
		}
		p.find(Finding{Subject: who, Entries: x.entries, Since: x.since, Until: x.last, Text: text})
	}
}

func (s *Source) late() time.Duration { return s.Entered.Sub(s.Happened) }
