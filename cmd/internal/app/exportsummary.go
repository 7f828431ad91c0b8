package app

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pouchward/exports"
	"pouchward/exports/table"
	"pouchward/logbook"
	"pouchward/triage"
)

// summaryTable is what is read first: what this is, what stands in the shop, what
// is owed, and what the figures leave out.
func (e *exporter) summaryTable() *table.Table {
	return table.New("summary", "Summary", "What this is, what stands in the shop, what is owed, and what the figures leave out.", factFields(), func(put func(*fact) error) error {
		f := &factTable{}
		for _, part := range []func(*factTable) error{e.sayWhat, e.sayStock, e.sayOwed, e.sayLog, e.sayCare} {
			if err := part(f); err != nil {
				return err
			}
		}
		return f.rows(put)
	})
}

// site is the shop's, by its house file or its log.
func (e *exporter) site() (string, error) {
	if e.shop.House != nil && e.shop.House.Shop.Site != "" {
		return e.shop.House.Shop.Site, nil
	}
	first, err := e.log.Entry(1)
	if err != nil {
		return "", err
	}
	return first.Site, nil
}

func (e *exporter) sayWhat(f *factTable) error {
	f.part = "this export"
	if e.damage != "" {
		f.say("DAMAGED LOG", "%s", e.damage)
	}
	site, err := e.site()
	if err != nil && e.damage == "" {
		return err
	}
	f.say("site", "%s", site)
	f.say("judged for", "%s, by rulebook %.12s", e.day, e.shop.Rulebook.Digest)
	period := e.periodText()
	if e.from != 0 || e.to != 0 {
		if e.empty() {
			period += ": THERE IS NONE"
		}
		period += "; cells that one of them names or that stand in the shop; containers, local rules and the list of entries whole"
	}
	f.say("period", "%s", period)
	f.say("names of people", "%s", e.namesText())
	if text := e.houseText(); text != "" {
		f.say("house file", "%s", text)
	}
	if e.review == nil {
		f.say("review", "No review was made for this export, so it has no table of findings. That is not to say that there are none (--review).")
	} else {
		f.count("review", int64(e.review.Pressing()), "findings", "open, critical or major, and not answered; %d in all, as the log stood at %s (table of findings)", len(e.review.Findings), e.review.Snapshot.Now.Format("2006-01-02 15:04"))
	}
	return nil
}

// empty reports whether no entry happened within the period.
func (e *exporter) empty() bool { return (e.from != 0 || e.to != 0) && e.survey.within == 0 }

func (e *exporter) periodText() string {
	switch {
	case e.from != 0 && e.to != 0:
		return fmt.Sprintf("entries that happened from %s to %s", e.from, e.to)
	case e.from != 0:
		return fmt.Sprintf("entries that happened on %s or later", e.from)
	case e.to != 0:
		return fmt.Sprintf("entries that happened on %s or before", e.to)
	}
	return "all entries"
}

// NoHouse is what a review without a house file must be read with.
const NoHouse = "No house file is named (--house): the shop's own clock, hours, recall list and rules are not known, and cells may get other answers for that alone."

func (e *exporter) houseText() string {
	if e.shop.House != nil {
		return ""
	}
	return NoHouse
}

func (e *exporter) namesText() string {
	if e.people == nil {
		return "as typed"
	}
	return fmt.Sprintf("replaced by codes, %s, in the order in which the log first names them, also where such a name stands in free text (notes, reasons, what was seen); what else free text says of people stands as typed", e.people.codes())
}

func (e *exporter) sayStock(f *factTable) error {
	f.part = "in the shop"
	r, err := Stock(e.log, e.day, "class", "")
	if err != nil {
		return e.forgive(f, "stock", err)
	}
	t := &r.Total
	unrated, unweighed, unsafe := fmt.Sprintf("%d more without a rating are not in it", t.Unrated), fmt.Sprintf("%d more not weighed are not in it", t.Unweighed), ""
	if t.Unsecured > 0 {
		unsafe = fmt.Sprintf("%d not recorded as secured", t.Unsecured)
	}
	f.count("cells", t.Cells, "cells", "%s", unsafe)
	f.figure("energy", micro(t.Wh), "Wh", "%s", noneLeft(t.Unrated, unrated))
	f.figure("mass", micro(t.Kg), "kg", "%s", noneLeft(t.Unweighed, unweighed))
	if t.Oldest != "" {
		f.say("oldest accumulation start", "%s", t.Oldest)
	}
	for i := range r.Rows {
		x := &r.Rows[i]
		f.count(exports.HandlingText(x.Handling)+", "+x.Condition, x.Cells, "cells", "%s; %s", withMore(x.Wh, "Wh", x.Unrated, "without a rating"), withMore(x.Kg, "kg", x.Unweighed, "not weighed"))
	}
	return nil
}

