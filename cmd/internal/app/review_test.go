package app

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/review"
)

// A reviewed demo: its shop and its log at half past eight on its day.
type demoShop struct {
	shop  *Shop
	place LogPlace
	now   time.Time
	made  *Demoed
	whole *review.Snapshot // of the year up to now
}

func newDemoShop(t *testing.T) *demoShop {
	t.Helper()
	d := &demoShop{}
	dir := filepath.Join(t.TempDir(), "demo")
	var err error
	if d.made, err = Demo(dir, day(t, "2026-11-25")); err != nil {
		t.Fatal(err)
	}
	zone, err := loadZone(demoZone)
	if err != nil {
		t.Fatal(err)
	}
	d.now = time.Date(2026, 11, 25, 8, 30, 0, 0, zone)
	d.place = LogPlace{Path: filepath.Join(dir, demoLogName), Options: logbook.Options{Now: func() time.Time { return d.now }, Zone: demoZone}}
	if d.shop, err = OpenShop("", filepath.Join(dir, houseName), d.now); err != nil {
		t.Fatal(err)
	}
	return d
}

func (d *demoShop) review(t *testing.T, ask ReviewAsk) *review.Snapshot {
	t.Helper()
	r, err := Review(d.shop, d.place, ask)
	if err != nil {
		t.Fatal(err)
	}
	return r.Snapshot
}

// The demo is made once: it takes seconds.
func TestReviewOfTheDemo(t *testing.T) {
	d := newDemoShop(t)
	d.whole = d.review(t, ReviewAsk{})
	t.Run("counts", d.testCounts)
	t.Run("every entry", d.testEveryEntry)
	t.Run("ties and voids", d.testTies)
	t.Run("shipments", d.testShipments)
	t.Run("the past", d.testPast)
	t.Run("asked wrongly", d.testAskedWrongly)
	t.Run("other rules", d.testOtherRules)
	t.Run("a file that is gone", d.testFileGone)
	t.Run("damage", d.testDamage)
	t.Run("ledger and charts", d.testLedgerAndCharts)
}

