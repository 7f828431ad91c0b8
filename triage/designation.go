package triage

import (
	"fmt"
	"strconv"
	"strings"
)

// Designation is the type code printed on a lithium cell or battery, N1 A1 A2 A3 N2/N3/N4-N5 (IEC 61960-3 clause 5).
//
// Sizes are whole micrometres, 100 to 999,000, and those of ONE cell. In the slash form each is the MAXIMUM, rounded
// UP to the next whole millimetre, or below 1 mm to the next tenth (clause 5.1): a 4 may be a 3.01 mm cell, so
// swelling measured against it is a lower bound. The older form without slashes gives sizes as "about": no bound.
//
// Values come from ParseDesignation; == compares two.
type Designation struct {
	Series       int    // N1, cells in series, 1 to 99; 0 when not stated
	SeriesStated bool   // N1 was written
	Anode        byte   // A1: 'I' lithium ion, 'L' lithium metal or alloy
	Cathode      string // A2: C N M V T (clause 5.1); F Fp Mp X (a certification-body decision on that clause)
	Shape        byte   // A3: 'R' cylindrical, 'P' prismatic; a pouch is a P
	ThicknessUM  int64  // N2 of a P; 0 for an R
	DiameterUM   int64  // N2 of an R; 0 for a P
	WidthUM      int64  // N3; 0 for an R, which has none
	HeightUM     int64  // N4, overall height
	Parallel     int    // N5, cells in parallel, 1 to 99; 1 when absent
	Legacy       bool   // older form without slashes: sizes are approximate, not maxima
}

// DesignationError says where and why a text is not a designation.
type DesignationError struct {
	Text   string // as given, cut to its first 40 runes
	Pos    int    // rune position in the text as given, from 1; one past the end where something is missing
	Reason string // what is wrong
	Hint   string // what to look at next; may be empty
}

// Error joins the parts into one line and quotes the text, so that control characters never reach a terminal.
func (e *DesignationError) Error() string {
	return strings.TrimSuffix(fmt.Sprintf("designation %q, character %d: %s; %s", e.Text, e.Pos, e.Reason, e.Hint), "; ")
}

const (
	maxDesignationRunes = 40 // the grammar needs at most 19; the rest is room for spaces
	cathodeLetters      = "CNMVTFX"
	// A maker's six-digit code counts the thickness in tenths; taking 80 mm where 8.0 mm is meant would hide any
	// swelling, so a slash-free P this thick is refused. The limit is our own practice, not the standard's.
	legacyThicknessRefusedUM = 20_000
	spaces                   = " \t\n\r\u00a0\u2007\u2009\u202f\u3000"
	hyphens                  = "-\u2010\u2011\u2012\u2013\u2014\u2212\ufe63\uff0d"

	anodes = "I (lithium ion) or L (lithium metal)"
	// CR and CP open the codes of primary cells in another standard, IEC 60086 (from memory); with an I put before
	// it such a lithium-metal cell would pass for lithium ion.
	hintAnodeLost = "missing I? add it only if the label shows it: a CR or CP code may name a lithium-metal primary cell"
	hintPhosphate = "the phosphates are written IFpP and IMpP; IFP and IMP are iron and manganese"
	hintSize      = "sizes are whole millimetres, 1 to 999, or t1 to t9 for tenths; a 0 is never the letter O"
	hintParallel  = "it is written for two cells or more: look at the label again"
	hintTenths    = "a maker's code counts the thickness in tenths of a millimetre: measure, or find a form with slashes"
)

// ParseDesignation reads an IEC 61960-3 clause 5.1 designation such as 1ICP4/60/75-2, or the older slash-free form
// (ICR18650 in mm and tenths of mm, ICP103450 in mm, ICPt73448 with tenths after the t). Spaces are dropped, except
// between two digits, where a slash or hyphen may be lost; hyphens, dashes and the minus sign are one. Letters may be
// in either case where one reading is left: IFPP is Fp and P, IFP is F and P; IFp is refused, so is a lower-case l.
//
// A non-nil error is a *DesignationError and comes with the zero Designation. A text that can be read in two ways is
// refused, since the wrong one could hide swelling or a lithium-metal cell.
func ParseDesignation(s string) (Designation, error) {
	text, pos, flaw := foldDesignation(s)
	if flaw == nil {
		var d Designation
		if d, flaw = parseFolded(text); flaw == nil {
			return d, nil
		}
		flaw.Text, flaw.Pos = s, pos[flaw.Pos]
	}
	return Designation{}, flaw
}

