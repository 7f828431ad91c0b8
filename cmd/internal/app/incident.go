package app

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
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

// A Told is what an incident's entry, or a follow-up, came to.
type Told struct {
	Number   int64 // of the incident
	Open     bool
	WhyOpen  string
	Persons  []Person
	Raised   []*Outcome
	Notes    []string
	Receipts []logbook.Receipt
}

// read checks an answer and returns it as it is recorded.
func (q *IncidentQuestion) read(now time.Time, text string) (string, error) {
	text = strings.TrimSpace(text)
	switch {
	case text == "":
		return notSaid, nil
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

// TellIncident records an incident and, unless it is said that no cell reacted,
// puts every cell that it names up to emergency, in one write.
func (r *Recording) TellIncident(shop *Shop, act Act, x Incident) (*Told, error) {
	b, err := x.body(r.now())
	if err != nil {
		return nil, err
	}
	if from := b.at("started"); !from.IsZero() {
		act.Happened = from
	} else if !act.Happened.IsZero() && b.Said["started"] == notSaid {
		b.Said["started"] = act.Happened.Format(time.RFC3339)
	}
	if to := b.at("ended"); !to.IsZero() && to.Before(act.Happened) {
		return nil, Usage("it ended %s, before it happened", to.Format("2006-01-02 15:04"))
	}
	tags, err := readTags(splitTags(x.Answers["tags"]))
	if err != nil {
		return nil, err
	}
	t := &Told{Open: true, Persons: b.Persons}
	err = r.log.Write(func(tx *logbook.Tx) error {
		n := named{tx: tx, told: t, reacted: b.Said["reacted"] != "no"}
		for _, tag := range tags {
			if err := n.add(tag); err != nil {
				return err
			}
		}
		t.Number = tx.Next()
		b.About = strconv.FormatInt(t.Number, 10)
		d, err := r.draft(nil, act, "incident", b, n.tags...)
		if err != nil {
			return err
		}
		d.Now = n.lots(d.Happened)
		receipt, err := tx.Append(d)
		if err != nil {
			return err
		}
		t.Receipts = append(t.Receipts, receipt)
		if !n.reacted {
			return nil
		}
		return r.raiseAll(tx, shop, act, t, n.cells)
	})
	if err != nil {
		return nil, fmt.Errorf("not recorded: %w", err)
	}
	return t, nil
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

// named gathers the cells that an incident is about.
type named struct {
	tx      *logbook.Tx
	told    *Told
	reacted bool
	tags    []string // of the entry
	cells   []string
	bins    []logbook.State // lots
}

// add adds a tag: a cell, or a container with all that is in it.
func (n *named) add(tag string) error {
	kind, _ := triage.TagNumber(tag)
	if kind == triage.CellTag {
		cell, err := nameOf(n.tx, tag)
		if err != nil {
			return err
		}
		if cell != tag {
			n.told.Notes = append(n.told.Notes, fmt.Sprintf("%s is another tag of %s.", triage.SpacedTag(tag), triage.SpacedTag(cell)))
		}
		n.tags, n.cells = once(n.tags, cell), once(n.cells, cell)
		return nil
	}
	n.tags = once(n.tags, tag)
	h, ok, err := n.tx.HeldAs(tag)
	if err != nil {
		return err
	}
	if kind != triage.ContainerTag || !ok {
		n.told.Notes = append(n.told.Notes, fmt.Sprintf("The log has nothing in %s: name the cells that were in it (pouchward raise TAG --to emergency).", triage.SpacedTag(tag)))
		return nil
	}
	if h.Count > 0 {
		n.bins = append(n.bins, h.State)
	}
	return n.tx.Contents(tag, func(h *logbook.Held) error {
		n.cells = once(n.cells, h.Tag)
		return nil
	})
}

func once(list []string, tag string) []string {
	if slices.Contains(list, tag) {
		return list
	}
	return append(list, tag)
}

// lots says that lots react: they have no entries of their own to be raised by.
func (n *named) lots(at time.Time) (list []logbook.State) {
	if !n.reacted {
		return nil
	}
	for _, s := range n.bins {
		o := &Outcome{Tag: s.Tag, Was: s}
		if s.Handling != triage.Emergency.String() {
			s.Since = at
		}
		s.Handling, s.Condition = triage.Emergency.String(), triage.Reacting.String()
		o.Is = s
		n.told.Raised = append(n.told.Raised, o)
		list = append(list, s)
	}
	return list
}

// raiseAll puts cells up to emergency, each with an entry that names the
// incident.
func (r *Recording) raiseAll(tx *logbook.Tx, shop *Shop, act Act, t *Told, cells []string) error {
	// What the incident's entry says of the tags is read back.
	if err := tx.Flush(); err != nil {
		return err
	}
	body := raiseBody{Handling: triage.Emergency.String(), Condition: triage.Reacting.String(), Note: fmt.Sprintf("incident %d", t.Number)}
	for _, tag := range cells {
		c, err := readCell(tx, tag)
		if err != nil {
			return err
		}
		o := &Outcome{Shop: shop, Tag: c.Tag, Was: c.State}
		if err := r.put(tx, c, o, act, "raise", body); err != nil {
			return err
		}
		o.Is = c.State
		t.Raised = append(t.Raised, o)
		t.Receipts = append(t.Receipts, o.Receipts...)
	}
	return nil
}
