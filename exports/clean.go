package exports

import (
	"strings"
	"unicode"
)

// Clean replaces what could steer a terminal or reorder text: control
// characters and the Unicode marks that change reading direction.
func Clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsControl(r), r >= 0x202A && r <= 0x202E, r >= 0x2066 && r <= 0x2069, r == 0x200E, r == 0x200F, r == 0xFEFF:
			return '\uFFFD'
		}
		return r
	}, s)
}

// cleanCell cleans a spreadsheet cell: line breaks inside it stay, and one that
// begins like a formula gets a leading apostrophe, which makes it text. Plain
// numbers such as -5 stay numbers.
func cleanCell(s string) string {
	clean := true
	for i := range len(s) {
		if s[i] < 0x20 && s[i] != '\n' || s[i] >= 0x7F {
			clean = false
			break
		}
	}
	if !clean {
		lines := strings.Split(strings.ReplaceAll(s, "\r\n", "\n"), "\n")
		for i := range lines {
			lines[i] = Clean(strings.ToValidUTF8(lines[i], "\uFFFD"))
		}
		s = strings.Join(lines, "\n")
	}
	if s != "" && strings.IndexByte("=+-@", s[0]) >= 0 && !isNumber(s) {
		return "'" + s
	}
	return s
}

// isNumber reports whether s is a signed decimal, with a unit of letters or not.
func isNumber(s string) bool {
	digits := false
	for i, r := range s {
		switch {
		case i == 0 && (r == '-' || r == '+'):
		case r >= '0' && r <= '9':
			digits = true
		case r == '.' || r == ',':
		case digits && (r == ' ' || r == '°' || r == '%' || r == 'C' || r == 'V' || r == 'F'):
		default:
			return false
		}
	}
	return digits
}
