package app

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"pouchward/exports"
	"pouchward/exports/book"
	"pouchward/exports/calendar"
	"pouchward/exports/chart"
	"pouchward/exports/report"
	"pouchward/logbook"
)

// A packer fills the folder of a pack.
type packer struct {
	*exporter
	dir  string
	pack *report.Pack
	sums []fileSum
}

// The files of a pack that are named elsewhere than where they are written.
const (
	sumsName   = "SHA256SUMS"
	indexName  = "index.html"
	howtoName  = "HOW-TO-CHECK.txt"
	signedName = "log.checkpoint"
)

// writePack writes all of an export into one folder, or one zip where the name says so.
func (e *exporter) writePack(out string, done *Exported) error {
	fill := func(dir string) error {
		p := &packer{exporter: e, dir: dir}
		if err := p.fill(); err != nil {
			return err
		}
		done.Report, done.Findings, done.Pressing, done.Files = true, len(e.review.Findings), e.review.Pressing(), len(p.sums)+1
		return nil
	}
	if !isZip(out) {
		return WriteFolder(out, e.ask.Replace, fill)
	}
	return WriteWhole(out, func(w io.Writer) (err error) {
		// Beside the zip, where there is room for it if there is for the zip.
		dir, free, err := tempFolder(filepath.Dir(out), filepath.Base(out))
		if err != nil {
			return err
		}
		defer free()
		defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
		if err := fill(dir); err != nil {
			return err
		}
		return zipFolder(w, dir, "pouchward-"+e.day.String()+"-pack/", e.day.In(time.UTC))
	})
}

func isZip(name string) bool { return strings.EqualFold(filepath.Ext(name), ".zip") }

// fill writes the files, the page that leads to them, and last the sums of all.
func (p *packer) fill() error {
	r, err := p.inspection()
	if err != nil {
		return err
	}
	p.pack = &report.Pack{Report: r}
	for _, step := range []func() error{p.papers, p.workbook, p.calendar, p.charts, p.tablesOf, p.checkpointFiles, p.attached, p.index} {
		if err := errors.Join(step(), p.ctx.Err()); err != nil {
			return err
		}
	}
	return p.writeSums()
}

