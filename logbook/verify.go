package logbook

import (
	"bytes"
	"cmp"
	"database/sql"
	"fmt"
	"runtime"
	"time"
)

// VerifyOptions are what a verification is held against.
type VerifyOptions struct {
	Checkpoints []*Checkpoint // kept elsewhere
	Papers      []Paper
	Keys        []string          // keys known from elsewhere; without any, those named in the log
	Progress    func(n, of int64) // entries; called now and then, nil for none
	Files       func(n, of int64) // bytes of attachments; the same

	// Entry is called for each entry, in order, until something is found of the log:
	// what it gathers is of use where the report is Sound, and is else to be thrown away.
	// So it is told the numbers from 1 on, each once, whatever a damaged log says of
	// itself. The bytes, the body and the states of an entry are its own only until it
	// returns.
	Entry func(*Entry)

	Busy time.Duration
	Most int // problems that a report holds, 0 for maxProblems
}

// A Problem is one thing that does not verify.
type Problem struct {
	Entry int64  `json:"entry"` // the entry, 0 for what concerns no single one
	Text  string `json:"problem"`

	File bool `json:"-"` // of the file that the entry names, not of the log itself
}

// A Report is what a verification found.
type Report struct {
	Tree      Tree      `json:"tree"`
	Problems  []Problem `json:"problems"`           // in the order in which they were met, at most VerifyOptions.Most
	More      int       `json:"more_problems"`      // beyond those
	FirstBad  int64     `json:"first_bad"`          // the first bad entry, 0 when none is known
	Keys      []string  `json:"keys"`               // public keys named in the log, in order
	ClockBack int64     `json:"clock_back_entries"` // entries made while the clock stood back
	Matched   []string  `json:"holds"`              // the checkpoints and paper lines that hold
	Covered   int64     `json:"covered_entries"`    // by one that holds
	Files     int       `json:"attachments"`        // entries that name a file, each checked
	Notes     []string  `json:"notes"`              // true, worth knowing, and no fault

	most    int
	damaged int // problems of the log itself
}

// Verified reports whether nothing was found.
func (r *Report) Verified() bool { return len(r.Problems) == 0 }

// Sound reports whether nothing was found of the log itself. Of the files beside it
// one may be missing or changed.
func (r *Report) Sound() bool { return r.damaged == 0 }

// maxProblems bounds a report: a file that is damaged all over needs no more.
const maxProblems = 50

func (r *Report) add(entry int64, format string, args ...any) {
	r.put(Problem{Entry: entry, Text: fmt.Sprintf(format, args...)})
}

func (r *Report) put(p Problem) {
	if p.Entry > 0 && (r.FirstBad == 0 || p.Entry < r.FirstBad) {
		r.FirstBad = p.Entry
	}
	if !p.File {
		r.damaged++
	}
	if len(r.Problems) == r.most {
		r.More++
		return
	}
	r.Problems = append(r.Problems, p)
}

// Verify derives everything again from the bytes of the entries: their form and
// order, every hash of the tree, the keys, the views; and holds the result
// against the checkpoints given. It shares with the writer the definition of an
// entry (ParseEntry) and nothing of the hashing, the tree or the views. It
// writes nothing, and reads one state of the file while others write. Then it
// reads every file that an entry names.
//
// The error is for a file that cannot be read at all; what does not verify
// stands in the report.
func Verify(path string, opt VerifyOptions) (*Report, error) {
	v, err := newVerifier(path, &opt)
	if err != nil {
		return nil, err
	}
	defer v.db.Close()
	v.log()
	_ = v.tx.Rollback() // it only read
	v.files(FilesDir(path))
	return v.report, nil
}

// newVerifier opens a log and begins to read one state of it.
func newVerifier(path string, opt *VerifyOptions) (*verifier, error) {
	opt.Busy, opt.Most = cmp.Or(opt.Busy, defaultBusy), cmp.Or(opt.Most, maxProblems)
	db, version, _, err := openReading(path, opt.Busy)
	if err != nil {
		return nil, err
	}
	tx, err := db.Begin()
	if err != nil {
		db.Close()
		return nil, openError(path, err)
	}
	return &verifier{db: db, tx: tx, version: version, opt: opt, report: &Report{most: opt.Most}, views: newExpected()}, nil
}

