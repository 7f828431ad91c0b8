package exports

import (
	"cmp"
	"fmt"
	"io"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
)

// entryBody is what a line of the log tells of a body, whatever its kind. A
// body of another shape says less.
type entryBody struct {
	Found     string `json:"found"`
	Handling  string `json:"handling"`
	Condition string `json:"condition"`
	Subject   string `json:"subject"`

	Entry  int64  `json:"entry"`
	Field  string `json:"field"`
	Old    string `json:"old"`
	New    string `json:"new"`
	Reason string `json:"reason"`
	Moved  int64  `json:"moved_from"`

	To      string `json:"to"`
	Out     string `json:"out"`
	Because string `json:"because"`

	Terminals bool `json:"terminals"`
	Bag       bool `json:"bag"`
	Fill      bool `json:"fill"`

	Lowers []struct {
		Rule string `json:"rule"`
	} `json:"lowers"`
	Mistaken []int64 `json:"mistaken"`
	Criteria string  `json:"criteria"`
	About    string  `json:"about"` // of a sign-off: check and subject
	Second   string  `json:"second"`
	Until    string  `json:"until"`

	Cell  string `json:"cell"`
	Other string `json:"other"`

	Outer *struct {
		Name  string `json:"name"`
		Level string `json:"level"`
	} `json:"outer"`

	Kind     string `json:"kind"`
	Material string `json:"material"`
	Place    string `json:"place"`
	Lot      *struct {
		Count int64 `json:"count"`
	} `json:"lot"`
}

// says tells an entry in a few words, for its line.
func says(e *logbook.Entry) (list []string) {
	var b entryBody
	_ = e.Body.Decode(&b)
	put := func(format string, args ...any) { list = append(list, fmt.Sprintf(format, args...)) }
	some := func(words ...string) {
		for _, w := range words {
			if w != "" {
				list = append(list, w)
			}
		}
	}
	switch e.Kind {
	case "assessment", "recheck", "raise":
		some(b.Found, classText(b.Handling), b.Condition)
		if b.Moved > 0 {
			put("moved from entry %d", b.Moved)
		}
	case "determination":
		list = append(list, b.determined()...)
	case "correction":
		put("%s of entry %d: %q -> %q (%s)", b.Field, b.Entry, b.Old, b.New, b.Reason)
	case "retraction":
		put("of entry %d (%s)", b.Entry, b.Reason)
	case "move":
		if b.To != "" {
			put("to %s", b.To)
		}
		some(b.Out, b.Because)
	case "secured":
		some(b.secured())
	case "split":
		put("%s split off from %s", triage.SpacedTag(b.Other), triage.SpacedTag(b.Cell))
	case "merge":
		put("%s is %s", triage.SpacedTag(b.Other), triage.SpacedTag(b.Cell))
	case "shipment":
		some(shipmentGist(e))
	case "sign-off":
		put("answers %s", b.About)
		put("%q", b.Reason)
		if b.Until != "" {
			put("until %s", b.Until)
		}
	case "container":
		some(strings.TrimSpace(b.Material+" "+b.Kind), b.Place)
		if b.Outer != nil {
			put("%s (%s)", b.Outer.Name, b.Outer.Level)
		}
		if b.Lot != nil {
			put("lot of %d", b.Lot.Count)
		}
	default:
		some(classText(b.Handling), b.Condition, b.Subject, cmp.Or(recordDetail(e), gist(e)))
		if b.Entry > 0 {
			put("of entry %d", b.Entry)
		}
	}
	return list
}

func (b *entryBody) determined() (list []string) {
	var rules []string
	for _, l := range b.Lowers {
		rules = append(rules, l.Rule)
	}
	if len(rules) > 0 {
		list = append(list, "lowers "+strings.Join(rules, ", "))
	}
	for _, n := range b.Mistaken {
		list = append(list, fmt.Sprintf("entry %d was a slip", n))
	}
	if b.Condition != "" {
		list = append(list, "puts up to "+b.Condition)
	}
	list = append(list, fmt.Sprintf("criteria %s: %q", b.Criteria, b.Reason))
	if b.Until != "" {
		list = append(list, "until "+b.Until)
	}
	if b.Second != "" {
		list = append(list, "with "+b.Second)
	}
	return list
}

func (b *entryBody) secured() string {
	var done []string
	for _, x := range []struct {
		is   bool
		what string
	}{{b.Terminals, "terminals"}, {b.Bag, "bag"}, {b.Fill, "fill"}} {
		if x.is {
			done = append(done, x.what)
		}
	}
	return strings.Join(done, ", ")
}

// A History is what the log holds of one tag.
type History struct {
	Tag     string // the cell's own
	Entries []*logbook.Entry
	Void    map[int64]int64 // entries retracted, and by which
	Now     logbook.State   // Is blank: nothing was ever said of it
}

// LogHistory writes the entries of a tag with each change of class, and what
// holds now.
func LogHistory(w io.Writer, h *History) error {
	rows, err := h.Rows()
	if err != nil {
		return err
	}
	for i := range rows {
		x := &rows[i]
		if err := LogLine(w, h.Entries[i]); err != nil {
			return err
		}
		if x.Void != 0 {
			fmt.Fprintf(w, "%9sRETRACTED by entry %d\n", "", x.Void)
		}
		if x.Was != "" {
			fmt.Fprintf(w, "%9snow %s (was %s)\n", "", x.Is, x.Was)
		}
	}
	if h.Now.Is == "" {
		return nil
	}
	if _, err := io.WriteString(w, "\n"); err != nil {
		return err
	}
	if err := StateLine(w, logbook.State{}, h.Now); err != nil {
		return err
	}
	if err := lastSeen(w, h); err != nil {
		return err
	}
	_, err = io.WriteString(w, "CARE      "+triage.LocalFirst+"\n")
	return err
}
