package logbook

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math/bits"
	"strconv"

	"pouchward/triage"
)

// expected is what the views must hold, as the entries say. Its memory is
// bounded by the number of tags that a site can have, not by the log.
type expected struct {
	pages  map[int64]*[tagPage]expectedTag
	links  int64
	sum    multiset
	issued [triage.CellTag + 1]int64
	latest map[[2]string]int64 // by topic and what it is about
	parts  multiset
	named  int64    // rows of part_entries
	words  []string // handling and condition words, few
	index  map[string]uint8
}

const tagPage = 1024

type expectedTag struct {
	first, last, entries, assessed int64
	handling, condition            uint8
	here                           uint64 // sum of its row of here, 0 for none
}

// A multiset is the sum of the hashes of its members modulo 2^256: two tables
// of the same rows have the same, in any order.
type multiset [4]uint64

func (m *multiset) add(key, n int64) {
	var b [16]byte
	binary.BigEndian.PutUint64(b[:], uint64(key))
	binary.BigEndian.PutUint64(b[8:], uint64(n))
	m.addBytes(b[:])
}

func (m *multiset) addBytes(b []byte) {
	h := sha256.Sum256(b)
	var carry uint64
	for i := range m {
		m[i], carry = bits.Add64(m[i], binary.LittleEndian.Uint64(h[8*i:]), carry)
	}
}

func newExpected() *expected {
	return &expected{pages: map[int64]*[tagPage]expectedTag{}, latest: map[[2]string]int64{}, words: []string{""}, index: map[string]uint8{"": 0}}
}

func (x *expected) tag(key int64) *expectedTag {
	page := x.pages[key/tagPage]
	if page == nil {
		page = new([tagPage]expectedTag)
		x.pages[key/tagPage] = page
	}
	return &page[key%tagPage]
}

// word numbers a word. A log with more than 255 of them holds words that are no
// answers; the last number then stands for all.
func (x *expected) word(w string) uint8 {
	i, ok := x.index[w]
	if !ok {
		if len(x.words) == 255 {
			return 254
		}
		i = uint8(len(x.words))
		x.words = append(x.words, w)
		x.index[w] = i
	}
	return i
}

func (x *expected) add(n int64, e *Entry, s *said) {
	for _, tag := range e.Tags {
		key := triage.TagKey(tag)
		x.links++
		x.sum.add(key, n)
		t := x.tag(key)
		if t.entries++; t.entries == 1 {
			t.first = n
		}
		t.last = n
		if e.Kind == "assessment" {
			t.assessed, t.handling, t.condition = n, x.word(s.handling), x.word(s.condition)
		}
		if kind, number := triage.TagNumber(tag); s.issued {
			x.issued[kind] = max(x.issued[kind], number+1)
		}
	}
	for i := range s.now {
		t := x.tag(triage.TagKey(s.now[i].Tag))
		if t.here = 0; s.now[i].Is == Here {
			t.here = s.sums[i]
		}
	}
	if s.topic != "" {
		x.latest[[2]string{s.topic, s.about}] = n
	}
	if s.part != "" {
		x.named++
		x.parts.addBytes(strconv.AppendInt(append([]byte(s.part), 0), n, 10))
	}
}

// sum takes the sums of the states; it runs beside the reading.
func (x *said) sum(n int64) {
	for i := range x.now {
		x.sums = append(x.sums, x.now[i].sum(n, &x.room))
	}
}

// sum is 64 bits over a state and the entry that said it, never 0. A log has as
// many states as entries: they are all written out in one room.
func (s *State) sum(n int64, room *[]byte) uint64 {
	*room = strconv.AppendInt(s.append((*room)[:0]), n, 10)
	h := sha256.Sum256(*room)
	return max(1, binary.LittleEndian.Uint64(h[:]))
}

// compareViews compares the views with what the entries say.
func (v *verifier) compareViews() {
	for _, view := range []struct {
		name    string
		schema  int
		compare func() (string, error)
	}{{"tags", 1, v.compareTags}, {"tag_entries", 1, v.compareLinks}, {"issued", 1, v.compareIssued},
		{"here", 2, v.compareHere}, {"latest", 2, v.compareLatest}, {"part_entries", 2, v.compareParts}} {
		if v.version < view.schema {
			continue // made, and filled, when the log is next written
		}
		text, err := view.compare()
		if err != nil {
			text = err.Error()
		}
		if text != "" {
			v.report.add(0, "view %s is not what the entries say (%s); the entries are the truth: pouchward log rebuild derives it again", view.name, text)
		}
	}
}

