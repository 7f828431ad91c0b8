package app

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// A FollowUp is what was asked again some day after an incident.
type FollowUp struct {
	Incident int64
	There    string   // where the incident does not say who
	Exposure []string // INITIALS=what
	Closed   string   // yes or no
	Note     string
}

type followUpBody struct {
	About    string   `json:"about"`
	FollowUp bool     `json:"follow_up"`
	There    string   `json:"there,omitempty"`
	Persons  []Person `json:"persons"`
	Closed   string   `json:"closed"`
	Open     bool     `json:"open"`
	WhyOpen  string   `json:"why_open,omitempty"`
	Note     string   `json:"note,omitempty"`
}

// incidentEntry is the first entry of an incident.
type incidentEntry struct {
	*logbook.Entry
	body incidentBody
}

// readIncident reads the first entry of an incident.
func readIncident(l *logbook.Log, n int64) (incidentEntry, error) {
	e, err := l.Entry(n)
	if err != nil {
		return incidentEntry{}, err
	}
	x := incidentEntry{Entry: e}
	if e.Kind != "incident" {
		return x, Usage("entry %d is of kind %s, not an incident; pouchward incident list prints those", n, e.Kind)
	}
	if err := e.Body.Decode(&x.body); err != nil {
		return x, fmt.Errorf("entry %d: %w", n, err)
	}
	if x.body.About != strconv.FormatInt(n, 10) {
		return x, Usage("entry %d is a follow-up of incident %s: --follow-up %s", n, x.body.About, x.body.About)
	}
	return x, nil
}

// over is the last day on which it may have gone on: where nobody said when it
// was over, that on which it was written down.
func (x *incidentEntry) over() triage.Date {
	end := x.Entered
	if to := x.body.at("ended"); !to.IsZero() {
		end = to
	}
	return triage.DateOf(x.Local(end))
}

// lastWord returns the last entry about an incident.
func lastWord(list []*logbook.Entry, n int64) (*logbook.Entry, followUpBody, error) {
	about := strconv.FormatInt(n, 10)
	for _, e := range list {
		var b followUpBody
		if err := e.Body.Decode(&b); err != nil {
			return nil, b, fmt.Errorf("entry %d: %w", e.Number, err)
		}
		if b.About == about {
			return e, b, nil
		}
	}
	return nil, followUpBody{}, fmt.Errorf("no view names incident %d: run pouchward log verify, then log rebuild", n)
}

// WhoWasThere returns the people whom a follow-up asks.
func (r *Recording) WhoWasThere(incident int64) ([]Person, error) {
	if _, err := readIncident(r.log, incident); err != nil {
		return nil, err
	}
	list, err := r.log.Latest("incident")
	if err != nil {
		return nil, err
	}
	_, last, err := lastWord(list, incident)
	return last.Persons, err
}

