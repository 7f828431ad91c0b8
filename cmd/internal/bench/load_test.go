package bench

import (
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
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

// longLog writes a log of so many entries, six a cell, of which one in ten is in the
// shop.
func longLog(b *testing.B, place app.LogPlace, entries int64) {
	b.Helper()
	l, _, err := logbook.Create(place.Path, "Back room (invented)", place.Options)
	if err != nil {
		b.Fatal(err)
	}
	defer l.Close()
	body, err := logbook.MakeBody(map[string]string{"to": "Y1"})
	if err != nil {
		b.Fatal(err)
	}
	err = l.Write(func(tx *logbook.Tx) error {
		for c := range entries / 6 {
			tag, err := tx.IssueTag(triage.CellTag)
			if err != nil {
				return err
			}
			s := logbook.State{Tag: tag, Is: logbook.Here, Handling: "retire", Condition: "undamaged", Size: "small", Waste: "casing-intact", Place: "Y1"}
			for i := range 6 {
				if i == 5 && c%10 != 0 {
					s.Is = logbook.Out
				}
				if _, err := tx.Append(logbook.Draft{Kind: "move", Who: "MK", Tags: []string{tag}, Body: body, Now: []logbook.State{s}}); err != nil {
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

// BenchmarkClients has eight clients post an assessment each after the other, with its
// draft before, on a log of POUCHWARD_BENCH_ENTRIES entries (default 100,000), and
// reports the 50th and the 99th in a hundred of the answers to RECORD. Every one that
// was acknowledged must be in the log.
func BenchmarkClients(b *testing.B) {
	entries := int64(100_000)
	if n, err := strconv.ParseInt(os.Getenv("POUCHWARD_BENCH_ENTRIES"), 10, 64); err == nil {
		entries = n
	}
	if testing.Short() {
		entries = 1000
	}
	b.Run(fmt.Sprintf("clients=8/entries=%d", entries), func(b *testing.B) { clients(b, entries) })
}

func clients(b *testing.B, entries int64) {
	place := app.LogPlace{Path: filepath.Join(b.TempDir(), "pouchward.db"), Options: logbook.Options{Now: time.Now, Busy: Busy}}
	longLog(b, place, entries)
	desk, err := app.OpenDesk(place, "", "")
	if err != nil {
		b.Fatal(err)
	}
	defer desk.Close()
	s, err := New(Config{Desk: desk, Bench: "Bench 2"})
	if err != nil {
		b.Fatal(err)
	}
	srv := httptest.NewUnstartedServer(nil)
	port := 0
	if _, err := fmt.Sscanf(srv.Listener.Addr().String(), "127.0.0.1:%d", &port); err != nil {
		b.Fatal(err)
	}
	srv.Config.Handler = s.Handler(port)
	srv.Start()
	defer srv.Close()
	before, err := desk.Log().Size()
	if err != nil {
		b.Fatal(err)
	}
	var mu sync.Mutex
	var took []time.Duration
	jobs := make(chan int)
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
			for i := range jobs {
				form := url.Values{"draft": {newDraftID()}, "rev": {"0"}, "sign": {"swollen"}, "looked": {"yes"}, "ocv_v": {"3.8"}, "who": {"MK"}, "ticket": {fmt.Sprint("R-", i)}}
				post(b, client, srv.URL+"/assess/live", form, http.StatusOK)
				form["rev"], form["do"], form["sure"] = []string{"1"}, []string{"record"}, []string{"yes"}
				begun := time.Now()
				post(b, client, srv.URL+"/assess", form, http.StatusSeeOther)
				mu.Lock()
				took = append(took, time.Since(begun))
				mu.Unlock()
			}
		})
	}
	i, opened := 0, time.Now()
	for b.Loop() {
		jobs <- i
		i++
	}
	close(jobs)
	wg.Wait()
	whole := time.Since(opened)
	after, err := desk.Log().Size()
	if err != nil || after-before != int64(len(took)) || len(took) != i {
		b.Errorf("%d posted, %d acknowledged, %d recorded, %v", i, len(took), after-before, err)
	}
	slices.Sort(took)
	b.ReportMetric(float64(len(took))/whole.Seconds(), "records/s")
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms-p50")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "ms-p99")
}

func post(b *testing.B, client *http.Client, address string, form url.Values, status int) {
	res, err := client.Post(address, "application/x-www-form-urlencoded", strings.NewReader(form.Encode()))
	if err != nil {
		b.Error(err)
		return
	}
	defer res.Body.Close()
	body, _ := io.ReadAll(res.Body)
	if res.StatusCode != status {
		b.Errorf("%s answered %d: %.300s", address, res.StatusCode, body)
	}
}
