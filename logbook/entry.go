package logbook

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"golang.org/x/mod/sumdb/tlog"

	"pouchward/triage"
)

// Kinds are the kinds of entries. A record has a "subject" in its body:
// log-key, tag-block, training, local-rule, instrument-check, rulebook,
// attachment, ...
var Kinds = []string{"assessment", "recheck", "determination", "raise", "secured", "move", "container", "inspection", "incident",
	"shipment", "correction", "retraction", "split", "merge", "record", "sign-off"}

// A Draft is an entry before it has a number.
type Draft struct {
	Kind     string
	Site     string // blank: the site of the log
	Bench    string
	Who      string
	Happened time.Time // zero: when it is entered
	Tags     []string  // as CheckTag returns them
	Rulebook string    // digest, where the body holds a verdict
	Body     Body
	Now      []State // what holds of its tags after it; when read, Entry.Now tells
}

// An Entry is one entry as read.
type Entry struct {
	Draft
	Number  int64
	Entered time.Time
	Zone    string
	Clock   string // blank, or how far the clock stood back
	Bytes   []byte // as hashed

	says  *said // what the views take from it, where a verifier read it; else nil
	sound bool  // read in a transaction in which all entries were verified
}

// Leaf returns the hash of the entry as a leaf of the tree.
func (e *Entry) Leaf() tlog.Hash { return tlog.RecordHash(e.Bytes) }

// Local returns a time with the offset from UTC that the entry names.
func (e *Entry) Local(at time.Time) time.Time {
	zone, _, _ := strings.Cut(e.Zone, " ")
	where, seen := zones.Load(zone)
	if !seen {
		where = (*time.Location)(nil)
		if t, err := time.Parse("-07:00", zone); err == nil {
			where = t.Location()
			zones.Store(strings.Clone(zone), where)
		}
	}
	if where := where.(*time.Location); where != nil {
		at = at.In(where)
	}
	return at
}

// zones are the offsets from UTC that entries name; each is spelled in one way, and there
// are no more than minutes of two days.
var zones sync.Map

// timeForm is RFC 3339 in UTC with exactly milliseconds, so that one time has
// one spelling.
const timeForm = "2006-01-02T15:04:05.000Z"

// maxEntryBytes bounds an entry: a verdict with every reading is under 4 kB.
const maxEntryBytes = 1 << 20

// maxMemberBytes bounds site, bench, who and rulebook, a line's worth each.
const maxMemberBytes = 400

// check refuses what an entry must not hold.
func (d *Draft) check() error {
	if !slices.Contains(Kinds, d.Kind) {
		return fmt.Errorf("no kind %q of entries; use %s", d.Kind, strings.Join(Kinds, ", "))
	}
	for _, t := range d.Tags {
		if tag, _, err := triage.CheckTag(t); err != nil {
			return err
		} else if tag != t {
			return fmt.Errorf("tag %q must be written %s", t, tag)
		}
	}
	for i, t := range d.Tags {
		if slices.Contains(d.Tags[:i], t) {
			return fmt.Errorf("tag %s is named twice", t)
		}
	}
	for _, m := range [...]struct{ name, value string }{{"site", d.Site}, {"bench", d.Bench}, {"who", d.Who}, {"rulebook", d.Rulebook}} {
		if len(m.value) > maxMemberBytes {
			return fmt.Errorf("%s is %d bytes long; an entry takes at most %d (%.40q...)", m.name, len(m.value), maxMemberBytes, m.value)
		}
		if !utf8.ValidString(m.value) {
			return fmt.Errorf("%s %.40q is not UTF-8", m.name, m.value)
		}
	}
	if d.Kind == "record" && d.Body.member("subject") == "" {
		return fmt.Errorf("a record names its \"subject\"")
	}
	if y := d.Happened.UTC().Year(); y < 1 || y > 9999 {
		return fmt.Errorf("the year %d has no place in RFC 3339", y)
	}
	return nil
}

