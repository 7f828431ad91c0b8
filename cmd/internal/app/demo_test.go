package app

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

func day(t *testing.T, text string) triage.Date {
	t.Helper()
	d, err := triage.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// The year holds each thing that a shop does, in a shop's proportions, and its
// log verifies against its own checkpoint.
func TestDemoYear(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "demo")
	on := day(t, "2026-11-25")
	made, err := Demo(dir, on)
	if err != nil {
		t.Fatal(err)
	}
	place := LogPlace{Path: filepath.Join(dir, demoLogName), Options: logbook.Options{Now: time.Now}}
	if r, err := VerifyLog(place, Held{Checkpoints: []string{filepath.Join(dir, demoCheckName)}}, Progress{}); err != nil {
		t.Errorf("%v: %+v", err, r)
	}
	kinds, subjects := map[string]int{}, map[string]int{}
	last, back := time.Time{}, 0
	err = ReadLog(place, func(l *logbook.Log) error {
		return l.Entries(1, made.Entries, func(e *logbook.Entry) error {
			kinds[e.Kind]++
			if e.Kind == "record" {
				var b struct {
					Subject string `json:"subject"`
				}
				if err := e.Body.Decode(&b); err != nil {
					return err
				}
				subjects[b.Subject]++
			}
			if e.Clock != "" {
				back++
			}
			last = e.Entered
			return nil
		})
	})
	if err != nil {
		t.Fatal(err)
	}
	for kind, least := range map[string]int{"assessment": 380, "recheck": 500, "secured": 350, "move": 400, "container": 40, "inspection": 150,
		"determination": 7, "correction": 1, "retraction": 2, "raise": 2, "split": 1, "merge": 1, "incident": 4, "shipment": 250} {
		if kinds[kind] < least {
			t.Errorf("%d entries of kind %s, want at least %d", kinds[kind], kind, least)
		}
	}
	for subject, least := range map[string]int{"log-key": 1, "tag-block": 1, "training": 6, "local-rule": 6, "emergency-number": 3, "instrument-check": 13, "attachment": 5} {
		if subjects[subject] < least {
			t.Errorf("%d records of subject %s, want at least %d", subjects[subject], subject, least)
		}
	}
	if back != 1 {
		t.Errorf("at %d entries the demo's clock stood back, want the one that is planted", back)
	}
	if last.Before(time.Date(2026, 11, 24, 12, 0, 0, 0, time.UTC)) || !last.Before(time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)) {
		t.Errorf("the last entry is of %s, want of the day before 2026-11-25 in Chicago", last)
	}
	if made.Cells < 380 || made.Cells > 420 || made.Stock < 60 || made.Stock > 95 {
		t.Errorf("%d cells, %d in stock: want about 400, and 60 to 95", made.Cells, made.Stock)
	}
	checkDemoStock(t, place, on)
	checkDemoShipments(t, place)
}

