package triage

import (
	"errors"
	"math/bits"
	"strconv"
	"strings"
)

// Micro is a quantity in millionths of its base unit: 3.78 V is 3_780_000.
type Micro int64

// One is 1 in the base unit.
const One Micro = 1_000_000

// String prints the shortest decimal form, without a unit: 11.55, 20, -0.05.
func (m Micro) String() string {
	var buf [24]byte
	return string(m.Append(buf[:0]))
}

// Append appends the shortest decimal form of m to b.
func (m Micro) Append(b []byte) []byte {
	u := uint64(m)
	if m < 0 {
		b = append(b, '-')
		u = -u
	}
	b = strconv.AppendUint(b, u/1_000_000, 10)
	frac := u % 1_000_000
	if frac == 0 {
		return b
	}
	b = append(b, '.')
	for div := uint64(100_000); frac > 0; div /= 10 {
		b = append(b, byte('0'+frac/div))
		frac %= div
	}
	return b
}

// Rounded rounds m half away from zero to the given number of decimals (0-6),
// for print only: rules never see a rounded number.
func (m Micro) Rounded(decimals int) Micro {
	step := Micro(1_000_000)
	for range decimals {
		step /= 10
	}
	const most = Micro(1<<63 - 1)
	switch {
	case m > most-step || m < -most+step:
		return m / step * step // no room to round up
	case m < 0:
		return -((-m + step/2) / step * step)
	}
	return (m + step/2) / step * step
}

// Bounds is a closed range of a quantity, Lo <= Hi.
type Bounds struct{ Lo, Hi Micro }

type rounding int

const (
	down rounding = iota // toward minus infinity
	up                   // toward plus infinity
)

// ratio returns a*b/c rounded to the given side, saturating where the result
// does not fit. c must be above 0.
func ratio(a, b, c Micro, side rounding) Micro {
	neg := (a < 0) != (b < 0)
	hi, lo := bits.Mul64(abs(a), abs(b))
	const most = uint64(1<<63 - 1)
	if hi >= uint64(c) {
		if neg {
			return -Micro(most)
		}
		return Micro(most)
	}
	q, rem := bits.Div64(hi, lo, uint64(c))
	q = min(q, most-1)
	if rem > 0 && neg == (side == down) {
		q++
	}
	if neg {
		return -Micro(q)
	}
	return Micro(q)
}

func abs(m Micro) uint64 {
	if m < 0 {
		return -uint64(m)
	}
	return uint64(m)
}

// energy returns volts x capacity in Wh, rounded up, so that it is never
// rounded to pass a limit: 3.85 V x 5200 mAh is 20.02 Wh.
func energy(volts, mah Micro) Micro { return ratio(volts, mah, 1000*One, up) }

// Energy is the rating in Wh that a voltage in V and a capacity in mAh come to,
// rounded up.
func Energy(volts, mah Micro) Micro { return energy(volts, mah) }

// A unit converts what a person types into the base unit: base = x*num/den + off.
type unit struct {
	name     string
	num, den int64
	off      Micro
}

// units lists, for each base unit, the units that may be typed after a number.
// The first is the base unit itself. Case is folded: a bench types "3780MV".
var units = map[string][]unit{
	"V":   {{"v", 1, 1, 0}, {"mv", 1, 1000, 0}},
	"mAh": {{"mah", 1, 1, 0}, {"ah", 1000, 1, 0}},
	"Wh":  {{"wh", 1, 1, 0}, {"mwh", 1, 1000, 0}, {"kwh", 1000, 1, 0}},
	"mm": {{"mm", 1, 1, 0}, {"cm", 10, 1, 0}, {"um", 1, 1000, 0}, {"µm", 1, 1000, 0}, {"in", 254, 10, 0},
		{"inch", 254, 10, 0}, {`"`, 254, 10, 0}},
	"°C": {{"c", 1, 1, 0}, {"°c", 1, 1, 0}, {"degc", 1, 1, 0}, {"f", 5, 9, -17_777_778}, {"°f", 5, 9, -17_777_778},
		{"degf", 5, 9, -17_777_778}},
	"K":   {{"k", 1, 1, 0}},
	"h":   {{"h", 1, 1, 0}, {"hr", 1, 1, 0}, {"hours", 1, 1, 0}, {"min", 1, 60, 0}, {"d", 24, 1, 0}, {"days", 24, 1, 0}},
	"min": {{"min", 1, 1, 0}, {"s", 1, 60, 0}, {"h", 60, 1, 0}},
	"mΩ":  {{"mω", 1, 1, 0}, {"mohm", 1, 1, 0}, {"ω", 1000, 1, 0}, {"ohm", 1000, 1, 0}},
	"g": {{"g", 1, 1, 0}, {"mg", 1, 1000, 0}, {"kg", 1000, 1, 0}, {"oz", 28_349_523, 1_000_000, 0},
		{"lb", 45_359_237, 100_000, 0}},
	"L": {{"l", 1, 1, 0}, {"ml", 1, 1000, 0}, {"gal", 3_785_412, 1_000_000, 0}, {"cuft", 28_316_847, 1_000_000, 0},
		{"ft3", 28_316_847, 1_000_000, 0}},
	"m3": {{"m3", 1, 1, 0}, {"m³", 1, 1, 0}, {"l", 1, 1000, 0}, {"cuft", 28_316_847, 1_000_000_000, 0},
		{"ft3", 28_316_847, 1_000_000_000, 0}},
	"%":     {{"%", 1, 1, 0}},
	"%/day": {{"%/day", 1, 1, 0}},
	"x":     {{"x", 1, 1, 0}},
	"":      {},
}