// appendEntry appends the bytes of an entry; see the package comment. It takes
// no part in reading: scanEntry reads them back.
func appendEntry(b []byte, e *Entry) []byte {
	b = append(b, `{"v":1,"n":`...)
	b = strconv.AppendInt(b, e.Number, 10)
	for _, m := range [...]struct{ name, value string }{
		{"kind", e.Kind}, {"site", e.Site}, {"bench", e.Bench}, {"who", e.Who},
		{"happened", e.Happened.UTC().Format(timeForm)}, {"entered", e.Entered.UTC().Format(timeForm)},
		{"zone", e.Zone}, {"clock", e.Clock},
	} {
		b = append(b, ',', '"')
		b = append(b, m.name...)
		b = append(b, '"', ':')
		b = AppendString(b, m.value)
	}
	b = append(b, `,"tags":[`...)
	for i, t := range e.Tags {
		if i > 0 {
			b = append(b, ',')
		}
		b = AppendString(b, t)
	}
	b = append(b, `],"rulebook":`...)
	b = AppendString(b, e.Rulebook)
	b = append(b, `,"body":`...)
	b = append(b, e.Body.raw...)
	return append(b, '}')
}

// ParseEntry reads the bytes of an entry and refuses those that are not in
// canonical form, so that no two readers can read one entry differently.
func ParseEntry(data []byte) (*Entry, error) {
	e := new(Entry)
	if err := e.parse(data); err != nil {
		return nil, err
	}
	return e, nil
}

// members are the members of an entry in order.
var members = [...]string{"v", "n", "kind", "site", "bench", "who", "happened", "entered", "zone", "clock", "tags", "rulebook", "body"}

func (e *Entry) parse(data []byte) error { return e.read(&scanner{data: data}) }

// read reads an entry. Where it is trusted, its bytes were read so before: the body
// and what the members may hold are not gone over again.
func (e *Entry) read(s *scanner) error {
	data := s.data
	if len(data) > maxEntryBytes {
		return fmt.Errorf("an entry of %d bytes is longer than any", len(data))
	}
	*e = Entry{Draft: Draft{Tags: e.Tags[:0]}, Bytes: data, sound: s.trusted}
	var happened, entered string
	texts := [len(members)]*string{2: &e.Kind, 3: &e.Site, 4: &e.Bench, 5: &e.Who, 6: &happened, 7: &entered, 8: &e.Zone, 9: &e.Clock, 11: &e.Rulebook}
	for i, name := range members {
		opening := byte(',')
		if i == 0 {
			opening = '{'
		}
		s.take(opening)
		if key := s.string(); string(key) != `"`+name+`"` {
			return s.fail("want the member " + name)
		}
		s.take(':')
		from := s.at
		switch name {
		case "v":
			s.number()
			if v := string(data[from:s.at]); s.err == nil && v != "1" {
				return fmt.Errorf("entry format %.20s is not known to this program: use a newer one", v)
			}
		case "n":
			s.number()
			n, err := strconv.ParseInt(string(data[from:s.at]), 10, 64)
			if err != nil || n < 1 {
				return s.fail("want the entry's number")
			}
			e.Number = n
		case "tags":
			s.take('[')
			for s.err == nil && s.peek() != ']' {
				if len(e.Tags) > 0 {
					s.take(',')
				}
				e.Tags = append(e.Tags, unquote(s.string()))
			}
			s.take(']')
		case "body":
			if s.trusted {
				s.at = len(data) - 1 // it is the last member
			} else {
				s.object()
			}
			e.Body = Body{raw: data[from:s.at]}
		default:
			*texts[i] = unquote(s.string())
		}
	}
	s.take('}')
	if s.err == nil && s.at != len(data) {
		return s.fail("want the end")
	}
	if s.err != nil {
		return s.err
	}
	var err error
	if e.Happened, err = parseTime(happened); err == nil {
		e.Entered, err = parseTime(entered)
	}
	if err != nil || s.trusted {
		return err
	}
	return e.check()
}

// parseTime reads a time in timeForm and no other spelling of it. A verifier
// reads two an entry, so it is written out.
func parseTime(s string) (time.Time, error) {
	bad := len(s) != len(timeForm)
	number := func(from, to int) (n int) {
		for i := from; i < to && !bad; i++ {
			bad = s[i] < '0' || s[i] > '9'
			n = 10*n + int(s[i]-'0')
		}
		return n
	}
	year, month, day := number(0, 4), number(5, 7), number(8, 10)
	hour, minute, second, milli := number(11, 13), number(14, 16), number(17, 19), number(20, 23)
	for _, at := range [...]int{4, 7, 10, 13, 16, 19, 23} {
		bad = bad || s[at] != timeForm[at]
	}
	t := time.Date(year, time.Month(month), day, hour, minute, second, milli*1e6, time.UTC)
	if y, m, d := t.Date(); bad || y != year || int(m) != month || d != day || hour > 23 || minute > 59 || second > 59 {
		return t, fmt.Errorf("%q is not a time such as 2026-11-25T14:03:00.000Z", s)
	}
	return t, nil
}