// log verifies the file of the log.
func (v *verifier) log() {
	v.schema(v.version)
	if err := v.entries(); err != nil {
		v.report.add(v.tree.size+1, "the file cannot be read from here on: %v", err)
	} else {
		v.compareViews()
	}
	if v.tree.size == 0 {
		v.report.add(1, "the file holds no entry; a log begins with the record of its key")
	}
	v.report.Tree.Size = v.tree.size
	if !v.tree.unsure {
		v.report.Tree.Root = v.tree.root()
	}
	v.checkpoints()
	v.pages()
}

type verifier struct {
	db      *sql.DB
	tx      *sql.Tx
	version int // of the schema
	opt     *VerifyOptions
	report  *Report
	tree    merkle
	views   *expected
	roots   map[int64]Tree // the trees of the sizes that checkpoints name
	want    []byte         // the hashes that the row at hand must have stored
	latest  time.Time
	parts   []keyPart

	attached []attached // in the order of entries, then sorted by file
}

// keyPart is a log-key record with what it must match.
type keyPart struct {
	entry  int64
	body   KeyBody
	before Tree
}

// pages has SQLite check its own structure: damage in pages that no entry and
// no view uses is found too.
func (v *verifier) pages() {
	var text string
	if err := v.tx.QueryRow("PRAGMA quick_check(1)").Scan(&text); err != nil {
		v.report.add(0, "the structure of the file: %v", err)
	} else if text != "ok" {
		v.report.add(0, "the structure of the file: %s", text)
	}
}

// schema compares tables and triggers with those that the scripts make.
func (v *verifier) schema(version int) {
	if version < len(scripts) {
		v.report.Notes = append(v.report.Notes, fmt.Sprintf("schema %d; this program writes %d and brings the file up to date when it next writes", version, len(scripts)))
	}
	if err := checkScripts(v.tx, version); err != nil {
		v.report.add(0, "%v", err)
	}
	want, err := schemaOf(version)
	if err != nil {
		v.report.add(0, "the schema: %v", err)
		return
	}
	got, err := readSchema(v.tx)
	if err != nil {
		v.report.add(0, "the schema: %v", err)
		return
	}
	for name, text := range want {
		switch g, ok := got[name]; {
		case !ok:
			v.report.add(0, "%s is missing from the file: somebody opened it by other means", name)
		case g != text:
			v.report.add(0, "%s is not as the schema makes it: somebody opened the file by other means", name)
		}
	}
	for name := range got {
		if _, ok := want[name]; !ok {
			v.report.add(0, "%s stands in the file and not in the schema: somebody opened it by other means", name)
		}
	}
}

