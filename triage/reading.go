package triage

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode"
)

// State says whether a field or fact is known, and if not, why.
type State uint8

// The states. Blank, Asked and NoInstrument are "not yet"; Unsafe to CannotTell
// are "cannot"; NotApplicable counts as an answer.
const (
	Blank         State = iota // not measured yet
	Asked                      // ?  written out as not known yet
	Refused                    // what was written could not be read
	NoInstrument               // ni no instrument here
	Unsafe                     // us unsafe to measure
	NotReachable               // nr not reachable
	Unreadable                 // ur unreadable
	CannotTell                 // cannot
	NotApplicable              // na does not apply
	Known
)

var stateCodes = [...]string{"", "?", "\x00", "ni", "us", "nr", "ur", "cannot", "na", ""}

var stateWords = [...]string{"NOT MEASURED", "NOT MEASURED", "REFUSED", "NO INSTRUMENT", "UNSAFE TO MEASURE", "NOT REACHABLE",
	"UNREADABLE", "CANNOT BE TOLD", "DOES NOT APPLY", ""}

// Word returns how the state is printed where a number would stand.
func (s State) Word() string { return stateWords[s] }

// NotYet reports whether the reading can still be taken.
func (s State) NotYet() bool { return s <= NoInstrument }

// Cannot reports whether the reading can never be taken.
func (s State) Cannot() bool { return s >= Unsafe && s <= CannotTell }

// A Value is one field of a reading. For a number Num == Hi; for a list they
// are its least and greatest member and N their count. A word is its index, a
// date its Date, yes 1 and no 0. For the sign list Num is the set of fields
// listed and Hi is 1 when all others are said to be no.
type Value struct {
	State   State
	N       uint8
	Num, Hi Micro
	Text    string // free text, lists and designations as written
}

// A Reading is one set of facts about one cell at one time. The zero value
// knows nothing.
type Reading [NumFields]Value

// FieldError says why one value was refused. The field is then treated as not
// known yet, so that a typo never hides an emergency.
type FieldError struct {
	Field  string // field name
	Text   string // as typed
	Reason string
	Want   string // what is allowed
}

// Error implements error.
func (e *FieldError) Error() string {
	return fmt.Sprintf("%s %s: %s; %s", e.Field, strconv.Quote(clip(e.Text, 60)), e.Reason, e.Want)
}

// clip shortens s to at most n runes.
func clip(s string, n int) string {
	for i := range s {
		if n == 0 {
			return s[:i] + "..."
		}
		n--
	}
	return s
}

// Set reads text into field f. When the text is refused the field becomes "not
// known yet" and the error is a *FieldError. A sign list that is refused in part
// keeps the signs it names, and a yes that is bad news stays one with something beside
// it: bad news is never lost to a slip, and good news is never made of one.
func (r *Reading) Set(f FieldID, text string) error {
	v, err := parseValue(f, strings.TrimSpace(text))
	if err != nil {
		v.State = Refused
		if (f == Signs || YesIsBad(f)) && v.Num != 0 {
			v.State = Known
		}
		r[f] = v
		return &FieldError{Field: Fields[f].Name, Text: text, Reason: err.Error(), Want: Fields[f].Allowed()}
	}
	r[f] = v
	return nil
}

// YesIsBad reports whether the yes of a field is bad news; that of type_tested and of
// wh_marked is not.
func YesIsBad(f FieldID) bool { return Fields[f].Sign || f == Recalled || f == Rocks }

