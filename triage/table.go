package triage

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// An Instrument is one regulation, code or body of practice: one TOML file.
type Instrument struct {
	ID         string `toml:"id"`
	Authority  string `toml:"authority"`
	Title      string `toml:"title"`
	Edition    string `toml:"edition"`
	From       string `toml:"from"`        // first day in force
	Until      string `toml:"until"`       // last day in force, "" while none is known
	KnownUntil string `toml:"known_until"` // last day for which the text is known, "" for practice
	ReadOn     string `toml:"read_on"`
	NotSeen    string `toml:"not_seen"` // what was not seen in the original
}

// Basis says what a rule rests on.
type Basis string

// The bases.
const (
	Published      Basis = "published"
	CommonPractice Basis = "common-practice"
	HouseRule      Basis = "house"
)

// Record is what every kind of rule carries.
type Record struct {
	ID         string   `toml:"id"` // never reused
	Title      string   `toml:"title"`
	For        []string `toml:"for"` // conditions it applies to; empty is all
	When       []string `toml:"when"`
	OrWhen     []string `toml:"or_when"`
	Source     string   `toml:"source"` // citation down to the paragraph
	Basis      Basis    `toml:"basis"`
	Confidence string   `toml:"confidence"` // read, second-hand or memory
	Note       string   `toml:"note"`       // a disagreement, a reason
	From       string   `toml:"from"`
	Until      string   `toml:"until"`

	Instrument *Instrument `toml:"-"`
	when       When
	forClasses uint8 // bit per ConditionClass
	from       Date
	until      Date
}

// A Rule gives an outcome for one or more of the four answers.
type Rule struct {
	Record
	Handling     string   `toml:"handling"`
	Condition    string   `toml:"condition"`
	Size         string   `toml:"size"`
	Waste        string   `toml:"waste"`
	LoweredBy    string   `toml:"lowered_by"` // "", "second-person" or "expert": what a determination needs to set it aside
	Do           []string `toml:"do"`         // extra lines for the hands
	LookAgainMin int      `toml:"look_again_min"`

	handling  Handling
	condition ConditionClass
	size      Size
	waste     Waste
}

// A Bar closes ways.
type Bar struct {
	Record
	Routes []string `toml:"routes"`
	Closes []string `toml:"closes"` // ids of ways, or "all"
	// UnlessPermit leaves the ways that the shop's permits add.
	UnlessPermit bool `toml:"unless_permit"`

	routes uint8 // bit per Route
	all    bool
}

// A Way is one lawful way to send a cell on a route.
type Way struct {
	Record
	Routes    []string  `toml:"routes"`
	Class     string    `toml:"class"`
	Approval  *Approval `toml:"approval"`
	Duties    []Duty    `toml:"duty"`
	Chemistry []string  `toml:"chemistry"` // families the way is for
	routes    uint8
	class     RouteClass
	families  uint8
	permit    bool // added by a permit of the shop
}

// Approval names what must be in hand for a way.
type Approval struct {
	Name string `toml:"name"`
	By   string `toml:"by"`
}

// A Duty is one thing that a way asks for.
type Duty struct {
	Kind     string   `toml:"kind"` // one of dutyKinds
	Text     string   `toml:"text"`
	Words    string   `toml:"words"`     // the exact wording of a mark, or the line on a paper
	LetterMM string   `toml:"letter_mm"` // least letter height in mm
	AtMost   string   `toml:"at_most"`   // a cap with its unit: "30 kg", "4 cells", "1 cell"
	Routes   []string `toml:"routes"`    // owed on these routes alone; empty is every route of the way
	AnyOf    []string `toml:"any_of"`    // wordings of which one is enough
	Within   string   `toml:"within"`    // a time limit, "1 year"
	Clock    string   `toml:"clock"`     // the date it runs from
	Handler  string   `toml:"handler"`   // owed by this quantity class alone: small or large
	Source   string   `toml:"source"`
	// Confidence is that of the record unless a duty says its own.
	Confidence string   `toml:"confidence"`
	Note       string   `toml:"note"`
	When       []string `toml:"when"` // conditions under which the duty is owed; empty is always
	OrWhen     []string `toml:"or_when"`
	From       string   `toml:"from"` // in force, as of a record
	Until      string   `toml:"until"`
	PackingTerms

	when        When
	from, until Date
}