// checkDemoShipments looks for the four quarters, two shipments in each: one
// receipt was chased, one shipment was turned away first, one has no receipt yet.
func checkDemoShipments(t *testing.T, place LogPlace) {
	t.Helper()
	err := ReadLog(place, func(l *logbook.Log) error {
		list, err := Shipments(l, false)
		if err != nil {
			return err
		}
		var settled, chased, cells int
		for _, x := range list {
			s, err := ShowShipment(l, x.Tag)
			if err != nil {
				return err
			}
			cells += int(x.Cells)
			if x.Stage == stageSettled {
				settled++
			}
			if len(s.Differs) > 0 && s.Note != "" {
				chased++
			}
			for _, p := range s.Packs {
				if p.Level == "pg1" && p.Cells != 1 || !p.Closed {
					t.Errorf("package %s: %d cells in a %s packaging, closed %v", p.Tag, p.Cells, p.Level, p.Closed)
				}
			}
		}
		if len(list) != 8 || settled != 7 || chased != 1 || cells < 200 {
			t.Errorf("%d shipments of %d cells, %d settled, %d chased: want 8 of 200 and more, 7 and 1", len(list), cells, settled, chased)
		}
		entries, err := l.Size()
		if err != nil {
			return err
		}
		turnedAway := 0
		err = l.Entries(1, entries, func(e *logbook.Entry) error {
			if e.Kind != "shipment" {
				return nil
			}
			b, err := shipmentOf(e)
			if err == nil && b.Did == "refused" {
				turnedAway++
			}
			return err
		})
		if turnedAway != 1 {
			t.Errorf("%d shipments were turned away, want 1", turnedAway)
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}

// checkDemoStock looks for what the day has before it: classes, an old cell, a
// look due on the day, and one cell that was not made safe.
func checkDemoStock(t *testing.T, place LogPlace, on triage.Date) {
	t.Helper()
	err := ReadLog(place, func(l *logbook.Log) error {
		r, err := Stock(l, on, "class", "")
		if err != nil {
			return err
		}
		classes := map[string]int64{}
		for _, x := range r.Rows {
			classes[x.Handling] += x.Cells
		}
		if classes["emergency"] != 0 || classes["isolate"] < 8 || classes["retire"] < 25 || classes["hold"] < 20 {
			t.Errorf("stock by class: %v", classes)
		}
		if r.Total.Unsecured != 1 {
			t.Errorf("%d cells not secured, want the one that was forgotten", r.Total.Unsecured)
		}
		if oldest := day(t, r.Total.Oldest); on-oldest < 310 || on-oldest > 345 {
			t.Errorf("the oldest is of %s, %d days: want near eleven months", oldest, on-oldest)
		}
		shop, err := OpenShop(on.String(), filepath.Join(filepath.Dir(place.Path), houseName), time.Now())
		if err != nil {
			return err
		}
		zone, err := loadZone(demoZone)
		if err != nil {
			return err
		}
		rows, err := Due(shop, l, time.Date(2026, 11, 25, 8, 30, 0, 0, zone), 30)
		if err != nil {
			return err
		}
		due := map[string]int{}
		for _, x := range rows {
			due[x.What+" "+x.State]++
		}
		for _, want := range []string{"recheck due", "secured overdue", "emergency-number overdue", "local-rule overdue", "determination soon", "accumulation due", "training soon", "receipt overdue"} {
			if due[want] == 0 {
				t.Errorf("nothing is %s; there is %v", want, due)
			}
		}
		if due["recheck overdue"] > 4 {
			t.Errorf("%d looks are overdue: the people of the demo look after their cells", due["recheck overdue"])
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// A folder with something in it is left as it is.
func TestDemoRefusesWhatIsThere(t *testing.T) {
	dir := t.TempDir()
	mine := filepath.Join(dir, "mine.txt")
	if err := os.WriteFile(mine, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{dir, mine, ""} {
		if _, err := Demo(bad, day(t, "2026-11-25")); err == nil {
			t.Errorf("%q: no error", bad)
		}
	}
	if list, err := os.ReadDir(dir); err != nil || len(list) != 1 {
		t.Errorf("the folder now holds %v, %v", list, err)
	}
}

// When one file cannot take its name, none of the others keeps its own.
func TestDemoSettlesWholeOrNot(t *testing.T) {
	temp, dir := t.TempDir(), t.TempDir()
	for _, name := range []string{"a", "b", "c"} {
		if err := os.WriteFile(filepath.Join(temp, name), []byte(name), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "c"), []byte("came meanwhile"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := settleIn(temp, dir, true); err == nil {
		t.Error("c was there already: no error")
	}
	for _, name := range []string{"a", "b"} {
		if _, err := os.Lstat(filepath.Join(dir, name)); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("%s was left behind: %v", name, err)
		}
	}
	if data, err := os.ReadFile(filepath.Join(dir, "c")); err != nil || string(data) != "came meanwhile" {
		t.Errorf("c now reads %q, %v", data, err)
	}
}

// What happens on no day of the demo: nobody takes a cell in on a Sunday or a
// holiday.
func TestDemoCalendar(t *testing.T) {
	y, err := newDemoYear(day(t, "2026-11-25"))
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		day           string
		open, staffed bool
	}{
		{"2026-11-22", false, false}, // Sunday
		{"2026-11-23", true, true},
		{"2025-12-24", false, true}, // a Wednesday of the holidays
		{"2025-12-26", false, true},
		{"2026-01-01", false, true},
		{"2026-01-02", true, true},
		{"2026-06-22", false, true}, // stock is taken
		{"2026-06-23", false, true},
		{"2026-06-24", false, true},
		{"2026-06-25", true, true},
		{"2026-08-09", false, false}, // a Sunday of the holidays
		{"2026-08-10", false, true},
		{"2026-08-12", false, true},
		{"2026-08-15", true, true},
	} {
		d := day(t, row.day)
		if got := y.open(d); got != row.open {
			t.Errorf("%s: open %v, want %v", row.day, got, row.open)
		}
		if got := y.staffed(d); got != row.staffed {
			t.Errorf("%s: staffed %v, want %v", row.day, got, row.staffed)
		}
	}
}

// The invented parts are physically possible: 0.18 to 0.27 kWh/kg, as DESIGN's
// bounds have it, and a voltage from which the program reads the charge that it
// was made for.
func TestDemoParts(t *testing.T) {
	for i := range demoParts {
		p := &demoParts[i]
		wh := p.series * p.nominal * p.mah // millionths of a watt-hour
		if perKg := wh * 10 / p.grams10 / 1000; perKg < 180 || perKg > 270 {
			t.Errorf("%s: %d Wh/kg, want 180 to 270", p.number, perKg)
		}
		for pct := 15; pct <= 80; pct += 5 {
			c, ok := triage.ChargeInterval(triage.ChargeQuery{CellV: triage.Micro(p.millivolts(pct)) * 1000, Limit: triage.Micro(p.limit) * 1000, RestH: 3_000_000})
			if want := triage.Micro(pct) * triage.One; !ok || c.Pct.Lo > want || c.Pct.Hi < want {
				t.Errorf("%s at %d %%: %d mV reads as %+v", p.number, pct, p.millivolts(pct), c)
			}
		}
	}
}
