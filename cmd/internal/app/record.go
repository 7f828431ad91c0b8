package app

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// A Recording writes assessments to a log.
type Recording struct {
	// Happened is when the assessments that are recorded were made; zero is now.
	Happened time.Time
	// Who made them, where the reading does not say.
	Who string

	log   *logbook.Log
	bench string
	now   func() time.Time

	// Of a write that is only tried, else nil: the cell, and for an entry on the wrong
	// one the cell that was meant.
	tentative, meant *Tentative
	// What a change rests on (RestingOn), else nil.
	rests, restsMeant *int64
}

// OpenRecording opens the log to record in. The caller closes it.
func OpenRecording(p LogPlace, bench string) (*Recording, error) {
	l, err := logbook.Open(p.Path, p.Options)
	if err != nil {
		return nil, err
	}
	return &Recording{log: l, bench: bench, now: p.Now}, nil
}

// Close closes the log.
func (r *Recording) Close() error { return r.log.Close() }

// findTag reads the tag of something on record. Where it does not hold, the
// error says which tags in the shop are one slip away; none is taken for it.
func findTag(l holder, s string) (string, error) {
	tag, err := ReadTag(s)
	if err == nil {
		return tag, nil
	}
	var near []string
	for _, t := range triage.NearTags(s) {
		if _, here, lookErr := l.HeldAs(t); lookErr == nil && here {
			near = append(near, triage.SpacedTag(t))
		}
	}
	if len(near) == 0 {
		return "", err
	}
	return "", Usage("%v. In the shop is %s", err, strings.Join(near, ", "))
}

// holder is a log, or one that is written to.
type holder interface {
	HeldAs(tag string) (logbook.Held, bool, error)
}

// ReadTag reads a tag as typed; one smudged symbol may be written ? or _.
func ReadTag(s string) (string, error) {
	if strings.ContainsAny(s, "?_") {
		tag, err := triage.RestoreTag(s)
		if err != nil {
			return "", Usage("%v", err)
		}
		return tag, nil
	}
	tag, _, err := triage.CheckTag(s)
	if err != nil {
		return "", Usage("%v", err)
	}
	return tag, nil
}

// cellTag reads the tag of a cell that is to be recorded.
func cellTag(s string) (string, error) {
	tag, kind, err := triage.CheckTag(s)
	if err == nil && kind != triage.CellTag {
		err = fmt.Errorf("%s is the tag of a %s, not of a cell", triage.SpacedTag(tag), kind)
	}
	return tag, err
}

// Judge judges the given values over what the log knows of the tag. A tag that
// does not hold, or a log that cannot be read, still gets a verdict, of the
// readings alone; the error says that it is not to be recorded.
func (r *Recording) Judge(shop *Shop, given []Given) (*Assessment, error) {
	given = joined(given)
	for i := range given {
		if given[i].Field != triage.Tag || strings.TrimSpace(given[i].Text) == "" {
			continue
		}
		if list, several := given[i].values(); several {
			return Assess(shop, given), Usage("not recorded: the tag was given more than once, %s: which cell is meant cannot be told", strings.Join(list, " and "))
		}
		tag, err := cellTag(given[i].Text)
		if err != nil {
			return Assess(shop, given), Usage("not recorded: %v", err)
		}
		cell, err := readCell(r.log, tag)
		if err != nil {
			return Assess(shop, given), fmt.Errorf("not recorded: %w", err)
		}
		given[i].Text = cell.Tag
		return assess(shop, given, cell, r.at(r.Happened)), nil
	}
	a := Assess(shop, given)
	a.at = r.at(r.Happened)
	return a, nil
}

// at is when something happened that nobody said was earlier.
func (r *Recording) at(happened time.Time) time.Time {
	if happened.IsZero() {
		return r.now()
	}
	return happened
}

// Record writes an assessment as one entry and issues a tag when it has none,
// which then stands in the verdict.
func (r *Recording) Record(a *Assessment) (receipt logbook.Receipt, err error) {
	err = r.log.Write(func(tx *logbook.Tx) (err error) {
		receipt, err = r.recordIn(tx, a)
		return err
	})
	if err != nil {
		return receipt, fmt.Errorf("not recorded: %w", err)
	}
	return receipt, nil
}

