package app

import (
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"
	"strings"

	"pouchward/cmd/internal/intake"
	"pouchward/exports"
	"pouchward/triage"
)

// SortOptions say which sheets are sorted and how.
type SortOptions struct {
	Files    []string // "-" is Stdin
	Stdin    io.Reader
	Sheet    string            // the sheet of a workbook; "" is its first
	Map      map[string]string // column name to field name
	HouseMap map[string]string // the same from the house file, for columns that are there
	Shop     *Shop
	Format   string
	Out      io.Writer
	Progress io.Writer  // counts the bytes read; nil for none
	Record   *Recording // nil to record nothing
	Log      *LogPlace  // judged over what it knows of our tags where nothing is recorded; nil for none

	record *sheetRecord
	over   *sheetLog
	tags   *sheetTags // nil when recording, which refuses a tag that comes twice
}

// A Summary counts what was sorted.
type Summary struct {
	Rows       int
	ByClass    [triage.Emergency + 1]int
	Refused    int      // refused fields
	Questioned int      // rows with a question, which only JSON lines print
	Notice     string   // that the rules of an instrument are past their edition
	Examples   []string // the first few refusals
	OverLog    int      // rows judged over what the log knows of their tags, where nothing was recorded
	LogError   error    // why the log could not be asked about tags of ours

	FirstEntry, LastEntry int64 // of the log, 0 when nothing was recorded
}

// maxExamples is how many refusals are shown in words.
const maxExamples = 10

// batchRows is large enough to make hand-over cheap and small enough that a few
// batches stay in the cache and memory does not grow with the file.
const batchRows = 256

// batch is a run of rows on its way through the pipeline.
type batch struct {
	sheet   *intake.Sheet
	first   int // number of its first row
	rows    []intake.Row
	n       int
	out     []byte
	summary Summary
	done    chan struct{}
	rec     rowRecord
}

// Sort judges every row of the sheets and writes the rows in their order. The
// reader, the judges and the writer run side by side over a fixed number of
// batches, so memory does not grow with the sheet.
func Sort(opt SortOptions) (Summary, error) {
	if opt.Record != nil {
		return sortRecorded(opt)
	}
	opt.tags = newSheetTags()
	if opt.Log == nil {
		return sortSheets(opt)
	}
	opt.over = &sheetLog{place: *opt.Log, at: opt.Log.Now()}
	sum, err := sortSheets(opt)
	sum.LogError = opt.over.close()
	return sum, err
}

func sortSheets(opt SortOptions) (Summary, error) {
	var sum Summary
	head, err := exports.NewRowEncoder(opt.Format, opt.Shop.Rulebook)
	if err != nil {
		return sum, &ExitError{ExitUsage, err}
	}
	var columns []string
	for i, name := range opt.Files {
		err := sortFile(&opt, name, &sum, func(s *intake.Sheet) error {
			passing := s.Passing()
			if opt.record != nil && tagColumn(s) < 0 {
				passing = append([]string{"tag"}, passing...)
			}
			switch {
			case i == 0:
				columns = passing
				_, err := opt.Out.Write(head.Head(nil, columns))
				return err
			case opt.Format == "csv" && !slices.Equal(columns, passing):
				return fmt.Errorf("%s has other columns than %s: one CSV takes sheets of the same columns; sort them apart, or use --format jsonl", name, opt.Files[0])
			}
			return nil
		})
		if err != nil {
			return sum, err
		}
	}
	return sum, nil
}

func sortFile(opt *SortOptions, name string, sum *Summary, begin func(*intake.Sheet) error) error {
	sheet, err := openSheet(name, opt.Stdin, opt.Sheet, opt.Map, opt.HouseMap, opt.Progress)
	if err != nil {
		return err
	}
	if err := begin(sheet); err != nil {
		return errors.Join(err, sheet.Close())
	}
	return errors.Join(pipeline(opt, sheet, sum), sheet.Close())
}

func pipeline(opt *SortOptions, sheet *intake.Sheet, sum *Summary) error {
	workers := runtime.GOMAXPROCS(0)
	depth := 2*workers + 2
	free := make(chan *batch, depth)
	for range depth {
		free <- &batch{rows: make([]intake.Row, batchRows), done: make(chan struct{}, 1)}
	}
	work, order := make(chan *batch, depth), make(chan *batch, depth)
	stop := make(chan struct{})
	for range workers {
		go judge(opt, work)
	}
	var readErr error
	first := sum.Rows + 1
	go func() {
		defer close(order)
		defer close(work)
		for {
			var b *batch
			select {
			case b = <-free:
			case <-stop:
				return
			}
			b.sheet, b.first, b.n = sheet, first, 0
			for b.n < batchRows && readErr == nil {
				if readErr = sheet.Next(&b.rows[b.n]); readErr == nil {
					b.n++
				}
			}
			first += b.n
			if opt.record == nil {
				opt.tags.mark(b)
			} else if err := opt.record.issue(b); err != nil {
				readErr, b.n = err, 0
			}
			work <- b
			order <- b
			if readErr != nil {
				return
			}
		}
	}()
	var writeErr error
	for b := range order {
		<-b.done
		if writeErr == nil {
			sum.add(&b.summary)
			if opt.record != nil {
				writeErr = opt.record.write(b, sum)
			}
			if writeErr == nil {
				_, writeErr = opt.Out.Write(b.out)
			}
			if writeErr != nil {
				close(stop)
			}
		}
		free <- b
	}
	if writeErr != nil {
		return fmt.Errorf("writing the verdicts: %w", writeErr)
	}
	if !errors.Is(readErr, io.EOF) {
		return readErr
	}
	return nil
}