// put writes a file of the pack and notes what it is.
func (p *packer) put(name, text string, write func(io.Writer) error) error {
	path := filepath.Join(p.dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	if err := WriteWhole(path, write); err != nil {
		return err
	}
	return p.note(name, text)
}

func (p *packer) note(name, text string) error {
	sum, size, err := sumFile(filepath.Join(p.dir, filepath.FromSlash(name)))
	if err != nil {
		return err
	}
	p.sums = append(p.sums, fileSum{name, sum})
	if text != "" {
		p.pack.Files = append(p.pack.Files, report.File{Name: name, Text: text, Bytes: size})
	}
	return nil
}

// left says what is not in the pack. Only of a damaged log may something be left out
// because it cannot be made.
func (p *packer) left(what string, err error) error {
	if p.damage == "" {
		return fmt.Errorf("%s: %w", what, err)
	}
	p.pack.Left = append(p.pack.Left, what+": "+err.Error())
	return nil
}

func (p *packer) papers() error {
	err := p.put("report.pdf", "The report: findings, what was in order, what a log cannot show, stock, ledger, pictures, records, how to check", func(w io.Writer) error { return report.PDF(w, p.pack.Report) })
	if err != nil {
		return err
	}
	return p.put("review.txt", "The review as the program prints it, with every finding", func(w io.Writer) error { return exports.Review(w, p.review, nil) })
}

func (p *packer) workbook() error {
	b, err := p.book()
	if err != nil {
		return p.left("the workbook", err)
	}
	err = p.put("workbook.xlsx", "All tables as a workbook, a sheet each", func(w io.Writer) error { return book.Write(w, b) })
	if errors.Is(err, book.ErrTooLong) { // the CSV has all of it
		p.pack.Left = append(p.pack.Left, "the workbook: "+err.Error())
		return nil
	}
	return err
}

func (p *packer) calendar() error {
	c, err := p.exporter.calendar()
	if err != nil {
		return p.left("the calendar", err)
	}
	return p.put("due.ics", "What is due, as a calendar", func(w io.Writer) error { return calendar.Write(w, c) })
}

func (p *packer) charts() error {
	if p.pack.Days == nil {
		p.pack.Left = append(p.pack.Left, "the pictures: the log does not verify")
		return nil
	}
	for _, of := range chart.Measures {
		x, err := chart.StockPicture(p.review.Snapshot, p.pack.Days, of)
		if err != nil {
			return err
		}
		words := map[string]string{"cells": "cells", "wh": "watt-hours", "kg": "kilograms"}[of]
		if err := p.put("charts/stock-"+of+".svg", "What was in the shop day by day, in "+words, func(w io.Writer) error { return x.Write(w, "svg") }); err != nil {
			return err
		}
	}
	age := chart.AgePicture(p.review.Snapshot, p.pack.Ages)
	return p.put("charts/age.svg", "How long what is in the shop has been there, against the year", func(w io.Writer) error { return age.Write(w, "svg") })
}

func (p *packer) tablesOf() error {
	tables := p.chosen()
	csv, jsonl := filepath.Join(p.dir, "csv"), filepath.Join(p.dir, "jsonl")
	if err := errors.Join(os.MkdirAll(csv, 0o755), os.MkdirAll(jsonl, 0o755)); err != nil {
		return err
	}
	if err := p.files(csv, jsonl, tables); err != nil {
		return err
	}
	for _, t := range tables {
		if err := p.note("csv/"+t.Name+".csv", t.Title+". "+t.Text); err != nil {
			return err
		}
	}
	for _, t := range tables {
		if err := p.note("jsonl/"+t.Name+".jsonl", ""); err != nil {
			return err
		}
	}
	return p.note("jsonl/"+schemaName, "What the lines of the files in jsonl/ hold: the same tables as in csv/, for programs")
}

// checkpointFiles writes the paper line, a signed checkpoint where the key is at hand,
// and how to check both. A log that does not verify is never signed.
func (p *packer) checkpointFiles() error {
	line := p.report.Tree.Paper() + "\n"
	if p.damage != "" {
		line = p.damage + "\n" + line
	}
	if err := p.put("paper-line.txt", "Size and root of the log, short enough for a day book", func(w io.Writer) error { _, err := io.WriteString(w, line); return err }); err != nil {
		return err
	}
	if err := p.put(howtoName, "How to check this folder, and the log itself, without this program", func(w io.Writer) error { return report.HowTo(w, p.pack.Report) }); err != nil {
		return err
	}
	if p.damage != "" {
		p.pack.Left = append(p.pack.Left, "a signed checkpoint: a log that does not verify is not signed")
		return nil
	}
	text, err := p.signed()
	if err != nil {
		p.pack.Left = append(p.pack.Left, "a signed checkpoint: "+err.Error())
		return nil
	}
	return p.put(signedName, "A checkpoint of the log, signed with its key", func(w io.Writer) error { _, err := w.Write(text); return err })
}

// signed is a checkpoint of the log as verified. Its time is the moment for which the
// export is made, so that the same log and day give the same bytes.
func (p *packer) signed() ([]byte, error) {
	at, place := p.asOf(), p.place
	if now := place.Now(); at.After(now) {
		at = now // nothing is signed ahead of the clock
	}
	place.Now = func() time.Time { return at }
	var text []byte
	err := ReadLog(place, func(l *logbook.Log) error {
		key, err := l.SigningKey()
		if err != nil {
			return err
		}
		c, err := l.Checkpoint(p.report.Tree.Size, key)
		if err != nil {
			return err
		}
		text = c.Text
		return nil
	})
	return text, err
}

func (p *packer) index() error {
	if p.pack.Stock != nil {
		cells, err := Stock(p.log, p.day, "cell", "")
		if err != nil {
			return err
		}
		p.pack.Shelf = cells.Rows
	}
	return p.put(indexName, "", func(w io.Writer) error { return report.Index(w, p.pack) })
}

// writeSums writes the sums of all files, as sha256sum -c reads them.
func (p *packer) writeSums() error {
	return WriteWhole(filepath.Join(p.dir, sumsName), func(w io.Writer) error { return writeSums(w, p.sums, p.damage) })
}
