package app

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"strings"
	"sync"
	"time"

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
	at time.Time

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
	if err := opt.Record.past(opt.Record.Happened); err != nil {
		return sum, err
	}
	err = opt.Record.log.Write(func(tx *logbook.Tx) error {
		rec := &sheetRecord{r: opt.Record, tx: tx, at: opt.Record.at(opt.Record.Happened), seen: make([]uint64, triage.TagKeys()/64+1)}
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
func (s *sheetRecord) before(b *batch, i int, reading *triage.Reading) *Cell {
	if tag := b.rec.tags[i]; tag != "" {
		reading[triage.Tag] = triage.Value{State: triage.Known, Text: tag}
		return &Cell{Tag: tag}
	}
	cell, err := s.cell(reading[triage.Tag].Text)
	if err != nil {
		b.rec.errs = append(b.rec.errs, fmt.Sprintf("%s line %d: %v", b.sheet.Name, b.rows[i].Line, err))
		return nil
	}
	reading[triage.Tag].Text = cell.Tag
	return cell
}

// cell reads what the log knows of a tag as typed, once in a run.
func (s *sheetRecord) cell(text string) (*Cell, error) {
	tag, err := cellTag(text)
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	cell, err := readCell(s.tx, tag)
	if err != nil {
		return nil, err
	}
	key := triage.TagKey(cell.Tag)
	if s.seen[key/64]>>(key%64)&1 == 1 {
		return nil, fmt.Errorf("tag %s %w", triage.SpacedTag(tag), errTwice)
	}
	s.seen[key/64] |= 1 << (key % 64)
	return cell, nil
}

// draft makes the entry of a judged row.
func (s *sheetRecord) draft(b *batch, i int, reading *triage.Reading, row *exports.Row, cell *Cell, shop *Shop) {
	r := &b.rec
	if cell == nil {
		return // its tag does not hold: nothing of the run is recorded
	}
	r.given = r.given[:0]
	for c := range b.sheet.Columns {
		if x := &b.sheet.Columns[c]; x.Kind == intake.FieldColumn && (b.rows[i].Written == nil || reading[x.Field].State == triage.Known) {
			r.given = append(r.given, Given{x.Field, b.rows[i].Cells[c]})
		}
	}
	x := assessment{verdict: row.Verdict, given: r.given, reading: reading, refused: row.Refused, issued: r.tags[i] != "", earlier: cell.numbers(), asWritten: row.AsWritten}
	from := len(r.bodies)
	r.bodies = x.append(r.bodies)
	body, err := logbook.ParseBody(r.bodies[from:len(r.bodies):len(r.bodies)])
	d := logbook.Draft{Kind: "assessment", Bench: s.r.bench, Who: cmp.Or(reading[triage.Who].Text, s.r.Who), Happened: s.r.Happened,
		Tags: []string{cell.Tag}, Rulebook: shop.Rulebook.Digest, Body: body}
	if err == nil {
		d.Now, err = cell.afterRow(shop, row.Verdict, &d, s.at, x.issued)
	}
	if err != nil {
		r.errs = append(r.errs, fmt.Sprintf("%s line %d: %v", b.sheet.Name, b.rows[i].Line, err))
		return
	}
	r.drafts = append(r.drafts, d)
}

// afterRow returns the state of a cell after a row of a sheet, whose entry has
// no number yet.
func (c *Cell) afterRow(shop *Shop, v *triage.Verdict, d *logbook.Draft, at time.Time, issued bool) ([]logbook.State, error) {
	if !issued {
		e := &logbook.Entry{Draft: *d, Number: math.MaxInt64}
		e.Happened = at
		c.Entries = append(c.Entries, e)
		if err := c.take(e); err != nil {
			return nil, err
		}
		if c.sortLooks(); c.foundAfter(at) {
			v = c.judge(shop) // entered late: what is known since holds too
		}
	}
	return []logbook.State{c.after(shop, v, at, true)}, nil
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