// The stock that the entries come to is the one of the views.
func (d *demoShop) testCounts(t *testing.T) {
	s := d.whole
	var r, counted struct{ cells, uwh, mg, unsecured, boxes int64 }
	oldest := triage.Date(0)
	for i := range s.Cells {
		x := s.Cells[i].Last()
		if x.Is != review.Here {
			continue
		}
		r.cells, r.uwh, r.mg = r.cells+x.Cells(), r.uwh+x.MicroWh, r.mg+x.MilliGram
		if x.Count == 0 && !x.MadeSafe {
			r.unsecured++
		}
		if x.Start != 0 && (oldest == 0 || x.Start < oldest) {
			oldest = x.Start
		}
	}
	for i := range s.Containers {
		if steps := s.Containers[i].Steps; steps[len(steps)-1].Is == review.Here {
			r.boxes++
		}
	}
	for _, c := range s.Counted {
		counted.cells, counted.uwh, counted.mg = counted.cells+c.Cells, counted.uwh+c.MicroWh, counted.mg+c.MilliGram
	}
	err := ReadLog(d.place, func(l *logbook.Log) error {
		stock, err := Stock(l, s.To, "class", "")
		if err != nil {
			return err
		}
		want := &stock.Total
		if r.cells != want.Cells || r.uwh != int64(math.Round(want.Wh*1e6)) || r.mg != int64(math.Round(want.Kg*1e6)) || oldest.String() != want.Oldest || r.unsecured != want.Unsecured {
			t.Errorf("got %+v, oldest %s; the stock is %+v", r, oldest, want)
		}
		if counted.cells != r.cells || counted.uwh != r.uwh || counted.mg != r.mg {
			t.Errorf("counted %+v, by the entries %+v", counted, r)
		}
		boxes, err := Containers(l, s.To)
		if err == nil && int64(len(boxes)) != r.boxes {
			t.Errorf("%d containers, want %d", r.boxes, len(boxes))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	n := &s.Entries
	if n.Count != d.made.Entries || n.First != 1 || n.Last != d.made.Entries || n.Corrections == 0 || n.Retractions == 0 || len(n.Root) != 64 || len(n.Late) == 0 || len(n.ClockBack) != 1 || !n.Began.Equal(d.firstEntered(t)) {
		t.Errorf("%+v of %d entries", n, d.made.Entries)
	}
	if s.Site != demoSite || s.Country != "US" || s.From.String() != "2025-11-26" || !s.Now.Equal(d.now) || !s.Verified || len(s.Troubles) != 0 || len(s.Unissued) != 1 || s.Recalls == nil {
		t.Errorf("site %q in %q from %s at %s, verified %v, %d troubles, %d tags never issued, recalls %v", s.Site, s.Country, s.From, s.Now, s.Verified, len(s.Troubles), len(s.Unissued), s.Recalls)
	}
	if len(s.Changed) != 1 || s.Changed[0].Changes[0].Answer != "size" {
		t.Errorf("the rules change %v; none changed while these cells stood there, and one is planted", s.Changed)
	}
}

// firstEntered is when the log's first entry was made.
func (d *demoShop) firstEntered(t *testing.T) (at time.Time) {
	t.Helper()
	err := ReadLog(d.place, func(l *logbook.Log) error {
		e, err := l.Entry(1)
		if err == nil {
			at = e.Entered
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// numbersOf are the entries that some list of a snapshot rests on.
func numbersOf(s *review.Snapshot) map[int64]bool {
	seen := map[int64]bool{}
	for i := range s.Cells {
		for j := range s.Cells[i].Steps {
			seen[s.Cells[i].Steps[j].Entry] = true
		}
	}
	for i := range s.Containers {
		for j := range s.Containers[i].Steps {
			seen[s.Containers[i].Steps[j].Entry] = true
		}
	}
	for i := range s.Shipments {
		for j := range s.Shipments[i].Steps {
			seen[s.Shipments[i].Steps[j].Entry] = true
		}
	}
	for i := range s.Rounds {
		seen[s.Rounds[i].Entry] = true
	}
	for i := range s.Incidents {
		seen[s.Incidents[i].Entry], seen[s.Incidents[i].Last.Entry] = true, true
	}
	for i := range s.Trainings {
		seen[s.Trainings[i].Entry] = true
	}
	for i := range s.Answers {
		seen[s.Answers[i].Entry] = true
	}
	for i := range s.Trials {
		seen[s.Trials[i].Entry] = true
	}
	for i := range s.Files {
		seen[s.Files[i].Entry] = true
	}
	for i := range s.SignOffs {
		seen[s.SignOffs[i].Entry] = true
	}
	return seen
}

// Every entry is in some list; left out are only those that Snapshot names.
func (d *demoShop) testEveryEntry(t *testing.T) {
	seen := numbersOf(d.whole)
	kinds := map[string]bool{}
	err := ReadLog(d.place, func(l *logbook.Log) error {
		return l.Entries(1, d.made.Entries, func(e *logbook.Entry) error {
			kinds[e.Kind] = true
			var b struct {
				Subject  string `json:"subject"`
				FollowUp bool   `json:"follow_up"`
			}
			if err := e.Body.Decode(&b); err != nil {
				return err
			}
			left := b.Subject == "log-key" || b.Subject == "tag-block" || b.FollowUp
			if !seen[e.Number] && !left {
				t.Errorf("entry %d, %s %s, is in no list", e.Number, e.Kind, b.Subject)
			}
			return nil
		})
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, kind := range logbook.Kinds {
		if !kinds[kind] && kind != "sign-off" { // TestSignOff has those
			t.Errorf("the demo has no entry of kind %s: this shows nothing of it", kind)
		}
	}
}

// A merge, a split and what was retracted read as readCell has them.
func (d *demoShop) testTies(t *testing.T) {
	s := d.whole
	aliases, splits, voids := 0, 0, 0
	err := ReadLog(d.place, func(l *logbook.Log) error {
		for i := range s.Cells {
			c := &s.Cells[i]
			if kind, _ := triage.TagNumber(c.Tag); kind != triage.CellTag {
				continue
			}
			cell, err := readCell(l, c.Tag)
			if err != nil {
				return err
			}
			aliases += len(c.Aliases)
			for _, a := range c.Aliases {
				if name, err := nameOf(l, a); err != nil || name != c.Tag {
					t.Errorf("%s is an alias of %s, not of %s, %v", a, name, c.Tag, err)
				}
			}
			if c.Steps[0].Kind == "split" {
				splits++
			}
			for j := range c.Steps {
				x := &c.Steps[j]
				if x.Void != (cell.void[x.Entry] != 0) {
					t.Errorf("%s entry %d: void %v", c.Tag, x.Entry, x.Void)
				}
				if x.Void {
					voids++
				}
			}
			last := c.Last()
			if h, _ := triage.HandlingByName(cell.State.Handling); h != last.Handling || cell.State.In != last.In || cell.State.Place != last.Place || (cell.State.Is == logbook.Here) != (last.Is == review.Here) {
				t.Errorf("%s: %+v, want %+v", c.Tag, last, cell.State)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if aliases != 1 || splits != 1 || voids == 0 {
		t.Errorf("%d aliases, %d cells split off, %d entries taken back: want 1, 1 and some", aliases, splits, voids)
	}
}

func (d *demoShop) testShipments(t *testing.T) {
	s := d.whole
	damaged, differs := 0, 0
	for i := range s.Shipments {
		x := &s.Shipments[i]
		if x.Steps[0].Did != "begun" || !strings.HasPrefix(x.Last().Route, "us-") {
			t.Errorf("%s begins with %q, goes by %q", x.Tag, x.Steps[0].Did, x.Last().Route)
		}
		if r := x.Last().Receipt; r != nil && len(r.Differs) > 0 {
			differs++
			if !r.Closed || r.Note == "" {
				t.Errorf("%s: the difference is not settled: %+v", x.Tag, r)
			}
		}
		h := x.Last().Handover
		if h == nil || h.At.IsZero() || h.Until == 0 || len(h.Accepts) == 0 {
			t.Fatalf("%s was handed over as %+v", x.Tag, h)
		}
		for j := range x.Last().Packages {
			p := &x.Last().Packages[j]
			if len(p.Cells) == 0 || len(p.Ways) == 0 || !p.Closed || p.PackedBy == "" {
				t.Errorf("package %+v", p)
			}
			for _, w := range p.Ways {
				if !w.Known || w.OnePerOuter && !w.Damaged || w.OnePerOuter && len(p.Cells) > 1 {
					t.Errorf("%s: way %+v of %d cells", p.Tag, w, len(p.Cells))
				}
				if w.Damaged {
					damaged++
				}
			}
		}
	}
	if len(s.Shipments) != 8 || damaged == 0 || differs != 1 {
		t.Errorf("%d shipments, %d packages by ways for damaged cells, %d receipts that differ", len(s.Shipments), damaged, differs)
	}
	for i := 1; i < len(s.Shipments); i++ {
		if s.Shipments[i].Steps[0].Entry < s.Shipments[i-1].Steps[0].Entry {
			t.Error("the shipments are not in the order of their entries")
		}
	}
}

// What was entered later is not read.
func (d *demoShop) testPast(t *testing.T) {
	s := d.review(t, ReviewAsk{To: "2026-07-31"})
	// The log begins within the year.
	if s.From.String() != "2025-11-25" || s.Now.Format(time.DateTime) != "2026-07-31 23:59:59" || s.Now.Location().String() != demoZone || s.Counted != nil {
		t.Errorf("from %s, now %s in %s, counted %d", s.From, s.Now, s.Now.Location(), len(s.Counted))
	}
	want := int64(0)
	seen := numbersOf(s)
	err := ReadLog(d.place, func(l *logbook.Log) error {
		return l.Entries(1, d.made.Entries, func(e *logbook.Entry) error {
			if !e.Entered.After(s.Now) {
				want++
			} else if seen[e.Number] {
				t.Errorf("entry %d was entered on %s", e.Number, e.Entered)
			}
			return nil
		})
	})
	if err != nil || s.Entries.Count != want || want == d.made.Entries {
		t.Errorf("%d entries, want %d of %d; %v", s.Entries.Count, want, d.made.Entries, err)
	}
}

func (d *demoShop) testAskedWrongly(t *testing.T) {
	for _, row := range []struct {
		ask  ReviewAsk
		want string
	}{
		{ReviewAsk{To: "2026-11-26"}, "still to come"},
		{ReviewAsk{To: "yesterday"}, "--to"},
		{ReviewAsk{From: "1.1.2026"}, "--from"},
		{ReviewAsk{From: "2026-10-02", To: "2026-10-01"}, "is after --to"},
		{ReviewAsk{To: "2025-06-01"}, "no entry by then"},
		{ReviewAsk{To: "2019-06-01"}, "choose a later date"},
		{ReviewAsk{Site: "Invented"}, demoSite},
		{ReviewAsk{Rules: 1}, "choose a later date"},
	} {
		_, err := Review(d.shop, d.place, row.ask)
		if x := new(ExitError); !errors.As(err, &x) || x.Code != ExitUsage || !strings.Contains(err.Error(), row.want) {
			t.Errorf("%+v: %v, want a usage error with %q", row.ask, err, row.want)
		}
	}
	if s := d.review(t, ReviewAsk{Site: demoSite}); s.Entries.Count != d.made.Entries || len(s.Counted) == 0 {
		t.Errorf("of its own site %d entries, %d counted", s.Entries.Count, len(s.Counted))
	}
}

// Determinations of the year count under the rules of a day before them.
func (d *demoShop) testOtherRules(t *testing.T) {
	x, err := Rejudge(d.shop, d.place, ReviewAsk{}, day(t, "2025-12-01"))
	if err != nil {
		t.Fatal(err)
	}
	single := int64(0)
	for i := range d.whole.Cells {
		if last := d.whole.Cells[i].Last(); last.Is == review.Here && last.Count == 0 {
			single++
		}
	}
	if single < 50 || x.Compared != single || len(x.Unread) != 0 || len(x.Rules) == 0 {
		t.Errorf("%d cells compared, %v not read, %d rules change", x.Compared, x.Unread, len(x.Rules))
	}
	for _, c := range x.Cells {
		for _, a := range c.Changes {
			if a.Answer == "handling" || a.Answer == "condition" {
				t.Errorf("%s: %+v", c.Tag, a)
			}
		}
	}
}

// copied copies the log with its files, so that it can be spoilt.
func (d *demoShop) copied(t *testing.T) *demoShop {
	t.Helper()
	x := *d
	x.place.Path = filepath.Join(t.TempDir(), "copy.db")
	if _, err := BackupLog(d.place, x.place.Path); err != nil {
		t.Fatal(err)
	}
	return &x
}

// A file that is gone is found by the review, which is of the log.
func (d *demoShop) testFileGone(t *testing.T) {
	x := d.copied(t)
	files := d.whole.Files
	if len(files) == 0 {
		t.Fatal("the demo has no files")
	}
	names, err := filepath.Glob(filepath.Join(logbook.FilesDir(x.place.Path), files[0].SHA256+".*"))
	if err != nil || len(names) != 1 {
		t.Fatal(names, err)
	}
	if err := os.Remove(names[0]); err != nil {
		t.Fatal(err)
	}
	for _, f := range x.review(t, ReviewAsk{}).Files {
		if gone := f.SHA256 == files[0].SHA256; gone != strings.Contains(f.Wrong, "is missing") || !gone && f.Wrong != "" {
			t.Errorf("entry %d: %q", f.Entry, f.Wrong)
		}
	}
}

// A log whose bytes were changed is reviewed only where that is asked for; entries that
// cannot be read are passed by and named.
func (d *demoShop) testDamage(t *testing.T) {
	for _, row := range []struct {
		name, from, to string
		unreadable     bool
	}{
		{"another person", `"who":"MK"`, `"who":"XY"`, false},
		{"no entry", `{"v":1,"n":1500,`, `{"x":1,"n":1500,`, true},
	} {
		x := d.copied(t)
		data, err := os.ReadFile(x.place.Path)
		if err != nil {
			t.Fatal(err)
		}
		spoilt := strings.Replace(string(data), row.from, row.to, 1)
		if spoilt == string(data) {
			t.Fatalf("%s: nothing was changed", row.name)
		}
		if err := os.WriteFile(x.place.Path, []byte(spoilt), 0o600); err != nil {
			t.Fatal(err)
		}
		_, err = Review(x.shop, x.place, ReviewAsk{})
		if e := new(ExitError); !errors.As(err, &e) || e.Code != ExitLog || !strings.Contains(err.Error(), "--despite-damage") {
			t.Errorf("%s: %v", row.name, err)
		}
		s := x.review(t, ReviewAsk{DespiteDamage: true})
		want := d.made.Entries
		if row.unreadable {
			want--
		}
		if !s.Verified || s.Entries.Count != want || !slices.ContainsFunc(s.Troubles, func(p review.Trouble) bool { return p.Entry > 0 && (!row.unreadable || p.Entry == 1500) }) {
			t.Errorf("%s: verified %v, %d entries, want %d; troubles %v", row.name, s.Verified, s.Entries.Count, want, s.Troubles)
		}
	}
}