// Follow records a follow-up. It closes the incident when it says so, on a later
// day than that on which it was over, with everybody asked: fluoride burns and
// breathed-in smoke can show hours late (ATSDR on hydrogen fluoride).
func (r *Recording) Follow(act Act, f FollowUp) (*Told, error) {
	first, err := readIncident(r.log, f.Incident)
	if err != nil {
		return nil, err
	}
	b := followUpBody{About: first.body.About, FollowUp: true, There: strings.TrimSpace(f.There), Note: f.Note, Open: true}
	if b.Closed, err = yesNo("--closed", f.Closed); err != nil {
		return nil, err
	}
	if b.Closed == "" || b.Closed == "?" {
		b.Closed = notSaid
	}
	at := r.at(act.Happened)
	if at.Before(first.Happened) {
		return nil, Usage("%s is before the incident, %s", at.Format("2006-01-02 15:04"), first.Local(first.Happened).Format("2006-01-02 15:04"))
	}
	t := &Told{Number: f.Incident}
	err = r.log.Write(func(tx *logbook.Tx) error {
		list, err := tx.Latest("incident")
		if err != nil {
			return err
		}
		_, last, err := lastWord(list, f.Incident)
		if err != nil {
			return err
		}
		if err := b.people(&first, &last, f.Exposure); err != nil {
			return err
		}
		b.WhyOpen = b.open(&first, at)
		b.Open = b.WhyOpen != ""
		d, err := r.draft(nil, act, "incident", b, first.Tags...)
		if err != nil {
			return err
		}
		receipt, err := tx.Append(d)
		t.Receipts = append(t.Receipts, receipt)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("not recorded: %w", err)
	}
	t.Open, t.WhyOpen, t.Persons = b.Open, b.WhyOpen, b.Persons
	return t, nil
}

// people takes over who was there; each is to be asked anew.
func (b *followUpBody) people(first *incidentEntry, last *followUpBody, given []string) error {
	b.Persons = []Person{}
	for _, p := range last.Persons {
		b.Persons = append(b.Persons, Person{p.Who, notSaid})
	}
	list, err := initials(b.There)
	if err != nil {
		return err
	}
	for _, who := range list {
		if !slices.ContainsFunc(b.Persons, func(p Person) bool { return strings.EqualFold(p.Who, who) }) {
			b.Persons = append(b.Persons, Person{who, notSaid})
		}
	}
	if b.Persons, err = exposures(b.Persons, given); err != nil {
		return err
	}
	switch there := cmp.Or(b.There, last.There, first.body.Said["there"]); {
	case strings.EqualFold(b.There, nobody) && len(b.Persons) > 0:
		return Usage("--there nobody: %s was there, by the entries before", b.Persons[0].Who)
	case b.There == "" && strings.EqualFold(there, nobody) && len(b.Persons) == 0:
		b.There = nobody
	}
	return nil
}

// open says why an incident stays open, blank when it does not.
func (b *followUpBody) open(first *incidentEntry, at time.Time) string {
	switch who := unanswered(b.Persons); {
	case b.Closed != "yes":
		return "nobody said that it is closed"
	case triage.DateOf(at) <= first.over():
		return fmt.Sprintf("exposure is asked again on a later day than %s, as it can show hours late", first.over())
	case len(who) > 0:
		return "not said how it is with " + strings.Join(who, ", ")
	case len(b.Persons) == 0 && !strings.EqualFold(b.There, nobody):
		return "nobody said who was there (--there, or --there nobody)"
	}
	return ""
}

// An IncidentLine is one incident as it stands.
type IncidentLine struct {
	Number   int64    `json:"incident"`
	Happened string   `json:"happened"`
	Open     bool     `json:"open"`
	WhyOpen  string   `json:"why_open"`
	Tags     []string `json:"tags"`
	Reacted  string   `json:"reacted"`
	Seen     string   `json:"seen"`
	NearMiss string   `json:"near_miss"`
	Persons  []Person `json:"persons"` // as they were last asked
	Last     int64    `json:"last_entry"`
}

// Incidents returns every incident in order.
func Incidents(p LogPlace) ([]IncidentLine, error) {
	list := []IncidentLine{}
	err := ReadLog(p, func(l *logbook.Log) error {
		latest, err := l.Latest("incident")
		if err != nil {
			return err
		}
		for _, e := range latest {
			x, err := incidentLine(l, e)
			if err != nil {
				return err
			}
			list = append(list, x)
		}
		return nil
	})
	slices.SortFunc(list, func(a, b IncidentLine) int { return cmp.Compare(a.Number, b.Number) })
	return list, err
}

func incidentLine(l *logbook.Log, e *logbook.Entry) (IncidentLine, error) {
	last := followUpBody{Open: true} // what does not say that it is closed is open
	if err := e.Body.Decode(&last); err != nil {
		return IncidentLine{}, fmt.Errorf("entry %d: %w", e.Number, err)
	}
	n, err := strconv.ParseInt(last.About, 10, 64)
	if err != nil {
		return IncidentLine{}, fmt.Errorf("entry %d is about %.20q, which is no entry's number", e.Number, last.About)
	}
	first, err := readIncident(l, n)
	if err != nil {
		return IncidentLine{}, err
	}
	said := first.body.Said
	x := IncidentLine{Number: n, Happened: first.Local(first.Happened).Format("2006-01-02 15:04 -07:00"), Open: last.Open, WhyOpen: last.WhyOpen,
		Tags: first.Tags, Reacted: said["reacted"], Seen: said["seen"], NearMiss: said["near_miss"], Persons: last.Persons, Last: e.Number}
	if !last.FollowUp {
		x.Open, x.WhyOpen = true, "nobody was asked again" // whatever the entry says
	}
	return x, nil
}
