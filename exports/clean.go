package exports

import (
	"strings"
	"unicode"
)

// Clean replaces what could steer a terminal or reorder text: control
// characters and the Unicode marks that change reading direction.
func Clean(s string) string {
	return strings.Map(func(r rune) rune {
		if steers(r) {
			return '\uFFFD'
		}
		return r
	}, s)
}

// steers reports whether a character steers a terminal or turns the direction of
// reading.
func steers(r rune) bool {
	return unicode.IsControl(r) || r >= 0x202A && r <= 0x202E || r >= 0x2066 && r <= 0x2069 || r == 0x200E || r == 0x200F || r == 0xFEFF
}

// CleanText is Clean for text of several lines: its line breaks stay.
func CleanText(s string) string {
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
	return s
}

// cleanCell cleans a spreadsheet cell: line breaks inside it stay, and one that a
// spreadsheet program would take for a formula, or for a number that it is not, gets a
// leading apostrophe, which makes it text. Plain numbers such as -5 stay numbers.
func cleanCell(s string) string {
	if s = CleanText(s); s != "" && (formulaMark(s) && !isNumber(s) || readsAsPower(s)) {
		return "'" + s
	}
	return s
}

// CleanCell cleans the text of a column of text, in which nothing is a number:
// besides what begins like a formula, a tag such as 34E279 gets the apostrophe,
// which a spreadsheet program would read as 34 and 279 noughts.
func CleanCell(s string) string {
	s = CleanText(s)
	if s != "" && (formulaMark(s) || readsAsPower(s)) {
		return "'" + s
	}
	return s
}

// PlainCell takes the apostrophe of CleanCell off again, so that what was written is
// read as what it was.
func PlainCell(s string) string {
	if len(s) > 1 && s[0] == '\'' && (formulaMark(s[1:]) || readsAsPower(s[1:])) {
		return s[1:]
	}
	return s
}

func formulaMark(s string) bool { return strings.IndexByte("=+-@", s[0]) >= 0 }

// readsAsPower reports whether s is digits, one E, and digits.
func readsAsPower(s string) bool {
	e := strings.IndexAny(s, "eE")
	if e < 1 || e == len(s)-1 {
		return false
	}
	return strings.Trim(s[:e]+s[e+1:], "0123456789") == ""
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
		case digits && (r == ' ' || r == '°' || r == 'º' || r == '%' || r == 'C' || r == 'V' || r == 'F'):
		default:
			return false
		}
	}
	return digits
}