// dutyKinds are the kinds of duty, in the order in which they are printed.
var dutyKinds = []string{"packaging", "one-per-outer", "gross-cap", "net-cap", "count-cap", "mark", "label", "paper",
	"telephone", "advice", "container", "activity", "time-limit", "release", "shipment", "training", "record", "note"}

// A Stream is what the waste law of a country makes of a waste class.
type Stream struct {
	Record
	Waste   []string `toml:"waste"`
	Country string   `toml:"country"` // ISO 3166 alpha-2, or the group EU
	Origin  string   `toml:"origin"`  // municipal or trade; blank is either
	Fit     []string `toml:"fit"`     // words of the field fit; empty is any
	Codes   []string `toml:"codes"`
	Duties  []Duty   `toml:"duty"`

	waste, fits uint8
}

// A Quantity is a class of a site by how much it holds, for the log and the
// review; it takes no part in judging a cell.
type Quantity struct {
	Record
	Country string `toml:"country"`
	Measure string `toml:"measure"`
	Under   string `toml:"under"`
	AtMost  string `toml:"at_most"`
	AtLeast string `toml:"at_least"`
	Holds   string `toml:"holds"` // how long the class stays
}

// A StateLine says where a state or region differs: it is printed, never a
// condition.
type StateLine struct {
	Record
	Country string `toml:"country"`
	State   string `toml:"state"` // blank for all
	Text    string `toml:"text"`
}

// Advice is what hands do in a handling class.
type Advice struct {
	Record
	Classes   []string `toml:"classes"`
	Word      string   `toml:"word"` // word of strength, once per class
	Verb      string   `toml:"verb"`
	Do        []string `toml:"do"`
	Caution   []string `toml:"caution"`
	LookAgain int      `toml:"look_again_min"`

	classes uint8
}

// A Table is one decoded file.
type Table struct {
	Name       string       `toml:"-"`
	Instrument Instrument   `toml:"instrument"`
	Rules      []Rule       `toml:"rule"`
	Bars       []Bar        `toml:"bar"`
	Ways       []Way        `toml:"way"`
	Advice     []Advice     `toml:"advice"`
	Streams    []Stream     `toml:"stream"`
	Quantities []Quantity   `toml:"quantity"`
	States     []StateLine  `toml:"state"`
	Intervals  []Interval   `toml:"interval"`
	Locals     []Local      `toml:"local"`
	Togethers  []Together   `toml:"together"`
	Outers     []StockOuter `toml:"outer"`
	Figures    []Figure     `toml:"figure"`
	Limits     []Limit      `toml:"limit"`
	Storages   []Storage    `toml:"storage"`
	Checks     []Check      `toml:"check"`

	bytes       []byte
	from, until Date
}

// compileAll compiles the records of one kind and tells add what became of each.
func compileAll[T any, P interface {
	*T
	compile(*Table) error
	name() string
}](t *Table, list []T, add func(string, error)) {
	for i := range list {
		x := P(&list[i])
		add(x.name(), x.compile(t))
	}
}

// name is what a fault of the record is told under.
func (r *Record) name() string { return r.ID }

// ParseTable decodes one rule table strictly: an unknown key, word, fact or
// unit is an error that names the file and, where the decoder knows it, the
// line. All faults found are reported, not the first.
func ParseTable(name string, data []byte) (*Table, error) {
	t := &Table{Name: name, bytes: data}
	dec := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields()
	if err := dec.Decode(t); err != nil {
		return nil, fmt.Errorf("rule table %s: %w", name, tomlError(err))
	}
	if err := t.compile(); err != nil {
		return nil, fmt.Errorf("rule table %s: %w", name, err)
	}
	return t, nil
}

// tomlError puts line and column in front of a decoding error.
func tomlError(err error) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) {
		var errs []error
		for i := range strict.Errors {
			row, col := strict.Errors[i].Position()
			errs = append(errs, fmt.Errorf("line %d column %d: unknown key %s", row, col, strings.Join(strict.Errors[i].Key(), ".")))
		}
		return errors.Join(errs...)
	}
	var de *toml.DecodeError
	if errors.As(err, &de) {
		row, col := de.Position()
		return fmt.Errorf("line %d column %d: %w", row, col, err)
	}
	return err
}

