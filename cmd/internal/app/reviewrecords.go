package app

import (
	"slices"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/review"
)

// round takes in an inspection.
func (r *reviewReader) round(x *readEntry) {
	var b inspectionBody
	if !r.decode(x.Entry, &b) {
		return
	}
	v := review.Round{Source: x.source, About: r.word(b.About), Checks: map[string]string{}, Found: b.Found, Expected: b.Expected, Missing: b.Missing, Extra: b.Extra,
		Scanned: b.Scanned != nil, LogML: b.LogML, Unmeasured: r.unmeasured(b.About), Action: b.Action, Note: b.Note}
	for name, said := range b.Checks {
		if said == "yes" || said == "no" {
			v.Checks[r.word(name)] = said // what was not looked at is not there
		}
	}
	if b.VolumeL != "" {
		m, err := triage.ParseQuantity(b.VolumeL, "L", false)
		if err != nil {
			r.trouble(x.Number, "the volume \""+b.VolumeL+"\" cannot be read")
		}
		v.MilliLitr = int64(m / 1000)
	}
	r.s.Rounds = append(r.s.Rounds, v)
}

// incidentWords is an incident's first entry, or a follow-up.
type incidentWords struct {
	About    string            `json:"about"`
	Said     map[string]string `json:"said"`
	Persons  []Person          `json:"persons"`
	FollowUp bool              `json:"follow_up"`
	There    string            `json:"there"`
	Open     *bool             `json:"open"`
}

// incident takes in what was told of an incident, and what was asked again.
func (r *reviewReader) incident(x *readEntry) {
	var b incidentWords
	if !r.decode(x.Entry, &b) {
		return
	}
	v := r.incidents[b.About]
	if v == nil {
		v = &review.Incident{Source: x.source, Tags: slices.Clone(x.Tags), NearMiss: b.Said["near_miss"] == "yes"}
		r.incidents[b.About] = v
		owed := afterNothing
		if b.Said["reacted"] != "no" {
			owed = afterReaction
		}
		for _, q := range owed {
			if isUnsaid(b.Said[q]) {
				v.Unsaid = append(v.Unsaid, q)
			}
		}
	}
	v.Last = x.source
	// Open until a follow-up says that it is not, as pouchward incident list has it.
	v.Open = !b.FollowUp || b.Open == nil || *b.Open
	v.Unsaid = slices.DeleteFunc(v.Unsaid, func(q string) bool {
		return strings.HasPrefix(q, exposureOf) || q == "there" && (!isUnsaid(b.There) || b.FollowUp && len(b.Persons) > 0)
	})
	for _, who := range unanswered(b.Persons) {
		v.Unsaid = append(v.Unsaid, exposureOf+who)
	}
}

// What an incident must say before it can be closed: of a reaction what it was, who was
// there and what came of it; of what came to nothing, what it was and what was changed.
var (
	afterReaction = []string{"tags", "seen", "there", "fire_called", "waste", "cause", "action"}
	afterNothing  = []string{"seen", "action"}
)

// exposureOf begins the question how somebody is who was there.
const exposureOf = "exposure of "

func isUnsaid(text string) bool { return text == "" || text == "?" || text == notSaid }

// record takes in a record, by its subject.
func (r *reviewReader) record(x *readEntry) {
	s := r.s
	var b struct {
		Subject string `json:"subject"`
	}
	if !r.decode(x.Entry, &b) {
		return
	}
	switch b.Subject {
	case "training":
		var t trainingBody
		if r.decode(x.Entry, &t) {
			s.Trainings = append(s.Trainings, review.Training{Source: x.source, Name: r.word(t.Name), Topic: r.word(t.Topic), Given: r.date(x.Number, t.Given),
				Until: r.date(x.Number, t.Until), Failed: t.Passed == "no"})
		}
	case "local-rule":
		var a LocalAnswer
		if r.decode(x.Entry, &a) {
			s.Answers = append(s.Answers, review.Answer{Source: x.source, Question: r.word(a.About), Given: strings.TrimSpace(a.Answer) != "", Lapses: r.date(x.Number, a.Lapses)})
		}
	case "emergency-number":
		var n numberBody
		if r.decode(x.Entry, &n) {
			if n.Number == notSaid {
				n.Number = ""
			}
			s.Trials = append(s.Trials, review.Trial{Source: x.source, Number: r.word(n.Number), Passed: n.Answered == "yes"})
		}
	case "instrument-check":
		var i instrumentBody
		if r.decode(x.Entry, &i) {
			s.Trials = append(s.Trials, review.Trial{Source: x.source, Instrument: r.word(i.About), Unit: unitOf(i.Unit), Passed: i.Passed == "yes",
				Unjudged: i.Passed != "yes" && i.Passed != "no"})
		}
	case "attachment":
		r.file(x)
	}
}

// unitOf is the unit in which readings of an instrument's kind are kept: V, mm, C, g.
func unitOf(typed string) string {
	base, err := baseUnit(typed)
	if err != nil {
		return typed
	}
	return strings.TrimPrefix(base, "°")
}

// file takes in an attachment.
func (r *reviewReader) file(x *readEntry) {
	a, _, err := logbook.AttachmentOf(x.Entry)
	if err != nil {
		r.trouble(x.Number, err.Error())
		return
	}
	r.s.Files = append(r.s.Files, review.File{Source: x.source, Tags: slices.Clone(x.Tags), OfEntry: a.OfEntry, What: r.word(a.What), Name: a.Name, SHA256: a.SHA256})
}

// signOff takes in an answer to a finding.
func (r *reviewReader) signOff(x *readEntry) {
	var b signOffBody
	if r.decode(x.Entry, &b) {
		r.s.SignOffs = append(r.s.SignOffs, review.SignOff{Source: x.source, Check: r.word(b.Check), Subject: b.Subject, Entries: b.Entries, Reason: b.Reason,
			Until: r.date(x.Number, b.Until)})
	}
}

// finishRecords marks what was taken back. No command takes back any of these yet.
func (r *reviewReader) finishRecords(void map[int64]bool) {
	s := r.s
	for i := range s.Rounds {
		s.Rounds[i].Void = void[s.Rounds[i].Entry]
	}
	for _, x := range r.incidents {
		x.Void = void[x.Entry]
	}
	for i := range s.Trainings {
		s.Trainings[i].Void = void[s.Trainings[i].Entry]
	}
	for i := range s.Answers {
		s.Answers[i].Void = void[s.Answers[i].Entry]
	}
	for i := range s.Trials {
		s.Trials[i].Void = void[s.Trials[i].Entry]
	}
	for i := range s.SignOffs {
		s.SignOffs[i].Void = void[s.SignOffs[i].Entry]
	}
}