// micro is a sum for the reader: to the thousandth.
func micro(x float64) triage.Micro { return triage.Micro(x*1e6 + 0.5).Rounded(3) }

func noneLeft(n int64, text string) string {
	if n == 0 {
		return ""
	}
	return text
}

func withMore(sum float64, unit string, unknown int64, words string) string {
	text := micro(sum).String() + " " + unit
	if unknown > 0 {
		text += fmt.Sprintf(" and %d %s", unknown, words)
	}
	return text
}

// forgive tells what of a damaged log cannot be read, and passes on any other
// error.
func (e *exporter) forgive(f *factTable, name string, err error) error {
	if e.damage == "" {
		return err
	}
	f.say(name, "cannot be read: %v", err)
	return nil
}

// soonDays is how far the summary looks ahead.
const soonDays = 14

func (e *exporter) sayOwed(f *factTable) error {
	f.part = "owed"
	due, err := Due(e.shop, e.log, e.moment, soonDays)
	if err != nil {
		return e.forgive(f, "what is owed", err)
	}
	for _, s := range []struct{ state, words, text string }{{"overdue", "overdue", ""}, {"due", "on the day", ""}, {"soon", "soon", fmt.Sprintf("within %d days", soonDays)}} {
		byWhat := map[string]int64{}
		var kinds []string
		for i := range due {
			if due[i].State == s.state {
				if byWhat[due[i].What]++; byWhat[due[i].What] == 1 {
					kinds = append(kinds, due[i].What)
				}
			}
		}
		slices.Sort(kinds)
		total, words := int64(0), []string{}
		for _, k := range kinds {
			total += byWhat[k]
			words = append(words, fmt.Sprintf("%s %d", k, byWhat[k]))
		}
		f.count(s.words, total, "matters", "%s", strings.TrimPrefix(s.text+": "+strings.Join(words, ", "), ": "))
	}
	stages := map[string]int64{}
	err = e.eachShipment(func(x *shipRow) error { stages[x.Stage]++; return nil })
	for _, stage := range []string{stagePacking, stageOnWay, stageBack, stageDiffers, stageSettled} {
		if stages[stage] > 0 {
			f.count("shipments "+stage, stages[stage], "shipments", "")
		}
	}
	return err
}

func (e *exporter) sayLog(f *factTable) error {
	f.part = "the log"
	r, s := e.report, e.survey
	words := "every entry, hash, key, view and attached file verified before this was made"
	if text := e.besideText(); text != "" {
		words = "every entry, hash, key and view verified before this was made; " + text
	}
	if e.damage != "" {
		words = e.damage
	}
	f.count("entries", r.Tree.Size, "entries", "%s", words)
	f.say("paper line", "%s (table of the checkpoint)", r.Tree.Paper())
	if !s.began.IsZero() {
		f.say("began", "%s", s.began.Format(time.DateOnly))
	}
	var kinds []string
	for _, kind := range logbook.Kinds {
		if s.counts[kind] > 0 {
			kinds = append(kinds, fmt.Sprintf("%s %d", kind, s.counts[kind]))
		}
	}
	f.say("by kind", "%s", strings.Join(kinds, ", "))
	f.count("taken back", int64(len(s.void)), "entries", "each stays on record and is marked")
	f.count("put right", int64(len(s.fixed)), "entries", "each names the entry that did so")
	f.count("entered while the clock stood back", r.ClockBack, "entries", "")
	f.count("attached files", int64(r.Files), "files", "%s", e.besideText())
	for _, text := range e.besides() {
		f.say("missing or changed", "%s", text)
	}
	if len(s.unread) > 0 {
		f.count("cannot be read", int64(len(s.unread)), "entries", "they are missing from every table but that of entries")
	}
	for _, note := range r.Notes {
		f.say("note", "%s", note)
	}
	return nil
}

func (e *exporter) sayCare(f *factTable) error {
	f.part = "to be known"
	f.say("blank cells", "A blank cell is what nobody measured, said or could read. It is never 0 and never no.")
	f.say("classes", "A class is what the rules of its day made of the readings given. No fault seen means that these readings showed none, and no more.")
	f.say("not known", "What is not known never improved an answer: a missing reading was treated as the worse one.")
	f.say("names", "Who recorded something is a name as given, not proven.")
	f.say("local codes", "%s", triage.LocalFirst)
	return nil
}
