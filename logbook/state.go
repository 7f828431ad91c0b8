package logbook

import (
	"fmt"
	"strconv"
	"time"

	"pouchward/triage"
)

// A State is what holds of one tag after an entry. Whoever writes an entry that
// changes it says the whole of it, under "now" in the body; the last state said
// of a tag is the one that holds. So no view needs a rule to be judged again,
// and a stranger reads off an entry what it did.
type State struct {
	Tag string
	Is  string // Here, Out, or Alias

	// The answers as judged when the entry was written, in words.
	Handling, Condition, Size, Waste string

	Count     int64 // cells of a lot; 0 is a single cell, or a container
	MicroWh   int64 // watt-hour rating in microwatt-hours, 0 not known
	MilliGram int64 // mass of the cell, or of the cells of a lot, on a scale, 0 not weighed
	MilliLitr int64 // volume of a container, 0 not known

	Start    string    // local date on which accumulation began, 2026-11-25, blank: no clock runs
	StartBy  string    // what Start is: waste_on, pulled_on, recorded, stated
	Since    time.Time // in this handling class, or a worse one, since then
	Looked   time.Time // the last look at the cell
	LookIn   int64     // minutes after Looked in which to look again, 0 not said
	Place    string    // where it stands, unless a container holds it
	In       string    // tag of the container that holds it
	What     string    // of a container: its kind and material
	MadeSafe bool      // terminals, bag and, where it is owed, fill are recorded

	// A determination that lapses: the last day on which it holds, and the
	// answers without it.
	Lapses, LapsedHandling, LapsedCondition string
}

// The words of State.Is. A state with another word, or none, says that the tag
// holds nothing.
const (
	Here  = "here"  // in the shop
	Out   = "out"   // left the shop
	Alias = "alias" // another tag of the cell that State.In names
)

// ClassOn returns the handling and condition that hold on a day: those without
// the determination once it has lapsed.
func (s *State) ClassOn(day string) (triage.Handling, triage.ConditionClass) {
	handling, condition := s.Handling, s.Condition
	if s.Lapses != "" && s.Lapses < day {
		handling, condition = s.LapsedHandling, s.LapsedCondition
	}
	h, _ := triage.HandlingByName(handling)
	c, _ := triage.ConditionByName(condition)
	return h, c
}

// append appends the state as a member of "now"; what is zero is left out.
func (s *State) append(b []byte) []byte {
	b = append(AppendString(b, s.Tag), ':', '{')
	start := len(b)
	name := func(n string) {
		if len(b) > start {
			b = append(b, ',')
		}
		b = append(append(append(b, '"'), n...), '"', ':')
	}
	text := func(n, v string) {
		if v != "" {
			name(n)
			b = AppendString(b, v)
		}
	}
	number := func(n string, v int64) {
		if v != 0 {
			name(n)
			b = strconv.AppendInt(b, v, 10)
		}
	}
	at := func(n string, v time.Time) {
		if !v.IsZero() {
			name(n)
			b = append(v.UTC().AppendFormat(append(b, '"'), timeForm), '"')
		}
	}
	text("is", s.Is)
	text("handling", s.Handling)
	text("condition", s.Condition)
	text("size", s.Size)
	text("waste", s.Waste)
	number("count", s.Count)
	number("uwh", s.MicroWh)
	number("mg", s.MilliGram)
	number("ml", s.MilliLitr)
	text("start", s.Start)
	text("start_by", s.StartBy)
	at("since", s.Since)
	at("looked", s.Looked)
	number("look_in_min", s.LookIn)
	text("place", s.Place)
	text("in", s.In)
	text("what", s.What)
	if s.MadeSafe {
		name("made_safe")
		b = append(b, "true"...)
	}
	text("lapses", s.Lapses)
	text("lapsed_handling", s.LapsedHandling)
	text("lapsed_condition", s.LapsedCondition)
	return append(b, '}')
}

// withNow returns the body with the states added as its last member.
func (b Body) withNow(states []State) (Body, error) {
	if len(states) == 0 {
		return b, nil
	}
	raw := append([]byte(nil), b.raw[:len(b.raw)-1]...)
	if len(raw) > 1 {
		raw = append(raw, ',')
	}
	raw = append(raw, `"now":{`...)
	for i := range states {
		if i > 0 {
			raw = append(raw, ',')
		}
		raw = states[i].append(raw)
	}
	return ParseBody(append(raw, '}', '}'))
}

// said is what the views take from an entry.
type said struct {
	handling, condition string
	issued              bool
	part                string // of an assessment, as triage.PartKey spells it
	topic, about        string // of what is kept by subject, blank topic for nothing
	now                 []State
	sums                []uint64 // of now, where a verifier wants them
	room                []byte   // in which the sums are made
}

