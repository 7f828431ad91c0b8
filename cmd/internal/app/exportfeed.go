package app

import (
	"context"
	"slices"
	"sync"

	"pouchward/exports/table"
	"pouchward/logbook"
)

// The tables that have a row for nearly every entry are written beside one another: the
// log is read once for all of them, a page at a time, and each takes its rows from the
// same entries. What else is written is written meanwhile.

// fedTables are those tables.
var fedTables = []string{"assessments", "movements", "entries"}

// A feed hands the entries of a log to one table. Nobody changes an entry that was
// handed over.
type feed struct {
	pages chan []*logbook.Entry
}

// pageEntries is how many entries are handed over at once; a feed holds a few pages.
const pageEntries = 256

// pour reads the log once and hands every entry to each feed.
func (e *exporter) pour(feeds []*feed) error {
	defer func() {
		for _, f := range feeds {
			close(f.pages)
		}
	}()
	var page []*logbook.Entry
	give := func() error {
		for _, f := range feeds {
			select {
			case f.pages <- page:
			case <-e.ctx.Done():
				return e.ctx.Err()
			}
		}
		page = make([]*logbook.Entry, 0, pageEntries)
		return nil
	}
	err := e.log.Scan(1, e.report.Tree.Size, func(r logbook.RawEntry) error {
		entry, err := r.Parse()
		if err != nil {
			return err
		}
		if page = append(page, entry); len(page) < pageEntries {
			return nil
		}
		return give()
	})
	if err != nil {
		return err
	}
	return give()
}

// each calls fn for every entry that is handed over. Where the pages end early the one
// who pours says why.
func (f *feed) each(ctx context.Context, fn func(*logbook.Entry) error) error {
	for page := range f.pages {
		for _, entry := range page {
			if err := fn(entry); err != nil {
				return err
			}
		}
		if err := ctx.Err(); err != nil {
			return err
		}
	}
	return nil
}

// beside writes tables, those that are fed beside one another. One that fails ends the
// others. Names are replaced by codes in the order in which they are met, so an export
// that does so writes one table after the other, as one of a damaged log does.
func (e *exporter) beside(tables []*table.Table, write func(*table.Table) error) error {
	in := func(t *table.Table) bool { return slices.Contains(fedTables, t.Name) }
	if e.damage != "" || e.people != nil || !slices.ContainsFunc(tables, in) {
		for _, t := range tables {
			if err := write(t); err != nil {
				return err
			}
		}
		return nil
	}
	ctx, fail := context.WithCancelCause(e.ctx)
	defer fail(nil)
	var jobs sync.WaitGroup
	run := func(job func() error) {
		jobs.Go(func() {
			if err := job(); err != nil {
				fail(err)
			}
		})
	}
	var feeds []*feed
	for _, t := range tables {
		if in(t) {
			// Made by an exporter of its own, whose entries come from the feed.
			of := *e
			of.ctx, of.feed = ctx, &feed{make(chan []*logbook.Entry, 2)}
			feeds = append(feeds, of.feed)
			run(func() error { return write(of.table(t.Name)) })
		}
	}
	run(func() error {
		of := *e
		of.ctx = ctx
		return of.pour(feeds)
	})
	run(func() error {
		for _, t := range tables {
			if in(t) {
				continue
			}
			if err := write(t); err != nil {
				return err
			}
			if err := ctx.Err(); err != nil {
				return err
			}
		}
		return nil
	})
	jobs.Wait()
	return context.Cause(ctx)
}

// table is the table of a name.
func (e *exporter) table(name string) *table.Table {
	list := e.tables()
	return list[slices.IndexFunc(list, func(t *table.Table) bool { return t.Name == name })]
}
