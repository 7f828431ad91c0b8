package app

import (
	"bytes"
	"encoding/csv"
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

// A demoFolder is a demo on the morning of its day.
type demoFolder struct {
	dir   string
	on    triage.Date
	clock time.Time
	shop  *Shop
}

func openDemo(t *testing.T, dir, on string) *demoFolder {
	t.Helper()
	zone, err := loadZone(demoZone)
	if err != nil {
		t.Fatal(err)
	}
	d := &demoFolder{dir: dir, on: day(t, on)}
	d.clock = d.on.In(zone).Add(8*time.Hour + 30*time.Minute)
	if d.shop, err = OpenShop(on, filepath.Join(dir, houseName), d.clock); err != nil {
		t.Fatal(err)
	}
	return d
}

func (d *demoFolder) place() LogPlace {
	return LogPlace{Path: filepath.Join(d.dir, demoLogName), Options: logbook.Options{Now: func() time.Time { return d.clock }}}
}

// listed reads the list of what was planted: rule, subject, severity, state.
func (d *demoFolder) listed(t *testing.T) (list []string) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(d.dir, demoPlantsName))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(text, []byte("# INVENTED")) {
		t.Errorf("the list does not say first that it is invented: %.60q", text)
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma, r.Comment = '\t', '#'
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 2 || !slices.Equal(rows[0], []string{"rule", "subject", "severity", "state", "what"}) {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for _, row := range rows[1:] {
		if row[4] == "" {
			t.Errorf("%q does not say what was planted", row)
		}
		list = append(list, strings.Join(row[:4], " | "))
	}
	slices.Sort(list)
	return list
}

func foundIn(r *review.Report) (list []string) {
	for i := range r.Findings {
		list = append(list, lineOf(&r.Findings[i]))
	}
	slices.Sort(list)
	return list
}

// lineOf is a finding as the list of what was planted has it.
func lineOf(f *review.Finding) string {
	state := plantPast
	if f.Open() {
		state = plantOpen
	}
	return strings.Join([]string{f.Check.ID, f.Subject, f.Check.Severity, state}, " | ")
}

// missing are the lines of one list that the other lacks.
func missing(from, in []string) (list []string) {
	for _, x := range from {
		if !slices.Contains(in, x) {
			list = append(list, x)
		}
	}
	return list
}

func compareFound(t *testing.T, when string, r *review.Report, want []string) {
	t.Helper()
	got := foundIn(r)
	if m := missing(want, got); len(m) > 0 {
		t.Errorf("%s: planted and not found:\n%s", when, strings.Join(m, "\n"))
	}
	for i := range r.Findings {
		if f := &r.Findings[i]; !slices.Contains(want, lineOf(f)) {
			t.Errorf("%s: found and not planted: %s, entries %v: %s", when, lineOf(f), f.Entries, f.Text)
		}
	}
	if len(got) != len(want) {
		t.Errorf("%s: %d findings, %d planted", when, len(got), len(want))
	}
}

// A review of the demo finds what was planted, each as severe as its record, open or
// past as it was planted, and nothing besides: at the end of its last evening, on the
// morning of its day, and at the end of that day. Of each check that can be planted
// there is one, whatever the day: POUCHWARD_DEMO_DAYS names others.
func TestDemoReviewFindsWhatWasPlanted(t *testing.T) {
	days := []string{"2026-11-25", "2026-06-30", "2027-03-01"}
	if more := strings.Fields(os.Getenv("POUCHWARD_DEMO_DAYS")); len(more) > 0 {
		days = more
	}
	for _, on := range days {
		t.Run(on, func(t *testing.T) {
			t.Parallel()
			dir := filepath.Join(t.TempDir(), "demo")
			if _, err := Demo(dir, day(t, on)); err != nil {
				t.Fatal(err)
			}
			d := openDemo(t, dir, on)
			want := d.listed(t)
			d.checkKinds(t, want)
			d.atMoments(t, want)
			if on == days[0] {
				t.Run("page", d.page)
				t.Run("a file gone", func(t *testing.T) { d.fileGone(t, want) })
				t.Run("damaged", d.flipped)
			}
		})
	}
}

func (d *demoFolder) atMoments(t *testing.T, want []string) {
	morning, on := d.clock, d.on.String()
	for _, x := range []struct {
		when, to string
		clock    time.Time
	}{
		{"the last evening", (d.on - 1).String(), morning},
		{"the morning", on, morning},
		{"the end of the day", on, morning.AddDate(0, 0, 2)},
	} {
		d.clock = x.clock
		r, err := Review(d.shop, d.place(), ReviewAsk{To: x.to})
		if err != nil {
			t.Fatal(err)
		}
		compareFound(t, x.when, r, want)
	}
	d.clock = morning
}

// checkKinds holds what was planted against the checks: each once, or left out with a
// reason.
func (d *demoFolder) checkKinds(t *testing.T, planted []string) {
	t.Helper()
	count := map[string]int{}
	for _, p := range planted {
		id, _, _ := strings.Cut(p, " | ")
		count[id]++
	}
	for _, x := range demoUnplanted {
		if x.why == "" || count[x.check] != 0 {
			t.Errorf("%s is left out for %q, and planted %d times", x.check, x.why, count[x.check])
		}
		count[x.check] = 1
	}
	count["review-rules-old"] = 1 // as many as texts have ended
	for _, c := range d.shop.Rulebook.Checks() {
		if c.Unseen == "" && count[c.ID] != 1 {
			t.Errorf("%s is planted %d times", c.ID, count[c.ID])
		}
	}
}
