package bench

import (
	"bufio"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"pouchward/cmd/internal/app"
	"pouchward/logbook"
)

// pageChild makes this binary a child that serves the page on a log until it is killed.
const pageChild = "POUCHWARD_PAGE_CHILD"

func servePage(path string) int {
	place := app.LogPlace{Path: path, Options: logbook.Options{Now: time.Now, Busy: time.Minute}}
	desk, err := app.OpenDesk(place, "2026-11-26", "")
	var s *Server
	if err == nil {
		s, err = New(Config{Desk: desk, Who: "MK"})
	}
	var l net.Listener
	if err == nil {
		l, err = Listen("127.0.0.1:0")
	}
	if err == nil {
		fmt.Println(URL(l))
		err = s.Serve(context.Background(), l, os.Stderr)
	}
	fmt.Fprintln(os.Stderr, err)
	return 1
}

// A sent is a form that was sent, with what came back.
type sent struct {
	form   url.Values
	status int // 0: nothing came back
}

// send posts the form, as a browser does.
func (x *sent) send(client *http.Client, page string) {
	x.status = 0
	res, err := client.PostForm(page+"assess", x.form)
	if err == nil {
		_, _ = io.Copy(io.Discard, res.Body)
		res.Body.Close()
		x.status = res.StatusCode
	}
}

