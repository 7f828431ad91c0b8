package app

import (
	"errors"
	"fmt"
	"strings"
	"sync"

	"pouchward/cmd/internal/intake"
	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// sheetRecord records the rows of sorted sheets in one write: all or none.
type sheetRecord struct {
	r  *Recording
	mu sync.Mutex // one goroutine at a time uses the write
	tx *logbook.Tx

	seen     []uint64 // one bit for each tag key given by hand
	problems []string // tags that do not hold; then nothing is recorded
	more     int
}

// rowRecord is what recording adds to a batch.
type rowRecord struct {
	tags   []string // issued, "" for a row that has one
	drafts []logbook.Draft
	bodies []byte
	given  []Given
	errs   []string
}

// sortRecorded sorts and records; the entries become durable together, after
// the last row was judged.
func sortRecorded(opt SortOptions) (sum Summary, err error) {
	err = opt.Record.log.Write(func(tx *logbook.Tx) error {
		rec := &sheetRecord{r: opt.Record, tx: tx, seen: make([]uint64, triage.TagKeys()/64+1)}
		opt.record = rec
		if sum, err = sortSheets(opt); err != nil {
			return err
		}
		return rec.check()
	})
	if err != nil {
		err = fmt.Errorf("nothing was recorded: %w", err)
	}
	return sum, err
}

// tagColumn returns the column that holds the tag, -1 for none.
func tagColumn(s *intake.Sheet) int {
	for i := range s.Columns {
		if s.Columns[i].Kind == intake.FieldColumn && s.Columns[i].Field == triage.Tag {
			return i
		}
	}
	return -1
}

// issue gives a tag to every row of a batch that has none, in row order.
func (s *sheetRecord) issue(b *batch) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	column := tagColumn(b.sheet)
	b.rec.tags = b.rec.tags[:0]
	for i := range b.n {
		tag := ""
		if column < 0 || isBlank(b.rows[i].Cells[column]) {
			var err error
			if tag, err = s.tx.IssueTag(triage.CellTag); err != nil {
				return err
			}
			if column >= 0 {
				b.rows[i].Cells[column] = tag
			}
		}
		b.rec.tags = append(b.rec.tags, tag)
	}
	return nil
}

func isBlank(s string) bool { return strings.TrimSpace(s) == "" }

// before sets the tag of row i and returns what the log knows of it.
func (s *sheetRecord) before(b *batch, i int, reading *triage.Reading) *known {
	if tag := b.rec.tags[i]; tag != "" {
		reading[triage.Tag] = triage.Value{State: triage.Known, Text: tag}
		return nil
	}
	tag, err := cellTag(reading[triage.Tag].Text)
	if err == nil {
		reading[triage.Tag].Text = tag
		s.mu.Lock()
		defer s.mu.Unlock()
		if key := triage.TagKey(tag); s.seen[key/64]>>(key%64)&1 == 1 {
			err = fmt.Errorf("tag %s %w", triage.SpacedTag(tag), errTwice)
		} else {
			s.seen[key/64] |= 1 << (key % 64)
			var k *known
			if k, err = s.known(tag); err == nil {
				return k
			}
		}
	}
	b.rec.errs = append(b.rec.errs, fmt.Sprintf("%s line %d: %v", b.sheet.Name, b.rows[i].Line, err))
	return nil
}

func (s *sheetRecord) known(tag string) (*known, error) {
	list, err := s.tx.History(tag)
	if err != nil {
		return nil, err
	}
	return knownOf(list, s.r.now())
}

// draft makes the entry of a judged row.
func (s *sheetRecord) draft(b *batch, i int, reading *triage.Reading, row *exports.Row, k *known, rulebook string) {
	r := &b.rec
	r.given = r.given[:0]
	for c := range b.sheet.Columns {
		if x := &b.sheet.Columns[c]; x.Kind == intake.FieldColumn && (b.rows[i].Written == nil || reading[x.Field].State == triage.Known) {
			r.given = append(r.given, Given{x.Field, b.rows[i].Cells[c]})
		}
	}
	x := assessment{verdict: row.Verdict, given: r.given, reading: reading, refused: row.Refused, issued: r.tags[i] != ""}
	if k != nil {
		x.earlier = k.entries
	}
	from := len(r.bodies)
	r.bodies = x.append(r.bodies)
	body, err := logbook.ParseBody(r.bodies[from:len(r.bodies):len(r.bodies)])
	if err != nil {
		r.errs = append(r.errs, fmt.Sprintf("%s line %d: %v", b.sheet.Name, b.rows[i].Line, err))
		return
	}
	r.drafts = append(r.drafts, logbook.Draft{Kind: "assessment", Bench: s.r.bench, Who: reading[triage.Who].Text,
		Tags: []string{row.Verdict.Tag}, Rulebook: rulebook, Body: body})
}

// write appends the entries of a batch, unless a row before had a problem.
func (s *sheetRecord) write(b *batch, sum *Summary) error {
	room := maxExamples - len(s.problems)
	s.problems = append(s.problems, b.rec.errs[:min(room, len(b.rec.errs))]...)
	s.more += max(0, len(b.rec.errs)-room)
	if len(s.problems) > 0 {
		return nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, d := range b.rec.drafts {
		r, err := s.tx.Append(d)
		if err != nil {
			return err
		}
		if sum.FirstEntry == 0 {
			sum.FirstEntry = r.Number
		}
		sum.LastEntry = r.Number
	}
	return nil
}

// check reports every tag that does not hold.
func (s *sheetRecord) check() error {
	var errs []error
	for _, p := range s.problems {
		errs = append(errs, errors.New(p))
	}
	if s.more > 0 {
		errs = append(errs, fmt.Errorf("and %d more", s.more))
	}
	return errors.Join(errs...)
}
