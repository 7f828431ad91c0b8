package exports

import (
	"fmt"
	"io"
	"strings"

	"pouchward/logbook"
)

// A Hold is one thing that keeps a cell in its class.
type Hold struct {
	Rule  string `json:"rule"` // as determine --lower takes it
	Title string `json:"title"`
	Entry int64  `json:"entry,omitempty"` // that found it
	How   string `json:"how"`             // what lets go of it
	Can   bool   `json:"-"`               // a determination can
}

// Holds writes what keeps a cell in its class, and what lets go of each.
func Holds(w io.Writer, now logbook.State, list []Hold) error {
	if err := StateLine(w, logbook.State{}, now); err != nil {
		return err
	}
	var b strings.Builder
	for _, h := range list {
		title := h.Title
		if h.Entry > 0 {
			title += fmt.Sprintf(" (entry %d)", h.Entry)
		}
		head := h.Rule
		for _, text := range []string{title, "-> " + h.How} {
			for _, line := range Wrap(Clean(text), width-25) {
				fmt.Fprintf(&b, " %-23s %s\n", Clean(head), line)
				head = ""
			}
		}
	}
	if len(list) == 0 {
		b.WriteString("Nothing that a look or a hand put there holds it.\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}