// judge turns batches into text. Each judge has its own encoder and verdict, so
// nothing is shared but the rulebook, which is read only.
func judge(opt *SortOptions, work <-chan *batch) {
	enc, err := exports.NewRowEncoder(opt.Format, opt.Shop.Rulebook)
	if err != nil {
		panic(err) // Sort made one of the same format
	}
	c := opt.Shop.Case()
	var v triage.Verdict
	row := exports.Row{Verdict: &v}
	for b := range work {
		b.out, b.summary = b.out[:0], Summary{}
		b.rec.drafts, b.rec.bodies, b.rec.errs = b.rec.drafts[:0], b.rec.bodies[:0], b.rec.errs[:0]
		var known map[string]bool
		if opt.over != nil {
			known = opt.over.known(b)
		}
		for i := range b.n {
			refused := b.sheet.Read(&b.rows[i], &c.Reading)
			var before *Cell
			c.Raises, c.Determinations, c.Earlier = c.Raises[:0], c.Determinations[:0], nil
			switch {
			case opt.record != nil:
				if before = opt.record.before(b, i, &c.Reading); before != nil && len(before.Entries) > 0 {
					before.apply(opt.Shop, &c, opt.record.at)
				}
			case len(known) > 0:
				cell, why := opt.over.before(b, i, known, &c.Reading)
				if why != "" {
					refused = append(refused, why)
				}
				if cell != nil && namedBy(cell.Entries) > 0 {
					cell.apply(opt.Shop, &c, opt.over.at)
					b.summary.OverLog++
				}
			}
			row.AsWritten = judgeRow(opt.Shop.Rulebook, &c, &v, b.rows[i].Written)
			row.Number, row.Refused = b.first+i, refused
			row.Cells = row.Cells[:0]
			if opt.record != nil {
				if tagColumn(b.sheet) < 0 {
					row.Cells = append(row.Cells, v.Tag)
				}
				opt.record.draft(b, i, &c.Reading, &row, before, opt.Shop)
			}
			row.Cells = b.sheet.Pass(row.Cells, &b.rows[i])
			b.out = enc.Row(b.out, &row)
			b.summary.count(&v, refused)
		}
		b.done <- struct{}{}
	}
}

// judgeRow judges a row. One whose cells may have shifted is judged as written
// too, and raised to the worse of the two; the rules that fire on it as written
// are returned. The raises of the case are left as
// they were: the next row has none of this one.
func judgeRow(rb *triage.Rulebook, c *triage.Case, v *triage.Verdict, written *triage.Reading) (asWritten []string) {
	before := c.Raises
	defer func() { c.Raises = before }()
	if written != nil {
		as := *c
		as.Reading = *written
		rb.Judge(&as, v)
		asWritten = fired(v)
		c.Raises = append(c.Raises, triage.Raise{Handling: v.Handling, Condition: v.Condition, By: "the row as written"})
	}
	rb.Judge(c, v)
	return asWritten
}

func (s *Summary) count(v *triage.Verdict, refused []string) {
	s.Rows++
	if len(v.Questions) > 0 || v.Told != "" {
		s.Questioned++
	}
	if past := len(v.PastEditions()); past > 0 && s.Notice == "" {
		s.Notice = v.PastEditions()[0]
	}
	s.ByClass[v.Handling]++
	s.Refused += len(refused)
	if room := maxExamples - len(s.Examples); room > 0 {
		s.Examples = append(s.Examples, refused[:min(room, len(refused))]...)
	}
}

func (s *Summary) add(o *Summary) {
	s.Rows += o.Rows
	s.Refused += o.Refused
	s.Questioned += o.Questioned
	s.OverLog += o.OverLog
	if s.Notice == "" {
		s.Notice = o.Notice
	}
	for i := range s.ByClass {
		s.ByClass[i] += o.ByClass[i]
	}
	s.Examples = append(s.Examples, o.Examples[:min(maxExamples-len(s.Examples), len(o.Examples))]...)
}

// summaryWords name the classes; the last is a finding of these readings, no more.
var summaryWords = [...]string{"with no fault seen", "retire", "hold", "isolate", "emergency"}

// Text returns the summary in words, the worst class first.
func (s *Summary) Text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%d judged:", s.Rows)
	for h := int(triage.Emergency); h >= 0; h-- {
		if s.ByClass[h] > 0 {
			fmt.Fprintf(&b, " %d %s,", s.ByClass[h], summaryWords[h])
		}
	}
	text := strings.TrimRight(b.String(), ",:") + "."
	if s.Questioned > 0 {
		verb := "have"
		if s.Questioned == 1 {
			verb = "has"
		}
		text += fmt.Sprintf(" %s %s a question (--format jsonl prints it).", exports.Count(int64(s.Questioned), "row"), verb)
	}
	if s.Refused > 0 {
		text += fmt.Sprintf(" %s in the error column; a refused field counts as not known.", exports.Count(int64(s.Refused), "remark"))
	}
	return text
}

// ParseMap reads column mappings given as "Column=field".
func ParseMap(pairs []string) (map[string]string, error) {
	m := map[string]string{}
	for _, p := range pairs {
		i := strings.LastIndexByte(p, '=')
		column, field := strings.TrimSpace(p[:max(i, 0)]), strings.TrimSpace(p[i+1:])
		if column == "" || field == "" {
			return nil, Usage("--map %q: want \"Column=field\", such as \"Voltage=ocv_v\"", p)
		}
		if other, twice := m[column]; twice && other != field {
			return nil, Usage("--map sends %q to %s and to %s; keep one", column, other, field)
		}
		m[column] = field
	}
	return m, nil
}
