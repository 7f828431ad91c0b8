package app

import (
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
	log   *logbook.Log
	bench string
	now   func() time.Time
}

// OpenRecording opens the log to record in. The caller closes it.
func OpenRecording(p LogPlace, bench string) (*Recording, error) {
	l, err := logbook.Open(p.Path, p.Options)
	if err != nil {
		return nil, err
	}
	return &Recording{l, bench, p.Now}, nil
}

// Close closes the log.
func (r *Recording) Close() error { return r.log.Close() }

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

// known is what the log knew of a cell before: its readings, merged, and the
// hours since the last.
type known struct {
	entries []int64
	reading triage.Reading
	last    time.Time
	hours   triage.Micro
	floor   triage.Raise
}

func (k *known) apply(c *triage.Case) {
	if len(k.entries) > 0 {
		c.Earlier, c.HoursBetween = &k.reading, k.hours
	}
	if k.floor.Condition > triage.Undetermined {
		c.Raises = append(c.Raises, k.floorOver(&c.Reading))
	}
}

// quiet is how long a cell that reacted stays an emergency: 24 h without a sign
// (common practice, as in the handling table).
const quiet triage.Micro = 24_000_000

// floorOver returns the class that the last entry holds a cell to. What made it
// damaged may be gone from the reading at hand: a thickness not taken again, a
// column of another sheet. Only a determination lowers it. One that reacted and
// is said to be quiet long enough is liable to react.
func (k *known) floorOver(r *triage.Reading) triage.Raise {
	f := k.floor
	if q := r[triage.QuietH]; f.Condition == triage.Reacting && q.State == triage.Known && q.Num >= quiet {
		f.Handling, f.Condition = triage.Isolate, triage.Liable
	}
	return f
}

// knownOf merges the assessments among the entries of a tag. Bad signs carry
// over, so that a second look never loses what the first one saw.
func knownOf(list []*logbook.Entry, now time.Time) (k *known, err error) {
	k = &known{}
	for _, e := range list {
		if e.Kind != "assessment" {
			continue
		}
		var r triage.Reading
		if err := readBack(e, &r); err != nil {
			return nil, fmt.Errorf("entry %d: %w", e.Number, err)
		}
		if len(k.entries) > 0 {
			r = triage.Merge(&k.reading, &r, hoursBetween(k.last, e.Happened))
		}
		k.entries, k.reading, k.last = append(k.entries, e.Number), r, e.Happened
		if k.floor, err = floorOf(e); err != nil {
			return nil, fmt.Errorf("entry %d: %w", e.Number, err)
		}
	}
	k.hours = hoursBetween(k.last, now)
	return k, nil
}

// hoursBetween is 0 when the clock stood back: no time is known to have passed.
func hoursBetween(from, to time.Time) triage.Micro {
	d := to.Sub(from)
	if from.IsZero() || d < 0 {
		return 0
	}
	return triage.Micro(d / time.Second * 1_000_000 / 3600)
}

// Judge judges the given values over what the log knows of the tag. A tag that
// does not hold, or a log that cannot be read, still gets a verdict, of the
// readings alone; the error says that it is not to be recorded.
func (r *Recording) Judge(shop *Shop, given []Given) (*Assessment, error) {
	for i := range given {
		if given[i].Field != triage.Tag || strings.TrimSpace(given[i].Text) == "" {
			continue
		}
		tag, err := cellTag(given[i].Text)
		if err != nil {
			return Assess(shop, given), Usage("not recorded: %v", err)
		}
		given[i].Text = tag
		list, err := r.log.History(tag)
		if err != nil {
			return Assess(shop, given), fmt.Errorf("not recorded: %w", err)
		}
		before, err := knownOf(list, r.now())
		if err != nil {
			return Assess(shop, given), fmt.Errorf("not recorded: %w", err)
		}
		return assess(shop, given, before), nil
	}
	return Assess(shop, given), nil
}

// Record writes an assessment as one entry and issues a tag when it has none,
// which then stands in the verdict.
func (r *Recording) Record(a *Assessment) (receipt logbook.Receipt, err error) {
	reading, _ := readGiven(a.given) // the refusals stand in the assessment
	who := ""
	for _, g := range a.given {
		if g.Field == triage.Who {
			who = strings.TrimSpace(g.Text)
		}
	}
	tag := a.Verdict.Tag
	err = r.log.Write(func(tx *logbook.Tx) error {
		if tag != "" {
			// Another bench may have looked at it since it was judged.
			list, err := tx.History(tag)
			if err != nil {
				return err
			}
			before, err := knownOf(list, r.now())
			if err != nil {
				return err
			}
			if !slices.Equal(before.entries, a.earlier) {
				*a = *assess(a.Shop, a.given, before)
			}
		}
		x := assessment{verdict: &a.Verdict, given: a.given, reading: &reading, refused: a.Refused, earlier: a.earlier}
		if tag == "" {
			if tag, err = tx.IssueTag(triage.CellTag); err != nil {
				return err
			}
			x.issued = true
		}
		body, err := logbook.ParseBody(x.append(nil))
		if err != nil {
			return err
		}
		receipt, err = tx.Append(logbook.Draft{Kind: "assessment", Bench: r.bench, Who: who, Tags: []string{tag},
			Rulebook: a.Shop.Rulebook.Digest, Body: body})
		return err
	})
	if err != nil {
		return receipt, fmt.Errorf("not recorded: %w", err)
	}
	a.Verdict.Tag = tag
	return receipt, nil
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
}

func (x *assessment) append(b []byte) []byte {
	v := x.verdict
	for i, m := range [...][2]string{{"handling", v.Handling.String()}, {"condition", v.Condition.String()}, {"size", v.Size.String()}, {"waste", v.Waste.String()}} {
		b = append(b, "{,,,"[i], '"')
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
		case v.State == triage.Asked && strings.TrimSpace(g.Text) != "?":
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
	start := len(b)
	for _, list := range lists {
		for i := range list {
			if list[i].State != state {
				continue
			}
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

// floorOf returns the class that an assessment holds the next look to.
func floorOf(e *logbook.Entry) (triage.Raise, error) {
	var body struct {
		Condition string `json:"condition"`
	}
	if err := e.Body.Decode(&body); err != nil {
		return triage.Raise{}, err
	}
	c, ok := triage.ConditionByName(body.Condition)
	f := triage.Raise{Handling: triage.Isolate, Condition: c, By: fmt.Sprintf("entry %d of the log", e.Number)}
	switch {
	case !ok:
		return f, fmt.Errorf("the condition %q is not one that this program knows", body.Condition)
	case c == triage.Reacting:
		f.Handling = triage.Emergency
	}
	return f, nil
}

// readBack reads the readings of an assessment entry as they were typed.
func readBack(e *logbook.Entry, r *triage.Reading) error {
	var body struct {
		Readings map[string]any `json:"readings"`
	}
	if err := e.Body.Decode(&body); err != nil {
		return err
	}
	var given []Given
	for name, x := range body.Readings {
		text, ok := x.(string)
		if m, isMap := x.(map[string]any); isMap {
			text, ok = m["typed"].(string)
		}
		f, known := triage.FieldByName(name)
		if !ok || !known {
			return fmt.Errorf("the reading %q is not one that this program knows", name)
		}
		given = append(given, Given{f, text})
	}
	*r, _ = readGiven(given) // refused then as now
	return nil
}

// errTwice is for a sheet that names a tag twice.
var errTwice = errors.New("stands in an earlier row of this run too: record the second look in a run of its own")