// schemaOf makes the schema in memory.
func schemaOf(version int) (map[string]string, error) {
	db, err := sql.Open("sqlite", "file::memory:")
	if err != nil {
		return nil, err
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	for v := range version {
		if _, err := db.Exec(scripts[v]); err != nil {
			return nil, err
		}
	}
	return readSchema(db)
}

func readSchema(q queryer) (map[string]string, error) {
	rows, err := q.Query("SELECT type || ' ' || name, coalesce(sql, '') FROM sqlite_schema WHERE NOT (type = 'table' AND name GLOB 'sqlite_stat[1-4]')")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	m := map[string]string{}
	for rows.Next() {
		var name, text string
		if err := rows.Scan(&name, &text); err != nil {
			return nil, err
		}
		m[name] = text
	}
	return m, rows.Err()
}

// portion is a run of rows on its way through the verification.
type portion struct {
	n      []int64
	hashes [][]byte
	bytes  [][]byte
	arena  []byte
	leaf   []hash
	entry  []Entry
	said   []said
	bad    []error
	err    error // of the reading, after these rows
	done   chan struct{}
}

const portionRows = 256

// entries reads every row in order. Reading, parsing and the tree run side by
// side over a fixed number of portions, so memory does not grow with the log.
func (v *verifier) entries() error {
	v.wantRoots()
	var total int64
	_ = v.tx.QueryRow("SELECT max(n) FROM entries").Scan(&total) // for progress only
	rows, err := v.tx.Query("SELECT n, hashes, bytes FROM entries ORDER BY n")
	if err != nil {
		return err
	}
	defer rows.Close()
	workers := runtime.GOMAXPROCS(0)
	free := make(chan *portion, 2*workers+2)
	for range cap(free) {
		free <- &portion{done: make(chan struct{}, 1), leaf: make([]hash, portionRows), entry: make([]Entry, portionRows), said: make([]said, portionRows), bad: make([]error, portionRows)}
	}
	work, order := make(chan *portion, cap(free)), make(chan *portion, cap(free))
	for range workers {
		go func() {
			for p := range work {
				p.parse()
				p.done <- struct{}{}
			}
		}()
	}
	go func() {
		defer close(order)
		defer close(work)
		for {
			p := <-free
			more := p.read(rows)
			work <- p
			order <- p
			if !more {
				return
			}
		}
	}()
	var readErr error
	for p := range order {
		<-p.done
		for i := range p.n {
			v.row(p, i)
		}
		readErr = p.err
		if v.opt.Progress != nil {
			v.opt.Progress(v.tree.size, total)
		}
		free <- p
	}
	return readErr
}

// read fills a portion and reports whether rows may follow.
func (p *portion) read(rows *sql.Rows) bool {
	p.n, p.hashes, p.bytes, p.arena, p.err = p.n[:0], p.hashes[:0], p.bytes[:0], p.arena[:0], nil
	var n any
	var h, b sql.RawBytes
	for len(p.n) < portionRows {
		if !rows.Next() {
			p.err = rows.Err()
			return false
		}
		if p.err = rows.Scan(&n, &h, &b); p.err != nil {
			return false
		}
		number, _ := n.(int64)
		from := len(p.arena)
		p.arena = append(append(p.arena, h...), b...)
		mid := from + len(h)
		p.n = append(p.n, number)
		// A later append may move the arena; what was cut from the old one stays.
		p.hashes = append(p.hashes, p.arena[from:mid:mid])
		p.bytes = append(p.bytes, p.arena[mid:len(p.arena):len(p.arena)])
	}
	return true
}

func (p *portion) parse() {
	for i, b := range p.bytes {
		p.leaf[i] = leafHash(b)
		if p.bad[i] = p.entry[i].parse(b); p.bad[i] == nil {
			p.bad[i] = p.said[i].read(&p.entry[i])
			p.said[i].sum(p.n[i])
		}
	}
}

// row takes in one row.
func (v *verifier) row(p *portion, i int) {
	n, r := p.n[i], v.report
	if want := v.tree.size + 1; n != want {
		if n < want {
			r.add(max(n, 0), "an entry numbered %d stands where entry %d is wanted", n, want)
			v.tree.unsure = true
			return
		} else if n == want+1 {
			r.add(want, "the entry is missing")
		} else {
			r.add(want, "entries %d to %d are missing", want, n-1)
		}
		v.tree.unsure = true
		v.tree.size = n - 1
	}
	e := &p.entry[i]
	isKey := p.bad[i] == nil && e.Kind == "record" && e.Body.member("subject") == "log-key"
	part := keyPart{entry: n}
	if isKey {
		part.before = Tree{v.tree.size, v.tree.root()}
	}
	stored := p.hashes[i]
	v.want = joined(v.want[:0], v.tree.add(p.leaf[i]))
	switch leaf := v.want[:len(p.leaf[i])]; {
	case !bytes.HasPrefix(stored, leaf):
		r.add(n, "its bytes do not have the hash stored with it")
	case !v.tree.unsure && !bytes.Equal(stored, v.want):
		r.add(n, "the tree hashes stored with it are not those of the entries before it")
	}
	if _, ok := v.roots[n]; ok && !v.tree.unsure {
		v.roots[n] = Tree{n, v.tree.root()}
	}
	if err := p.bad[i]; err != nil {
		r.add(n, "its bytes are not those of an entry: %v", err)
		return
	}
	if e.Number != n {
		r.add(n, "its bytes say that it is entry %d", e.Number)
	}
	v.clock(n, e)
	v.views.add(n, e, &p.said[i])
	if v.opt.Entry != nil && r.Sound() {
		e.says = &p.said[i]
		v.opt.Entry(e)
		e.Tags = nil // they may be kept
	}
	if e.Kind == "record" && p.said[i].topic == "attachment" {
		v.attachment(n, e)
	}
	if isKey {
		if err := e.Body.Decode(&part.body); err != nil {
			r.add(n, "its key cannot be read: %v", err)
			return
		}
		v.parts = append(v.parts, part)
		r.Keys = append(r.Keys, part.body.Key)
	}
}

// clock checks that an entry made while the clock stood back says so.
func (v *verifier) clock(n int64, e *Entry) {
	want := clockBack(v.latest, e.Entered)
	if e.Clock != want {
		v.report.add(n, "it was entered at %s, the latest before it at %s; its clock mark is %q and must be %q",
			e.Entered.Format(timeForm), v.latest.Format(timeForm), e.Clock, want)
	}
	if want != "" {
		v.report.ClockBack++
	} else {
		v.latest = e.Entered
	}
}