// Allowed says what the field takes, with its unit and range.
func (f *Field) Allowed() string {
	switch f.Type {
	case NumberField, ListField:
		s := "use a number in " + f.Unit + f.rangeWords()
		if f.Type == ListField {
			s = "use numbers in " + f.Unit + f.rangeWords() + " joined by semicolons"
		}
		return s + ", or ?"
	case CountField:
		return "use a whole number from 1 to " + f.Max.String() + ", or ?"
	case WordField:
		return "use " + strings.Join(f.Words, ", ") + ", or ?"
	case YesNoField:
		return "use yes, no, ?, or why it cannot be told: us, nr, ur, cannot"
	case DateField:
		return "use a date such as 2026-11-25"
	case SignListField:
		return "use none, or " + strings.Join(signNames(), ", ")
	case DesignField:
		return "use a designation such as 1ICP4/63/97"
	}
	return "use up to 200 characters"
}

func (f *Field) rangeWords() string {
	switch {
	case f.Max == huge && f.Min == above0:
		return " above 0"
	case f.Max == huge:
		return " of " + f.Min.String() + " or more"
	}
	return " from " + f.Min.String() + " to " + f.Max.String()
}

func signNames() []string {
	var names []string
	for f := Swollen; f <= Misused; f++ {
		names = append(names, Fields[f].Name)
	}
	return names
}

func parseValue(f FieldID, s string) (Value, error) {
	d := &Fields[f]
	if s == "" {
		return Value{}, nil
	}
	if d.Type == TextField {
		if st := stateOf(s); f == Part && st != Known {
			return Value{State: st}, nil // a part number is looked up, so "?" is none
		}
		if len(s) > 200 {
			return Value{}, errors.New("longer than 200 characters")
		}
		return Value{State: Known, Text: s}, nil
	}
	if len(s) > 400 {
		return Value{}, errors.New("longer than any reading")
	}
	if st := stateOf(s); st != Known {
		return Value{State: st}, nil
	}
	switch d.Type {
	case NumberField:
		n, err := parseNumber(d, s)
		return Value{State: Known, Num: n, Hi: n}, err
	case CountField:
		n, err := strconv.ParseUint(s, 10, 32)
		if err != nil {
			return Value{}, errors.New("not a whole number")
		}
		m := Micro(n) * One
		return Value{State: Known, Num: m, Hi: m}, inRange(d, m)
	case ListField:
		return parseList(d, s)
	case WordField:
		low := strings.ToLower(s)
		for i, w := range d.Words {
			if low == w {
				if w == "unknown" {
					return Value{State: Asked}, nil
				}
				return Value{State: Known, Num: Micro(i), Hi: Micro(i)}, nil
			}
		}
		return Value{}, slip("not a word of this field", low, d.Words)
	case YesNoField:
		switch strings.ToLower(s) {
		case "yes", "y", "true", "1", "x", "✓", "✔":
			return Value{State: Known, Num: 1, Hi: 1}, nil
		case "no", "n", "false", "0":
			return Value{State: Known}, nil
		}
		var v Value
		if low := strings.ToLower(s); d.Sign && heard(low) != 0 || YesIsBad(f) && strings.HasPrefix(low, "yes") {
			v.Num, v.Hi = 1, 1
		}
		return v, errors.New("neither yes nor no")
	case DateField:
		day, err := ParseDate(s)
		return Value{State: Known, Num: Micro(day), Hi: Micro(day)}, err
	case DesignField:
		_, err := ParseDesignation(s)
		return Value{State: Known, Text: s}, err
	}
	return parseSigns(strings.ToLower(s))
}

// stateOf returns the state that a code such as "?" or "ur" stands for, Known for
// any other text.
func stateOf(s string) State {
	if len(s) > len("cannot") || s[0] >= '0' && s[0] <= '9' {
		return Known // most values are numbers
	}
	for st := Asked; st <= NotApplicable; st++ {
		if strings.EqualFold(s, stateCodes[st]) {
			return st
		}
	}
	return Known
}

func slip(reason, word string, words []string) error {
	if near := Nearest(word, words); near != "" {
		return errors.New(reason + ", did you mean " + near + "?")
	}
	return errors.New(reason)
}

// measured reports whether a number comes from an instrument, which may print
// more decimals than mean anything; a label's number is taken exactly.
func (f *Field) measured() bool { return f.Role != Describing && f.Name != "charge_limit_v" }

