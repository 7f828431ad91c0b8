package app

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"pouchward/exports/book"
	"pouchward/exports/calendar"
	"pouchward/exports/report"
	"pouchward/exports/table"
	"pouchward/triage"
)

// write writes the export under its name.
func (e *exporter) write(done *Exported) error {
	out := filepath.Clean(e.ask.Out)
	switch e.ask.Format {
	case "xlsx":
		b, err := e.book()
		if err != nil {
			return err
		}
		done.Tables = len(b.Tables)
		return WriteWhole(out, func(w io.Writer) error { return book.Write(w, b) })
	case "ics":
		c, err := e.calendar()
		if err != nil {
			return err
		}
		done.Events = len(c.Events)
		return WriteWhole(out, func(w io.Writer) error { return calendar.Write(w, c) })
	case "pdf":
		r, err := e.inspection()
		if err != nil {
			return err
		}
		done.Report, done.Findings, done.Pressing = true, len(e.review.Findings), e.review.Pressing()
		return WriteWhole(out, func(w io.Writer) error { return report.PDF(w, r) })
	case "pack":
		return e.writePack(out, done)
	}
	tables := e.chosen()
	done.Tables = len(tables)
	return WriteFolder(out, e.ask.Replace, func(dir string) error {
		if e.ask.Format == "csv" {
			return e.files(dir, "", tables)
		}
		return e.files("", dir, tables)
	})
}

// files writes the tables into two folders, as CSV and as JSON Lines with their schema;
// a blank one is left out. The rows of a table are read once for both.
func (e *exporter) files(csv, jsonl string, tables []*table.Table) error {
	err := e.beside(tables, func(t *table.Table) error {
		return e.fileOf(csv, ".csv", t, table.NewCSV, nil, func(list []*table.Writer) error {
			return e.fileOf(jsonl, ".jsonl", t, table.NewJSONL, list, func(list []*table.Writer) error { return table.Write(t, list...) })
		})
	})
	if err != nil || jsonl == "" {
		return err
	}
	return WriteWhole(filepath.Join(jsonl, schemaName), func(w io.Writer) error {
		return table.Schema(w, tables, "Tables of an export of a Pouchward log", e.damage)
	})
}

// fileOf calls fn with the writers of a table and one more, into a file in a folder; with
// those alone where the folder is blank.
func (e *exporter) fileOf(dir, ending string, t *table.Table, to func(io.Writer, *table.Table, string) *table.Writer, list []*table.Writer, fn func([]*table.Writer) error) error {
	if dir == "" {
		return fn(list)
	}
	return WriteWhole(filepath.Join(dir, t.Name+ending), func(w io.Writer) error { return fn(append(list, to(w, t, e.damage))) })
}

const schemaName = "schema.json"

// book is the workbook of the export.
func (e *exporter) book() (*book.Book, error) {
	site, err := e.site()
	if err != nil && e.damage == "" {
		return nil, err
	}
	return &book.Book{Title: site + ": the log on " + e.day.String(), Subject: "Cells, assessments, movements, shipments and records of the shop, from its log of " + fmt.Sprint(e.report.Tree.Size) + " entries, " + e.report.Tree.Paper(),
		On: e.day.In(time.UTC), Notice: e.damage, Letter: e.shop.letter(), Tables: e.chosen(), Cover: "summary", Charts: "stock_months"}, nil
}

// country is the shop's, the one that the waste tables take where none is named.
func (s *Shop) country() string {
	if s.House != nil && s.House.Shop.Country != "" {
		return s.House.Shop.Country
	}
	return triage.BaselineCountry
}

// letter reports whether the paper of the country is US letter.
func (s *Shop) letter() bool { return slices.Contains([]string{"US", "CA", "MX"}, s.country()) }

// calendar is what is due as a calendar.
func (e *exporter) calendar() (*calendar.Calendar, error) {
	site, err := e.site()
	if err != nil {
		return nil, err
	}
	name := site
	if len(e.report.Keys) > 0 {
		name, _, _ = strings.Cut(e.report.Keys[0], "+") // of the log, whatever the shop calls itself
	}
	due, err := Due(e.shop, e.log, e.moment, dueAhead(e))
	if err != nil {
		return nil, err
	}
	c := &calendar.Calendar{Title: "Pouchward: " + site, Log: name, Made: e.moment, Notice: e.damage, Opens: e.shop.opens()}
	for i := range due {
		x := &due[i]
		if e.to != 0 && x.State == "soon" && dayBefore(e.to, x.When) || e.from != 0 && x.State != "overdue" && x.When.Before(e.from.In(e.moment.Location())) {
			continue
		}
		x.Subject, x.Text = e.people.within(x.Subject), e.people.within(x.Text)
		x.Do, x.Where = e.people.within(x.Do), e.people.within(x.Where)
		c.Events = append(c.Events, *x)
	}
	return c, nil
}

// WriteFolder makes a folder of files appear whole or not at all: fill fills a
// temporary folder beside it, which takes the name when all is on disk. A folder
// of that name is replaced only where replace says so.
func WriteFolder(name string, replace bool, fill func(dir string) error) (err error) {
	parent, base := filepath.Dir(name), filepath.Base(name)
	temp, free, err := tempFolder(parent, base)
	if err != nil {
		return fmt.Errorf("creating %s: %w", name, roomy(err))
	}
	defer free()
	defer func() {
		if err != nil {
			err = errors.Join(err, os.RemoveAll(temp))
		}
	}()
	if err := fill(temp); err != nil {
		return roomy(err)
	}
	if err := os.Chmod(temp, 0o755); err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	switch {
	case !taken(name):
		return os.Rename(temp, name)
	case !replace:
		return fmt.Errorf("writing %s: it is there already", name)
	case swap(temp, name):
		return os.RemoveAll(temp) // the old one
	}
	return replaceFolder(temp, name)
}

// replaceFolder has a folder take the name of another, where the system cannot swap the
// two. No system renames a folder over one that has files: the old one steps aside for a
// moment, and comes back where the new one cannot take its place. A kill in that moment
// leaves it in .NAME.old.NUMBER, which no sweep takes away.
func replaceFolder(temp, name string) error {
	base := filepath.Base(name)
	old, err := os.MkdirTemp(filepath.Dir(name), "."+base+".old.*")
	if err != nil {
		return fmt.Errorf("replacing %s: %w", name, err)
	}
	aside := filepath.Join(old, base)
	if err := Rename(name, aside); err != nil {
		return fmt.Errorf("replacing %s: %w", name, errors.Join(err, os.Remove(old)))
	}
	if err := Rename(temp, name); err != nil {
		return fmt.Errorf("replacing %s: %w", name, errors.Join(err, os.Rename(aside, name), os.Remove(old)))
	}
	return os.RemoveAll(old)
}

// ownFolder refuses to replace a folder in which something stands that no export
// of the format writes.
func ownFolder(dir, format string) error {
	if format == "pack" {
		return ownPack(dir)
	}
	list, err := os.ReadDir(dir)
	if err != nil {
		return fmt.Errorf("replacing %s: %w; name a folder that is not there (--out)", dir, err)
	}
	for _, f := range list {
		if f.IsDir() || f.Name() != schemaName && filepath.Ext(f.Name()) != "."+format {
			return Usage("%s holds %s, which no export wrote: name another folder (--out)", dir, f.Name())
		}
	}
	return nil
}
