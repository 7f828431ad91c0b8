package app

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
)

// AskIncident asks for an incident, one plain question a line, each of which may
// be left blank. The end of the input ends the asking; when nothing was typed at
// all, there is no incident to record.
func AskIncident(now time.Time, in io.Reader, out io.Writer) (x Incident, err error) {
	a := newAsker(in, out)
	x.Answers = map[string]string{}
	fmt.Fprintln(out, "If it is going on NOW: pouchward emergency")
	fmt.Fprintln(out, "Blank: not said.  ?: not known.")
	for i := range IncidentQuestions {
		q := &IncidentQuestions[i]
		more, err := a.ask(q.Ask, func(text string) string {
			if _, err := q.read(now, text); err != nil {
				return err.Error()
			}
			if q.Name == "tags" {
				if _, err := readTags(splitTags(text)); err != nil {
					return err.Error()
				}
			}
			x.Answers[q.Name] = text
			if _, err := x.body(now); err != nil { // it goes against an earlier answer
				return err.Error()
			}
			return ""
		})
		if err != nil {
			return x, err
		}
		if more && q.Name == "there" {
			list, _ := initials(x.Answers["there"]) // accepted above
			var given []string
			if given, more, err = askExposure(a, list); err != nil {
				return x, err
			}
			x.Exposure = given
		}
		if !more {
			break
		}
	}
	fmt.Fprintln(out)
	if a.heard == 0 {
		return x, Usage("nothing was said; nothing is recorded. Answer the questions, or use flags (pouchward incident --help)")
	}
	return x, nil
}

// askExposure asks for each person.
func askExposure(a *asker, who []string) (given []string, more bool, err error) {
	for _, w := range who {
		more, err := a.ask(w+": what do they feel (none, or what; ? not known)", func(text string) string {
			given = append(given, w+"="+text)
			return ""
		})
		if !more || err != nil {
			return given, false, err
		}
	}
	return given, true, nil
}

// AskFollowUp asks for a follow-up of an incident: each person who was there,
// then whether it is closed.
func AskFollowUp(known []Person, f *FollowUp, in io.Reader, out io.Writer) error {
	a := newAsker(in, out)
	var who []string
	for _, p := range known {
		who = append(who, p.Who)
	}
	more := true
	var err error
	if len(who) == 0 {
		more, err = a.ask("Who was there, by initials, or nobody", func(text string) string {
			if who, err = initials(text); err != nil {
				return err.Error()
			}
			f.There = text
			return ""
		})
	}
	if more && err == nil {
		f.Exposure, more, err = askExposure(a, who)
	}
	if more && err == nil {
		_, err = a.ask("Is it closed (yes, no)", func(text string) string {
			if _, err := yesNo("closed", text); err != nil {
				return err.Error()
			}
			f.Closed = text
			return ""
		})
	}
	fmt.Fprintln(out)
	if err == nil && a.heard == 0 {
		return Usage("nothing was said; nothing is recorded")
	}
	return err
}

// unanswered lists who was not asked, or does not know.
func unanswered(persons []Person) (list []string) {
	for _, p := range persons {
		if p.Exposure == notSaid || p.Exposure == "?" {
			list = append(list, p.Who)
		}
	}
	return list
}

// feeling lists who feels something.
func feeling(persons []Person) (list []string) {
	for _, p := range persons {
		if p.Exposure != "none" && !slices.Contains(unanswered(persons), p.Who) {
			list = append(list, p.Who+": "+p.Exposure)
		}
	}
	return list
}

// Lines says in words what an incident's entry came to.
func (t *Told) Lines(next bool) (list []string) {
	if who := feeling(t.Persons); len(who) > 0 {
		list = append(list, "MEDICAL ADVICE NOW for "+strings.Join(who, "; "))
	}
	if who := unanswered(t.Persons); len(who) > 0 {
		list = append(list, "Not said how it is with "+strings.Join(who, ", ")+": ask them now.")
	}
	switch {
	case !t.Open:
		list = append(list, fmt.Sprintf("Incident %d is closed.", t.Number))
	case next:
		list = append(list, fmt.Sprintf("Incident %d is open. Ask everybody who was there again tomorrow (common practice): pouchward incident --follow-up %d", t.Number, t.Number))
	default:
		list = append(list, fmt.Sprintf("Incident %d stays open: %s.", t.Number, t.WhyOpen))
	}
	return list
}
