package bench

import (
	"html/template"
	"regexp"
	"strings"

	"pouchward/exports"
	"pouchward/triage"
)

// What app says is said for a command line too: it names flags and commands. A page says
// what stands on the page instead. A command that has no place here is shown as one.

// pageWords are the flags in the words of the page.
var pageWords = map[string]string{
	"who": "Initials", "reason": "Why", "note": "Note", "second": "Second person", "criteria": "Criteria looked at", "field": "What should say something else",
	"value": "It should say", "wrong-cell": "Meant for another cell", "lower": "What is set aside", "mistaken": "A slip", "condition": "Condition",
	"expert": "By the maker or a technical expert", "until": "until", "outer": "Outer packaging", "consignee": "Consignee", "packed-by": "Packed by", "checked-by": "Checked by",
	"gross-kg": "Gross", "tare-kg": "Tare", "terminals": "Terminals insulated", "bag": "One cell, one bag", "fill": "Dry fill", "because": "because", "days": "Days ahead",
	"by": "Add up", "to": "To", "from": "From", "place": "A place not yet named", "route": "Route",
}

// pageCommands are commands in the words of the page, by how they begin; blank is left
// out. The first that fits counts.
var pageCommands = []struct{ begins, words string }{
	{"pouchward assess", "Assess"},
	{"pouchward recheck", "Assess, with the hours that it was quiet"},
	{"pouchward move", "“Put it somewhere else” on the page of the cell"},
	{"pouchward ship reopen", "“Open it again” on the page of the package"},
	{"pouchward determine --help", "the letters stand beside the field"},
	{"pouchward determine", "“Two people determine” on the page of the cell"},
	{"pouchward correct", "“A reading was wrong”"},
	{"pouchward retract", "“Take an entry back”"},
	{"pouchward log history", "its history"},
	{"pouchward stock", "Stock"},
	{"pouchward fields", ""},
}

var (
	// A command ends where the sentence goes on.
	aCommand = regexp.MustCompile(`pouchward [a-z](?:[^;,().\n` + "`" + `]|\.\.\.|\.[^ ])*`)
	// What a person typed stands in quotation marks and is no flag.
	aFlag  = regexp.MustCompile(`(^|[\s(:;])--([a-z][a-z0-9-]*)( [A-Z][A-Z_]+\b)?`)
	noHint = regexp.MustCompile(` ?\(\s*\)`)
)

// inWords says a text of app in the words of the page; a command that stays stands
// between backquotes.
func inWords(text string) string {
	if !strings.Contains(text, "pouchward ") && !strings.Contains(text, "--") {
		return text
	}
	text = aCommand.ReplaceAllStringFunc(text, func(command string) string {
		for _, c := range pageCommands {
			if strings.HasPrefix(command, c.begins) {
				return c.words
			}
		}
		return "`" + strings.TrimSpace(command) + "`"
	})
	parts := strings.Split(text, "`")
	for i := 0; i < len(parts); i += 2 {
		parts[i] = aFlag.ReplaceAllStringFunc(parts[i], func(flag string) string {
			m := aFlag.FindStringSubmatch(flag)
			return m[1] + "“" + flagWords(m[2]) + "”"
		})
	}
	return noHint.ReplaceAllString(strings.Join(parts, "`"), "")
}

func flagWords(flag string) string {
	if w, ok := pageWords[flag]; ok {
		return w
	}
	if f, ok := triage.FieldByName(strings.ReplaceAll(flag, "-", "_")); ok {
		return triage.Fields[f].Label
	}
	return strings.ReplaceAll(flag, "-", " ")
}

// words tells an error to somebody at a page, who gives no flags.
func words(err error) string {
	return inWords(exports.Clean(strings.ReplaceAll(err.Error(), "\n", "; ")))
}

// asCommandWords begin a note that is a command.
const asCommandWords = "As a command: "

// asCode shows commands in a text as commands.
func asCode(text string) template.HTML {
	text = exports.Clean(text)
	if command, ok := strings.CutPrefix(text, asCommandWords); ok {
		text = asCommandWords + "`" + strings.ReplaceAll(command, "`", "'") + "`"
	}
	parts := strings.Split(text, "`")
	var b strings.Builder
	for i, part := range parts {
		part = template.HTMLEscapeString(part)
		switch {
		case i%2 == 0:
			b.WriteString(part)
		case i == len(parts)-1:
			b.WriteString("`" + part) // the only one
		default:
			b.WriteString("<code>" + part + "</code>")
		}
	}
	return template.HTML(b.String()) // escaped above, part by part
}
