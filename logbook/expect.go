package logbook

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math/bits"

	"pouchward/triage"
)

// expected is what the views must hold, as the entries say. Its memory is
// bounded by the number of tags that a site can have, not by the log.
type expected struct {
	pages  map[int64]*[tagPage]expectedTag
	links  int64
	sum    multiset
	issued [triage.CellTag + 1]int64
	words  []string // handling and condition words, few
	index  map[string]uint8
}

const tagPage = 1024

type expectedTag struct {
	first, last, entries, assessed int64
	handling, condition            uint8
}

// A multiset is the sum of the hashes of its members modulo 2^256: two tables
// of the same rows have the same, in any order.
type multiset [4]uint64

func (m *multiset) add(key, n int64) {
	var b [16]byte
	binary.BigEndian.PutUint64(b[:], uint64(key))
	binary.BigEndian.PutUint64(b[8:], uint64(n))
	h := sha256.Sum256(b[:])
	var carry uint64
	for i := range m {
		m[i], carry = bits.Add64(m[i], binary.LittleEndian.Uint64(h[8*i:]), carry)
	}
}

func newExpected() *expected {
	return &expected{pages: map[int64]*[tagPage]expectedTag{}, words: []string{""}, index: map[string]uint8{"": 0}}
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

func (x *expected) add(n int64, e *Entry) {
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
			t.assessed, t.handling, t.condition = n, x.word(e.Body.member("handling")), x.word(e.Body.member("condition"))
		}
		if kind, number := triage.TagNumber(tag); e.Body.member("issued") == "true" {
			x.issued[kind] = max(x.issued[kind], number+1)
		}
	}
}

// compareViews compares the views with what the entries say.
func (v *verifier) compareViews() {
	for name, compare := range map[string]func() (string, error){"tags": v.compareTags, "tag_entries": v.compareLinks, "issued": v.compareIssued} {
		text, err := compare()
		if err != nil {
			text = err.Error()
		}
		if text != "" {
			v.report.add(0, "view %s is not what the entries say (%s); the entries are the truth: pouchward log rebuild derives it again", name, text)
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