func (r *Recording) recordIn(tx *logbook.Tx, a *Assessment) (receipt logbook.Receipt, err error) {
	if err := r.past(r.Happened); err != nil {
		return receipt, err
	}
	cell, tag, issued := &Cell{}, a.Verdict.Tag, false
	if tag == "" {
		if tag, err = tx.IssueTag(triage.CellTag); err != nil {
			return receipt, err
		}
		issued, cell.Tag = true, tag
	} else {
		// Another bench may have looked at it since it was judged.
		if cell, err = readCell(tx, tag); err != nil {
			return receipt, err
		}
		tag = cell.Tag
		if len(cell.Entries) > 0 && cell.Entries[len(cell.Entries)-1].Number != a.seen {
			a.again(cell)
		}
	}
	a.Verdict.Tag = tag
	e, err := r.lookEntry(tx, a, cell, issued, "")
	if err != nil {
		return receipt, err
	}
	return tx.Append(e)
}

// again judges an assessment over what is known of the cell by now. What another
// bench has read off its label meanwhile counts more than part memory.
func (a *Assessment) again(cell *Cell) {
	var kept []string
	given := slices.Clone(a.given)
	for _, name := range a.FromPart {
		f, _ := triage.FieldByName(name)
		if _, n := cell.label(f); n > 0 {
			given = slices.DeleteFunc(given, func(g Given) bool { return g.Field == f })
			continue
		}
		kept = append(kept, name)
	}
	b := assess(a.Shop, given, cell, a.at)
	b.FromPart, b.PartCells = kept, a.PartCells
	*a = *b
}

// lookEntry makes the entry of an assessment, or of a recheck where found says
// how the cell was found, and has the cell know it.
func (r *Recording) lookEntry(tx *logbook.Tx, a *Assessment, cell *Cell, issued bool, found string) (logbook.Draft, error) {
	reading, _ := readGiven(a.given) // the refusals stand in the assessment
	x := assessment{verdict: &a.Verdict, given: a.given, reading: &reading, refused: a.Refused, earlier: a.earlier, issued: issued,
		found: found, fromPart: a.FromPart, movedFrom: a.MovedFrom}
	body, err := logbook.ParseBody(x.append(nil))
	if err != nil {
		return logbook.Draft{}, err
	}
	d := logbook.Draft{Kind: "assessment", Bench: r.bench, Who: cmp.Or(reading[triage.Who].Text, r.Who), Happened: a.at, Tags: []string{cell.Tag},
		Rulebook: a.Shop.Rulebook.Digest, Body: body}
	if found != "" {
		d.Kind = "recheck"
	}
	v := &a.Verdict
	if issued {
		cell.Entries = append(cell.Entries, &logbook.Entry{Draft: d}) // when it was first seen
	} else {
		if err := cell.add(tx, &d); err != nil {
			return d, err
		}
		if cell.foundAfter(a.at) {
			v = cell.judge(a.Shop) // entered late: what is known since holds too
		}
	}
	d.Now = []logbook.State{cell.after(a.Shop, v, a.at, true)}
	return d, nil
}

// add has a cell know of an entry that is about to be written.
func (c *Cell) add(tx *logbook.Tx, d *logbook.Draft) error {
	e := &logbook.Entry{Draft: *d, Number: tx.Next(), Entered: d.Happened}
	c.Entries = append(c.Entries, e)
	if d.Kind == "retraction" {
		// What it voids was taken already: take it all again.
		return c.again()
	}
	err := c.take(e)
	c.sortLooks()
	return err
}

// assessment is what an assessment entry holds: the answers first, the readings
// as typed with the value that was read where it is spelled otherwise, the
// rules that fired, and the class and way of each route.
type assessment struct {
	verdict *triage.Verdict
	given   []Given
	reading *triage.Reading // of given alone, not merged
	refused []string
	earlier []int64
	issued  bool

	found    string   // of a recheck
	fromPart []string // label facts taken over from part memory

	movedFrom int64    // an entry on another cell
	asWritten []string // rules that fire on a row as written
}

