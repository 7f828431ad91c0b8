package app

import (
	"strings"

	"pouchward/triage"
)

// CommandLine returns the command that gives the same answer as values given in
// another way.
func CommandLine(given []Given, more ...string) string {
	words := []string{"pouchward", "assess"}
	for _, g := range given {
		if text := strings.TrimSpace(g.Text); text != "" {
			words = append(words, "--"+strings.ReplaceAll(triage.Fields[g.Field].Name, "_", "-"), shellWord(text))
		}
	}
	return strings.Join(append(words, more...), " ")
}

// Command returns a command of this program as it is typed. A blank word that
// follows a flag stands as one in quotes.
func Command(words ...string) string {
	line := []string{"pouchward"}
	for _, w := range words {
		if w == "" {
			w = `""`
		} else {
			w = shellWord(w)
		}
		line = append(line, w)
	}
	return strings.Join(line, " ")
}

// wordPlain are the characters that no shell takes for anything but themselves.
const wordPlain = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.,:/_+@-"

// shellWord puts a word into quotes where a shell would take it apart: double ones,
// which every shell knows, unless something in it counts inside them too.
func shellWord(word string) string {
	switch {
	case strings.IndexFunc(word, func(r rune) bool { return !strings.ContainsRune(wordPlain, r) }) < 0:
		return word
	case !strings.ContainsAny(word, "\"$`\\!%"):
		return `"` + word + `"`
	}
	return "'" + strings.ReplaceAll(word, "'", `'\''`) + "'"
}
