package pdf

import (
	"strings"
	"sync"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"

	"pouchward/exports"
)

func regularTTF() []byte { return liberationsansregular.TTF }
func boldTTF() []byte    { return liberationsansbold.TTF }

// A face measures glyphs, in units of which there are perEm to the size.
type face struct {
	font   *sfnt.Font
	buf    sfnt.Buffer
	perEm  float64
	glyphs map[rune]glyph
	mu     sync.Mutex
}

type glyph struct {
	there         bool
	advance, high float64 // in sizes
}

// faces are the regular and the bold face, read when first asked for.
var faces = sync.OnceValue(func() *[2]*face { return &[2]*face{newFace(regularTTF()), newFace(boldTTF())} })

func newFace(ttf []byte) *face {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic("pdf: the embedded face cannot be read: " + err.Error()) // it is part of the program
	}
	return &face{font: f, perEm: float64(f.UnitsPerEm()), glyphs: map[rune]glyph{}}
}

func faceOf(bold bool) *face {
	if bold {
		return faces()[1]
	}
	return faces()[0]
}

// of returns what the face knows of a character.
func (f *face) of(r rune) glyph {
	f.mu.Lock()
	defer f.mu.Unlock()
	if g, ok := f.glyphs[r]; ok {
		return g
	}
	var g glyph
	if i, err := f.font.GlyphIndex(&f.buf, r); err == nil && i != 0 && r <= 0xFFFF {
		ppem := fixed.I(int(f.perEm))
		box, advance, err := f.font.GlyphBounds(&f.buf, i, ppem, font.HintingNone)
		if err == nil {
			g = glyph{true, float64(advance) / 64 / f.perEm, float64(box.Max.Y-box.Min.Y) / 64 / f.perEm}
		}
	}
	f.glyphs[r] = g
	return g
}

// missing stands for a character that the face does not have.
const missing = '□'

// Printable cleans text and puts an empty box in the place of what the face does
// not have. Accents are joined to their letters first.
func Printable(text string) string {
	f := faceOf(false)
	return strings.Map(func(r rune) rune {
		if f.of(r).there {
			return r
		}
		return missing
	}, norm.NFC.String(exports.Clean(strings.ToValidUTF8(text, string(missing)))))
}

// Width returns how wide words are set, in mm.
func Width(text string, s Style) float64 {
	f := faceOf(s.Bold)
	sum := 0.0
	for _, r := range Printable(text) {
		sum += f.of(r).advance
	}
	return sum * s.Points * mmPerPoint
}

// Capital returns the height of a capital H in mm.
func Capital(s Style) float64 { return faceOf(s.Bold).of('H').high * s.Points * mmPerPoint }

// PointsOf returns the size at which a capital H is so many mm high.
func PointsOf(mm float64, bold bool) float64 { return mm / (faceOf(bold).of('H').high * mmPerPoint) }

// PointsLeast returns the size at which the lowest letter or digit of words is so
// many mm high: in "battery" an a or an e, not the b. Other signs do not count.
func PointsLeast(words string, mm float64, bold bool) float64 {
	least := 0.0
	for _, r := range Printable(words) {
		if !isLetter(r) {
			continue
		}
		if h := faceOf(bold).of(r).high; least == 0 || h < least {
			least = h
		}
	}
	if least == 0 {
		return PointsOf(mm, bold)
	}
	return mm / (least * mmPerPoint)
}

func isLetter(r rune) bool {
	return r >= '0' && r <= '9' || strings.ToUpper(string(r)) != strings.ToLower(string(r))
}

// Leading is the distance from line to line.
func Leading(s Style) float64 { return s.Points * mmPerPoint * 1.2 }

// Wrap breaks text into lines of at most so many mm, at its blanks; a word that is
// wider is broken inside. No text gives no line.
func Wrap(text string, width float64, s Style) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(Printable(text)) {
		for line == "" && Width(word, s) > width {
			n := breakAt(word, width, s)
			lines = append(lines, word[:n])
			word = word[n:]
		}
		switch longer := line + " " + word; {
		case line == "":
			line = word
		case Width(longer, s) <= width:
			line = longer
		default:
			lines = append(lines, line)
			line = word
			for Width(line, s) > width {
				n := breakAt(line, width, s)
				lines = append(lines, line[:n])
				line = line[n:]
			}
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// breakAt returns how many bytes of a word fit, one character at least.
func breakAt(word string, width float64, s Style) int {
	at := 0
	for i, r := range word {
		if end := i + len(string(r)); at == 0 || Width(word[:end], s) <= width {
			at = end
		} else {
			break
		}
	}
	return at
}

// Fit returns the largest size from s down to a floor, in quarters of a point, at
// which text fits into a box, and its lines. It reports false when it does not fit
// at the floor either.
func Fit(text string, width, height float64, s Style, floor float64) (Style, []string, bool) {
	for {
		lines := Wrap(text, width, s)
		if float64(len(lines))*Leading(s) <= height+1e-9 && !broken(text, lines) {
			return s, lines, true
		}
		if s.Points <= floor {
			return s, lines, float64(len(lines))*Leading(s) <= height+1e-9
		}
		s.Points = max(floor, s.Points-0.25)
	}
}

// FitLine returns the largest size from s down to a floor at which text fits on one
// line of a width. It reports false when it does not fit at the floor either.
func FitLine(text string, width float64, s Style, floor float64) (Style, bool) {
	if wide := Width(text, s); wide > width {
		s.Points = max(floor, s.Points*width/wide)
	}
	return s, Width(text, s) <= width+1e-9
}

// broken reports whether a word was broken inside: smaller letters come first.
func broken(text string, lines []string) bool {
	n := 0
	for _, l := range lines {
		n += len(strings.Fields(l))
	}
	return n != len(strings.Fields(Printable(text)))
}

// Block writes lines downwards from y, the top of the first, and returns where the
// last one ends.
func (p *Page) Block(x, y float64, lines []string, s Style) float64 {
	for _, l := range lines {
		p.Put(x, y+baseline(s), l, s)
		y += Leading(s)
	}
	return y
}

// baseline is how far the base line lies under the top of a line.
func baseline(s Style) float64 { return s.Points * mmPerPoint * 0.95 }