// eachRecord calls fn for every record of the table with its kind.
func (t *Table) eachRecord(fn func(kind string, r *Record)) {
	for i := range t.Rules {
		fn("rule", &t.Rules[i].Record)
	}
	for i := range t.Bars {
		fn("bar", &t.Bars[i].Record)
	}
	for i := range t.Ways {
		fn("way", &t.Ways[i].Record)
	}
	for i := range t.Advice {
		fn("advice", &t.Advice[i].Record)
	}
	for i := range t.Streams {
		fn("stream", &t.Streams[i].Record)
	}
	for i := range t.Quantities {
		fn("quantity", &t.Quantities[i].Record)
	}
	for i := range t.States {
		fn("state", &t.States[i].Record)
	}
	for i := range t.Intervals {
		fn("interval", &t.Intervals[i].Record)
	}
	for i := range t.Locals {
		fn("local", &t.Locals[i].Record)
	}
	for i := range t.Togethers {
		fn("together", &t.Togethers[i].Record)
	}
	for i := range t.Outers {
		fn("outer", &t.Outers[i].Record)
	}
	for i := range t.Figures {
		fn("figure", &t.Figures[i].Record)
	}
	for i := range t.Limits {
		fn("limit", &t.Limits[i].Record)
	}
	for i := range t.Storages {
		fn("storage", &t.Storages[i].Record)
	}
	for i := range t.Checks {
		fn("check", &t.Checks[i].Record)
	}
}

func (t *Table) compile() error {
	var errs []error
	add := func(id string, err error) {
		if err != nil {
			errs = append(errs, fmt.Errorf("%s: %w", id, err))
		}
	}
	var err error
	t.from, t.until, err = window(t.Instrument.From, t.Instrument.Until)
	add("instrument "+t.Instrument.ID, err)
	if t.Instrument.KnownUntil != "" {
		_, err = ParseDate(t.Instrument.KnownUntil)
		add("instrument "+t.Instrument.ID, err)
	}
	compileAll(t, t.Rules, add)
	compileAll(t, t.Bars, add)
	compileAll(t, t.Ways, add)
	compileAll(t, t.Advice, add)
	compileAll(t, t.Streams, add)
	compileAll(t, t.Quantities, add)
	compileAll(t, t.States, add)
	compileAll(t, t.Intervals, add)
	compileAll(t, t.Locals, add)
	compileAll(t, t.Togethers, add)
	compileAll(t, t.Outers, add)
	compileAll(t, t.Figures, add)
	compileAll(t, t.Limits, add)
	compileAll(t, t.Storages, add)
	compileAll(t, t.Checks, add)
	return errors.Join(errs...)
}

// window reads an in-force window; an empty end is open.
func window(from, until string) (f, u Date, err error) {
	if from != "" {
		if f, err = ParseDate(from); err != nil {
			return 0, 0, fmt.Errorf("from %q: %w", from, err)
		}
	}
	if until != "" {
		if u, err = ParseDate(until); err != nil {
			return 0, 0, fmt.Errorf("until %q: %w", until, err)
		}
		if u < f {
			return 0, 0, fmt.Errorf("ends on %s before it begins on %s", until, from)
		}
	}
	return f, u, nil
}

// inForce reports whether day lies in the window.
func inForce(day, from, until Date) bool {
	return (from == 0 || day >= from) && (until == 0 || day <= until)
}

func (r *Record) compile(t *Table) error {
	var errs []error
	r.Instrument = &t.Instrument
	var err error
	if r.when, err = compileWhen(r.When, r.OrWhen); err != nil {
		errs = append(errs, err)
	}
	if r.from, r.until, err = window(r.From, r.Until); err != nil {
		errs = append(errs, err)
	}
	r.forClasses, err = bitsOf("condition", r.For, conditionWords[:])
	if len(r.For) == 0 {
		r.forClasses = 1<<len(conditionWords) - 1
	}
	return errors.Join(append(errs, err)...)
}

func bitsOf(what string, words, all []string) (set uint8, err error) {
	for _, w := range words {
		i, err := word(what, w, all)
		if err != nil {
			return 0, err
		}
		set |= 1 << i
	}
	return set, nil
}