// Reasons for which a quantity is refused.
var (
	errNotNumber   = errors.New("not a number")
	errThousands   = errors.New("a comma before exactly three digits could be a decimal or a thousands mark: write a point, or no mark")
	errTwoMarks    = errors.New("more than one decimal mark")
	errTooLong     = errors.New("more digits than a reading can have")
	errInexact     = errors.New("more than six decimals: a rating is taken exactly as printed")
	errDotThousand = errors.New("a point before exactly three digits could be a thousands mark: write 4500, not 4.500")
)

// ParseQuantity reads a number with an optional unit, such as "3.78", "3780mV",
// "3,78 V", "0.2in" or "72F", and returns it in the base unit given ("V", "mm",
// "°C", ...). One decimal comma is accepted unless exactly three digits follow
// it. With exact set, a value that millionths cannot hold is refused, else it is
// rounded to the nearest millionth. Typed units other than those of the base
// unit are refused.
func ParseQuantity(text, base string, exact bool) (Micro, error) {
	s := strings.TrimSpace(text)
	end := len(s)
	for i, r := range s {
		if !(r >= '0' && r <= '9' || r == '.' || r == ',' || i == 0 && (r == '-' || r == '+')) {
			end = i
			break
		}
	}
	mant, decimals, neg, err := parseDecimal(s[:end], base)
	if err != nil {
		return 0, err
	}
	u := unit{num: 1, den: 1}
	if name := unitName(s[end:]); name != "" {
		found := false
		for _, c := range units[base] {
			if c.name == name {
				u, found = c, true
				break
			}
		}
		if !found {
			return 0, unknownUnit(name, base)
		}
	}
	den := uint64(u.den)
	for range decimals {
		den *= 10
	}
	hi, lo := bits.Mul64(mant, uint64(u.num)*1_000_000)
	if hi >= den {
		return 0, errTooLong
	}
	q, rem := bits.Div64(hi, lo, den)
	if rem > 0 && exact && u.off == 0 {
		return 0, errInexact
	}
	if rem >= den-rem {
		q++
	}
	if q > 1<<60 {
		return 0, errTooLong
	}
	v := Micro(q)
	if neg {
		v = -v
	}
	return v + u.off, nil
}

// decimalMark returns where the first point or comma stands, -1 for nowhere.
func decimalMark(s string) int {
	for i := range len(s) {
		if s[i] == '.' || s[i] == ',' {
			return i
		}
	}
	return -1
}

// unitName is a unit as the table of units spells it. Of degrees there are more marks
// than one: the ordinal º of a Spanish or Portuguese keyboard, the ring ˚, and ℃ of
// Asian ones.
func unitName(text string) string {
	name := strings.ToLower(strings.TrimSpace(text))
	for i := range len(name) {
		if name[i] >= 0x80 {
			return degrees.Replace(name)
		}
	}
	return name
}

var degrees = strings.NewReplacer("º", "°", "˚", "°", "℃", "°c", "℉", "°f")

// parseDecimal splits "-3,78" into 378, 2 decimals, negative. The mantissa is
// kept below 10^15 so that every later step fits in 128 bits.
func parseDecimal(s, base string) (mant uint64, decimals int, neg bool, err error) {
	if s != "" && (s[0] == '-' || s[0] == '+') {
		neg = s[0] == '-'
		s = s[1:]
	}
	mark := decimalMark(s)
	if mark >= 0 {
		after := s[mark+1:]
		switch {
		case decimalMark(after) >= 0:
			return 0, 0, false, errTwoMarks
		case s[mark] == ',' && len(after) == 3:
			return 0, 0, false, errThousands
		case s[mark] == '.' && len(after) == 3 && base == "mAh":
			// Labels print 4.500 mAh for 4500; no rating has a fraction of 1 mAh.
			return 0, 0, false, errDotThousand
		}
		decimals = len(after)
	}
	if s == "" || len(s) == 1 && mark == 0 {
		return 0, 0, false, errNotNumber
	}
	for i := range len(s) {
		if i == mark {
			continue
		}
		mant = mant*10 + uint64(s[i]-'0')
		if mant >= 1_000_000_000_000_000 {
			return 0, 0, false, errTooLong
		}
	}
	if decimals > 12 {
		return 0, 0, false, errTooLong
	}
	return mant, decimals, neg, nil
}

func unknownUnit(name, base string) error {
	if len(units[base]) == 0 {
		return errors.New("takes no unit, not " + strconv.Quote(name))
	}
	names := make([]string, 0, len(units[base]))
	for _, u := range units[base] {
		names = append(names, u.name)
	}
	return errors.New("unknown unit " + strconv.Quote(name) + ": use one of " + strings.Join(names, ", "))
}
