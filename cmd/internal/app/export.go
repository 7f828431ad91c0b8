package app

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"pouchward/exports"
	"pouchward/exports/table"
	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/review"
)

// ExportFormats are the formats of an export, with the ending of the name that an
// export has by itself; a folder has none.
var ExportFormats = []struct{ Name, Ending string }{{"xlsx", ".xlsx"}, {"csv", "-csv"}, {"jsonl", "-jsonl"}, {"ics", ".ics"}, {"pdf", ".pdf"}, {"pack", "-pack"}}

// An ExportAsk says what is taken away, and how.
type ExportAsk struct {
	Format    string
	Out       string   // file or folder; blank: by the day, in the working folder
	From, To  string   // first and last day of the entries; blank: all
	Tables    []string // names of tables; none: all
	Redact    bool     // initials of people become codes
	Replace   bool     // an export of that name is replaced
	Review    bool     // the tables of a review are in it; a report and a pack always have them
	WithFiles bool     // a pack has copies of the files that entries name
	Despite   bool     // a log that does not verify is exported, and says so
	Progress  Progress
}

// An Exported says what was written.
type Exported struct {
	Out                string
	Entries            int64 // of the log
	Tables             int   // written, 0 for a calendar
	Events             int   // of a calendar
	Report             bool  // findings are told
	Files              int   // of a pack
	Findings, Pressing int   // of a report: all, and the open critical and major ones that nobody answered
	People             int   // whose names became codes
	Damage             string
	Beside             string // files beside the log that are not as it says, blank: none
	Attached, Lacking  int64  // files that the log names, and those of them that are missing or changed
	Empty              string // the period, where no entry happened within it
}

// Lacks is the outcome of an export that is whole and of a log beside which a file is
// missing or changed, nil where none is.
func (x *Exported) Lacks() error {
	if x.Lacking == 0 {
		return nil
	}
	return &ExitError{ExitLog, fmt.Errorf("the export is whole, but of %s that the log names %d missing or changed (pouchward log verify)",
		exports.Count(x.Attached, "file"), x.Lacking)}
}

// An exporter reads a log for an export: the entries up to the size that was
// verified, whatever is written meanwhile.
type exporter struct {
	ctx      context.Context
	place    LogPlace
	log      *logbook.Log
	shop     *Shop
	ask      *ExportAsk
	report   *logbook.Report
	damage   string      // what every part of the export says, blank: nothing
	day      triage.Date // judged for
	moment   time.Time   // its beginning, on the clock of the shop
	tomorrow time.Time   // the end of it, or of today where that is later
	from, to triage.Date // 0: no bound
	survey   *survey
	people   *people        // nil: names stand as typed
	review   *review.Report // nil: none was made
	feed     *feed          // that hands over the entries; nil: they are read
}

// Export writes what a log holds into a file or a folder, whole or not at all. A
// log that does not verify is refused; a file beside it that is missing or changed is
// told.
func Export(ctx context.Context, shop *Shop, p LogPlace, x *ExportAsk) (*Exported, error) {
	e := &exporter{ctx: ctx, shop: shop, ask: x}
	if err := e.check(p); err != nil {
		return nil, err
	}
	e.begin()
	l, r, err := OpenVerified(p, x.Progress, e.surveyed)
	if err != nil {
		return nil, err
	}
	defer l.Close()
	e.log, e.report = l, r
	if !r.Sound() {
		if !x.Despite {
			return nil, refusedExport(r)
		}
		e.damage = damageText(r)
	}
	done := &Exported{Out: x.Out, Entries: r.Tree.Size, Damage: e.damage, Beside: e.besideText(), Attached: int64(r.Files), Lacking: int64(e.lacking())}
	for _, step := range []func() error{e.look, e.reviewed, func() error { return e.write(done) }} {
		if err := step(); err != nil {
			return nil, fmt.Errorf("exporting to %s: %w; nothing was written there", x.Out, err)
		}
	}
	if e.people != nil {
		done.People = len(e.people.names)
	}
	if e.empty() && x.Format != "ics" { // the days of a calendar are to come
		done.Empty = e.periodText()
	}
	return done, nil
}

func refusedExport(r *logbook.Report) error {
	return &ExitError{ExitLog, fmt.Errorf("nothing was exported: %s. pouchward log verify says what is wrong; --despite-damage exports it all the same, and says so throughout", damageGist(r))}
}

func damageGist(r *logbook.Report) string {
	n := len(r.Problems) + r.More
	text := "the log does not verify, " + exports.Count(int64(n), "problem")
	if r.FirstBad > 0 {
		text += fmt.Sprintf(", the first at entry %d", r.FirstBad)
	}
	return text
}

func damageText(r *logbook.Report) string {
	return "DAMAGED LOG: " + strings.TrimPrefix(damageGist(r), "the log ") + ". What stands here is not to be relied on."
}

// besideText says how many of the files beside the log are not as it says, blank for
// none. Such a file is no damage to the log: what the log holds can be relied on, and an
// export that says which file is gone is of more use than none.
func (e *exporter) besideText() string {
	bad := e.besides()
	if len(bad) == 0 {
		return ""
	}
	return fmt.Sprintf("%d of %s missing or changed, the first: %s", e.lacking(), exports.Count(int64(e.report.Files), "attached file"), bad[0])
}

// lacking counts the files beside the log that are missing or changed.
func (e *exporter) lacking() int {
	n := len(e.besides())
	if n > 0 && e.report.Sound() {
		n += e.report.More
	}
	return n
}

// besides are the files beside the log that are missing or changed, one a line.
func (e *exporter) besides() (list []string) {
	for i := range e.report.Problems {
		if p := &e.report.Problems[i]; p.File {
			list = append(list, problemText(p))
		}
	}
	return list
}

