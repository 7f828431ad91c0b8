package triage

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A RecallList is the shop's own copy of recall notices. It answers the field
// recalled for cells whose part number it can look up.
//
// A match answers yes, also against a typed no. A match that hangs on a serial
// number or a date of manufacture that the reading does not give answers
// nothing: the cell is held until somebody looks. No match answers no, only
// while the list is at most RecallDays old and read by the day of the judging, and
// not when the part number is one slip away from a listed one.
type RecallList struct {
	ReadOn  Date // the newest date on which a notice was read
	Entries []RecallEntry

	byPart map[string][]int
}

// A RecallEntry is one line of a recall list.
type RecallEntry struct {
	Part             string
	Serials          string // range of serial numbers in words, "" for all
	MadeFrom, MadeTo Date   // dates of manufacture, 0 for open
	Notice           string // number or title of the notice
	ReadOn           Date
}

// RecallDays is how old a list may be for its "not listed" to count: common
// practice.
const RecallDays = 30

// NewRecallList indexes the entries.
func NewRecallList(entries []RecallEntry) *RecallList {
	l := &RecallList{Entries: entries, byPart: map[string][]int{}}
	for i := range entries {
		key := PartKey(entries[i].Part)
		l.byPart[key] = append(l.byPart[key], i)
		l.ReadOn = max(l.ReadOn, entries[i].ReadOn)
	}
	return l
}

// PartKey folds what people type differently in a part number, and what comes with
// one that is copied from a page: other hyphens and spaces, marks that do not print.
func PartKey(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z':
			return r - 'a' + 'A'
		case r == ' ' || r == '-' || r == '_' || r == '.' || r == '/':
			return -1
		case r <= 0x7E:
			return r
		case r == '\u2212' || unicode.In(r, unicode.Pd, unicode.Zs, unicode.Cf):
			return -1
		}
		return r
	}, s)
}

// nearPart reports whether one folded part number may be a slip for a listed one. What
// is listed with a foreign letter may be any of its length.
func nearPart(key, listed string) bool {
	if foreignPart(listed) {
		n := utf8.RuneCountInString(key) - utf8.RuneCountInString(listed)
		return n >= -1 && n <= 1
	}
	return editDistance(key, listed) <= 1
}

// foreignPart reports whether a folded part number has a letter or figure that no
// keyboard of a recall notice has: one that looks like another, or is wide.
func foreignPart(key string) bool {
	return strings.ContainsFunc(key, func(r rune) bool { return r < ' ' || r > 0x7E })
}

// answer looks the reading up on a day. It returns the value of recalled that
// the list gives, ok false for none, and what to tell the person, "" for nothing.
func (l *RecallList) answer(r *Reading, on Date) (v Value, ok bool, tell string) {
	part := r[Part].Text
	if r[Part].State != Known || len(PartKey(part)) < 3 {
		return v, false, "" // too short to be looked up
	}
	open := ""
	lines := l.byPart[PartKey(part)]
	for _, i := range lines {
		e := &l.Entries[i]
		switch made := r[MadeOn]; {
		case (e.MadeFrom != 0 || e.MadeTo != 0) && made.State == Known &&
			(e.MadeFrom != 0 && Date(made.Num) < e.MadeFrom || e.MadeTo != 0 && Date(made.Num) > e.MadeTo):
			continue
		case (e.MadeFrom != 0 || e.MadeTo != 0) && made.State != Known:
			open = fmt.Sprintf("Part %s is on recall notice %s for cells made %s to %s: read the date of manufacture.", part, e.Notice, e.MadeFrom, e.MadeTo)
		case e.Serials != "":
			open = fmt.Sprintf("Part %s is on recall notice %s for serials %s: look it up and say recalled yes or no.", part, e.Notice, e.Serials)
		default:
			return Value{State: Known, Num: 1, Hi: 1}, true, fmt.Sprintf("Part %s is on recall notice %s, read %s.", part, e.Notice, e.ReadOn)
		}
	}
	switch {
	case open != "":
		return v, false, open
	case l.ReadOn > on:
		return v, false, fmt.Sprintf("The recall list says that it was read on %s, after %s, for which this is judged: it does not say that a part is not on it.", l.ReadOn, on)
	case foreignPart(PartKey(part)) && len(lines) == 0:
		return v, false, fmt.Sprintf("Part %s has a letter or figure that looks like another: type it again, or say recalled yes or no.", part)
	case on-l.ReadOn > RecallDays:
		return v, false, fmt.Sprintf("The recall list was read on %s, %d days ago: too old to say that a part is not on it.", l.ReadOn, on-l.ReadOn)
	}
	for i := range l.Entries {
		if len(lines) > 0 {
			break // the part is listed, for other cells
		}
		if nearPart(PartKey(part), PartKey(l.Entries[i].Part)) {
			return v, false, fmt.Sprintf("Part %s is not on the recall list, but %s is: read the part number again.", part, l.Entries[i].Part)
		}
	}
	return Value{State: Known}, true, ""
}

// apply puts the list's answer into a reading: a yes always, a no only where
// nothing was said.
func (l *RecallList) apply(r *Reading, on Date) (tell string) {
	v, ok, tell := l.answer(r, on)
	switch typed := r[Recalled]; {
	case ok && v.Num == 1:
		r[Recalled] = v
	case typed.State == Known:
		return "" // somebody looked it up
	case ok && typed.State == Blank:
		r[Recalled] = v
	}
	return tell
}
