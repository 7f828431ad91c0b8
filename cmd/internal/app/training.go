package app

import (
	"fmt"
	"strings"

	"pouchward/triage"
)

// notSaid stands in an entry for what nobody said.
const notSaid = "not said"

// A Training is what somebody was told or shown.
type Training struct {
	Name      string // initials or staff code; a full name is never asked for
	Topic     string
	Materials string // what was used, with its edition
	By        string // who gave it
	Given     string // date; blank: today
	Until     string // date of the next; blank: not said
	Passed    string // yes, no, or blank
}

type trainingBody struct {
	Subject   string `json:"subject"`
	About     string `json:"about"`
	Name      string `json:"name"`
	Topic     string `json:"topic"`
	Materials string `json:"materials"`
	By        string `json:"by"`
	Given     string `json:"given"`
	Until     string `json:"until"`
	Passed    string `json:"passed"`
}

// Train records a training; the last one about a person and a topic counts.
func (r *Recording) Train(act Act, x Training) (*Tried, error) {
	b, err := x.body(triage.DateOf(r.now()))
	if err != nil {
		return nil, err
	}
	until := "until when is not said"
	if b.Until != notSaid {
		until = "until " + b.Until
	}
	t := &Tried{Lines: []string{fmt.Sprintf("%s: %s, given %s, %s; passed: %s", b.Name, b.Topic, b.Given, until, b.Passed)}}
	if x.Given == "" {
		t.Lines = append(t.Lines, "Taken as given today: --given DATE says another day.")
	}
	if b.Until != notSaid && b.Until < triage.DateOf(r.now()).String() {
		t.Lines = append(t.Lines, "NOTICE It has run out: it is owed again.")
	}
	switch b.Passed {
	case "no":
		t.Lines = append(t.Lines, "NOTICE Not passed: it is owed again.")
	case notSaid:
		// Being informed (40 CFR 273.16) asks for no test; hazmat training does.
		t.Lines = append(t.Lines, "NOTICE Not said whether a test was passed (--passed): a record of hazmat training certifies it, and has the name and address of who gave it [49 CFR 172.704(d)].")
	}
	return t, r.record(t, act, b)
}

func (x *Training) body(today triage.Date) (*trainingBody, error) {
	line := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	said := func(s string) string {
		if s = line(s); s == "" {
			return notSaid
		}
		return s
	}
	b := &trainingBody{Subject: "training", Name: line(x.Name), Topic: line(x.Topic), Materials: said(x.Materials), By: said(x.By), Until: notSaid}
	switch {
	case b.Name == "" || len(b.Name) > 60 || strings.Contains(b.Name, ":"):
		return nil, Usage("name who was trained: initials or a staff code, at most 60 characters, without a colon")
	case b.Topic == "":
		return nil, Usage("say what about: --topic \"damaged cells\"")
	case len(b.Topic) > 120:
		return nil, Usage("--topic: at most 120 characters")
	}
	b.About = b.Name + ": " + b.Topic
	given := today
	var err error
	if x.Given != "" {
		if given, err = triage.ParseDate(x.Given); err != nil {
			return nil, Usage("--given %q: %v", x.Given, err)
		}
	}
	if given > today {
		return nil, Usage("--given %s is still to come (today is %s): record it when it was given", given, today)
	}
	b.Given = given.String()
	if x.Until != "" {
		until, err := triage.ParseDate(x.Until)
		if err != nil {
			return nil, Usage("--until %q: %v", x.Until, err)
		}
		if until < given {
			return nil, Usage("--until %s is before the day on which it was given, %s", until, given)
		}
		b.Until = until.String()
	}
	if b.Passed, err = yesNo("--passed", x.Passed); err != nil {
		return nil, err
	}
	if b.Passed == "" || b.Passed == "?" {
		b.Passed = notSaid
	}
	return b, nil
}
