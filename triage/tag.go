package triage

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Tags. A tag is the shop's number for a cell, a container or a shipment,
// written on tape with gloves on and read back years later.
//
// The alphabet has 17 symbols, none of which looks like another, moves between
// keyboard layouts, or reads differently upside down. They have the values 0 to
// 16 in the order of tagSymbols. The last symbol makes the weighted sum
// (weights 2, 3, 4, ... from the left, 1 for the last) zero modulo 17. As 17 is
// prime and no weight is a multiple of it, one wrong symbol always breaks the
// sum, and one smudged symbol has exactly one value that mends it; as
// neighbouring weights differ, so does an exchange of two different neighbours.
//
// The length tells the kind. There is no meaning inside: tags issued one after
// the other differ in every symbol but the last, which may differ, so that two
// cells of one evening are not taken for each other.
const tagSymbols = "23479CDEFHJKNPRTX"

const tagBase = len(tagSymbols)

// A TagKind is what a tag numbers.
type TagKind uint8

// The kinds of tags.
const (
	ContainerTag TagKind = iota
	ShipmentTag
	CellTag
)

var tagKinds = [...]struct {
	name   string
	length int
	first  int64 // the least TagKey of the kind
	count  int64 // how many there are: 17 to the power of length-1
	step   int64 // between numbers issued in turn; no digit to base 17 is 0 or 16
}{
	ContainerTag: {"container", 4, 0, 4913, 10*289 + 7*17 + 9},
	ShipmentTag:  {"shipment", 5, 4913, 83521, 10*4913 + 7*289 + 9*17 + 5},
	CellTag:      {"cell", 6, 4913 + 83521, 1419857, 10*83521 + 7*4913 + 9*289 + 5*17 + 8},
}

// String returns the kind's name.
func (k TagKind) String() string { return tagKinds[k].name }

// Length returns how many symbols a tag of the kind has.
func (k TagKind) Length() int { return tagKinds[k].length }

// TagCount returns how many tags of a kind one site has.
func TagCount(k TagKind) int64 { return tagKinds[k].count }

// IssueTag returns the tag with a number from 0 to TagCount-1, which are all
// different. It panics on another number: the caller counts.
func IssueTag(k TagKind, number int64) string {
	t := &tagKinds[k]
	if number < 0 || number >= t.count {
		panic(fmt.Sprintf("triage: %s tag number %d is not from 0 to %d", t.name, number, t.count-1))
	}
	var b [6]byte
	for i, m := t.length-2, number*t.step%t.count; i >= 0; i-- {
		b[i] = tagSymbols[m%int64(tagBase)]
		m /= int64(tagBase)
	}
	b[t.length-1] = tagSymbols[(tagBase-tagSum(string(b[:t.length-1]), t.length)%tagBase)%tagBase]
	return string(b[:t.length])
}

// TagNumber returns the number that IssueTag makes the tag from. The tag must
// have passed CheckTag.
func TagNumber(tag string) (TagKind, int64) {
	k := tagKindOf(len(tag))
	t := &tagKinds[k]
	var m int64
	for i := range t.length - 1 {
		m = m*int64(tagBase) + int64(strings.IndexByte(tagSymbols, tag[i]))
	}
	return k, m * inverse(t.step, t.count) % t.count
}

// TagKey returns one number for a tag over all kinds; a tag issued later has a
// greater key than one of its kind issued earlier.
func TagKey(tag string) int64 {
	k, n := TagNumber(tag)
	return tagKinds[k].first + n
}

// TagKeys returns how many keys there are: they are 0 to TagKeys-1.
func TagKeys() int64 { return tagKinds[CellTag].first + tagKinds[CellTag].count }

// TagOfKey is the inverse of TagKey.
func TagOfKey(key int64) string {
	for k := CellTag; ; k-- {
		if key >= tagKinds[k].first {
			return IssueTag(k, key-tagKinds[k].first)
		}
	}
}

// inverse returns x with a*x = 1 modulo m, by Euclid's algorithm.
func inverse(a, m int64) int64 {
	x, y, r, s := int64(1), int64(0), a, m
	for s != 0 {
		q := r / s
		r, s = s, r-q*s
		x, y = y, x-q*y
	}
	return (x%m + m) % m
}

func tagKindOf(length int) TagKind {
	for k := range tagKinds {
		if tagKinds[k].length == length {
			return TagKind(k)
		}
	}
	panic(fmt.Sprintf("triage: no tag has %d symbols", length))
}

// tagSum is the weighted sum of the first symbols of a tag of some length.
func tagSum(s string, length int) int {
	sum := 0
	for i := range len(s) {
		weight := i + 2
		if i == length-1 {
			weight = 1
		}
		sum += weight * strings.IndexByte(tagSymbols, s[i])
	}
	return sum
}

func tagHolds(s string) bool { return tagSum(s, len(s))%tagBase == 0 }

// foldTag makes letters capital and drops spaces and dashes.
func foldTag(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == ' ' || r == '-':
			return -1
		case r >= 'a' && r <= 'z':
			return r - 'a' + 'A'
		}
		return r
	}, strings.TrimSpace(s))
}

// HeldTag returns a tag as it is stored, and its kind, or false for a text that is no
// tag or does not hold; CheckTag says why.
func HeldTag(s string) (tag string, kind TagKind, ok bool) {
	tag = foldTag(s)
	if len(tag) < 4 || len(tag) > 6 || strings.Trim(tag, tagSymbols) != "" || !tagHolds(tag) {
		return "", 0, false
	}
	return tag, tagKindOf(len(tag)), true
}

