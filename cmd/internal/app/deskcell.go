package app

import (
	"cmp"
	"io"
	"slices"
	"time"

	"pouchward/exports"
	"pouchward/exports/label"
	"pouchward/exports/papers"
	"pouchward/exports/pdf"
	"pouchward/logbook"
	"pouchward/triage"
)

// LookAt is when to look again, on the wall clock; "" for never.
func LookAt(v *triage.Verdict, now time.Time) string {
	at := now.Add(time.Duration(v.LookAgain) * time.Minute)
	switch {
	case v.LookAgain <= 0:
		return ""
	case v.LookAgain >= 24*60:
		return at.Format("15:04 on 2006-01-02")
	}
	return at.Format("15:04")
}

// Panel fills the panel of an assessment, with the local question that is open.
func (d *Desk) Panel(a *Assessment) *exports.Panel {
	opt := exports.CardOptions{At: LookAt(&a.Verdict, d.Now()), FromPart: a.FromPart, PartCells: a.PartCells}
	opt.Local = d.local(a.Shop, &a.Verdict)
	return exports.NewPanel(a.Shop.Rulebook, &a.Verdict, a.Refused, opt)
}

// PanelOf fills the panel of a verdict on a cell as it stands: the next look counts
// from the last one.
func (d *Desk) PanelOf(shop *Shop, v *triage.Verdict, s *logbook.State) *exports.Panel {
	p := exports.NewPanel(shop.Rulebook, v, nil, exports.CardOptions{Local: d.local(shop, v)})
	p.Again = d.nextLook(shop, v, s)
	return p
}

// local is the open question that bears on a verdict, nil for none. Where the
// answers cannot be read none is taken for granted.
func (d *Desk) local(shop *Shop, v *triage.Verdict) *triage.Local {
	var answers map[string]*answered
	read := false
	return shop.Rulebook.LocalBearing(v, func(id string) bool {
		if !read {
			read = true
			answers, _ = readAnswers(d.log)
		}
		return answers[id].holds(shop.Rulebook.On)
	})
}

// A DeskCell is a cell as it stands.
type DeskCell struct {
	Tag                  string
	Verdict              *triage.Verdict
	State                logbook.State
	Where                string
	Terminals, Bag, Fill bool     // done
	Owed                 []string // of the three
	Entries              []*logbook.Entry
	Void                 map[int64]int64 // entries retracted, and the retraction
	Panel                *exports.Panel
	Holds                []exports.Hold // what keeps it in its class
	Mistakable           []int64        // entries that were corrected or retracted
}

// Cell returns a cell as it stands: never better than its last entry says.
func (d *Desk) Cell(shop *Shop, tag string) (*DeskCell, error) {
	tag, err := findTag(d.log, tag)
	if err != nil {
		return nil, err
	}
	if tag, err = cellTag(tag); err != nil {
		return nil, Usage("%v", err)
	}
	c, err := readCell(d.log, tag)
	if err == nil && len(c.Entries) == 0 { // one whose only look was taken back has what its entries say
		err = c.known()
	}
	if err != nil {
		return nil, err
	}
	v := c.atWorst(shop)
	x := &DeskCell{Tag: c.Tag, Verdict: v, State: c.State, Terminals: c.secured.Terminals, Bag: c.secured.Bag, Fill: c.secured.Fill,
		Entries: c.Entries, Void: c.void}
	if v.Handling < triage.Emergency { // of what reacts nothing is asked of hands
		x.Owed = c.owed(v.Handling)
	}
	x.Where, err = standsAt(d.log, &c.State)
	x.Panel = d.PanelOf(shop, v, &c.State)
	x.Holds = c.heldBy(shop)
	for _, e := range c.Entries {
		if c.fixed[e.Number] || c.void[e.Number] != 0 {
			x.Mistakable = append(x.Mistakable, e.Number)
		}
	}
	return x, err
}

