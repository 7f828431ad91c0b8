package app

import (
	"slices"
	"strings"
	"time"
	"unicode/utf8"
)

// An Incident is what is told of one, each answer as typed by the name of its
// question. Everything may be left out; it is then on record as not said.
type Incident struct {
	Answers  map[string]string
	Exposure []string // INITIALS=what, for each who was there
}

// A Person is somebody who was there: none, ?, or what they feel.
type Person struct {
	Who      string `json:"who"`
	Exposure string `json:"exposure"`
}

type incidentBody struct {
	About   string            `json:"about"` // the number of the incident's first entry
	Said    map[string]string `json:"said"`
	Persons []Person          `json:"persons"`
	Open    bool              `json:"open"`
}

// An IncidentQuestion is one thing that is told of an incident.
type IncidentQuestion struct {
	Name, Ask string
	yesNo     bool
	time      bool
}

// IncidentQuestions in the order of asking: first what holds the cells.
var IncidentQuestions = []IncidentQuestion{
	{Name: "tags", Ask: "Tags of the cells, or of a container with all in it"},
	{Name: "reacted", Ask: "Did a cell smoke, hiss, burn or smell (yes, no, ?)", yesNo: true},
	{Name: "started", Ask: "When it began (2026-11-24 17:40, or 17:40 for today)", time: true},
	{Name: "ended", Ask: "When it was over", time: true},
	{Name: "seen", Ask: "What was seen"},
	{Name: "there", Ask: "Who was there, by initials, or nobody"},
	{Name: "room", Ask: "Which room"},
	{Name: "energy", Ask: "Energy and charge of the cell, where known"},
	{Name: "first_aid", Ask: "First aid given"},
	{Name: "fire_called", Ask: "Was the fire service called (yes, no, ?)", yesNo: true},
	{Name: "fire_came", Ask: "Did it come (yes, no, ?)", yesNo: true},
	{Name: "extinguishing", Ask: "What it was put out or cooled with"},
	{Name: "waste", Ask: "Waste that it made, and where that is"},
	{Name: "photos", Ask: "Photos, and where they are"},
	{Name: "cause", Ask: "Cause, as far as known"},
	{Name: "action", Ask: "What was changed so that it does not come again"},
	{Name: "reports", Ask: "Reports made, and to whom"},
	{Name: "near_miss", Ask: "Was it a near miss, with no harm done (yes, no, ?)", yesNo: true},
}

// nobody is the answer that says that no person was there.
const nobody = "nobody"

// read checks an answer and returns it as it is recorded.
func (q *IncidentQuestion) read(now time.Time, text string) (string, error) {
	text = strings.TrimSpace(text)
	switch {
	case text == "":
		return notSaid, nil
	case utf8.RuneCountInString(text) > longestText:
		return "", fitsValue(text) // now, not after the last question
	case q.yesNo:
		return yesNo(q.Name, text)
	case q.time && text != "?":
		at, err := ParseHappened(text, now)
		if err != nil {
			return "", Usage("%s %q: use 2026-11-24 17:40, or 17:40 for today", q.Name, text)
		}
		if at.After(now) {
			return "", Usage("%s %q is still to come", q.Name, text)
		}
		return at.Format(time.RFC3339), nil
	case q.Name == "there":
		_, err := initials(text)
		return text, err
	}
	return text, nil
}

// initials reads who was there; none for nobody, and for not known.
func initials(text string) (list []string, err error) {
	for _, w := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" ,;+", r) }) {
		if !slices.Contains(list, w) {
			list = append(list, w)
		}
	}
	if i := slices.IndexFunc(list, func(w string) bool { return w == "?" || strings.EqualFold(w, nobody) }); i >= 0 {
		if len(list) > 1 {
			return nil, Usage("%q: name the people, or write nobody, or ?", text)
		}
		return nil, nil
	}
	return list, nil
}

// exposures reads INITIALS=what over the people who were there.
func exposures(persons []Person, list []string) ([]Person, error) {
	for _, x := range list {
		who, what, ok := strings.Cut(x, "=")
		who, what = strings.TrimSpace(who), strings.TrimSpace(what)
		if !ok || who == "" || strings.ContainsAny(who, " ,;") || strings.EqualFold(who, nobody) {
			return nil, Usage("--exposure %q: write INITIALS=none, INITIALS=? or INITIALS=what they feel", x)
		}
		if strings.EqualFold(what, "no") || strings.EqualFold(what, "none") {
			what = "none"
		}
		if what == "" {
			what = notSaid
		}
		i := slices.IndexFunc(persons, func(p Person) bool { return strings.EqualFold(p.Who, who) })
		if i < 0 {
			persons = append(persons, Person{Who: who})
			i = len(persons) - 1
		}
		persons[i].Exposure = what
	}
	return persons, nil
}

// body reads all answers.
func (x *Incident) body(now time.Time) (*incidentBody, error) {
	b := &incidentBody{Said: map[string]string{}, Persons: []Person{}, Open: true}
	for i := range IncidentQuestions {
		q := &IncidentQuestions[i]
		text, err := q.read(now, x.Answers[q.Name])
		if err != nil {
			return nil, err
		}
		b.Said[q.Name] = text
	}
	if from, to := b.at("started"), b.at("ended"); !to.IsZero() && to.Before(from) {
		return nil, Usage("it ended %s, before it started %s", to.Format("2006-01-02 15:04"), from.Format("2006-01-02 15:04"))
	}
	var err error
	if b.Said["there"] != notSaid {
		list, err := initials(b.Said["there"])
		if err != nil {
			return nil, err
		}
		for _, who := range list {
			b.Persons = append(b.Persons, Person{who, notSaid})
		}
	}
	if b.Persons, err = exposures(b.Persons, x.Exposure); err != nil {
		return nil, err
	}
	if len(b.Persons) > 0 && strings.EqualFold(b.Said["there"], nobody) {
		return nil, Usage("there: nobody was there, and %s was", b.Persons[0].Who)
	}
	return b, nil
}

// at returns a time that was said, zero where none was.
func (b *incidentBody) at(name string) time.Time {
	t, err := time.Parse(time.RFC3339, b.Said[name])
	if err != nil {
		return time.Time{}
	}
	return t
}

// splitTags reads tags with commas or spaces between. One may be written with
// its space, as it is printed: its first two symbols alone are never a tag.
func splitTags(text string) (list []string) {
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' }) {
		words := strings.Fields(part)
		for len(words) > 0 {
			tag := words[0]
			if len(tag) == 2 && len(words) > 1 {
				tag, words = tag+words[1], words[1:]
			}
			list, words = append(list, tag), words[1:]
		}
	}
	return list
}
