package review

import (
	"time"

	"pouchward/triage"
)

// A Snapshot is what a log says of a shop up to a moment, as plain facts. Times are
// on the clock of the shop: their Location is the shop's. Every list is in the order
// of its entries, but for Cells and Containers, which are by tag.
//
// How the entries are read:
//
//   - An entry is in it when it was entered by Now; of today, every one. A time after
//     Now, of a clock that stood ahead, is taken as Now.
//   - A look holds what its entry says as written; a correction is a step of its own.
//   - The steps of a tag that was merged stand among those of the cell, by number. A
//     tag that was split off begins with the entry that split it.
//   - A lot is a cell under the tag of its container, and stands in it (State.In).
//     With nothing left in it its last step is Nowhere.
//   - A word that this program does not know is the worst there is, and a trouble.
//   - A record of a key or of a block of tags is in no list, and a follow-up of an
//     incident in that of the incident.
type Snapshot struct {
	Site     string
	Country  string // ISO 3166 alpha-2, blank: US
	Solo     bool   // one person may determine
	Hours    triage.Hours
	From, To triage.Date // the period, both days in it
	Now      time.Time   // the moment reviewed for; no entry is later
	Rules    *triage.Rulebook

	Entries Numbers
	People  []Person // whom entries name, by name

	Cells      []Cell // single cells and lots
	Containers []Container
	Shipments  []Shipment
	Rounds     []Round
	Incidents  []Incident // the first entry of each
	Trainings  []Training
	Answers    []Answer // to questions of local rules, each entry
	Trials     []Trial  // of the emergency telephone and of instruments
	Files      []File
	Recalls    *Recalls // nil: no list is named
	SignOffs   []SignOff

	Changed  []Changed  // cells here whose answers the rules of the day change
	Troubles []Trouble  // what does not verify; see Verified
	Verified bool       // the log was verified as a whole; Troubles says with what result
	Unissued []Unissued // tags that no entry issued
	Counted  []Counted  // what the stock view says, to be held against the entries; nil: not for this moment
}

// Numbers are of the entries as a whole.
type Numbers struct {
	First, Last, Count int64
	Root               string    // of the tree, hex
	Began              time.Time // when the first entry was made
	Late               []Source
	ClockBack          []Source
	Corrections        int64
	Retractions        int64
}

// A Source is where a fact stands. Entry 0 is nowhere.
type Source struct {
	Entry    int64
	Who      string
	Bench    string
	Happened time.Time
	Entered  time.Time
	Clock    string // how far the clock stood back when it was entered, blank: it did not
}

// Day is the local day on which it happened.
func (s *Source) Day() triage.Date { return triage.DateOf(s.Happened) }

// A Person is one name under entries.
type Person struct {
	Name    string
	Entries int64
	Began   Source // the first entry of all that is about cells
	First   Source // the first within the period
}

// A Cell is a cell, or a lot where a state of it has a Count.
type Cell struct {
	Tag     string
	Aliases []string
	Part    string // as triage.PartKey spells it, blank: not said
	Steps   []Step
}

// A Step is one entry about a cell and what holds of the cell afterwards.
type Step struct {
	Source
	Kind string // of the entry: assessment, recheck, determination, raise, secured, move, correction, ...
	Void bool   // taken back by a later entry
	Now  State

	// What the entry says, by its kind; the others are nil.
	Look       *Look       // assessment, recheck
	Decision   *Decision   // determination
	Move       *Move       // move
	Secured    *Secured    // secured
	Correction *Correction // correction
	Retracts   int64       // retraction: the entry that it takes back
	Shipment   string      // shipment: its tag
	Did        string      // shipment: what was done
}

// A State is what holds of a tag; Is says whether it is in the shop.
type State struct {
	Is        Is
	Handling  triage.Handling
	Condition triage.ConditionClass
	Size      triage.Size
	Waste     triage.Waste
	Count     int64 // of a lot; 0 is a single cell
	MicroWh   int64 // 0 not known
	MilliGram int64 // 0 not weighed
	Start     triage.Date
	StartBy   string // waste_on, pulled_on, recorded, stated
	Since     time.Time
	Looked    time.Time
	LookIn    int64 // minutes after Looked, 0 not said
	Place, In string
	MadeSafe  bool

	// A determination that lapses: its last day, 0 for none, and the answers
	// without it.
	Lapses          triage.Date
	LapsedHandling  triage.Handling
	LapsedCondition triage.ConditionClass
}

// Is says where a tag is.
type Is uint8

const (
	Nowhere Is = iota // the log holds nothing under it; so a lot counted down to none
	Here              // in the shop
	Out               // left it
	Alias             // another tag of a cell
)

// Cells is how many cells stand under the tag.
func (s *State) Cells() int64 {
	switch {
	case s.Is != Here:
		return 0
	case s.Count > 0:
		return s.Count
	}
	return 1
}

// A Look is what was read.
type Look struct {
	Given     []Given // fields that were given, with what was read of them
	Found     string  // of a recheck: same or worse
	Handling  triage.Handling
	Condition triage.ConditionClass
	Findings  []string // rules that fired
	Open      []string // rules that could fire
	FromPart  []string // label fields taken over from the memory of parts
	EnergyWh  triage.Micro
}

// A Given is one field of a look.
type Given struct {
	Field triage.FieldID
	Value triage.Value
}

// Get returns what was read of a field; blank where it was not given.
func (l *Look) Get(f triage.FieldID) triage.Value {
	for i := range l.Given {
		if l.Given[i].Field == f {
			return l.Given[i].Value
		}
	}
	return triage.Value{}
}

// A Decision is a determination.
type Decision struct {
	Lowers   []string // rules that it sets aside
	Raises   bool     // it puts the condition up
	Mistaken []int64  // entries whose findings no longer count
	Criteria string
	Reason   string
	Second   string
	Expert   bool
}

// A Move says where something went.
type Move struct {
	To, Out, Because string
}

// A Secured says what was done to keep it.
type Secured struct {
	Terminals, Bag, Fill bool
}

// A Correction is of one field of an entry.
type Correction struct {
	Of       int64
	Field    string
	Old, New string
	Reason   string
}

// Last returns the state that holds at Now, nil for a cell without a step.
func (c *Cell) Last() *State {
	if len(c.Steps) == 0 {
		return new(State)
	}
	return &c.Steps[len(c.Steps)-1].Now
}
