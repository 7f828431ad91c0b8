package review

import (
	"fmt"
	"slices"
	"strings"
)

// CountOf puts a number before words that begin with a noun in the plural: "3 cells
// that were judged"; of one they stand in the singular.
func CountOf(n int64, plural string) string {
	if n == 1 {
		plural = one(plural)
	}
	return fmt.Sprintf("%d %s", n, plural)
}

// verbs in the plural and the singular.
var verbs = [][2]string{{"were", "was"}, {"are", "is"}, {"have", "has"}, {"do", "does"}}

// one puts the first noun of some words, and the verb of "that were", into the singular.
func one(text string) string {
	words := strings.Split(text, " ")
	noun := slices.IndexFunc(words, func(w string) bool {
		return w == "people" || len(w) > 3 && strings.HasSuffix(strings.TrimSuffix(w, ","), "s")
	})
	if noun < 0 {
		return text
	}
	words[noun] = oneOf(words[noun])
	if rest := words[noun+1:]; len(rest) > 1 && rest[0] == "that" {
		if v := slices.IndexFunc(verbs, func(v [2]string) bool { return v[0] == rest[1] }); v >= 0 {
			rest[1] = verbs[v][1]
		}
	}
	return strings.Join(words, " ")
}

func oneOf(noun string) string {
	bare, comma := strings.CutSuffix(noun, ",")
	for _, end := range [][2]string{{"people", "person"}, {"ies", "y"}, {"ches", "ch"}, {"s", ""}} {
		if stem, ok := strings.CutSuffix(bare, end[0]); ok {
			bare = stem + end[1]
			break
		}
	}
	if comma {
		bare += ","
	}
	return bare
}
