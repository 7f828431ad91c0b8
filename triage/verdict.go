package triage

// A Determination is a named person's recorded judgement of condition. It sets
// rules aside, by id, and only those that allow it.
type Determination struct {
	SetsAside []Aside
	Criteria  string // the criteria ticked, letters of a-f
	Reason    string
	By        string
	Second    string // a second person
	Expert    bool   // by the maker or a technical expert
	On        Date
	Until     Date // lapses after this day; 0 never
}

// An Aside is a rule that a determination sets aside, with the value that was
// judged: a worse one that comes in later was not, and counts again.
type Aside struct {
	Rule string
	Fact FactID // of the value
	Seen Fact   // not known for a rule that shows no number
}

// RaisedSource is where it stands that a raise counts.
const RaisedSource = "common practice: anyone may raise a class, and only a determination lowers what an earlier entry found"

// A Raise puts a class up at once; it needs no reading and no reason.
type Raise struct {
	Handling  Handling
	Condition ConditionClass
	Waste     Waste // what a casing was found to be
	By        string
}

// A Case is all that a verdict rests on.
type Case struct {
	Reading        Reading
	Earlier        *Reading // the merge of the readings on record, nil for none
	HoursBetween   Micro    // hours from the earlier reading to this one
	On             Date
	Determinations []Determination
	Raises         []Raise
	Solo           bool     // the house file says that one person may determine
	InHand         []string // ids of ways whose approval, scheme or permit is in hand and unexpired
	Recalls        *RecallList
	Country        string // ISO 3166 alpha-2 of the shop; blank is US, the federal baseline
	State          string // state or region of the shop
	Origin         string // origin of the shop's waste: municipal or trade; blank is not said
}

// FindingState says how a rule took part in the verdict.
type FindingState uint8

// The finding states.
const (
	Fired   FindingState = iota
	CouldBe              // unknown: could fire when the missing facts come in
	SetAside
)

var findingWords = [...]string{"fired", "unknown", "set-aside"}

// String returns the state word.
func (s FindingState) String() string { return findingWords[s] }

// A Finding is one rule that fired, or could fire.
type Finding struct {
	Rule    *Rule // nil for a raise
	State   FindingState
	Shown   *Condition // the condition whose value is shown
	Value   Fact
	Missing FactSet
	By      string // who raised, or set aside
	Raised  Raise
}

// A MaybeWay is a way that would open if the missing facts turn out well.
type MaybeWay struct {
	Way     *Way
	Missing FactSet
	Asks    bool // it also needs an approval that is not in hand
}

// Best returns the class that the way would give: approval where one is asked.
func (m *MaybeWay) Best() RouteClass {
	if m.Asks {
		return RouteApproval
	}
	return m.Way.class
}

// A RouteAnswer is the shipping class on one route and what led to it.
type RouteAnswer struct {
	Class    RouteClass
	Way      *Way       // the lightest open way, or the way asked for
	Bar      *Bar       // the bar that closed all ways
	Closed   *Way       // the way that came nearest, when no bar closed all
	Open     []*Way     // the other open ways
	Maybe    []MaybeWay // ways that could open, the fewest missing facts first
	Asked    []*Way     // ways on approval
	NoTable  bool       // no rule table covers this route and chemistry yet
	Declined bool       // the table does not cover this chemistry

	closed []*Way     // the ways that their conditions closed
	failed *Condition // the condition that closed Closed, nil when none did
}

// A Next is a reading worth taking, and the worst that it could show.
type Next struct {
	Field  FieldID
	Answer string // handling, condition, size, waste or a route
	From   string
	To     string
}

// A Verdict is four answers and the routes. Its slices are reused when it is
// passed to Judge again.
type Verdict struct {
	Tag       string
	On        Date
	Handling  Handling
	Condition ConditionClass
	Size      Size
	Waste     Waste
	Facts     Facts
	Reading   *Reading // the reading judged; the merge where there is an earlier one
	Routes    [NumRoutes]RouteAnswer
	LookAgain int // minutes, 0 for none

	HandlingFindings  []Finding
	ConditionFindings []Finding
	SizeFindings      []Finding
	WasteFindings     []Finding
	Advice            []*Advice    // in order of printing
	Streams           []*Stream    // what waste law makes of it
	States            []*StateLine // where a state differs
	Next              []Next
	Questions         []Question
	Rejected          []string // determinations that were not used, and why

	Told        string // what the recall list says, "" for nothing
	RecallsRead Date   // when the recall list was read, 0 without one

	past       []*Instrument // instruments past their known text
	merged     Reading
	nextFields FieldSet // the fields in Next
}
