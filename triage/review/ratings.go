package review

import (
	"slices"
	"time"

	"pouchward/triage"
)

// labelFields are what is read off a label and bears on a rating.
var labelFields = [...]triage.FieldID{triage.Kind, triage.Chemistry, triage.Series, triage.Parallel, triage.DesignationText,
	triage.NominalV, triage.RatedMah, triage.TypicalMah, triage.LabelWh}

// A label is what the entries of one cell say of its label so far, and which entry
// said each.
type label struct {
	r  triage.Reading
	by [triage.NumFields]int64
}

// take has it know one more step, and reports whether that bears on the label. What was taken back was a slip and says nothing; a
// reading that could not be taken does not wipe out one that was.
func (l *label) take(s *Step) (changed bool) {
	switch {
	case s.Void:
	case s.Look != nil:
		for _, f := range labelFields {
			if v := s.Look.Get(f); v.State == triage.Known || l.r[f].State != triage.Known && v.State != triage.Blank {
				l.r[f], l.by[f], changed = v, s.Entry, true
			}
		}
	case s.Correction != nil:
		f, ok := triage.FieldByName(s.Correction.Field)
		if ok && slices.Contains(labelFields[:], f) && l.by[f] == s.Correction.Of {
			_ = l.r.Set(f, s.Correction.New) // what is refused is then not known
			return true
		}
	}
	return changed
}

// printed is the rating on the label, computed the one of nominal voltage and rated
// capacity; 0 where it is not known.
func (l *label) printed() triage.Micro {
	if v := &l.r[triage.LabelWh]; v.State == triage.Known {
		return v.Num
	}
	return 0
}

func (l *label) computed() triage.Micro {
	v, c := &l.r[triage.NominalV], &l.r[triage.RatedMah]
	if v.State != triage.Known || c.State != triage.Known {
		return 0
	}
	return triage.Energy(v.Num, c.Num)
}

// entries are those that say the ratings.
func (l *label) entries() (list []int64) {
	for _, f := range [...]triage.FieldID{triage.LabelWh, triage.NominalV, triage.RatedMah, triage.TypicalMah} {
		if l.r[f].State == triage.Known {
			list = append(list, l.by[f])
		}
	}
	return list
}

// used is the largest rating, by which it is judged, as triage has it; 0 where it is
// not known, or where a part that could not be read may be the larger.
func (l *label) used() triage.Micro {
	for _, f := range [...]triage.FieldID{triage.LabelWh, triage.NominalV, triage.RatedMah, triage.TypicalMah} {
		if l.r[f].State == triage.Refused {
			return 0
		}
	}
	wh := max(l.printed(), l.computed())
	if v, c := &l.r[triage.NominalV], &l.r[triage.TypicalMah]; v.State == triage.Known && c.State == triage.Known {
		wh = max(wh, triage.Energy(v.Num, c.Num))
	}
	return wh
}

// limitWhere returns the first limit of the record, in Wh, of which something is so:
// of those of a cell, of a battery, of both where the label leaves it open; 0 for none.
func (p *pass) limitWhere(l *label, so func(limit triage.Micro) bool) triage.Micro {
	for i, names := range [2][2]string{{"cell_wh", "cell_over_wh"}, {"battery_wh", "battery_over_wh"}} {
		for _, name := range names { // small, and small on the road alone
			limit := triage.Micro(p.limit(name)) * triage.One
			if !so(limit) {
				continue
			}
			unit := triage.Derive(&l.r)[triage.FUnit]
			if unit.State != triage.Known || (triage.FactTable[triage.FUnit].Words[unit.Lo] == "cell") == (i == 0) {
				return limit
			}
		}
	}
	return 0
}

// labelled goes through the cells, each once, and finds for how long something is said
// of a label; is gives no text where there is nothing to say. has tells whether there
// was something to go by.
func (p *pass) labelled(of func(*Cell) string, is func(*label) string, has func(*label) bool, without string) {
	photos, unread := p.index.photos, int64(0)
	for i := range p.Cells {
		c := &p.Cells[i]
		var l label
		for _, f := range saidOf(c, &l, is) {
			at, ok := photos[c.Tag]
			if ok && !at.After(f.Since) {
				continue
			}
			if ok && (f.Open() || at.Before(f.Until)) {
				f.Until = at
			}
			f.Subject = of(c)
			p.find(f)
		}
		if has(&l) {
			p.checked++
		} else {
			unread++
		}
	}
	p.cannotTell(unread, "%s", without)
}

// saidOf reads the label of a cell step by step. What is said of it is over when the
// cell leaves, or when a label read anew or a correction says otherwise.
func saidOf(c *Cell, l *label, is func(*label) string) (list []Finding) {
	says, text := "", "" // of the label, and of the label while the cell is here
	var at time.Time
	for i := range c.Steps {
		s := &c.Steps[i]
		if l.take(s) {
			says = is(l)
		}
		at = later(at, s.Happened)
		was := text
		if text = ""; s.Now.Is == Here {
			text = says
		}
		if text == was {
			continue
		}
		if was != "" {
			list[len(list)-1].Until = at
		}
		if text != "" {
			list = append(list, Finding{Subject: c.Tag, Tags: []string{c.Tag}, Entries: l.entries(), Since: at, Text: triage.SpacedTag(c.Tag) + ": " + text})
		}
	}
	return list
}

// photos has when the first photo of each cell was attached. A file that is missing or
// changed shows nothing.
func (x *index) photosOf(s *Snapshot) map[string]time.Time {
	first := map[string]time.Time{}
	seen := func(tag string, at time.Time) {
		if c := x.cells[tag]; c != nil {
			tag = c.Tag
		}
		if t, ok := first[tag]; !ok || at.Before(t) {
			first[tag] = at
		}
	}
	of := map[int64]string{} // the cells of the entries that a file is of
	for i := range s.Files {
		of[s.Files[i].OfEntry] = ""
	}
	for i := range s.Cells {
		for j := range s.Cells[i].Steps {
			n := s.Cells[i].Steps[j].Entry
			if _, wanted := of[n]; wanted {
				of[n] = s.Cells[i].Tag
			}
		}
	}
	for i := range s.Files {
		f := &s.Files[i]
		if f.What != "photo" || f.Wrong != "" {
			continue
		}
		for _, tag := range f.Tags {
			seen(tag, f.Happened)
		}
		if tag := of[f.OfEntry]; tag != "" {
			seen(tag, f.Happened)
		}
	}
	return first
}
