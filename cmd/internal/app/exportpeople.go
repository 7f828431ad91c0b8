package app

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pouchward/logbook"
)

// people are the names of an export that says none: P1, P2, ... in the order in
// which the log first names them, and the same in all of its tables. A nil one
// leaves names as they were typed.
type people struct {
	codes map[string]string // by foldName
	names []string          // as first typed
	typed []string          // every spelling, the longest first
}

// foldName is one spelling of a name: MK, mk and " MK " are one person.
func foldName(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

// noName are answers where a name could stand that name nobody.
var noName = []string{"", "?", notSaid, nobody}

// code returns what is printed for a name.
func (p *people) code(name string) string {
	key := foldName(name)
	if p == nil || slices.Contains(noName, key) {
		return name
	}
	c, ok := p.codes[key]
	if !ok {
		c = fmt.Sprintf("P%d", len(p.names)+1)
		p.codes[key], p.names = c, append(p.names, name)
	}
	p.spelt(strings.TrimSpace(name))
	return c
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

// within replaces names that stand as words of their own in a text that this
// program made.
func (p *people) within(text string) string {
	if p == nil {
		return text
	}
	for _, name := range p.typed {
		if !strings.Contains(text, name) {
			continue
		}
		var b strings.Builder
		rest := text
		for {
			before, after, found := strings.Cut(rest, name)
			b.WriteString(before)
			if !found {
				break
			}
			if endsInWord(before) || startsWord(after) || endsInWord(b.String()) {
				b.WriteString(name)
			} else {
				b.WriteString(p.code(name))
			}
			rest = after
		}
		text = b.String()
	}
	return text
}

func startsWord(s string) bool {
	r := []rune(s[:min(len(s), 4)])
	return len(r) > 0 && wordRune(r[0])
}

func endsInWord(s string) bool {
	r := []rune(s[max(0, len(s)-4):])
	return len(r) > 0 && wordRune(r[len(r)-1])
}

func wordRune(r rune) bool {
	return r >= '0' && r <= '9' || r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' || r == '_' || r >= 0x80 && r != 0xFFFD
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
	if err := e.decode(entry, &b); err != nil {
		return err
	}
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
	return nil
}
