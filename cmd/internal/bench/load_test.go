package bench

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"pouchward/cmd/internal/app"
	"pouchward/logbook"
	"pouchward/triage"
)

// longLog writes a log of so many entries, six a cell, one cell in ten still in the shop.
func longLog(b *testing.B, place app.LogPlace, entries int64) {
	b.Helper()
	l, _, err := logbook.Create(place.Path, "Back room (invented)", place.Options)
	if err != nil {
		b.Fatal(err)
	}
	defer l.Close()
	body, err := logbook.ParseBody([]byte(`{"to":"STORE"}`))
	if err != nil {
		b.Fatal(err)
	}
	const each = 6
	err = l.Write(func(tx *logbook.Tx) error {
		for c := range entries / each {
			tag, err := tx.IssueTag(triage.CellTag)
			if err != nil {
				return err
			}
			s := logbook.State{Tag: tag, Is: logbook.Here, Handling: "retire", Condition: "undamaged", Size: "small", Waste: "casing-intact", MadeSafe: true, Place: fmt.Sprintf("PLACE %d", c%9),
				MicroWh: 11_935_000, MilliGram: 48_000, Start: "2026-06-01", StartBy: "pulled_on", Since: place.Now(), Looked: place.Now()}
			for i := range int64(each) {
				if i == each-1 && c%10 != 0 {
					s.Is = logbook.Out
				}
				if _, err := tx.Append(logbook.Draft{Kind: "move", Who: "MK", Bench: "Bench 1", Tags: []string{tag}, Body: body, Now: []logbook.State{s}}); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
}

const (
	loadClients = 8
	loadTime    = time.Minute
)

// BenchmarkLoad has 8 clients post assessments for a minute, over loopback, on a log of
// POUCHWARD_BENCH_ENTRIES entries (a million). Each pauses as long as an answer took: it
// is a bench, not a flood; POUCHWARD_BENCH_FLOOD leaves the pause out. Every answer that
// says "recorded" is looked for in the log afterwards.
func BenchmarkLoad(b *testing.B) {
	entries := int64(1_000_000)
	if n, err := strconv.ParseInt(os.Getenv("POUCHWARD_BENCH_ENTRIES"), 10, 64); err == nil {
		entries = n
	}
	place := app.LogPlace{Path: filepath.Join(b.TempDir(), "log.db"), Options: logbook.Options{Now: time.Now, Busy: Busy}}
	longLog(b, place, entries)
	desk, err := app.OpenDesk(place, "", "")
	if err != nil {
		b.Fatal(err)
	}
	defer desk.Close()
	s, err := New(Config{Desk: desk})
	if err != nil {
		b.Fatal(err)
	}
	l, err := Listen("127.0.0.1:0")
	if err != nil {
		b.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, l, io.Discard) }()
	defer func() { stop(); <-ended }()
	before, err := desk.Log().Size()
	if err != nil {
		b.Fatal(err)
	}
	b.ResetTimer()
	for b.Loop() {
		load(b, desk, URL(l), before)
		if before, err = desk.Log().Size(); err != nil {
			b.Fatal(err)
		}
	}
}

// load runs the clients for their time, and holds what they were told against the log.
func load(b *testing.B, desk *app.Desk, address string, before int64) {
	var mu sync.Mutex
	var took []time.Duration
	told := map[int64]string{} // entry by what was typed in it
	var wait sync.WaitGroup
	until := time.Now().Add(loadTime)
	for c := range loadClients {
		wait.Go(func() {
			client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
			for n := 0; time.Now().Before(until); n++ {
				ticket := fmt.Sprintf("L-%d-%d", c, n)
				v := url.Values{"draft": {newDraftID()}, "rev": {"0"}, "do": {"record"}, "sure": {"yes"}, "looked": {"yes"}, "ocv_v": {"3.78"}, "cell_c": {"21"}, "ambient_c": {"21"},
					"rated_mah": {"3000"}, "nominal_v": {"3.85"}, "recalled": {"no"}, "ticket": {ticket}, "who": {"MK"}}
				begun := time.Now()
				res, err := client.PostForm(address+"assess", v)
				d := time.Since(begun)
				if err != nil {
					b.Error(err)
					return
				}
				text, _ := io.ReadAll(res.Body)
				res.Body.Close()
				entry, err := strconv.ParseInt(strings.TrimPrefix(res.Header.Get("Location"), "/done/"), 10, 64)
				if res.StatusCode != http.StatusSeeOther || err != nil {
					b.Errorf("%d to %q: %.300s", res.StatusCode, res.Header.Get("Location"), text)
					return
				}
				mu.Lock()
				took, told[entry] = append(took, d), ticket
				mu.Unlock()
				if os.Getenv("POUCHWARD_BENCH_FLOOD") == "" {
					time.Sleep(d)
				}
			}
		})
	}
	wait.Wait()
	after, err := desk.Log().Size()
	if err != nil || after-before != int64(len(took)) || len(told) != len(took) || len(took) == 0 {
		b.Fatalf("%d answers of %d entries, the log has %d more (%v)", len(took), len(told), after-before, err)
	}
	for n, ticket := range told {
		if e, err := desk.Log().Entry(n); err != nil || e.Kind != "assessment" || !strings.Contains(string(e.Body.Raw()), `"`+ticket+`"`) {
			b.Fatalf("entry %d should hold %s: %v", n, ticket, err)
		}
	}
	slices.Sort(took)
	at := func(share float64) float64 {
		return took[min(int(share*float64(len(took))), len(took)-1)].Seconds() * 1000
	}
	b.ReportMetric(at(.5), "p50-ms")
	b.ReportMetric(at(.99), "p99-ms")
	b.ReportMetric(at(1), "max-ms")
	b.ReportMetric(float64(len(took))/loadTime.Seconds(), "posts/s")
}