func parseNumber(d *Field, s string) (Micro, error) {
	n, err := ParseQuantity(s, d.Unit, !d.measured())
	if err != nil {
		return 0, err
	}
	return n, inRange(d, n)
}

func inRange(d *Field, n Micro) error {
	if n < d.Min || n > d.Max {
		return errors.New("outside what is possible")
	}
	return nil
}

func parseList(d *Field, s string) (Value, error) {
	v := Value{State: Known, Text: s}
	for part := range strings.SplitSeq(s, ";") {
		n, err := parseNumber(d, strings.TrimSpace(part))
		if err != nil {
			return Value{}, fmt.Errorf("%q: %w", strings.TrimSpace(part), err)
		}
		if v.N == 0 {
			v.Num, v.Hi = n, n
		}
		v.Num, v.Hi = min(v.Num, n), max(v.Hi, n)
		if v.N++; v.N == 255 {
			return Value{}, errors.New("more members than a pack can have")
		}
	}
	return v, nil
}

func parseSigns(s string) (Value, error) {
	v := Value{State: Known, Hi: 1}
	var none bool
	var bad error
	for part := range strings.FieldsFuncSeq(s, notInWord) {
		f, ok := FieldByName(strings.ReplaceAll(part, "-", "_"))
		switch {
		case part == "none":
			none = true
		case ok && Fields[f].Sign:
			v.Num |= 1 << f
		case ok && f == Recalled:
			bad = errors.New("recalled is looked up, not seen: give it as a field of its own")
		default:
			bad = slip(strconv.Quote(part)+" is not a sign", part, signNames())
			// What is probably a sign counts as one, so that a slip never
			// hides an emergency.
			v.Num |= Micro(heard(part))
		}
	}
	if bad == nil && none && v.Num != 0 {
		bad = errors.New("none and a sign at once")
	}
	if bad == nil && !none && v.Num == 0 {
		bad = errors.New("names no sign")
	}
	if bad != nil {
		v.Hi = 0
	}
	return v, bad
}

// notInWord parts a list of signs, however it is joined.
func notInWord(r rune) bool { return r != '_' && r != '-' && !unicode.IsLetter(r) }

// signsHeard are the words in which people name a sign that is called otherwise
// here. They are not accepted, but what they say is not lost.
var signsHeard = map[string]FieldID{
	"smoke": Smoking, "smokes": Smoking, "fume": Smoking, "fumes": Smoking, "fire": Smoking, "flame": Smoking, "flames": Smoking,
	"burning": Smoking, "hiss": Hissing, "hisses": Hissing, "pop": Hissing, "popping": Hissing, "smell": Odour, "smells": Odour,
	"odor": Odour, "hot": Warm, "heat": Warm, "heating": Warm, "bulge": Swollen, "bulged": Swollen, "bulging": Swollen, "puffy": Swollen,
	"puffed": Swollen, "swelling": Swollen, "swelled": Swollen, "pillow": Swollen, "leak": Leaking, "leaks": Leaking, "leaked": Leaking,
	"bent": Dented, "dent": Dented, "creased": Dented, "torn": Punctured, "pierced": Punctured, "puncture": Punctured, "hole": Punctured,
	"crack": Cracked, "broken": Cracked, "corrosion": Corroded, "rust": Corroded, "scorched": Burnt, "burned": Burnt, "burn": Burnt,
	"water": Wet, "dropped": Misused, "crushed": Misused,
}

// heard returns the signs that a text names, in our word, in another or with a
// slip in it.
func heard(text string) FieldSet {
	var set FieldSet
	names := signNames()
	for part := range strings.FieldsFuncSeq(text, notInWord) {
		part = strings.ReplaceAll(part, "-", "_")
		if f, ok := signsHeard[part]; ok {
			set = set.With(f)
			continue
		}
		for i, n := range names {
			if len(part) > 2 && editDistance(part, n) <= len(n)/4 {
				set = set.With(Swollen + FieldID(i))
			}
		}
	}
	return set
}

