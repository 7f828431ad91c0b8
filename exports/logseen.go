package exports

import (
	"fmt"
	"io"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
)

// seenFields are the readings that a person looks back for, after the signs, each
// with its unit as printed.
var seenFields = []struct {
	field triage.FieldID
	form  string
}{
	{triage.OcvV, "%s\u00a0V"}, {triage.CellC, "%s\u00a0°C"}, {triage.AmbientC, "room %s\u00a0°C"}, {triage.ThicknessMm, "%s\u00a0mm"}, {triage.QuietH, "quiet %s\u00a0h"},
}

// seen tells in a few words what a look found, as it was typed; blank where it
// says nothing that is looked back for.
func seen(e *logbook.Entry) string {
	var b struct {
		Readings map[string]any `json:"readings"`
	}
	if e.Body.Decode(&b) != nil {
		return "" // a body of another shape says less
	}
	text := func(f triage.FieldID) string {
		switch v := b.Readings[triage.Fields[f].Name].(type) {
		case string:
			return v
		case map[string]any:
			if value, ok := v["value"].(string); ok {
				return value // in the base unit; a refused one has none
			}
		}
		return ""
	}
	var list []string
	if s := text(triage.Signs); s == "none" {
		list = append(list, "no sign")
	} else if s != "" {
		list = append(list, strings.NewReplacer(";", ", ", "_", " ").Replace(s))
	}
	for f := range triage.NumFields {
		if triage.Fields[f].Sign && text(f) == "yes" {
			list = append(list, strings.ReplaceAll(triage.Fields[f].Name, "_", " "))
		}
	}
	for _, x := range seenFields {
		// A code such as us is a reason, not a reading.
		if s := text(x.field); strings.Trim(s[:min(len(s), 1)], "0123456789-.") == "" && s != "" {
			list = append(list, fmt.Sprintf(x.form, s))
		}
	}
	return strings.Join(list, "; ")
}

// lastSeen writes what the last two kinds of look at a cell found: the one that
// judged it whole, and a later recheck.
func lastSeen(w io.Writer, h *History) error {
	var judged, looked *logbook.Entry
	for _, e := range h.Entries {
		switch {
		case h.Void[e.Number] != 0:
		case e.Kind == "assessment":
			judged, looked = e, nil
		case e.Kind == "recheck":
			looked = e
		}
	}
	for _, e := range []*logbook.Entry{judged, looked} {
		if e == nil {
			continue
		}
		what := seen(e)
		if what == "" {
			what = "no reading"
		}
		line := fmt.Sprintf("entry %d, %s: %s", e.Number, e.Local(e.Happened).Format("2006-01-02 15:04"), what)
		for _, part := range Fold(Clean("SEEN      "+line), width, 10) {
			if _, err := io.WriteString(w, strings.ReplaceAll(part, "\u00a0", " ")+"\n"); err != nil {
				return err
			}
		}
	}
	return nil
}