// String gives the canonical text; parsing it gives d back. A legacy value keeps its slash-free form even where each
// size would fit the other: with slashes the same digits would claim a maximum, which the older form does not give.
// The zero Designation gives an empty text.
func (d Designation) String() string {
	if d == (Designation{}) {
		return ""
	}
	s := fmt.Sprintf("%c%s%c", d.Anode, d.Cathode, d.Shape)
	if d.SeriesStated {
		s = strconv.Itoa(d.Series) + s
	}
	switch {
	case d.Legacy && d.Shape == 'R':
		s += fmt.Sprintf("%02d%03d", d.DiameterUM/1000, d.HeightUM/100)
	case d.Legacy && d.ThicknessUM < 1000:
		s += fmt.Sprintf("t%d%02d%02d", d.ThicknessUM/100, d.WidthUM/1000, d.HeightUM/1000)
	case d.Legacy:
		s += fmt.Sprintf("%02d%02d%02d", d.ThicknessUM/1000, d.WidthUM/1000, d.HeightUM/1000)
	case d.Shape == 'R':
		s += sizeText(d.DiameterUM) + "/" + sizeText(d.HeightUM)
	default:
		s += sizeText(d.ThicknessUM) + "/" + sizeText(d.WidthUM) + "/" + sizeText(d.HeightUM)
	}
	if d.Parallel > 1 {
		s += "-" + strconv.Itoa(d.Parallel)
	}
	return s
}

func sizeText(um int64) string {
	if um < 1000 {
		return fmt.Sprintf("t%d", um/100)
	}
	return strconv.FormatInt(um/1000, 10)
}

// IsCell reports one cell: N5 absent, N1 either 1 or not stated. Without N1 the text names a bare cell (clause 5.1)
// or, on many labels, a one-series battery (common practice), which is the same for every limit. A larger pack may
// carry only the designation of its cells, so true does not count the cells of the thing in hand.
func (d Designation) IsCell() bool { return d.Series <= 1 && d.Parallel == 1 }

// LithiumMetal reports A1 = L, lithium metal or alloy.
func (d Designation) LithiumMetal() bool { return d.Anode == 'L' }

// NickelRich reports A2 = N, nickel based. False is no evidence against nickel: X does not say.
func (d Designation) NickelRich() bool { return d.Cathode == "N" }

// IronPhosphate reports A2 = Fp. False is no evidence against it: F does not say which iron compound, X says nothing.
func (d Designation) IronPhosphate() bool { return d.Cathode == "Fp" }