// check reads what is asked for before the log is opened.
func (e *exporter) check(p LogPlace) error {
	x := e.ask
	at := slices.IndexFunc(ExportFormats, func(f struct{ Name, Ending string }) bool { return f.Name == x.Format })
	if at < 0 {
		var names []string
		for _, f := range ExportFormats {
			names = append(names, f.Name)
		}
		return Usage("--format %q: use one of %s", x.Format, strings.Join(names, ", "))
	}
	e.day, e.place = e.shop.Rulebook.On, p
	for _, d := range []struct {
		flag, text string
		to         *triage.Date
	}{{"--from", x.From, &e.from}, {"--to", x.To, &e.to}} {
		if d.text == "" {
			continue
		}
		var err error
		if *d.to, err = triage.ParseDate(d.text); err != nil {
			return Usage("%s %q: %v", d.flag, d.text, err)
		}
	}
	if e.from != 0 && e.to != 0 && e.to < e.from {
		return Usage("--to %s is before --from %s", e.to, e.from)
	}
	e.moment = e.day.In(p.Now().Location())
	e.tomorrow = (max(e.day, triage.DateOf(p.Now())) + 1).In(p.Now().Location())
	if x.Out == "" {
		x.Out = "pouchward-" + e.day.String() + ExportFormats[at].Ending
	}
	switch {
	case len(x.Tables) == 0:
	case x.Format == "ics":
		return Usage("--tables: a calendar holds what is due, and no table")
	case x.Format == "pdf" || x.Format == "pack":
		return Usage("--tables: a %s has what it has; tables are chosen for xlsx, csv and jsonl", x.Format)
	}
	if err := e.checkTables(); err != nil {
		return err
	}
	if x.WithFiles && x.Format != "pack" {
		return Usage("--with-files: a pack holds files, a %s none (--format pack)", x.Format)
	}
	if x.WithFiles && x.Redact {
		return Usage("--with-files and --redact: attached files stand as they are and may name people; use one of the two")
	}
	return e.checkOut()
}

// checkTables refuses a name of no table.
func (e *exporter) checkTables() error {
	var names []string
	for _, t := range e.tables() {
		names = append(names, t.Name)
	}
	names = append(names, dictionaryName)
	for _, name := range e.ask.Tables {
		if slices.Contains(names, name) {
			continue
		}
		if near := triage.Nearest(name, names); near != "" {
			return Usage("--tables: no table %q; did you mean %s?", name, near)
		}
		return Usage("--tables: no table %q; use %s", name, strings.Join(names, ", "))
	}
	return nil
}

// checkOut refuses a name that is taken, before an hour is spent on the export.
func (e *exporter) checkOut() error {
	out := filepath.Clean(e.ask.Out)
	if !taken(out) {
		return canWrite(filepath.Dir(out))
	}
	if !e.ask.Replace {
		return Usage("%s is there already, perhaps with somebody's notes in it: name another (--out), or say --replace", e.ask.Out)
	}
	if e.folder() {
		return ownFolder(out, e.ask.Format)
	}
	return nil
}

// folder reports whether the export is a folder of files.
func (e *exporter) folder() bool {
	return e.ask.Format == "csv" || e.ask.Format == "jsonl" || e.ask.Format == "pack" && !isZip(e.ask.Out)
}

// chosen are the tables that were asked for, the dictionary of their columns last.
func (e *exporter) chosen() (list []*table.Table) {
	for _, t := range e.tables() {
		if e.review == nil && slices.Contains(reviewTables, t.Name) {
			continue // the summary says why
		}
		if len(e.ask.Tables) == 0 || slices.Contains(e.ask.Tables, t.Name) {
			list = append(list, t)
		}
	}
	if len(e.ask.Tables) == 0 || slices.Contains(e.ask.Tables, dictionaryName) {
		list = append(list, table.Dictionary(list))
	}
	return list
}

const dictionaryName = "columns"

// in reports whether an entry happened within the period.
func (e *exporter) in(entry *logbook.Entry) bool {
	day := dayOf(entry)
	return (e.from == 0 || day >= e.from) && (e.to == 0 || day <= e.to)
}

// parse reads an entry. One of a damaged log that cannot be read is passed over:
// the table of entries shows it.
func (e *exporter) parse(r *logbook.RawEntry) (*logbook.Entry, error) {
	entry, err := r.Parse()
	if err != nil && e.damage != "" {
		return nil, nil
	}
	return entry, err
}

// decode reads the body of an entry. Of a damaged log what cannot be read stays
// blank.
func (e *exporter) decode(entry *logbook.Entry, to any) error {
	if err := entry.Body.Decode(to); err != nil && e.damage == "" {
		return fmt.Errorf("entry %d: %w", entry.Number, err)
	}
	return nil
}

// each calls fn for the entries of some kinds that happened within the period.
func (e *exporter) each(fn func(*logbook.Entry) error, kinds ...string) error {
	want := [256]bool{}
	for _, k := range kinds {
		want[kindCode(k)] = true
	}
	if e.feed != nil {
		return e.feed.each(e.ctx, func(entry *logbook.Entry) error {
			if !want[kindCode(entry.Kind)] || !e.in(entry) {
				return nil
			}
			return fn(entry)
		})
	}
	var list []int64
	flush := func() error {
		err := e.log.Pick(list, func(r logbook.RawEntry) error {
			entry, err := e.parse(&r)
			if err != nil || entry == nil || !e.in(entry) {
				return err
			}
			return fn(entry)
		})
		list = list[:0]
		return errors.Join(err, e.ctx.Err())
	}
	for n, code := range e.survey.kinds {
		if !want[code] {
			continue
		}
		if list = append(list, int64(n)); len(list) == 256 {
			if err := flush(); err != nil {
				return err
			}
		}
	}
	return flush()
}