func (x *assessment) append(b []byte) []byte {
	v := x.verdict
	b = append(b, '{')
	if x.found != "" {
		b = append(logbook.AppendString(append(b, `"found":`...), x.found), ',')
	}
	for i, m := range [...][2]string{{"handling", v.Handling.String()}, {"condition", v.Condition.String()}, {"size", v.Size.String()}, {"waste", v.Waste.String()}} {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, '"')
		b = append(append(b, m[0]...), '"', ':')
		b = logbook.AppendString(b, m[1])
	}
	b = append(b, `,"issued":`...)
	b = strconv.AppendBool(b, x.issued)
	b = append(b, `,"on":"`...)
	b = append(append(b, v.On.String()...), '"')
	if e := v.Facts[triage.FEnergy]; e.State == triage.Known {
		b = e.Lo.Append(append(b, `,"energy_wh":`...))
	}
	if p := x.reading[triage.Part]; p.State == triage.Known && x.found == "" {
		b = logbook.AppendString(append(b, `,"part":`...), triage.PartKey(p.Text))
	}
	if len(x.asWritten) > 0 {
		b = append(b, `,"as_written":["`...)
		b = append(append(b, strings.Join(x.asWritten, `","`)...), `"]`...)
	}
	if len(x.fromPart) > 0 {
		b = append(b, `,"from_part":["`...)
		b = append(append(b, strings.Join(x.fromPart, `","`)...), `"]`...)
	}
	if x.movedFrom > 0 {
		b = strconv.AppendInt(append(b, `,"moved_from":`...), x.movedFrom, 10)
	}
	b = x.appendReadings(append(b, `,"readings":{`...))
	b = append(b, `},"earlier":[`...)
	for i, n := range x.earlier {
		if i > 0 {
			b = append(b, ',')
		}
		b = strconv.AppendInt(b, n, 10)
	}
	b = append(b, `],"findings":`...)
	b = appendFindings(b, triage.Fired, v.HandlingFindings, v.ConditionFindings, v.SizeFindings, v.WasteFindings)
	b = append(b, `,"open_findings":`...)
	b = appendFindings(b, triage.CouldBe, v.HandlingFindings, v.ConditionFindings, v.SizeFindings, v.WasteFindings)
	b = append(b, `,"routes":{`...)
	for r := range triage.NumRoutes {
		if r > 0 {
			b = append(b, ',')
		}
		a := &v.Routes[r]
		b = append(logbook.AppendString(b, r.String()), ':', '[')
		b = logbook.AppendString(b, a.Class.String())
		if a.Way != nil {
			b = logbook.AppendString(append(b, ','), a.Way.ID)
		}
		b = append(b, ']')
	}
	b = append(b, `},"look_again_min":`...)
	b = strconv.AppendInt(b, int64(v.LookAgain), 10)
	return append(b, '}')
}

// appendReadings appends "name":"text" for each value given, or
// "name":{"typed":...,"value":...} where the value read is spelled otherwise in
// the base unit, or "name":{"typed":...,"refused":true}.
func (x *assessment) appendReadings(b []byte) []byte {
	first := true
	var seen triage.FieldSet
	for _, g := range x.given {
		if g.Field == triage.Tag || seen.Has(g.Field) || strings.TrimSpace(g.Text) == "" {
			continue
		}
		seen = seen.With(g.Field)
		if !first {
			b = append(b, ',')
		}
		first = false
		b = append(logbook.AppendString(b, triage.Fields[g.Field].Name), ':')
		v := x.reading[g.Field]
		value := baseText(g.Field, v)
		switch {
		case v.State == triage.Refused:
			b = append(logbook.AppendString(append(b, `{"typed":`...), g.Text), `,"refused":true}`...)
		case value == "" || value == g.Text:
			b = logbook.AppendString(b, g.Text)
		default:
			b = logbook.AppendString(append(b, `{"typed":`...), g.Text)
			b = append(logbook.AppendString(append(b, `,"value":`...), value), '}')
		}
	}
	return b
}

// baseText spells a value in the base unit of its field, "" where the text is
// all there is.
func baseText(f triage.FieldID, v triage.Value) string {
	d := &triage.Fields[f]
	if v.State != triage.Known {
		return ""
	}
	switch d.Type {
	case triage.NumberField, triage.CountField:
		return v.Num.String()
	case triage.WordField, triage.YesNoField:
		if i := int(v.Num); i < len(d.Words) {
			return d.Words[i]
		}
	case triage.DateField:
		return triage.Date(v.Num).String()
	}
	return ""
}

func appendFindings(b []byte, state triage.FindingState, lists ...[]triage.Finding) []byte {
	b = append(b, '[')
	start, raised := len(b), false
	for _, list := range lists {
		for i := range list {
			if list[i].State != state || list[i].Rule == nil && raised {
				continue
			}
			raised = raised || list[i].Rule == nil
			if len(b) > start {
				b = append(b, ',')
			}
			id := "raise"
			if list[i].Rule != nil {
				id = list[i].Rule.ID
			}
			b = logbook.AppendString(b, id)
		}
	}
	return append(b, ']')
}

// errTwice is for a sheet that names a tag twice.
var errTwice = errors.New("stands in an earlier row of this run too: record the second look in a run of its own")