// foldDesignation drops spaces and unifies hyphens; pos maps each byte of text, and its end, to a rune of s.
func foldDesignation(s string) (text string, pos []int, flaw *DesignationError) {
	var out []byte
	n, gap := 0, false
	for at, r := range s {
		if n++; n > maxDesignationRunes { // cloned, so that a kept error does not keep a huge input alive
			return "", nil, &DesignationError{strings.Clone(s[:at]), n, "longer than 40 characters", ""}
		}
		switch {
		case strings.ContainsRune(spaces, r):
			gap = true
			continue
		case strings.ContainsRune(hyphens, r):
			r = '-'
		case r > '~': // no look-alike from another alphabet passes
			return "", nil, &DesignationError{s, n, fmt.Sprintf("%+q is not part of a designation", r), ""}
		case gap && isDigit(byte(r)) && len(out) > 0 && isDigit(out[len(out)-1]):
			return "", nil, &DesignationError{s, n, "a space between two digits", "is a slash or hyphen lost there?"}
		}
		out, pos, gap = append(out, byte(r)), append(pos, n), false
	}
	return string(out), append(pos, n+1), nil
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

func leadingDigits(s string) int { return len(s) - len(strings.TrimLeft(s, "0123456789")) }

// expected is the flaw of t where want should stand at i. Here and below Pos is an index into the folded text.
func expected(t string, i int, want, hint string) *DesignationError {
	if i >= len(t) {
		return &DesignationError{Pos: len(t), Reason: "it ends where " + want + " should stand", Hint: hint}
	}
	return &DesignationError{Pos: i, Reason: fmt.Sprintf("%q where %s should stand", t[i], want), Hint: hint}
}

func parseFolded(t string) (d Designation, flaw *DesignationError) {
	i := leadingDigits(t)
	d.Series, _ = strconv.Atoi(t[:i])
	d.SeriesStated = i > 0
	if i == 6 && i == len(t) {
		return d, &DesignationError{Reason: "digits only, not an IEC 61960-3 designation", Hint: fmt.Sprintf(
			"a maker's code? it would mean %c.%c x %s x %s mm, the thickness in tenths", t[0], t[1], t[2:4], t[4:])}
	}
	if i > 2 || d.SeriesStated && d.Series == 0 {
		return d, &DesignationError{Reason: "a series count outside 1 to 99 before the letters"}
	}
	if i, flaw = d.parseLetters(t, i); flaw != nil {
		return d, flaw
	}
	sizes, n5, written := strings.Cut(t[i:], "-")
	if flaw = d.parseSizes(t, sizes, i); flaw != nil || !written {
		d.Parallel = 1
		return d, flaw
	}
	d.Parallel, _ = strconv.Atoi(n5)
	if leadingDigits(n5) != len(n5) || len(n5) > 2 || d.Parallel < 2 {
		return d, &DesignationError{Pos: len(t) - len(n5), Hint: hintParallel,
			Reason: fmt.Sprintf("%q is not a parallel count, 2 to 99", n5)}
	}
	return d, nil
}

func (d *Designation) parseLetters(t string, i int) (int, *DesignationError) {
	u := strings.ToUpper(t) + "    " // a folded text has no space, so these match nothing
	switch a1 := u[i]; {
	case i < len(t) && t[i] == 'l':
		return i, &DesignationError{Pos: i, Reason: "a lower-case l may be an I or an L"}
	case strings.IndexByte(cathodeLetters, a1) >= 0:
		return i, expected(t, i, anodes, hintAnodeLost)
	case a1 != 'I' && a1 != 'L':
		return i, expected(t, i, anodes, "")
	case strings.IndexByte(cathodeLetters, u[i+1]) < 0:
		return i, expected(t, i+1, "one of C N M V T F X, or Fp or Mp,", "")
	}
	d.Anode, d.Cathode = u[i], u[i+1:i+2]
	lowerBefore := t[i:i+2] == strings.ToLower(t[i:i+2])
	if i += 2; (d.Cathode == "F" || d.Cathode == "M") && u[i] == 'P' {
		phosphate := u[i+1] == 'P' || u[i+1] == 'R'
		// A p that differs in case from its neighbours says what it is; then the place must agree.
		if phosphate && t[i] == 'P' && t[i+1] != u[i+1] || !phosphate && t[i] == 'p' && !lowerBefore {
			return i, &DesignationError{Pos: i, Reason: "the case of the p contradicts its place", Hint: hintPhosphate}
		}
		if phosphate {
			d.Cathode += "p"
			i++
		}
	}
	if d.Shape = u[i]; d.Shape != 'R' && d.Shape != 'P' {
		return i, expected(t, i, "R (cylindrical) or P (prismatic, pouch)", "")
	}
	return i + 1, nil
}

// parseSizes reads N2/N3/N4, or the older digits, which stand at i in t.
func (d *Designation) parseSizes(t, sizes string, i int) *DesignationError {
	want, needs := 3, "P (prismatic) needs three sizes, thickness/width/height, or six digits without slashes"
	if d.Shape == 'R' {
		want, needs = 2, "R (cylindrical) needs two sizes, diameter/height, or five digits without slashes"
	}
	sizes = strings.ToUpper(sizes)
	gap, parts := 1, strings.Split(sizes, "/")
	switch {
	case d.Shape == 'R' && len(sizes) == 5 && leadingDigits(sizes) == 5:
		gap, parts, d.Legacy = 0, []string{sizes[:2], sizes[2:]}, true
	case d.Shape == 'P' && len(sizes) == 6 && leadingDigits(sizes[1:]) == 5: // the first may be the t
		gap, parts, d.Legacy = 0, []string{sizes[:2], sizes[2:4], sizes[4:]}, true
	}
	if len(parts) != want {
		return &DesignationError{Pos: i, Reason: needs}
	}
	um, at := [3]int64{}, i
	for k, part := range parts {
		digits, tenths := strings.CutPrefix(part, "T")
		n, _ := strconv.ParseInt(digits, 10, 64)
		um[k] = n * 1000
		if tenths || d.Legacy && d.Shape == 'R' && k == 1 { // the older R gives its height in tenths
			um[k] = n * 100
		}
		if leadingDigits(digits) != len(digits) || len(digits) > 3 || tenths && len(digits) > 1 || n == 0 {
			return &DesignationError{Pos: at, Reason: fmt.Sprintf("%q is not a size", t[at:at+len(part)]), Hint: hintSize}
		}
		at += len(part) + gap
	}
	if d.HeightUM = um[want-1]; d.Shape == 'R' {
		d.DiameterUM = um[0]
		return nil
	}
	d.ThicknessUM, d.WidthUM = um[0], um[1]
	if d.Legacy && d.ThicknessUM >= legacyThicknessRefusedUM {
		return &DesignationError{Pos: i, Reason: "a thickness of 20 mm or more without slashes", Hint: hintTenths}
	}
	if d.ThicknessUM > d.WidthUM || d.ThicknessUM > d.HeightUM {
		return &DesignationError{Pos: i, Reason: "a thickness above the width or the height"}
	}
	return nil
}
