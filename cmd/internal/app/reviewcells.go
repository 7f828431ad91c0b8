package app

import (
	"cmp"
	"encoding/json"
	"maps"
	"slices"

	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/review"
)

// A readCellOf is a cell, or a lot, on its way into the snapshot.
type readCellOf struct {
	cell review.Cell
	said stateSaid
}

// stateSaid is where the state that holds of a cell was said, and by which rules.
type stateSaid struct {
	logbook.State
	entry  int64
	day    triage.Date
	digest string
}

// cellOf returns what is gathered of a cell under any of its tags.
func (r *reviewReader) cellOf(tag string) *readCellOf {
	for range maxTies {
		to, ok := r.alias[tag]
		if !ok {
			break
		}
		tag = to
	}
	c := r.cells[tag]
	if c == nil {
		c = &readCellOf{cell: review.Cell{Tag: tag}}
		r.cells[tag] = c
	}
	return c
}

// cellSteps adds a step to each cell that an entry names.
func (r *reviewReader) cellSteps(x *readEntry) {
	look, step := r.detail(x)
	named := false
	for _, tag := range x.Tags {
		if kind, _ := triage.TagNumber(tag); kind != triage.CellTag {
			continue
		}
		named = true
		c := r.cellOf(tag)
		if n := len(c.cell.Steps); n > 0 && c.cell.Steps[n-1].Entry == x.Number {
			continue // by another of its tags
		}
		s := step
		s.Now = r.stateAfter(x, c)
		c.cell.Steps = append(c.cell.Steps, s)
		r.part(c, look, s.Correction)
	}
	if named && (x.ship == nil || x.ship.Did != "received" && x.ship.Did != "settled") {
		r.met(x) // a receipt is read at a desk
	}
}

// stateAfter is what holds of a cell after an entry: what it says, else as before. Of
// an entry that cannot be read the worst is taken.
func (r *reviewReader) stateAfter(x *readEntry, c *readCellOf) review.State {
	var now review.State
	if n := len(c.cell.Steps); n > 0 {
		now = c.cell.Steps[n-1].Now
	}
	if s := x.state(c.cell.Tag); s != nil {
		c.said = stateSaid{State: *s, entry: x.Number, day: triage.DateOf(x.source.Entered), digest: x.Rulebook}
		return r.state(x.Number, s)
	}
	if x.lost {
		now.Is, now.Handling, now.Condition, now.Waste = review.Here, triage.Emergency, triage.Reacting, triage.CasingBreached
	}
	return now
}

// lookBody is what a review reads of an assessment or a recheck.
type lookBody struct {
	assessmentBody
	Open   []string    `json:"open_findings"`
	Energy json.Number `json:"energy_wh"`
	Part   string      `json:"part"`
}

// detail reads what an entry says, by its kind.
func (r *reviewReader) detail(x *readEntry) (look *lookBody, s review.Step) {
	s = review.Step{Source: x.source, Kind: r.word(x.Kind)}
	switch x.Kind {
	case "assessment", "recheck":
		look = new(lookBody)
		if r.decode(x.Entry, look) {
			s.Look = r.look(x.Entry, look)
		}
	case "determination":
		var b determinationBody
		if r.decode(x.Entry, &b) {
			s.Decision = &review.Decision{Raises: b.Condition != "", Mistaken: b.Mistaken, Criteria: b.Criteria, Reason: b.Reason, Second: r.word(b.Second), Expert: b.Expert}
			for _, l := range b.Lowers {
				s.Decision.Lowers = append(s.Decision.Lowers, r.word(l.Rule))
			}
		}
	case "secured":
		var b securedBody
		if r.decode(x.Entry, &b) {
			s.Secured = &review.Secured{Terminals: b.Terminals, Bag: b.Bag, Fill: b.Fill}
		}
	case "move":
		var b moveBody
		if r.decode(x.Entry, &b) {
			s.Move = &review.Move{To: r.word(b.To), Out: r.word(b.Out), Because: b.Because}
		}
	case "correction":
		var b correctionBody
		if r.decode(x.Entry, &b) {
			s.Correction = &review.Correction{Of: b.Entry, Field: r.word(b.Field), Old: b.Old, New: b.New, Reason: r.word(b.Reason)}
		}
	case "retraction":
		var b retractionBody
		if r.decode(x.Entry, &b) {
			s.Retracts = b.Entry
			r.retracts = append(r.retracts, [2]int64{x.Number, b.Entry})
		}
	case "shipment":
		if x.ship != nil {
			s.Shipment, s.Did = r.word(x.ship.About), r.word(x.ship.Did)
		}
	}
	return look, s
}

