package exports

import (
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// LogLine writes one entry as one line, the rest of a long one set in, times in
// the zone it was written in, and a line more for what a reader must not overlook.
func LogLine(w io.Writer, e *logbook.Entry) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%7d  %s  %-13s", e.Number, localTime(e, e.Entered), e.Kind)
	b.WriteString(lineTags(e.Tags))
	for _, x := range says(e) {
		b.WriteString("  " + x)
	}
	if e.Who != "" {
		b.WriteString("  by " + e.Who)
	}
	if e.Bench != "" {
		b.WriteString(", " + e.Bench)
	}
	text := strings.Join(Fold(Clean(b.String()), width, 9), "\n") + "\n"
	if gap := e.Entered.Sub(e.Happened); gap > time.Minute || gap < 0 {
		text += fmt.Sprintf("%9s%shappened %s\n", "", lateWord(gap), localTime(e, e.Happened))
	}
	if e.Clock != "" {
		text += fmt.Sprintf("%9sCLOCK BACK: the machine's clock stood %s behind an entry above\n", "", Clean(strings.TrimPrefix(e.Clock, "-")))
	}
	_, err := io.WriteString(w, text)
	return err
}

// manyTags is how many tags a line names before it names only the ends.
const manyTags = 8

func lineTags(tags []string) string {
	if len(tags) > manyTags {
		return fmt.Sprintf(" %s ... %s (%d tags)", triage.SpacedTag(tags[0]), triage.SpacedTag(tags[len(tags)-1]), len(tags))
	}
	text := ""
	for _, t := range tags {
		text += " " + triage.SpacedTag(t)
	}
	return text
}

// late is how long after it happened an entry counts as entered late.
const late = 24 * time.Hour

func lateWord(gap time.Duration) string {
	switch {
	case gap < 0:
		return "AHEAD OF ITS TIME: "
	case gap > late:
		return "ENTERED LATE: "
	}
	return ""
}

// localTime writes a time with the offset that the entry names.
func localTime(e *logbook.Entry, at time.Time) string {
	return e.Local(at).Format("2006-01-02 15:04:05 -07:00")
}

// LogEntryText writes one entry in full: the line, its leaf hash, its body.
func LogEntryText(w io.Writer, e *logbook.Entry) error {
	if err := LogLine(w, e); err != nil {
		return err
	}
	leaf := e.Leaf()
	var body strings.Builder
	enc := json.NewEncoder(&body)
	enc.SetEscapeHTML(false)
	enc.SetIndent("    ", "  ")
	if err := enc.Encode(json.RawMessage(e.Body.Raw())); err != nil {
		return err
	}
	fmt.Fprintf(w, "  site  %s\n  leaf  %s\n", Clean(e.Site), hex.EncodeToString(leaf[:]))
	if len(e.Tags) > manyTags {
		var spaced []string
		for _, t := range e.Tags {
			spaced = append(spaced, triage.SpacedTag(t))
		}
		for _, l := range Wrap(strings.Join(spaced, ", "), width-8) {
			fmt.Fprintf(w, "  tags  %s\n", l)
		}
	}
	if e.Rulebook != "" {
		fmt.Fprintf(w, "  rules %s\n", Clean(e.Rulebook))
	}
	for line := range strings.Lines("    " + body.String()) {
		if _, err := io.WriteString(w, Clean(strings.TrimSuffix(line, "\n"))+"\n"); err != nil {
			return err
		}
	}
	return nil
}

// LogEntryJSON is an entry with its leaf hash in hex, as log show --json prints
// it; entry is the entry itself.
type LogEntryJSON struct {
	Leaf  string          `json:"leaf"`
	Entry json.RawMessage `json:"entry"`
}

// NewLogEntryJSON returns the JSON shape of an entry.
func NewLogEntryJSON(e *logbook.Entry) LogEntryJSON {
	leaf := e.Leaf()
	return LogEntryJSON{hex.EncodeToString(leaf[:]), e.Bytes}
}

// LogReport writes what a verification found.
func LogReport(w io.Writer, name string, r *logbook.Report) error {
	var b strings.Builder
	for _, p := range r.Problems {
		if p.Entry > 0 {
			fmt.Fprintf(&b, "BAD       entry %d: %s\n", p.Entry, p.Text)
		} else {
			fmt.Fprintf(&b, "BAD       %s\n", p.Text)
		}
	}
	if r.More > 0 {
		fmt.Fprintf(&b, "BAD       and %d more\n", r.More)
	}
	for _, m := range r.Matched {
		fmt.Fprintf(&b, "HOLDS     %s\n", m)
	}
	if r.ClockBack > 0 {
		fmt.Fprintf(&b, "CLOCK     the clock stood back while entries were made, and they say so: %d\n", r.ClockBack)
	}
	for _, n := range r.Notes {
		fmt.Fprintf(&b, "NOTE      %s\n", n)
	}
	switch {
	case r.Verified():
		fmt.Fprintf(&b, "VERIFIES  %s: %s, each with its hash, in order; views as the entries say\n", name, Count(r.Tree.Size, "entry"))
		if r.Files > 0 {
			fmt.Fprintf(&b, "FILES     %s, each there and as it was attached\n", Count(int64(r.Files), "attachment"))
		}
		fmt.Fprintf(&b, "PAPER     %s\n", r.Tree.Paper())
	case r.FirstBad > 0:
		fmt.Fprintf(&b, "FAILS     %s does not verify; the first bad entry is %d. Keep the file as it is.\n", name, r.FirstBad)
	default:
		fmt.Fprintf(&b, "FAILS     %s does not verify. Keep the file as it is.\n", name)
	}
	for line := range strings.Lines(b.String()) {
		line := Clean(strings.TrimSuffix(line, "\n"))
		if _, err := io.WriteString(w, strings.Join(Fold(line, width, 10), "\n")+"\n"); err != nil {
			return err
		}
	}
	return nil
}
