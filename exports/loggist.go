package exports

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/logbook"
)

// gist says in a few words what an entry about no cell alone is about.
func gist(e *logbook.Entry) string {
	var x struct {
		About    string            `json:"about"`
		Checks   map[string]string `json:"checks"`
		Found    *int64            `json:"found"`
		Expected int64             `json:"expected"`
		Missing  []string          `json:"missing"`
		Extra    []string          `json:"extra"`
		Passed   string            `json:"passed"`
		Answered string            `json:"answered"`
		FollowUp bool              `json:"follow_up"`
		Open     *bool             `json:"open"`
	}
	if e.Body.Decode(&x) != nil {
		return "" // a body of another shape says less in one line
	}
	switch e.Kind {
	case "inspection":
		return x.About + inspectionGist(x.Checks, x.Found, x.Expected, len(x.Missing), len(x.Extra))
	case "incident":
		words := "incident " + x.About
		if x.FollowUp {
			words = "follow-up of " + words
		}
		if x.Open != nil && !*x.Open {
			return words + ", closed"
		}
		return words + ", open"
	case "record":
		for _, m := range [...][2]string{{"passed", x.Passed}, {"answered", x.Answered}} {
			if m[1] != "" {
				return strings.TrimSpace(x.About + "  " + m[0] + ": " + m[1])
			}
		}
		return x.About
	}
	return ""
}

func inspectionGist(checks map[string]string, found *int64, expected int64, missing, extra int) string {
	words := fmt.Sprintf("  expected %d", expected)
	if found != nil {
		words += fmt.Sprintf(", found %d", *found)
	}
	if missing+extra > 0 {
		words += fmt.Sprintf(", %d missing, %d extra", missing, extra)
	}
	var not []string
	for name, said := range checks {
		if said == "no" {
			not = append(not, name)
		}
	}
	if len(not) > 0 {
		slices.Sort(not)
		words += "  not met: " + strings.Join(not, ", ")
	}
	return words
}
