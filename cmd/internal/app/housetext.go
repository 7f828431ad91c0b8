package app

import (
	"fmt"
	"strings"
	"time"
	"unicode"

	"pouchward/exports"
)

// houseText writes a house file: each key under its meaning, one that was not
// answered as a comment.
func houseText(given answers, now time.Time) []byte {
	var b strings.Builder
	fmt.Fprintf(&b, `# House file of this shop: facts about the shop, and rules that only tighten.
# Written by pouchward setup on %s. A key behind a # is not answered: take
# the # away and fill it in. Then: pouchward rules check %s
# Every command reads it with --house FILE, or POUCHWARD_HOUSE set to its name.

[shop]
`, now.Format("2006-01-02"), houseName)
	for i := range shopQuestions {
		fmt.Fprintln(&b)
		for _, k := range shopQuestions[i].keys {
			if k.meaning != "" {
				for _, l := range exports.Wrap(k.meaning, 76) {
					fmt.Fprintf(&b, "# %s\n", l)
				}
			}
			if v, ok := given[k.name]; ok {
				fmt.Fprintf(&b, "%s = %s\n", k.name, v)
			} else {
				fmt.Fprintf(&b, "# %s = %s\n", k.name, k.empty)
			}
		}
	}
	b.WriteString(`
# Names of columns in the shop's own sheets:
# [map]
# "Voltage" = "ocv_v"

# Rules of the house ([[rule]]), ways not used ([[bar]]), approvals and permits in
# hand ([[approval]], [[permit]]) follow here: README, The house file.
`)
	return []byte(b.String())
}

// tomlText quotes a text as a basic string of TOML.
func tomlText(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case unicode.IsControl(r):
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
