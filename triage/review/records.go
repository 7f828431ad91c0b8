package review

import (
	"time"

	"pouchward/triage"
)

// A Container is a tin, a bin, a package.
type Container struct {
	Tag   string
	Steps []ContainerStep
}

// A ContainerStep is one entry about a container and what holds of it afterwards.
type ContainerStep struct {
	Source
	Kind      string // of the entry
	Is        Is
	What      string // kind and material: steel tin
	Lid       string // closed, vented, open; blank: not said
	MilliLitr int64  // 0: not known
	Stated    triage.Date
	Place     string
	Package   bool   // an outer packaging of a shipment
	Shipment  string // its tag
}

// At returns the last step at or before a moment, nil where there is none.
func (c *Container) At(t time.Time) *ContainerStep {
	var last *ContainerStep
	for i := range c.Steps {
		if !c.Steps[i].Happened.After(t) {
			last = &c.Steps[i]
		}
	}
	return last
}

// A Shipment is one consignment, by its entries.
type Shipment struct {
	Tag   string
	Steps []ShipmentStep
}

// Last is the last step.
func (s *Shipment) Last() *ShipmentStep { return &s.Steps[len(s.Steps)-1] }

// A ShipmentStep is one entry about a shipment: what was done and what holds of it
// afterwards.
type ShipmentStep struct {
	Source
	Did       string // begun, packed, closed, reopened, dispatched, refused, received, settled
	Package   string // what it was done to
	Cells     []string
	Stage     string
	Open      bool // it left, and no receipt settles it
	Offered   triage.Date
	Route     string
	Consignee string
	Packages  []Package
	Handover  *Handover
	Receipt   *Receipt
}

// A Package is an outer packaging as the log has it.
type Package struct {
	Tag       string
	Closed    bool
	Inner     bool // each in an inner packaging of its own
	Fill      bool
	Cells     []string
	UN        string
	Ways      []WayOf // by which it was judged to go
	UWh       int64   // microwatt-hours of those rated
	Unrated   int64
	NetMg     int64
	Unweighed int64
	PackedBy  string
	CheckedBy string

	// Of its cells when it was closed; a word that is not known is the worst.
	Conditions []triage.ConditionClass
}

// A WayOf is a way of the rulebook of the day on which a package was closed.
type WayOf struct {
	ID          string
	Known       bool // a rulebook has it
	Damaged     bool // it is for damaged, recalled or liable cells
	OnePerOuter bool
}

// A Handover is what left, and on whose word.
type Handover struct {
	Carrier    string
	At         time.Time
	Papers     bool
	Phone      string
	AcceptedBy string
	Ref        string
	Until      triage.Date // last day on which the acceptance holds, 0: not said
	Accepts    []triage.ConditionClass
}

// A Receipt is what the consignee says came in.
type Receipt struct {
	On      triage.Date
	Differs []string // in what it differs from what left
	Note    string   // how it was settled
	Closed  bool
}

// A Round is an inspection of a place or of a container.
type Round struct {
	Source
	Void       bool
	About      string            // place, or tag of a container
	Checks     map[string]string // closed, sound, labelled, dated, alone, quiet: yes or no
	Found      *int64
	Expected   int64
	InLots     int64 // of those expected, without a tag of their own
	Missing    []string
	Extra      []string
	Scanned    bool
	MilliLitr  int64 // stated volume of what stands there, 0 not stated
	LogML      int64 // of the containers there whose volume is known
	Unmeasured int64 // containers there whose volume is not known
	Action     string
	Note       string
}

// An Incident is something that reacted, or nearly did.
type Incident struct {
	Source
	Void     bool
	Tags     []string
	NearMiss bool
	Unsaid   []string // questions that nobody answered
	Open     bool     // nobody has closed it by Now
	Last     Source   // the last entry about it
}

// A Training is what somebody was told or shown.
type Training struct {
	Source
	Void   bool
	Name   string
	Topic  string
	Given  triage.Date
	Until  triage.Date // 0: not said
	Failed bool
}

// An Answer is to a question of local rules.
type Answer struct {
	Source
	Void     bool
	Question string // its id
	Given    bool   // false: asked anew
	Lapses   triage.Date
}

// A Trial is of the emergency telephone, or of an instrument against a reference.
type Trial struct {
	Source
	Void       bool
	Instrument string // blank: the emergency telephone
	Unit       string // of an instrument: V, mm, C, g
	Number     string
	Passed     bool
	Unjudged   bool // nobody named the difference allowed: neither passed nor failed
}

// A File is attached to a tag or to an entry.
type File struct {
	Source
	Tags    []string
	OfEntry int64
	What    string // photo, certificate, paper
	Name    string
	SHA256  string
	Read    bool   // its bytes were read again for this snapshot
	Wrong   string // what is wrong with it, blank: nothing, or not read
}

// Recalls is the list of recalls that the house file names.
type Recalls struct {
	ReadOn triage.Date
}

// A SignOff answers a finding.
type SignOff struct {
	Source
	Void    bool
	Check   string
	Subject string
	Entries []int64 // that the finding rested on
	Reason  string
	Until   triage.Date // last day on which it counts, 0: no end
}

// A Changed is a cell in the shop whose answers differ under the rules of the day.
type Changed struct {
	Tag     string
	Entry   int64 // that last said its answers
	Changes []triage.AnswerChange
}

// A Trouble is what does not verify.
type Trouble struct {
	Entry int64 // 0: of none
	Text  string
}

// An Unissued is a tag that an entry uses and none issued.
type Unissued struct {
	Source
	Tag string
}

// A Counted is what the stock view of the log says of one container or place.
type Counted struct {
	Key       string // tag of the container; blank: cells of no container
	Place     string
	Cells     int64
	MicroWh   int64
	MilliGram int64
}
