package app

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// reviewLog writes a log of about so many entries: looks of every class with their
// states, each cell secured, moved, looked at again and handed over; one in ten is still
// there.
func reviewLog(b *testing.B, shop *Shop, entries int64, now time.Time) LogPlace {
	b.Helper()
	clock := now.AddDate(0, -11, 0)
	p := LogPlace{Path: filepath.Join(b.TempDir(), "log.db"), Options: logbook.Options{Now: func() time.Time { return clock }}}
	l, _, err := logbook.Create(p.Path, "Back room", p.Options)
	if err != nil {
		b.Fatal(err)
	}
	defer l.Close()
	const each = 6
	cells := entries / each
	step := now.Sub(clock) / time.Duration(entries+1)
	looks := []string{"ocv_v=3.8", "thickness_mm=5 nominal_thickness_mm=4", "ocv_v=us", "purpose=recycle"}
	err = l.Write(func(tx *logbook.Tx) error {
		for c := range cells {
			tag, err := tx.IssueTag(triage.CellTag)
			if err != nil {
				return err
			}
			given := append(typedWords(looks[c%int64(len(looks))]), Given{triage.Who, "MK"})
			for _, g := range typedWords(cleanLook) {
				if !wasGiven(given, g.Field) {
					given = append(given, g)
				}
			}
			r := &Recording{log: l, bench: "Bench 1", now: p.Now}
			a := assess(shop, given, nil, clock)
			for i := range each {
				clock = clock.Add(step)
				a.at = clock
				cell := &Cell{Tag: tag}
				d, err := r.lookEntry(tx, a, cell, i == 0, map[bool]string{true: "same"}[i == 3])
				if err != nil {
					return err
				}
				text := map[int]string{1: `{"terminals":true,"bag":true,"fill":true}`, 2: `{"to":"Shelf"}`, 4: `{"to":"Store"}`, 5: `{"out":"handed-over"}`}[i]
				if text != "" {
					d.Kind = map[int]string{1: "secured", 2: "move", 4: "move", 5: "move"}[i]
					if d.Body, err = logbook.ParseBody([]byte(text)); err != nil {
						return err
					}
				}
				d.Now[0].Place, d.Now[0].MadeSafe = "Shelf", i > 0
				if i == each-1 && c%10 != 0 {
					d.Now[0].Is = logbook.Out
				}
				if _, err := tx.Append(d); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
	clock = now
	return p
}

// BenchmarkReview reviews a long log: with its verification, and the parts of that; scan
// is the reference, each entry read and parsed once.
func BenchmarkReview(b *testing.B) {
	entries := longest(b)
	now := time.Date(2026, 11, 26, 12, 0, 0, 0, time.UTC)
	shop, err := OpenShop("", "", now)
	if err != nil {
		b.Fatal(err)
	}
	p := reviewLog(b, shop, entries, now)
	var x ratio
	part := func(name string, fn func(*testing.B)) {
		b.Run(fmt.Sprintf("entries=%d/do=%s", entries, name), func(b *testing.B) { x.timed(b, fn) })
	}
	part("scan", func(b *testing.B) { benchScan(b, p) })
	part("verify", func(b *testing.B) { benchVerify(b, p) })
	part("snapshot", func(b *testing.B) {
		for b.Loop() {
			r, err := newReviewReader(shop, p, &ReviewAsk{})
			if err == nil {
				err = r.read(p, &ReviewAsk{})
			}
			if err != nil || int64(len(r.s.Cells)) != entries/6 || len(r.s.Changed) > 0 {
				b.Fatal(len(r.s.Cells), r.s.Changed, err)
			}
		}
	})
	part("review", func(b *testing.B) {
		for b.Loop() {
			if r, err := Review(shop, p, ReviewAsk{}); err != nil || !r.Snapshot.Verified {
				b.Fatal(err)
			}
		}
	})
}