// CheckTag returns a tag as it is stored, and its kind. Small letters, spaces
// and dashes are accepted. The error of a tag that does not hold names what may
// have been meant; nothing is guessed.
func CheckTag(s string) (string, TagKind, error) {
	if tag, kind, ok := HeldTag(s); ok {
		return tag, kind, nil
	}
	tag := foldTag(s)
	if n := len([]rune(tag)); n < 4 || n > 6 {
		return "", 0, fmt.Errorf("tag %q has %d symbols: a cell has 6, a shipment 5, a container 4", clip(s, 20), n)
	}
	var foreign []rune // each once
	count := 0
	for _, r := range tag {
		if !strings.ContainsRune(tagSymbols, r) {
			count++
			if !slices.Contains(foreign, r) {
				foreign = append(foreign, r)
			}
		}
	}
	switch len(foreign) {
	case 0:
	case 1:
		text := fmt.Sprintf("tag %q: %q is no tag symbol (%s)", clip(s, 20), foreign[0], tagSymbols)
		if whole, err := RestoreTag(strings.Replace(tag, string(foreign[0]), "?", 1)); err == nil && count == 1 {
			text += "; if only that one was misread it is " + SpacedTag(whole)
		}
		return "", 0, errors.New(text)
	default:
		return "", 0, fmt.Errorf("tag %q: %q are no tag symbols (%s)", clip(s, 20), string(foreign), tagSymbols)
	}
	text := "tag " + SpacedTag(tag) + " does not hold: a symbol was misread"
	if kind := tagKindOf(len(tag)); kind != CellTag {
		text += fmt.Sprintf(", or left out: %d symbols are a %s's, a cell has %d", len(tag), kind, CellTag.Length())
	}
	return "", 0, fmt.Errorf("%s; look again. %s", text, mendings(tag))
}

// mendings lists the tags that differ from s in one symbol, or in the order of
// two neighbours.
func mendings(s string) string {
	var one, swapped []string
	for i := range len(s) {
		if whole, err := RestoreTag(s[:i] + "?" + s[i+1:]); err == nil {
			one = append(one, fmt.Sprintf("%s (symbol %d)", SpacedTag(whole), i+1))
		}
		if i > 0 {
			if x := s[:i-1] + s[i:i+1] + s[i-1:i] + s[i+1:]; tagHolds(x) {
				swapped = append(swapped, SpacedTag(x))
			}
		}
	}
	text := "One misread symbol would make it " + strings.Join(one, ", ")
	if len(swapped) > 0 {
		text += "; two exchanged, " + strings.Join(swapped, ", ")
	}
	return text
}

// NearTags lists the tags that hold and differ from what was typed in one symbol,
// in the order of two neighbours, or by one symbol that is missing or too many.
// Which of them was meant, only the shop's own log can say.
func NearTags(s string) (list []string) {
	tag := foldTag(s)
	if len(tag) > 7 || strings.Trim(tag, tagSymbols) != "" {
		return nil
	}
	add := func(t string, err error) {
		if err == nil && len(t) >= 4 && len(t) <= 6 && t != tag && tagHolds(t) && !slices.Contains(list, t) {
			list = append(list, t)
		}
	}
	for i := range len(tag) + 1 {
		add(RestoreTag(tag[:i] + "?" + tag[i:]))
		if i == len(tag) {
			break
		}
		add(RestoreTag(tag[:i] + "?" + tag[i+1:]))
		add(tag[:i]+tag[i+1:], nil)
		if i > 0 {
			add(tag[:i-1]+tag[i:i+1]+tag[i-1:i]+tag[i+1:], nil)
		}
	}
	return list
}

// RestoreTag returns the tag in which one unreadable symbol is written ? or _.
// There is exactly one; that the other symbols were read rightly is for the
// reader to know.
func RestoreTag(s string) (string, error) {
	tag := foldTag(s)
	at := strings.IndexAny(tag, "?_")
	if at < 0 || strings.ContainsAny(tag[at+1:], "?_") {
		return "", fmt.Errorf("tag %q: write exactly one unreadable symbol as ? or _", clip(s, 20))
	}
	for i := range tagBase {
		whole := tag[:at] + tagSymbols[i:i+1] + tag[at+1:]
		if len(whole) < 4 || len(whole) > 6 || strings.Trim(whole, tagSymbols) != "" {
			break
		}
		if tagHolds(whole) {
			return whole, nil
		}
	}
	return "", fmt.Errorf("tag %q cannot be restored: the other symbols must be 3 to 5 of %s", clip(s, 20), tagSymbols)
}

// unshifted are the characters that a scanner set for a QWERTY keyboard makes of
// figures on a machine that is set to AZERTY, where a figure takes the shift key.
// The letters of tags stand in the same place on both, and on QWERTZ. Common
// practice; the layout from memory.
var unshifted = strings.NewReplacer("é", "2", "É", "2", "\"", "3", "'", "4", "è", "7", "È", "7", "ç", "9", "Ç", "9")

// UnshiftTag returns the tag that was scanned on a machine whose keyboard is set to
// another layout than the scanner's; ok is false where the text is no such tag.
func UnshiftTag(s string) (tag string, ok bool) {
	text := unshifted.Replace(s)
	if text == s {
		return "", false
	}
	tag, _, err := CheckTag(text)
	return tag, err == nil
}

// SpacedTag writes a tag for reading aloud: the last four symbols apart.
func SpacedTag(tag string) string {
	if n := len(tag) - 4; n > 0 {
		return tag[:n] + " " + tag[n:]
	}
	return tag
}
