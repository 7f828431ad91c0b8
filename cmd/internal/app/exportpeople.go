package app

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"pouchward/exports/table"
	"pouchward/logbook"
)

// people are the names of an export that says none: P1, P2, ... in the order in
// which the log first names them, and the same in all of its tables. A nil one
// leaves names as they were typed.
type people struct {
	numbers map[string]int // by foldName
	names   []string       // as first typed
	typed   []string       // every spelling, the longest first
	letter  string         // before the number
}

func newPeople() *people { return &people{numbers: map[string]int{}, letter: "P"} }

// settle chooses a letter for the codes that no name begins with, once all names are
// known: a code must not be taken for somebody's name.
func (p *people) settle() {
	for slices.ContainsFunc(p.typed, func(name string) bool {
		rest, found := strings.CutPrefix(strings.ToUpper(name), p.letter)
		return found && strings.Trim(rest, "0123456789") == ""
	}) {
		p.letter += "X"
	}
}

// codes names all codes in words: P1 to P4.
func (p *people) codes() string {
	switch n := len(p.names); n {
	case 0:
		return "of which there is none"
	case 1:
		return p.letter + "1"
	default:
		return fmt.Sprintf("%s1 to %s%d", p.letter, p.letter, n)
	}
}

// foldName is one spelling of a name: MK, mk and " MK " are one person.
func foldName(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

// noName are answers where a name could stand that name nobody.
var noName = []string{"", "?", notSaid, nobody}

// code returns what is printed for a name.
func (p *people) code(name string) string {
	if p == nil {
		return name
	}
	key := foldName(name)
	if slices.Contains(noName, key) {
		return name
	}
	n, ok := p.numbers[key]
	if !ok {
		p.names = append(p.names, name)
		n = len(p.names)
		p.numbers[key] = n
	}
	p.spelt(strings.TrimSpace(name))
	return fmt.Sprintf("%s%d", p.letter, n)
}

// spelt keeps a spelling: MK and mk are one person, and either may stand in a text.
// The longest come first, so that a name is replaced before a part of it is.
func (p *people) spelt(name string) {
	at, found := slices.BinarySearchFunc(p.typed, name, func(a, b string) int { return cmp.Or(cmp.Compare(len(b), len(a)), cmp.Compare(a, b)) })
	if !found {
		p.typed = slices.Insert(p.typed, at, name)
	}
}

// all returns what is printed for names.
func (p *people) all(names []string) (list []string) {
	for _, n := range names {
		list = append(list, p.code(n))
	}
	return list
}

// there returns what is printed for the answer to who was there.
func (p *people) there(text string) string {
	list, err := initials(text)
	if p == nil || err != nil || len(list) == 0 {
		return text
	}
	return strings.Join(p.all(list), " ")
}

// within replaces names, as they were typed anywhere, where they stand as words of
// their own in a text.
func (p *people) within(text string) string {
	if p == nil {
		return text
	}
	var b strings.Builder
	done, inWord := 0, false
	for at, r := range text {
		if at < done {
			continue
		}
		if !inWord {
			if name := p.at(text[at:]); name != "" {
				b.WriteString(p.code(name))
				done, inWord = at+len(name), true
				continue
			}
		}
		b.WriteRune(r)
		done, inWord = at+utf8.RuneLen(r), wordRune(r)
	}
	return b.String()
}

// at returns the name that a text begins with, blank for none.
func (p *people) at(text string) string {
	for _, name := range p.typed {
		if rest, found := strings.CutPrefix(text, name); found && !startsWord(rest) {
			return name
		}
	}
	return ""
}

func startsWord(s string) bool {
	r, _ := utf8.DecodeRuneInString(s)
	return s != "" && wordRune(r)
}

func wordRune(r rune) bool {
	return r == '_' || unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.IsMark(r)
}

// freeColumns are the columns in which people write, or that quote what they wrote:
// somebody may be named there.
var freeColumns = []string{"about", "action", "answer", "authority", "bench", "came_back_why", "carrier", "consignee", "criteria", "device", "found", "lid", "materials", "not_told",
	"note", "outer", "part", "place", "reason", "settled_how", "source", "subject", "text", "ticket", "topic", "what", "why_open", "wrong"}

// redacted is a table in which nobody is named by a name that the log knows.
func (e *exporter) redacted(t *table.Table) *table.Table {
	if e.people == nil {
		return t
	}
	var free []int
	for i := range t.Columns {
		name := t.Columns[i].Name
		asked := slices.ContainsFunc(IncidentQuestions, func(q IncidentQuestion) bool { return q.Name == name && t.Name == "incidents" })
		if t.Columns[i].Type == table.Text && (asked || slices.Contains(freeColumns, name)) {
			free = append(free, i)
		}
	}
	out, rows := *t, t.Rows
	out.Rows = func(put func([]table.Value) error) error {
		return rows(func(row []table.Value) error {
			for _, i := range free {
				row[i] = table.OfText(e.people.within(row[i].Text()))
			}
			return put(row)
		})
	}
	return &out
}

// peopleBody is every member of a body, of whatever kind, that names a person.
type peopleBody struct {
	Subject  string       `json:"subject"`
	Second   string       `json:"second"`
	Field    string       `json:"field"`
	Old      string       `json:"old"`
	New      string       `json:"new"`
	Name     string       `json:"name"`
	By       string       `json:"by"`
	Asked    string       `json:"asked"`
	There    string       `json:"there"`
	Persons  []Person     `json:"persons"`
	Packages []packedBody `json:"packages"`
	Handover *Handover    `json:"handover"`
	Said     struct {
		There string `json:"there"`
	} `json:"said"`
}

// meetPeople gives a code to everybody whom an entry names.
func (e *exporter) meetPeople(entry *logbook.Entry) error {
	p := e.people
	p.code(entry.Who)
	switch entry.Kind {
	case "determination", "correction", "incident", "shipment", "record":
	default:
		return nil // who is all that they name
	}
	var b peopleBody
	wrong := e.decode(entry, &b) // what of it could be read is taken in
	p.code(b.Second)
	if b.Field == "who" {
		p.all([]string{b.Old, b.New})
	}
	switch b.Subject {
	case "training":
		p.all([]string{b.Name, b.By})
	case "local-rule":
		p.code(b.Asked)
	}
	p.there(b.Said.There)
	p.there(b.There)
	for _, x := range b.Persons {
		p.code(x.Who)
	}
	for i := range b.Packages {
		p.all([]string{b.Packages[i].PackedBy, b.Packages[i].CheckedBy})
	}
	if b.Handover != nil {
		p.code(b.Handover.Acceptance.By)
	}
	return wrong
}