func (r *Rule) compile(t *Table) error {
	errs := []error{r.Record.compile(t)}
	set := func(what, w string, words []string) uint8 {
		if w == "" {
			return 0
		}
		i, err := word(what, w, words)
		errs = append(errs, err)
		return i
	}
	r.handling = Handling(set("handling", r.Handling, handlingWords[:]))
	r.condition = ConditionClass(set("condition", r.Condition, conditionWords[:]))
	r.size = Size(set("size", r.Size, sizeWords[:]))
	r.waste = Waste(set("waste", r.Waste, wasteWords[:]))
	if r.Handling+r.Condition+r.Size+r.Waste == "" {
		errs = append(errs, errors.New("has no outcome"))
	}
	if r.handling == Emergency && r.condition != Reacting {
		errs = append(errs, errors.New("handling emergency must make condition reacting"))
	}
	if r.LoweredBy != "" && r.LoweredBy != "second-person" && r.LoweredBy != "expert" {
		errs = append(errs, fmt.Errorf("lowered_by %q is neither second-person nor expert", r.LoweredBy))
	}
	return errors.Join(errs...)
}

func (b *Bar) compile(t *Table) error {
	err := b.Record.compile(t)
	set, err2 := bitsOf("route", b.Routes, routeWords[:])
	b.routes = set
	for _, c := range b.Closes {
		b.all = b.all || c == "all"
	}
	var err3 error
	if len(b.Routes) == 0 || len(b.Closes) == 0 {
		err3 = errors.New("names no route or closes nothing")
	}
	return errors.Join(err, err2, err3)
}

func (w *Way) compile(t *Table) error {
	errs := []error{w.Record.compile(t)}
	var err error
	w.routes, err = bitsOf("route", w.Routes, routeWords[:])
	errs = append(errs, err)
	class, err := word("class", w.Class, routeClassWords[:RouteApproval])
	w.class = RouteClass(class)
	errs = append(errs, err)
	w.families, err = bitsOf("chemistry", w.Chemistry, familyWords)
	errs = append(errs, err)
	if len(w.Routes) == 0 || len(w.Chemistry) == 0 || len(w.For) == 0 {
		errs = append(errs, errors.New("needs routes, chemistry and for"))
	}
	return errors.Join(append(errs, compileDuties(w.Duties)...)...)
}

func compileDuties(duties []Duty) (errs []error) {
	for i := range duties {
		d := &duties[i]
		var err error
		if d.when, err = compileWhen(d.When, d.OrWhen); err != nil {
			errs = append(errs, err)
		}
		if d.from, d.until, err = window(d.From, d.Until); err != nil {
			errs = append(errs, err)
		}
		if _, err := bitsOf("route", d.Routes, routeWords[:]); err != nil {
			errs = append(errs, err)
		}
		if _, err := word("duty kind", d.Kind, dutyKinds); err != nil {
			errs = append(errs, err)
		}
		if err := d.compilePacking(); err != nil {
			errs = append(errs, err)
		}
		if d.Text == "" || d.Source == "" {
			errs = append(errs, fmt.Errorf("duty %d lacks text or source", i+1))
		}
	}
	return errs
}

func (s *Stream) compile(t *Table) error {
	errs := []error{s.Record.compile(t)}
	set, err := bitsOf("waste", s.Waste, wasteWords[:])
	s.waste = set
	errs = append(errs, err)
	if len(s.Waste) == 0 || s.Country == "" {
		errs = append(errs, errors.New("needs waste and country"))
	}
	if s.Origin != "" && !slices.Contains(originWords, s.Origin) {
		errs = append(errs, fmt.Errorf("origin %q is none of %s", s.Origin, strings.Join(originWords, ", ")))
	}
	s.fits, err = bitsOf("fit", s.Fit, Fields[Fit].Words)
	return errors.Join(append(append(errs, err), compileDuties(s.Duties)...)...)
}

func (a *Advice) compile(t *Table) error {
	err := a.Record.compile(t)
	set, err2 := bitsOf("handling", a.Classes, handlingWords[:])
	a.classes = set
	return errors.Join(err, err2)
}