func newClient() *http.Client {
	return &http.Client{Timeout: time.Minute, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
}

// A server is killed while forms come in, and started again. What was acknowledged is in
// the log once, also where the form is sent again; the log verifies.
func TestKilledServer(t *testing.T) {
	kills := 6
	if text := os.Getenv("POUCHWARD_KILLS"); text != "" {
		var err error
		if kills, err = strconv.Atoi(text); err != nil {
			t.Fatal(err)
		}
	}
	x := newShop(t)
	x.s.desk.Close()
	const clients = 3
	var all [clients][]*sent
	mid := 0
	for round := range kills {
		cmd := exec.Command(os.Args[0], "-test.run=^$")
		cmd.Env = append(os.Environ(), pageChild+"="+x.place.Path)
		pipe, err := cmd.StdoutPipe()
		if err == nil {
			err = cmd.Start()
		}
		if err != nil {
			t.Fatal(err)
		}
		page, err := bufio.NewReader(pipe).ReadString('\n')
		if err != nil {
			t.Fatal(err)
		}
		page = strings.TrimSpace(page)
		var wg sync.WaitGroup
		for i := range clients {
			wg.Go(func() {
				client := newClient()
				if n := len(all[i]); n > 0 && all[i][n-1].status == 0 {
					all[i][n-1].send(client, page) // what was cut off
				}
				for n := 0; ; n++ {
					if k := len(all[i]); k > 0 && all[i][k-1].status == 0 {
						return // the server is gone
					}
					o := &sent{form: url.Values{"draft": {newDraftID()}, "rev": {"0"}, "do": {"record"}, "sure": {"yes"}, "sign": {"swollen"}, "looked": {"yes"},
						"ticket": {fmt.Sprintf("R-%d-%d-%d", round, i, n)}}}
					all[i] = append(all[i], o)
					o.send(client, page)
				}
			})
		}
		time.Sleep(20*time.Millisecond + rand.N(300*time.Millisecond))
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		wg.Wait()
	}
	if r, err := app.VerifyLog(x.place, app.Held{}, app.Progress{}); err != nil {
		t.Fatalf("%v: %+v", err, r)
	}
	count := x.tickets()
	acknowledged, cut := 0, 0
	for _, list := range all {
		for _, o := range list {
			ticket := o.form.Get("ticket")
			n := count[ticket]
			switch {
			case o.status == http.StatusSeeOther && n == 1:
				acknowledged++
			case o.status == http.StatusSeeOther || n > 1:
				t.Errorf("%s was answered %d and is %d times in the log", ticket, o.status, n)
			case o.status == http.StatusUnprocessableEntity || o.status == 0: // a person is asked, or the page is gone
				cut++
			default:
				t.Errorf("%s was answered %d", ticket, o.status)
			}
			if n > 0 && o.status != http.StatusSeeOther {
				mid++
			}
		}
	}
	t.Logf("%d servers killed; %d forms acknowledged, %d cut off, %d of those recorded all the same", kills, acknowledged, cut, mid)
	if acknowledged == 0 || cut == 0 {
		t.Error("nothing was acknowledged, or nothing was cut off: the test shows nothing")
	}
}

// tickets counts the assessments by their ticket.
func (x *shop) tickets() map[string]int {
	x.Helper()
	count := map[string]int{}
	err := app.ReadLog(x.place, func(l *logbook.Log) error {
		size, err := l.Size()
		if err != nil {
			return err
		}
		return l.Entries(1, size, func(e *logbook.Entry) error {
			var b struct {
				Ticket   string
				Readings struct{ Ticket any }
			}
			if err := e.Body.Decode(&b); err != nil {
				return err
			}
			if text := b.Ticket; text != "" {
				count[text]++
			} else if text, ok := b.Readings.Ticket.(string); ok {
				count[text]++
			}
			return nil
		})
	})
	if err != nil {
		x.Fatal(err)
	}
	return count
}

// Page, command line, a sheet that is recorded, exports and a verification work on one log
// at once: nothing that was acknowledged is lost, and every export is of a whole log.
func TestAllAtOnce(t *testing.T) {
	x := newShop(t)
	x.place.Busy = time.Minute
	x.s.desk.Close()
	x.open()
	srv := httptest.NewUnstartedServer(nil)
	srv.Config.Handler = x.s.Handler(srv.Listener.Addr().(*net.TCPAddr).Port)
	srv.Start()
	defer srv.Close()
	const each = 12
	sheet := filepath.Join(t.TempDir(), "sheet.csv")
	rows := "ticket,signs,ocv_v\n"
	for i := range each {
		rows += fmt.Sprintf("S-%d,none,3.7\n", i)
	}
	if err := os.WriteFile(sheet, []byte(rows), 0o600); err != nil {
		t.Fatal(err)
	}
	shop := must(x.s.desk.Shop())
	command := func(fn func(*app.Recording) error) error {
		rec, err := app.OpenRecording(x.place, "Bench 3")
		if err != nil {
			return err
		}
		return errors.Join(fn(rec), rec.Close())
	}
	work := []func(i int) error{
		func(i int) error {
			o := &sent{form: url.Values{"draft": {newDraftID()}, "rev": {"0"}, "do": {"record"}, "sure": {"yes"}, "sign": {"wet"}, "looked": {"yes"}, "ticket": {fmt.Sprint("P-", i)}}}
			if o.send(newClient(), srv.URL+"/"); o.status != http.StatusSeeOther {
				return fmt.Errorf("the page answered %d", o.status)
			}
			return nil
		},
		func(i int) error {
			return command(func(rec *app.Recording) error {
				f := x.given("signs=dented", fmt.Sprint("ticket=C-", i))
				a, err := rec.Judge(shop, f)
				if err == nil {
					_, err = rec.Record(a)
				}
				return err
			})
		},
		func(i int) error {
			if i > 0 {
				return nil
			}
			return command(func(rec *app.Recording) error {
				sum, err := app.Sort(app.SortOptions{Files: []string{sheet}, Shop: shop, Format: "csv", Out: io.Discard, Record: rec})
				if err == nil && sum.Rows != each {
					err = fmt.Errorf("%d rows", sum.Rows)
				}
				return err
			})
		},
		func(i int) error {
			if i%4 > 0 {
				return nil
			}
			format := app.ExportFormats[i/4%len(app.ExportFormats)]
			_, err := app.Export(context.Background(), shop, x.place, &app.ExportAsk{Format: format.Name, Out: filepath.Join(t.TempDir(), "x"+format.Ending)})
			return err
		},
		func(i int) error { x.s.desk.Verify(); d, _ := x.s.desk.LogNotices(); return errorOf(d) },
		func(i int) error {
			for _, s := range screens() {
				res, err := http.Get(srv.URL + s.Path)
				if err != nil {
					return err
				}
				res.Body.Close()
				if res.StatusCode != http.StatusOK && s.Path != "/review" { // one review at a time
					return fmt.Errorf("%s answered %d", s.Path, res.StatusCode)
				}
			}
			return nil
		},
	}
	var wg sync.WaitGroup
	for _, do := range work {
		wg.Go(func() {
			for i := range each {
				if err := do(i); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	r, err := app.VerifyLog(x.place, app.Held{}, app.Progress{})
	if err != nil {
		t.Fatalf("%v: %+v", err, r)
	}
	count := x.tickets()
	for i := range each {
		for _, by := range []string{"P-", "C-", "S-"} {
			if n := count[fmt.Sprint(by, i)]; n != 1 {
				t.Errorf("%s%d is %d times in the log", by, i, n)
			}
		}
	}
	if r.Tree.Size != 1+3*each {
		t.Errorf("%d entries", r.Tree.Size)
	}
}

func errorOf(text string) error {
	if text == "" {
		return nil
	}
	return errors.New(text)
}

// A log that does not verify is said to be so on every screen, whatever else it shows, and
// so is a file of the log that is not as it was attached.
func TestDamagedLogIsSaidOnEveryScreen(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(x *shop)
		says  string
	}{
		{"a shipment", func(x *shop) { x.edit("shipment", `"route":"`, `"route":"x`) }, "DAMAGED LOG: does not verify"},
		{"a file", (*shop).flipFile, "FILES: attached files are missing or not as they were attached, 1 in all"},
	} {
		t.Run(c.name, func(t *testing.T) {
			x := newDemo(t)
			x.s.desk.Verify()
			for _, s := range screens() {
				want(t, x.get(s.Path), http.StatusOK, "!role=\"alert\"")
			}
			c.spoil(x)
			x.s.desk.Verify()
			for _, s := range screens() {
				w := x.get(s.Path)
				want(t, w, w.Code, `role="alert">`+c.says)
				if w.Code >= 500 && s.Path != "/review" {
					t.Errorf("%s answered %d", s.Path, w.Code)
				}
			}
			if w := x.get("/nothing"); !strings.Contains(w.Body.String(), c.says) {
				t.Error("a page that is not there does not say it")
			}
		})
	}
}

// edit changes a text in the first entry of a kind that holds it, behind the log's back.
func (x *shop) edit(kind, old, now string) {
	x.Helper()
	db, err := sql.Open("sqlite", "file:"+x.place.Path)
	if err != nil {
		x.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if _, err := db.Exec("DROP TRIGGER entries_no_update"); err != nil {
		x.Fatal(err)
	}
	done, err := db.Exec(`UPDATE entries SET bytes = CAST(replace(CAST(bytes AS TEXT), ?, ?) AS BLOB) WHERE n =
		(SELECT min(n) FROM entries WHERE instr(CAST(bytes AS TEXT), '"kind":"' || ? || '"') > 0 AND instr(CAST(bytes AS TEXT), ?) > 0)`, old, now, kind, old)
	if err != nil {
		x.Fatal(err)
	}
	if n, _ := done.RowsAffected(); n != 1 {
		x.Fatalf("no entry of kind %s holds %s", kind, old)
	}
}

// flipFile turns one bit of an attached file round.
func (x *shop) flipFile() {
	x.Helper()
	names, err := filepath.Glob(filepath.Join(logbook.FilesDir(x.place.Path), "*.txt"))
	if err != nil || len(names) == 0 {
		x.Fatal("no file", err)
	}
	data, err := os.ReadFile(names[0])
	if err == nil {
		data[len(data)/2] ^= 1
		err = errors.Join(os.Chmod(names[0], 0o600), os.WriteFile(names[0], data, 0o600))
	}
	if err != nil {
		x.Fatal(err)
	}
}