// Hear takes the signs that a refused text names as seen: a sign written into
// the wrong column must not be lost.
func (r *Reading) Hear(text string) {
	heard(strings.ToLower(text)).Each(func(f FieldID) { r[f] = Value{State: Known, Num: 1, Hi: 1} })
}

// Sign returns what the reading says of a sign, by its own field or by the list of
// signs.
func (r *Reading) Sign(f FieldID) Value { return r.sign(f) }

// sign returns the value of sign f: its own field, or what the sign list says.
// A filled field overrides an implied no; a listed sign stays yes.
func (r *Reading) sign(f FieldID) Value {
	own, list := r[f], &r[Signs]
	if list.State == Known && FieldSet(list.Num).Has(f) {
		return Value{State: Known, Num: 1, Hi: 1}
	}
	if own.State != Blank {
		return own
	}
	if list.State == Known && list.Hi == 1 {
		if f == Warm && !r.warmthWhole() {
			return Value{State: Asked}
		}
		return Value{State: Known}
	}
	if list.State != Known && list.State != NotApplicable {
		return Value{State: list.State}
	}
	return own
}

// warmthWhole reports whether a general "none" may answer for warmth. It may
// where no thermometer was read; a figure without its room, a refused one, or one
// far below the room (the two swapped, shiny foil) says more than the list.
func (r *Reading) warmthWhole() bool {
	cell, room := &r[CellC], &r[AmbientC]
	if cell.State == Known && room.State == Known {
		return cell.Num > room.Num-coldFoil
	}
	return cell.notTried() && room.notTried()
}

// notTried reports whether nobody tried to take a reading: it is blank, there is no
// instrument for it, or it does not apply.
func (v *Value) notTried() bool {
	return v.State == Blank || v.State == NoInstrument || v.State == NotApplicable
}

// kind returns the word of the kind field; blank or unknown is a pouch, the
// kind with the most rows to pass.
func (r *Reading) kind() string {
	if r[Kind].State != Known {
		return Fields[Kind].Words[0]
	}
	return Fields[Kind].Words[r[Kind].Num]
}

// Check refuses what only the whole reading can show, today a "does not apply"
// on a kind of cell to which the field does apply. Refused fields become "not
// known yet".
func (r *Reading) Check() []error {
	var errs []error
	kind := r.kind()
	for i := range r {
		f, v := &Fields[i], &r[i]
		if v.State != NotApplicable || f.allowsNA(kind) {
			continue
		}
		*v = Value{State: Refused}
		errs = append(errs, &FieldError{Field: f.Name, Text: "na", Reason: "does apply to kind " + kind, Want: f.Allowed()})
	}
	return errs
}

// KeepBadSigns forgets everything but the tag and the signs that say yes: what
// may still be believed of a row whose cells may have shifted.
func (r *Reading) KeepBadSigns() {
	for i := range r {
		f, v := &Fields[i], &r[i]
		switch {
		case f.Type == TextField || f.Type == YesNoField && f.Role != Describing && v.State == Known && v.Num == 1:
		case FieldID(i) == Purpose && v.State == Known && f.Words[v.Num] == "return":
		case FieldID(i) == Signs && v.State == Known:
			v.Hi = 0
		case v.State != Blank:
			*v = Value{State: Asked}
		}
	}
}

// allowsNA reports whether "does not apply" is an answer. It is, for every
// field that describes or may be left out, unless the field names its kinds;
// never for a sign, a recall or warmth.
func (f *Field) allowsNA(kind string) bool {
	if len(f.NA) > 0 {
		for _, k := range f.NA {
			if k == kind {
				return true
			}
		}
		return false
	}
	return f.Role == Optional || f.Name == "lithium_g" || f.Name == "part"
}