// read reads it from an entry in one pass over the body.
func (x *said) read(e *Entry) error {
	*x = said{now: x.now[:0], sums: x.sums[:0], room: x.room}
	var first State // of an assessment of schema 1, which says no "now"
	var wh string
	s := scanner{data: e.Body.raw, trusted: true}
	err := s.each(func(key []byte) error {
		switch string(key) {
		case `"handling"`:
			x.handling = s.text()
		case `"condition"`:
			x.condition = s.text()
		case `"size"`:
			first.Size = s.text()
		case `"waste"`:
			first.Waste = s.text()
		case `"energy_wh"`:
			wh = s.raw()
		case `"look_again_min"`:
			first.LookIn = s.integer()
		case `"issued"`:
			x.issued = s.raw() == "true"
		case `"part"`:
			x.part = s.text()
		case `"subject"`:
			x.topic = s.text()
		case `"about"`:
			x.about = s.text()
		case `"now"`:
			return x.readNow(&s)
		default:
			s.value(1)
		}
		return nil
	})
	if err != nil {
		return err
	}
	switch e.Kind {
	case "assessment":
		x.topic = ""
		if len(x.now) == 0 && len(e.Tags) == 1 {
			x.now = append(x.now, first.filled(e, x, wh))
		}
		return x.named(e)
	case "record":
	case "inspection", "incident", "shipment":
		x.topic = e.Kind
	default:
		x.topic = ""
	}
	x.handling, x.condition, x.part = "", "", ""
	return x.named(e)
}

// named refuses a state of a tag that the entry does not name: the history of
// the tag would not show it.
func (x *said) named(e *Entry) error {
	for i := range x.now {
		found := false
		for _, t := range e.Tags {
			found = found || t == x.now[i].Tag
		}
		if !found {
			return fmt.Errorf("it says what holds of tag %.20q, which it does not name", x.now[i].Tag)
		}
	}
	return nil
}

// filled completes the state that an assessment of schema 1 implies.
func (s State) filled(e *Entry, x *said, wh string) State {
	s.Tag, s.Is, s.Handling, s.Condition = e.Tags[0], Here, x.handling, x.condition
	s.Since, s.Looked = e.Happened, e.Happened
	s.Start, s.StartBy = e.Local(e.Happened).Format(time.DateOnly), "recorded"
	if m, err := triage.ParseQuantity(wh, "", false); err == nil {
		s.MicroWh = int64(m)
	}
	return s
}

func (x *said) readNow(s *scanner) error {
	return s.each(func(key []byte) error {
		st := State{Tag: unquote(key)}
		if err := st.read(s); err != nil {
			return err
		}
		x.now = append(x.now, st)
		return nil
	})
}

func (s *State) read(in *scanner) error {
	var bad error
	at := func() (t time.Time) {
		t, err := parseTime(in.text())
		if err != nil {
			bad = err
		}
		return t
	}
	err := in.each(func(key []byte) error {
		switch string(key[1 : len(key)-1]) {
		case "is":
			s.Is = in.text()
		case "handling":
			s.Handling = in.text()
		case "condition":
			s.Condition = in.text()
		case "size":
			s.Size = in.text()
		case "waste":
			s.Waste = in.text()
		case "count":
			s.Count = in.integer()
		case "uwh":
			s.MicroWh = in.integer()
		case "mg":
			s.MilliGram = in.integer()
		case "ml":
			s.MilliLitr = in.integer()
		case "start":
			s.Start = in.text()
		case "start_by":
			s.StartBy = in.text()
		case "since":
			s.Since = at()
		case "looked":
			s.Looked = at()
		case "look_in_min":
			s.LookIn = in.integer()
		case "place":
			s.Place = in.text()
		case "in":
			s.In = in.text()
		case "what":
			s.What = in.text()
		case "made_safe":
			s.MadeSafe = in.raw() == "true"
		case "lapses":
			s.Lapses = in.text()
		case "lapsed_handling":
			s.LapsedHandling = in.text()
		case "lapsed_condition":
			s.LapsedCondition = in.text()
		default:
			in.value(1) // of a later release
		}
		return bad
	})
	return err
}

// each calls fn at the value of each member of the object at hand; fn passes
// over it.
func (s *scanner) each(fn func(key []byte) error) error {
	s.take('{')
	for first := true; s.err == nil && s.peek() != '}'; first = false {
		if !first {
			s.take(',')
		}
		key := s.string()
		s.take(':')
		if s.err != nil {
			break
		}
		if err := fn(key); err != nil {
			return err
		}
	}
	s.take('}')
	return s.err
}

// raw passes over a value and returns it as written.
func (s *scanner) raw() string {
	from := s.at
	s.value(1)
	if s.err != nil {
		return ""
	}
	return string(s.data[from:s.at])
}

// text passes over a value and returns it where it is a string.
func (s *scanner) text() string {
	if s.peek() != '"' {
		s.value(1)
		return ""
	}
	return unquote(s.string())
}

// integer passes over a value and returns it where it is a whole number.
func (s *scanner) integer() int64 {
	n, _ := strconv.ParseInt(s.raw(), 10, 64) // another value counts as none
	return n
}

// Now returns the states that an entry says hold after it.
func (e *Entry) Now() ([]State, error) {
	x, err := e.readSaid()
	if err != nil {
		return nil, err
	}
	return x.now, nil
}

// readSaid reads what the views take from an entry, where nobody has.
func (e *Entry) readSaid() (*said, error) {
	if e.says != nil {
		return e.says, nil
	}
	x := new(said)
	if err := x.read(e); err != nil {
		return nil, fmt.Errorf("entry %d: %w", e.Number, err)
	}
	return x, nil
}

// Issued reports whether the entry took its tags from the log.
func (e *Entry) Issued() bool { return e.Body.member("issued") == "true" }