// nextLook says when a cell on record is to be looked at again: counted from its last
// look, not from when somebody reads it.
func (d *Desk) nextLook(shop *Shop, v *triage.Verdict, s *logbook.State) string {
	const what = ": heat, smell, hiss, growth. Eyes first, hands last."
	now := d.Now()
	facts := shop.facts()
	at, _ := shop.Rulebook.NextLook(watchOf(s, v.Handling, now), facts.Hours())
	switch {
	case s.Is != logbook.Here || at.IsZero():
		return ""
	case at.Equal(triage.DueNow) || !at.After(now):
		return "Look now" + what
	case at.Sub(now) >= 24*time.Hour:
		return "Look at " + at.In(now.Location()).Format("15:04 on 2006-01-02") + what
	}
	return "Look at " + at.In(now.Location()).Format("15:04") + what
}

// WriteLabels writes labels as PDF and returns what must be said beside them.
func (d *Desk) WriteLabels(w io.Writer, shop *Shop, tags []string, paper pdf.Paper) (notes []string, err error) {
	x, err := Labels(shop, d.log, tags, d.Now())
	if err != nil {
		return nil, err
	}
	return x.Notes, label.Write(w, x.List, paper, shop.Rulebook.On, "Shop labels")
}

// WritePapers writes the papers of a shipment as PDF, on the paper that is usual in the
// country, and returns its tag. They are those of PrintPapers.
func (d *Desk) WritePapers(w io.Writer, tag string) (string, error) {
	x, shop, err := gatherPapers(d.log, tag, d.day, func(day string) (*Shop, error) { return OpenShop(cmp.Or(day, d.day), d.house, d.Now()) })
	if err != nil {
		return "", err
	}
	paper, err := (&Print{}).sheetPaper(shop)
	if err != nil {
		return "", err
	}
	return x.Tag, papers.New(x).Write(w, paper)
}

// Likeness finds an assessment that was recorded after the first so many entries of
// the log, at a bench, with just these readings: what a form was recorded as, when
// the program ended before it could say so. 0 is none.
func (d *Desk) Likeness(after int64, bench string, given []Given) (entry int64, tag string, err error) {
	want := asTyped(given)
	err = d.recent(func(e *logbook.Entry) bool {
		if e.Number <= after || entry > 0 {
			return false
		}
		if e.Kind != "assessment" || e.Bench != bench || len(e.Tags) == 0 {
			return true
		}
		var body assessmentBody
		if e.Body.Decode(&body) != nil {
			return true
		}
		if has, err := givenOf(body.Readings); err == nil && slices.Equal(asTyped(has), want) {
			entry, tag = e.Number, e.Tags[0]
		}
		return true
	})
	return entry, tag, err
}

// asTyped are the readings as an entry would hold them, but for the tag, in the
// order of the fields.
func asTyped(given []Given) (list []string) {
	for _, g := range joined(given) {
		if g.Field != triage.Tag {
			list = append(list, triage.Fields[g.Field].Name+"="+g.Text)
		}
	}
	slices.Sort(list)
	return list
}

// OfferPart is OfferPart on the log of the desk. What was read of a part is kept until
// the log grows: a form asks at every change.
func (d *Desk) OfferPart(given []Given) (*PartOffer, error) {
	return offerPart(d.log, given, func(part string) (*PartMemory, error) {
		size, err := d.log.Size()
		if err != nil {
			return nil, err
		}
		d.mu.Lock()
		defer d.mu.Unlock()
		if d.part.memory != nil && d.part.name == part && d.part.size == size {
			return d.part.memory, nil
		}
		m, err := ReadPart(d.log, part)
		d.part.name, d.part.size, d.part.memory = part, size, m
		return m, err
	})
}

// TookOver returns values of which a form says that some fields were taken over from
// part memory. One that reads otherwise than the offer was typed since, and is no
// longer among them.
func (d *Desk) TookOver(given []Given, fields []string) (Answers, error) {
	x := Answers{Given: given}
	if len(fields) == 0 {
		return x, nil
	}
	own := slices.DeleteFunc(slices.Clone(given), func(g Given) bool { return slices.Contains(fields, triage.Fields[g.Field].Name) })
	o, err := d.OfferPart(own)
	if err != nil || o == nil {
		return x, err
	}
	for i := range o.Facts {
		p := &o.Facts[i]
		if slices.Contains(given, Given{p.Field, p.Text(p.Value)}) && slices.Contains(fields, triage.Fields[p.Field].Name) {
			x.FromPart = append(x.FromPart, triage.Fields[p.Field].Name)
		}
	}
	if len(x.FromPart) > 0 {
		x.PartCells = o.Memory.Cells
	}
	return x, nil
}
