package intake

import (
	"encoding/xml"
	"errors"
	"fmt"
	"strconv"
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

// builtInFormats are the formats that a workbook names by number only (ECMA-376
// part 1, 18.8.30). Where their text follows the user's language only its kind
// is written; a number that is not here cannot be told.
var builtInFormats = map[int]string{
	0: "General", 1: "0", 2: "0.00", 3: "#,##0", 4: "#,##0.00", 9: "0%", 10: "0.00%", 11: "0.00E+00", 12: "# ?/?", 13: "# ??/??",
	14: "m/d/yy", 15: "d-mmm-yy", 16: "d-mmm", 17: "mmm-yy", 18: "h:mm AM/PM", 19: "h:mm:ss AM/PM", 20: "h:mm", 21: "h:mm:ss",
	22: "m/d/yy h:mm", 27: "y/m/d", 28: "y/m/d", 29: "y/m/d", 30: "y/m/d", 31: "y/m/d", 36: "y/m/d",
	37: "#,##0;(#,##0)", 38: "#,##0;(#,##0)", 39: "#,##0.00;(#,##0.00)", 40: "#,##0.00;(#,##0.00)",
	45: "mm:ss", 46: "[h]:mm:ss", 47: "mm:ss.0", 48: "##0.0E+0", 49: "@",
	50: "y/m/d", 51: "y/m/d", 52: "y/m/d", 53: "y/m/d", 54: "y/m/d", 57: "y/m/d", 58: "y/m/d",
}

// readFormats reads the number format of each cell style.
func (w *workbook) readFormats(name string) ([]numberFormat, error) {
	own := map[int]string{}
	var ids []int
	inside := "" // the list being read: cell styles and others have like members
	err := w.eachTag(name, maxStyleXML, func(e xml.StartElement) error {
		switch e.Name.Local {
		case "numFmts", "cellXfs", "cellStyleXfs", "cellStyles", "dxfs", "fonts", "fills", "borders":
			inside = e.Name.Local
		case "numFmt":
			if inside != "numFmts" {
				return nil
			}
			id, err := strconv.Atoi(attr(e, "numFmtId"))
			if err != nil || len(own) > maxStyles {
				return errors.New("its number formats cannot be read")
			}
			own[id] = attr(e, "formatCode")
		case "xf":
			if inside != "cellXfs" {
				return nil
			}
			id := 0
			if s := attr(e, "numFmtId"); s != "" {
				var err error
				if id, err = strconv.Atoi(s); err != nil {
					return fmt.Errorf("a cell style has number format %q", s)
				}
			}
			if ids = append(ids, id); len(ids) > maxStyles {
				return fmt.Errorf("more than %d cell styles", maxStyles)
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	known := map[int]numberFormat{}
	list := make([]numberFormat, len(ids))
	for i, id := range ids {
		f, ok := known[id]
		if !ok {
			code, found := own[id]
			if !found {
				code, found = builtInFormats[id]
			}
			f = parseFormat(code)
			if !found {
				f = numberFormat{code: "number " + strconv.Itoa(id), sections: []section{{kind: showsUnclear}}}
			}
			known[id] = f
		}
		list[i] = f
	}
	return list, nil
}

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
	case strings.HasPrefix(low, "am/pm"), strings.HasPrefix(low, "a/p"):
		p.clock = true
		return strings.IndexByte(low, 'p') + len("p") + (strings.IndexByte(low, '/')-1)*len("m")
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
