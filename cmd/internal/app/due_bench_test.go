package app

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// benchLog writes a log of so many entries, six a cell: one cell in ten is still
// in the shop, one in four of those isolated or held, in bins of forty and tins.
func benchLog(b *testing.B, entries int64, now time.Time) LogPlace {
	b.Helper()
	clock := now.AddDate(-8, 0, 0)
	p := LogPlace{Path: filepath.Join(b.TempDir(), "log.db"), Options: logbook.Options{Now: func() time.Time { return clock }}}
	l, _, err := logbook.Create(p.Path, "Back room", p.Options)
	if err != nil {
		b.Fatal(err)
	}
	defer l.Close()
	body, err := logbook.ParseBody([]byte(`{"to":"STORE"}`))
	if err != nil {
		b.Fatal(err)
	}
	const each = 6
	cells := entries / each
	step := now.Sub(clock) / time.Duration(entries+1)
	err = l.Write(func(tx *logbook.Tx) error {
		boxes := make([]string, 200)
		for i := range boxes {
			if boxes[i], err = tx.IssueTag(triage.ContainerTag); err != nil {
				return err
			}
			s := logbook.State{Tag: boxes[i], Is: logbook.Here, Place: fmt.Sprintf("PLACE %d", i%9), What: "steel bin"}
			if _, err := tx.Append(logbook.Draft{Kind: "container", Tags: boxes[i : i+1], Body: body, Now: []logbook.State{s}}); err != nil {
				return err
			}
		}
		for c := range cells {
			tag, err := tx.IssueTag(triage.CellTag)
			if err != nil {
				return err
			}
			s := logbook.State{Tag: tag, Is: logbook.Here, Handling: "retire", Condition: "undamaged", Size: "small", Waste: "casing-intact",
				MicroWh: 11_935_000, MilliGram: 48_000, StartBy: "pulled_on", MadeSafe: true, In: boxes[c%int64(len(boxes))]}
			if c%4 == 0 {
				s.Handling, s.Condition, s.In, s.Place = "isolate", "damaged", "", "Y1"
			}
			for i := range int64(each) {
				clock = clock.Add(step)
				if i == 0 {
					s.Start, s.Since = clock.Format(time.DateOnly), clock
				}
				if s.Looked = clock; i == each-1 && c%10 != 0 {
					s.Is = logbook.Out
				}
				if _, err := tx.Append(logbook.Draft{Kind: "move", Tags: []string{tag}, Body: body, Now: []logbook.State{s}}); err != nil {
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

// BenchmarkStockAndDue reads both from a long log; scan is the reference: SQLite
// reading every row of the table that they rest on, once.
func BenchmarkStockAndDue(b *testing.B) {
	for _, n := range lengths(b) {
		b.Run(fmt.Sprintf("entries=%d", n), func(b *testing.B) { stockAndDue(b, n) })
	}
}

// lengths are those of the logs that show how a cost grows: ten times as long each, up
// to POUCHWARD_BENCH_ENTRIES (100,000 when not set); the shortest alone with -short.
func lengths(b *testing.B) []int64 {
	longest := int64(100_000)
	if text := os.Getenv("POUCHWARD_BENCH_ENTRIES"); text != "" {
		var err error
		if longest, err = strconv.ParseInt(text, 10, 64); err != nil || longest < 1000 {
			b.Fatalf("POUCHWARD_BENCH_ENTRIES %q: want a number of entries, 1000 or more", text)
		}
	}
	if testing.Short() {
		longest = 1000
	}
	var list []int64
	for n := int64(1000); n < longest; n *= 10 {
		list = append(list, n)
	}
	return append(list, longest)
}

// longest is the longest of them alone, for what takes long.
func longest(b *testing.B) int64 {
	list := lengths(b)
	return list[len(list)-1]
}

func stockAndDue(b *testing.B, entries int64) {
	now := time.Date(2026, 11, 26, 12, 0, 0, 0, time.UTC)
	p := benchLog(b, entries, now)
	shop, err := OpenShop("", "", now)
	if err != nil {
		b.Fatal(err)
	}
	var scan time.Duration
	b.Run("read=scan", func(b *testing.B) {
		for b.Loop() {
			db, err := sql.Open("sqlite", "file:"+p.Path+"?mode=ro")
			if err != nil {
				b.Fatal(err)
			}
			var rows, sum int64
			if err := db.QueryRow("SELECT count(*), sum(uwh + mg + length(handling || condition || place || start || since || looked)) FROM here").Scan(&rows, &sum); err != nil || rows < entries/60 {
				b.Fatal(rows, err)
			}
			db.Close()
		}
		scan = b.Elapsed() / time.Duration(b.N)
	})
	read := func(name string, fn func(*logbook.Log) (int, error)) {
		b.Run("read="+name, func(b *testing.B) {
			for b.Loop() {
				err := ReadLog(p, func(l *logbook.Log) error {
					n, err := fn(l)
					if n == 0 {
						b.Error("nothing was found")
					}
					return err
				})
				if err != nil {
					b.Fatal(err)
				}
			}
			one := b.Elapsed() / time.Duration(b.N)
			b.ReportMetric(float64(one.Microseconds())/1000, "ms/run")
			if scan > 0 {
				b.ReportMetric(one.Seconds()/scan.Seconds(), "x_of_scan")
			}
		})
	}
	read("stock", func(l *logbook.Log) (int, error) {
		r, err := ScreenedStock(shop, l, triage.DateOf(now), "", "")
		return len(r.Rows), err
	})
	read("due", func(l *logbook.Log) (int, error) {
		list, err := Due(shop, l, now, 14)
		return len(list), err
	})
}