func (v *verifier) compareLinks() (string, error) {
	rows, err := v.tx.Query("SELECT key, n FROM tag_entries")
	if err != nil {
		return "", err
	}
	defer rows.Close()
	var sum multiset
	var count, key, n int64
	for rows.Next() {
		if err := rows.Scan(&key, &n); err != nil {
			return "", err
		}
		sum.add(key, n)
		count++
	}
	if err := rows.Err(); err != nil {
		return "", err
	}
	if count != v.views.links || sum != v.views.sum {
		return fmt.Sprintf("%d rows for %d, or other ones", count, v.views.links), nil
	}
	return "", nil
}

func (v *verifier) compareTags() (string, error) {
	rows, err := v.tx.Query("SELECT key, tag, first, last, entries, assessed, handling, condition FROM tags")
	if err != nil {
		return "", err
	}
	defer rows.Close()
	count, want := 0, 0
	for rows.Next() {
		var key int64
		var s TagState
		if err := rows.Scan(&key, &s.Tag, &s.First, &s.Last, &s.Entries, &s.Assessed, &s.Handling, &s.Condition); err != nil {
			return "", err
		}
		if key < 0 || key >= triage.TagKeys() {
			return fmt.Sprintf("%d is the key of no tag", key), nil
		}
		t := v.views.tag(key)
		if t.entries == 0 {
			return fmt.Sprintf("tag %s, which no entry names", s.Tag), nil
		}
		if w := (TagState{triage.TagOfKey(key), t.first, t.last, t.entries, t.assessed, v.views.words[t.handling], v.views.words[t.condition]}); s != w {
			return fmt.Sprintf("tag %s", w.Tag), nil
		}
		count++
	}
	for _, page := range v.views.pages {
		for i := range page {
			if page[i].entries > 0 {
				want++
			}
		}
	}
	if count != want {
		return fmt.Sprintf("%d tags for %d", count, want), rows.Err()
	}
	return "", rows.Err()
}

func (v *verifier) compareIssued() (string, error) {
	rows, err := v.tx.Query("SELECT kind, next FROM issued")
	if err != nil {
		return "", err
	}
	defer rows.Close()
	got := map[string]int64{}
	for rows.Next() {
		var kind string
		var next int64
		if err := rows.Scan(&kind, &next); err != nil {
			return "", err
		}
		got[kind] = next
	}
	for kind, next := range v.views.issued {
		if name := triage.TagKind(kind).String(); got[name] != next {
			return fmt.Sprintf("next %s tag %d for %d", name, got[name], next), rows.Err()
		}
		delete(got, triage.TagKind(kind).String())
	}
	if len(got) > 0 {
		return "kinds of tags that are none", rows.Err()
	}
	return "", rows.Err()
}

func (v *verifier) compareHere() (string, error) {
	count, want := 0, 0
	var off string
	var room []byte
	err := readHere(v.tx, "", func(h *Held) error {
		if count++; off == "" && (h.Key < 0 || h.Key >= triage.TagKeys() || v.views.tag(h.Key).here != h.State.sum(h.Entry, &room)) {
			off = h.Tag
		}
		return nil
	})
	for _, page := range v.views.pages {
		for i := range page {
			if page[i].here != 0 {
				want++
			}
		}
	}
	if err == nil && off != "" {
		return "tag " + off, nil
	}
	if err == nil && count != want {
		return fmt.Sprintf("%d tags for %d", count, want), nil
	}
	return "", err
}

func (v *verifier) compareLatest() (string, error) {
	count, off := 0, ""
	err := readLatest(v.tx, "", func(topic, about string, n int64) {
		if count++; v.views.latest[[2]string{topic, about}] != n {
			off = topic
		}
	})
	if err == nil && (off != "" || count != len(v.views.latest)) {
		return fmt.Sprintf("%d rows for %d, or other ones %s", count, len(v.views.latest), off), nil
	}
	return "", err
}

func (v *verifier) compareParts() (string, error) {
	rows, err := v.tx.Query("SELECT part, n FROM part_entries")
	if err != nil {
		return "", err
	}
	defer rows.Close()
	var sum multiset
	var count, n int64
	var part string
	for rows.Next() {
		if err := rows.Scan(&part, &n); err != nil {
			return "", err
		}
		sum.addBytes(strconv.AppendInt(append([]byte(part), 0), n, 10))
		count++
	}
	if count != v.views.named || sum != v.views.parts {
		return fmt.Sprintf("%d rows for %d, or other ones", count, v.views.named), rows.Err()
	}
	return "", rows.Err()
}
