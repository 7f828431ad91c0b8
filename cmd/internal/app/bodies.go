package app

import "pouchward/triage"

// The bodies of entries, by kind. What holds of a tag afterwards stands in the
// member "now", which the logbook adds (logbook.State).

// assessmentBody is what is read back of an assessment or a recheck; it is
// written by assessment.append.
type assessmentBody struct {
	Found     string         `json:"found"` // of a recheck: same or worse
	Handling  string         `json:"handling"`
	Condition string         `json:"condition"`
	Readings  map[string]any `json:"readings"`
	Findings  []string       `json:"findings"`
	AsWritten []string       `json:"as_written"` // rules that fire on a row as written, whose cells may have shifted
	FromPart  []string       `json:"from_part"`  // label facts taken over from part memory
}

type raiseBody struct {
	Handling  string `json:"handling"`
	Condition string `json:"condition"`
	Note      string `json:"note,omitempty"`
}

type determinationBody struct {
	Lowers    []loweredRule `json:"lowers,omitempty"`
	Mistaken  []int64       `json:"mistaken,omitempty"`  // entries, corrected or retracted, whose findings no longer count
	Condition string        `json:"condition,omitempty"` // puts it up: liable, damaged, recalled
	Criteria  string        `json:"criteria"`
	Reason    string        `json:"reason"`
	Second    string        `json:"second,omitempty"`
	Expert    bool          `json:"expert,omitempty"` // by the maker or a technical expert
	Until     string        `json:"until,omitempty"`
	Was       [2]string     `json:"was"` // handling and condition before
}

// loweredRule is a rule that a determination sets aside; fact, from and to are
// the value that was judged, in millionths of the unit, where the rule has one.
type loweredRule struct {
	Rule string        `json:"rule"`
	Fact string        `json:"fact,omitempty"`
	From *triage.Micro `json:"from,omitempty"`
	To   *triage.Micro `json:"to,omitempty"`
}

type securedBody struct {
	Terminals bool `json:"terminals"` // insulated
	Bag       bool `json:"bag"`       // one cell, one bag that is no metal
	Fill      bool `json:"fill"`      // in dry fill that neither burns nor conducts
}

type moveBody struct {
	To      string `json:"to,omitempty"`  // place, or tag of a container
	Out     string `json:"out,omitempty"` // why it left the shop
	Because string `json:"because,omitempty"`
}

type correctionBody struct {
	Entry  int64     `json:"entry"`
	Field  string    `json:"field"`
	Old    string    `json:"old"`
	New    string    `json:"new"`
	Reason string    `json:"reason"`
	Note   string    `json:"note,omitempty"`
	Was    [2]string `json:"was"`

	// What the corrected readings come to, and the rules that fire on them.
	Handling  string   `json:"handling"`
	Condition string   `json:"condition"`
	Findings  []string `json:"findings"`
}

type retractionBody struct {
	Entry  int64     `json:"entry"`
	Reason string    `json:"reason"`
	Note   string    `json:"note,omitempty"`
	Was    [2]string `json:"was"`
}

// tieBody is of a split or a merge: cell is the tag that stays, other the one
// that is split off or becomes its alias.
type tieBody struct {
	Cell   string `json:"cell"`
	Other  string `json:"other"`
	Reason string `json:"reason,omitempty"`
	Issued bool   `json:"issued,omitempty"`

	// Of a merge: the worse of what the two tags had, which holds until the next
	// look.
	Handling  string `json:"handling,omitempty"`
	Condition string `json:"condition,omitempty"`

	entry int64 // its number
}

// signOffBody answers a finding of a review: check and subject are its key, entries
// those that it rested on.
type signOffBody struct {
	About   string  `json:"about"` // the key: check and subject
	Check   string  `json:"check"`
	Subject string  `json:"subject"`
	Entries []int64 `json:"entries"`
	Reason  string  `json:"reason"`
	Until   string  `json:"until,omitempty"` // last day on which it counts
}