// look reads what was read. A field whose text was refused is asked for, as it was; a
// sign that such a text names counts.
func (r *reviewReader) look(e *logbook.Entry, b *lookBody) *review.Look {
	l := &review.Look{Found: b.Found, Findings: r.kept(b.Findings, b.AsWritten), Open: r.kept(b.Open), FromPart: r.kept(b.FromPart)}
	l.Handling = spelt(r, e.Number, "handling", b.Handling, triage.HandlingByName, triage.Emergency)
	l.Condition = spelt(r, e.Number, "condition", b.Condition, triage.ConditionByName, triage.Reacting)
	if wh, err := triage.ParseQuantity(b.Energy.String(), "", false); err == nil {
		l.EnergyWh = wh
	}
	given, err := givenOf(b.Readings)
	if err != nil {
		r.trouble(e.Number, err.Error())
	}
	reading, _ := readGiven(given) // refused then as now
	n := 0
	for f := range reading {
		if reading[f].State != triage.Blank {
			n++
		}
	}
	l.Given = make([]review.Given, 0, n)
	for f := range reading {
		if v := reading[f]; v.State != triage.Blank {
			v.Text = r.word(v.Text)
			l.Given = append(l.Given, review.Given{Field: triage.FieldID(f), Value: v})
		}
	}
	return l
}

// kept joins lists of words that are each kept once.
func (r *reviewReader) kept(lists ...[]string) (all []string) {
	for _, list := range lists {
		for _, w := range list {
			all = append(all, r.word(w))
		}
	}
	return all
}

// part notes the part number that a look, or a correction of one, says.
func (r *reviewReader) part(c *readCellOf, look *lookBody, fixed *review.Correction) {
	switch {
	case look != nil && look.Part != "":
		c.cell.Part = r.word(look.Part)
	case fixed != nil && fixed.Field == triage.Fields[triage.Part].Name:
		c.cell.Part = r.word(triage.PartKey(fixed.New))
	}
}

// spelt reads a word; one that this program does not know is the worst there is.
func spelt[T any](r *reviewReader, n int64, what, text string, byName func(string) (T, bool), worst T) T {
	x, ok := byName(text)
	if !ok {
		r.trouble(n, "the "+what+" \""+text+"\" is not one that this program knows: the worst is taken")
		return worst
	}
	return x
}

// isWords are the words of logbook.State.Is.
var isWords = map[string]review.Is{logbook.Here: review.Here, logbook.Out: review.Out, logbook.Alias: review.Alias}

// state takes over what holds of a cell or a lot.
func (r *reviewReader) state(n int64, s *logbook.State) review.State {
	is, ok := isWords[s.Is]
	if !ok {
		r.trouble(n, "it does not say whether "+triage.SpacedTag(s.Tag)+" is in the shop")
	}
	x := review.State{Is: is, Count: s.Count, MicroWh: s.MicroWh, MilliGram: s.MilliGram, Start: r.date(n, s.Start), StartBy: r.word(s.StartBy), Since: r.at(s.Since),
		Looked: r.at(s.Looked), LookIn: s.LookIn, Place: r.word(s.Place), In: r.word(s.In), MadeSafe: s.MadeSafe, Lapses: r.date(n, s.Lapses)}
	if is == review.Nowhere || is == review.Alias {
		return x
	}
	x.Handling = spelt(r, n, "handling", s.Handling, triage.HandlingByName, triage.Emergency)
	x.Condition = spelt(r, n, "condition", s.Condition, triage.ConditionByName, triage.Reacting)
	x.Waste = triage.WasteUnknown
	if s.Size != "" {
		x.Size = spelt(r, n, "size", s.Size, triage.SizeByName, triage.SizeUnknown)
	}
	if s.Waste != "" {
		x.Waste = spelt(r, n, "waste", s.Waste, triage.WasteByName, triage.CasingBreached)
	}
	if s.Lapses != "" {
		x.LapsedHandling = spelt(r, n, "lapsed_handling", s.LapsedHandling, triage.HandlingByName, triage.Emergency)
		x.LapsedCondition = spelt(r, n, "lapsed_condition", s.LapsedCondition, triage.ConditionByName, triage.Reacting)
	}
	return x
}

// merged makes one cell of two: the steps of the other are steps of the one that stays,
// as readCell has it.
func (r *reviewReader) merged(x *readEntry) {
	var b tieBody
	if !r.decode(x.Entry, &b) || b.Cell == b.Other || !slices.Contains(x.Tags, b.Cell) || !slices.Contains(x.Tags, b.Other) {
		return
	}
	one, other := r.cellOf(b.Cell), r.cellOf(b.Other)
	if one == other {
		return
	}
	r.alias[other.cell.Tag] = one.cell.Tag
	delete(r.cells, other.cell.Tag)
	c := &one.cell
	c.Aliases = append(append(c.Aliases, other.cell.Tag), other.cell.Aliases...)
	// The steps of the one come first, so that of an entry about both its own is kept.
	c.Steps = append(c.Steps, other.cell.Steps...)
	slices.SortStableFunc(c.Steps, func(a, b review.Step) int { return cmp.Compare(a.Entry, b.Entry) })
	c.Steps = slices.CompactFunc(c.Steps, func(a, b review.Step) bool { return a.Entry == b.Entry })
	c.Part = cmp.Or(c.Part, other.cell.Part)
}

// finishCells marks what was taken back, and puts the cells in order.
func (r *reviewReader) finishCells(void map[int64]bool) {
	for _, tag := range slices.Sorted(maps.Keys(r.cells)) {
		c := &r.cells[tag].cell
		if len(c.Steps) == 0 {
			continue // named by an attached file alone
		}
		for i := range c.Steps {
			c.Steps[i].Void = void[c.Steps[i].Entry]
		}
		r.s.Cells = append(r.s.Cells, *c)
	}
}
