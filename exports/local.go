package exports

import (
	"fmt"
	"io"
	"strings"

	"pouchward/triage"
)

// How a question of local rules stands.
const (
	LocalOpen     = "open"
	LocalAnswered = "answered"
	LocalLapsed   = "lapsed"
)

// A LocalRow is a question of local rules and the last answer to it.
type LocalRow struct {
	ID        string `json:"id"`
	State     string `json:"state"`
	Since     string `json:"since"` // blank: not known
	Question  string `json:"question"`
	Ask       string `json:"ask"`
	Answer    string `json:"answer"`
	Authority string `json:"authority"`
	Asked     string `json:"asked"`
	AskedOn   string `json:"asked_on"`
	Source    string `json:"source"`
	Lapses    string `json:"lapses"` // blank: no lapse date
	By        string `json:"by"`
	Reason    string `json:"reason"` // of asking anew
	Entry     int64  `json:"entry"`  // 0: none
}

// Locals writes the register of questions, those without an answer first.
func Locals(w io.Writer, on triage.Date, list []LocalRow) error {
	var b strings.Builder
	count := map[string]int{}
	for i := range list {
		count[list[i].State]++
	}
	fmt.Fprintf(&b, "LOCAL RULES on %s: %d open, %d lapsed, %d answered\n", on, count[LocalOpen], count[LocalLapsed], count[LocalAnswered])
	for _, state := range []string{LocalOpen, LocalLapsed, LocalAnswered} {
		for i := range list {
			if list[i].State == state {
				b.WriteByte('\n')
				list[i].write(&b)
			}
		}
	}
	b.WriteString("\nLocal codes and licensed practice come first.\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// Local writes one question.
func Local(w io.Writer, x *LocalRow) error {
	var b strings.Builder
	x.write(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

func (x *LocalRow) write(b *strings.Builder) {
	since := ""
	if x.Since != "" {
		since = " since " + Clean(x.Since)
	}
	c := card{width: width}
	c.item(strings.ToUpper(x.State), x.ID+since)
	c.item("", x.Question+" Ask "+x.Ask+".")
	switch {
	case x.Entry == 0:
	case x.Answer == "":
		c.item("", Clean(fmt.Sprintf("Asked anew: %s. By %s, entry %d.", strings.TrimSuffix(x.Reason, "."), x.By, x.Entry)))
	default:
		c.item("", Clean(fmt.Sprintf("%q", x.Answer)))
		c.item("", Clean(fmt.Sprintf("%s; asked: %s, on %s; source: %s.", x.Authority, x.Asked, x.AskedOn, strings.TrimSuffix(x.Source, "."))))
		lapses := "no lapse date"
		if x.Lapses != "" {
			lapses = "lapses " + x.Lapses
		}
		c.item("", Clean(fmt.Sprintf("By %s, entry %d; %s.", x.By, x.Entry, lapses)))
	}
	b.WriteString(c.b.String())
}

// LocalsJSON writes the register, one object a line.
func LocalsJSON(w io.Writer, list []LocalRow) error { return jsonLines(w, list) }

// LocalLine writes the line of a card that has been printed already: an
// emergency's is not kept waiting for the log.
func LocalLine(w io.Writer, q *triage.Local) error {
	c := card{width: width}
	c.item("LOCAL", q.Line())
	_, err := io.WriteString(w, c.b.String())
	return err
}
