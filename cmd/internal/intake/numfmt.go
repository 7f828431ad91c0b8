package intake

import (
	"strings"
	"unicode/utf8"
)

// A numberFormat is a number format of a workbook, by sections.
type numberFormat struct {
	code     string
	sections []section
}

// A section is how numbers of one sign are shown.
type section struct {
	kind    formatKind
	literal string // words shown beside the number, such as a unit
	zeros   int    // least digits, when it is made of zeros alone
}

type formatKind uint8

const (
	showsNumber  formatKind = iota
	showsPercent            // a hundred times the number, and %
	showsDate               // a day, with a time or not
	showsTime               // a time of day or a span of time
	showsUnclear            // what is shown cannot be told from the number
)

// section returns the section that shows a number.
func (f *numberFormat) section(n float64) section {
	s := f.sections
	switch {
	case len(s) >= 3 && n == 0:
		return s[2]
	case len(s) >= 2 && n < 0:
		return s[1]
	}
	return s[0]
}

// parseFormat reads a format code. A condition in any section makes all unclear.
func parseFormat(code string) numberFormat {
	f := numberFormat{code: code}
	if len(code) > 1024 { // a workbook's own limit is 255 characters
		f.code, f.sections = "a long one", []section{{kind: showsUnclear}}
		return f
	}
	unclear := false
	for rest := code; ; {
		var p sectionParser
		rest = p.parse(rest)
		f.sections = append(f.sections, p.section())
		unclear = unclear || p.condition
		if rest == "" {
			break
		}
		rest = rest[1:] // the semicolon
	}
	if unclear {
		for i := range f.sections {
			f.sections[i] = section{kind: showsUnclear}
		}
	}
	return f
}

// A sectionParser gathers what stands in a section.
type sectionParser struct {
	literal                                 strings.Builder
	digits, percents                        int
	only0, general, text, day, month, clock bool
	condition, scaled, strange              bool
}

func (p *sectionParser) section() section {
	s := section{literal: strings.Trim(p.literal.String(), " -()/:\u00A0")}
	if p.only0 {
		s.zeros = p.digits
	}
	switch {
	case p.strange || p.percents > 1 || p.scaled:
		s.kind = showsUnclear
	case p.day || p.month && !p.clock:
		s = section{kind: showsDate}
	case p.clock:
		s = section{kind: showsTime}
	case p.digits == 0 && !p.general && !p.text:
		s.kind = showsUnclear // ;;; shows nothing, "yes";"no" shows words
	case p.percents == 1:
		s.kind = showsPercent
	}
	return s
}

// parse reads to the end of the section and returns the rest, which begins with
// the semicolon.
func (p *sectionParser) parse(code string) string {
	p.only0 = true
	for code != "" && code[0] != ';' {
		n := p.word(code)
		if n == 0 {
			n = p.sign(code)
		}
		code = code[n:]
	}
	return code
}

// word takes in what is longer than one character and returns its length, 0
// when the section goes on with a single character.
func (p *sectionParser) word(code string) int {
	low := strings.ToLower(code[:min(len(code), 7)])
	switch {
	case code[0] == '"', code[0] == '[':
		end := strings.IndexByte(code[1:], closing[code[0]]) + 1
		if end == 0 {
			p.strange = true
			return len(code)
		}
		if code[0] == '[' {
			p.bracket(code[1:end])
		} else {
			p.literal.WriteString(code[1:end])
		}
		return end + 1
	case code[0] == '\\', code[0] == '_', code[0] == '*': // a literal; a gap as wide as, a filling of, the next character
		_, size := utf8.DecodeRuneInString(code[1:])
		if code[0] == '\\' {
			p.literal.WriteString(code[1 : 1+size])
		}
		return 1 + size
	case low == "general":
		p.general = true
		return len(low)
	case strings.HasPrefix(low, "am/pm"):
		p.clock = true
		return len("am/pm")
	case strings.HasPrefix(low, "a/p"):
		p.clock = true
		return len("a/p")
	case p.digits > 0 && (strings.HasPrefix(low, "e+") || strings.HasPrefix(low, "e-")):
		p.only0 = false
		return 2
	}
	return 0
}

var closing = map[byte]byte{'"': '"', '[': ']'}

// sign takes in one character and returns its length.
func (p *sectionParser) sign(code string) int {
	r, size := utf8.DecodeRuneInString(code)
	p.only0 = p.only0 && (r == '0' || r == ' ')
	switch {
	case r == '0', r == '#', r == '?':
		p.digits++
	case r == ',':
		after := code[1:]
		p.scaled = p.scaled || p.digits > 0 && (after == "" || strings.IndexByte("0#?", after[0]) < 0)
	case r == '%':
		p.percents++
	case r == '@':
		p.text = true
	case strings.ContainsRune("ydegbYDEGB", r): // year, day, era, Buddhist year
		p.day = true
	case r == 'm', r == 'M':
		p.month = true // or minute, beside an hour or a second
	case strings.ContainsRune("hsHS", r):
		p.clock = true
	case strings.ContainsRune(" .-+/():!^&'~{}<>=", r):
	case r < utf8.RuneSelf && r != '$':
		p.strange = true
	default:
		p.literal.WriteRune(r)
	}
	return size
}

// bracket reads what stands in brackets: a colour, a condition, a span of
// time, a currency or a language.
func (p *sectionParser) bracket(text string) {
	low := strings.ToLower(text)
	switch {
	case text == "":
		p.strange = true
	case text[0] == '$':
		sign, _, _ := strings.Cut(text[1:], "-")
		p.literal.WriteString(sign)
	case strings.ContainsRune("<>=", rune(text[0])):
		p.condition = true
	case strings.Trim(low, "h") == "" || strings.Trim(low, "m") == "" || strings.Trim(low, "s") == "":
		p.clock = true
	case strings.HasPrefix(low, "color"), strings.HasPrefix(low, "dbnum"),
		low == "black", low == "blue", low == "cyan", low == "green", low == "magenta", low == "red", low == "white", low == "yellow":
	default:
		p.strange = true
	}
}
