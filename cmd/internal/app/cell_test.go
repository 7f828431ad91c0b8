package app

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pouchward/logbook"
	"pouchward/triage"
)

// A desk is a log with a clock that a test moves.
type desk struct {
	*Recording
	shop *Shop
	time time.Time
	tags []string
}

func newDesk(t interface {
	Fatal(...any)
	Helper()
}, dir string) *desk {
	t.Helper()
	d := &desk{time: time.Date(2026, 11, 26, 9, 0, 0, 0, time.UTC)}
	p := LogPlace{Path: filepath.Join(dir, "log.db"), Options: logbook.Options{Now: func() time.Time { return d.time }}}
	l, _, err := logbook.Create(p.Path, "Back room", p.Options)
	if err != nil {
		t.Fatal(err)
	}
	d.Recording = &Recording{log: l, bench: "bench 1", now: p.Now}
	if d.shop, err = OpenShop("", "", d.time); err != nil {
		t.Fatal(err)
	}
	return d
}

// assess records an assessment of readings written as field=value.
func (d *desk) assess(given ...Given) (string, error) {
	a, err := d.Judge(d.shop, given)
	if err != nil {
		return "", err
	}
	_, err = d.Record(a)
	return a.Verdict.Tag, err
}

// drawn are values of readings for random sequences: bad news, good news, and
// what says nothing.
var drawn = map[string][]string{
	"signs": {"none", "swollen", "dented", "punctured", "smoking", "odour", "corroded", ""}, "rocks": {"yes", "no", ""}, "dented": {"yes", "no", "nr", ""},
	"recalled": {"yes", "no", ""}, "cell_c": {"22", "34", "61", ""}, "ambient_c": {"21"}, "ocv_v": {"3.80", "2.4", "1.9", "5.8", "4.28", "cannot", ""},
	"thickness_mm": {"4.0", "4.3", "4.6", ""}, "nominal_thickness_mm": {"4.0", ""}, "quiet_h": {"30", "2", ""}, "purpose": {"recycle", "return", ""},
	"chemistry": {"li-ion", ""}, "series": {"1"}, "measured_mah": {"2000", ""}, "rated_mah": {"3100", ""}, "nominal_v": {"3.85"}, "heated_min_ago": {"5", ""},
}

func drawGiven(t *rapid.T, most int) (given []Given) {
	names := rapid.SliceOfNDistinct(rapid.SampledFrom(keysOf(drawn)), 0, most, rapid.ID[string]).Draw(t, "fields")
	for _, n := range names {
		f, _ := triage.FieldByName(n)
		if v := rapid.SampledFrom(drawn[n]).Draw(t, n); v != "" {
			given = append(given, Given{f, v})
		}
	}
	return given
}

func keysOf(m map[string][]string) (keys []string) {
	for _, f := range triage.FieldNames() {
		if m[f] != nil {
			keys = append(keys, f)
		}
	}
	return keys
}

// step makes one random entry that is no determination, on one of the tags, and
// says what it was. Late entries and refused ones are among them.
func (d *desk) step(t *rapid.T, tag string) (what string, err error) {
	act := Act{Who: "MK"}
	if rapid.IntRange(0, 4).Draw(t, "late") == 0 {
		act.Happened = d.time.Add(-time.Duration(rapid.IntRange(1, 90).Draw(t, "hours late")) * time.Hour)
	}
	size, err := d.log.Size()
	if err != nil {
		return "", err
	}
	x := Change{Entry: rapid.Int64Range(2, max(2, size)).Draw(t, "entry"), Reason: "mistyped"}
	switch what = rapid.SampledFrom([]string{"assess", "assess", "recheck", "raise", "secure", "move", "correct", "correct", "retract", "retract", "merge", "split"}).Draw(t, "verb"); what {
	case "assess":
		d.Happened = act.Happened
		_, err = d.assess(append(drawGiven(t, 17), Given{triage.Tag, tag})...)
		d.Happened = time.Time{}
	case "recheck":
		_, err = d.Recheck(d.shop, act, tag, rapid.SampledFrom([]string{"same", "worse"}).Draw(t, "found"), drawGiven(t, 4))
	case "raise":
		_, err = d.Raise(d.shop, act, tag, rapid.SampledFrom([]triage.Handling{triage.Hold, triage.Isolate, triage.Emergency}).Draw(t, "to"), 0, "")
	case "secure":
		_, err = d.Secure(d.shop, act, tag, Secured(true, true, rapid.Bool().Draw(t, "fill")))
	case "move":
		_, err = d.Move(d.shop, act, Move{Tags: []string{tag}, To: "Y1", Because: "random"})
	case "correct":
		n := rapid.SampledFrom(keysOf(drawn)).Draw(t, "field")
		x.Field, x.New = n, rapid.SampledFrom(drawn[n]).Draw(t, "new")
		_, err = d.Correct(d.shop, act, x)
	case "retract":
		_, err = d.Retract(d.shop, act, x)
	case "merge":
		_, err = d.Merge(d.shop, act, tag, rapid.SampledFrom(d.tags).Draw(t, "other"), "")
	case "split":
		_, _, err = d.Split(d.shop, act, tag, "", "")
	}
	return what, err
}

// No sequence of entries without a determination betters a damaged cell; and
// nothing but a new assessment betters any.
func TestNothingButADeterminationBettersADamagedCell(t *testing.T) {
	dir := t.TempDir()
	runs, damaged, refused := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		runs++
		d := newDesk(t, mustMkdir(t, dir, runs))
		defer d.Close()
		for range 2 {
			tag, err := d.assess(drawGiven(t, 17)...)
			if err != nil {
				t.Fatal(err)
			}
			d.tags = append(d.tags, tag)
		}
		for range rapid.IntRange(1, 12).Draw(t, "steps") {
			before := map[string]*Cell{}
			for _, tag := range d.tags {
				before[tag] = d.cell(t, tag)
			}
			d.time = d.time.Add(time.Duration(rapid.IntRange(1, 1800).Draw(t, "minutes")) * time.Minute)
			what, err := d.step(t, rapid.SampledFrom(d.tags).Draw(t, "tag"))
			var exit *ExitError
			if errors.As(err, &exit) && exit.Code == ExitUsage {
				refused++
				continue
			}
			if err != nil {
				t.Fatalf("%s: %v", what, err)
			}
			for _, tag := range d.tags {
				damaged += d.notBetter(t, what, before[tag], d.cell(t, tag))
			}
		}
	})
	if damaged < runs/4 || runs < 20 {
		t.Errorf("only %d damaged looks in %d runs (%d refused): the test shows nothing", damaged, runs, refused)
	}
}

// notBetter compares a cell before and after an entry; it returns 1 when it was
// damaged before.
func (d *desk) notBetter(t *rapid.T, what string, before, after *Cell) int {
	h, _ := triage.HandlingByName(before.State.Handling)
	c, _ := triage.ConditionByName(before.State.Condition)
	nowH, _ := triage.HandlingByName(after.State.Handling)
	nowC, _ := triage.ConditionByName(after.State.Condition)
	told := fmt.Sprintf("%s: %s was %s, %s; is %s, %s", what, before.Tag, h, c, nowH, nowC)
	quietNow := len(after.looks) > 0 && c == triage.Reacting // a reacting cell that went quiet for 24 h is liable
	switch {
	case c >= triage.Damaged && (nowC < triage.Damaged || nowH < triage.Isolate):
		t.Fatalf("a damaged cell got better by %s", told)
	case c == triage.RecalledCell && nowC < c:
		t.Fatalf("a recall went away by %s", told)
	case c == triage.Reacting && nowC < c && !anyQuiet(after):
		t.Fatalf("a reacting cell got better without a quiet day by %s", told)
	case what != "assess" && !quietNow && (nowH < h || nowC < c):
		t.Fatalf("no new look, and better, by %s", told)
	}
	// What stands in the log is what the entries come to.
	v := after.judge(d.shop)
	if v.Handling != nowH || v.Condition != nowC {
		t.Fatalf("%s; judged anew it is %s, %s", told, v.Handling, v.Condition)
	}
	if c >= triage.Damaged {
		return 1
	}
	return 0
}

func anyQuiet(c *Cell) bool {
	for i := range c.looks {
		if saysQuiet(&c.looks[i].reading) {
			return true
		}
	}
	return false
}

func (d *desk) cell(t *rapid.T, tag string) *Cell {
	c, err := readCell(d.log, tag)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func mustMkdir(t *rapid.T, dir string, n int) string {
	name := filepath.Join(dir, fmt.Sprint(n))
	if err := os.Mkdir(name, 0o700); err != nil {
		t.Fatal(err)
	}
	return name
}

// A second voltage a day later is compared with the first, whatever looks lie
// between; a fall since the nearest look still shows.
func TestASecondVoltageADayLater(t *testing.T) {
	plain := func(v string) []Given {
		return typed(t, "signs=none recalled=no cell_c=22 ambient_c=21 series=1 chemistry=li-ion nominal_v=3.85 rest_h=72 ocv_v="+v)
	}
	for _, c := range []struct {
		name, first, between, last string
		want                       string
	}{
		{"steady", "2.700", "", "2.700", "retire"},
		{"steady, looked at between", "2.700", "2.700", "2.700", "retire"},
		{"no day between", "", "2.700", "2.700", "hold"},
		{"fell over the day", "2.800", "2.701", "2.700", "isolate"},
		{"fell since the nearest look", "2.702", "2.800", "2.700", "isolate"},
	} {
		d := newDesk(t, t.TempDir())
		tag := ""
		for _, look := range []struct {
			v     string
			after time.Duration
		}{{c.first, 0}, {c.between, 25 * time.Hour}, {c.last, 30 * time.Minute}} {
			d.time = d.time.Add(look.after)
			if look.v == "" {
				continue
			}
			given := plain(look.v)
			if tag != "" {
				given = append(given, Given{triage.Tag, tag})
			}
			var err error
			if tag, err = d.assess(given...); err != nil {
				t.Fatal(err)
			}
		}
		cell, err := readCell(d.log, tag)
		if err != nil || cell.State.Handling != c.want || cell.judge(d.shop).Handling.String() != c.want {
			t.Errorf("%s: %s, %v; want %s", c.name, cell.State.Handling, err, c.want)
		}
		d.Close()
	}
}

// Once quiet for a day a cell that reacted stays isolated at every look that
// finds it the same, and is an emergency again when it is reported to react.
func TestQuietStaysQuietWhileItIsTheSame(t *testing.T) {
	d := newDesk(t, t.TempDir())
	defer d.Close()
	tag, err := d.assess(typed(t, "signs=smoking fit=loose")...)
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range []struct {
		found string
		given []Given
		want  string
	}{
		{"same", typed(t, "cell_c=22 ambient_c=21"), "emergency"},
		{"same", typed(t, "cell_c=22 ambient_c=21 quiet_h=25"), "isolate"},
		{"same", typed(t, "cell_c=22 ambient_c=21"), "isolate"},
		{"same", nil, "isolate"},
		{"same", typed(t, "smoking=yes"), "emergency"},
	} {
		d.time = d.time.Add(25 * time.Hour)
		o, err := d.Recheck(d.shop, Act{Who: "MK"}, tag, step.found, step.given)
		if err != nil || o.Is.Handling != step.want {
			t.Errorf("%v: %s, %v; want %s", step.given, o.Is.Handling, err, step.want)
		}
	}
}

// A container that leaves the shop takes along what is in it.
func TestWhatIsInAContainerLeavesWithIt(t *testing.T) {
	d := newDesk(t, t.TempDir())
	defer d.Close()
	tag, err := d.assess(typed(t, "signs=none")...)
	if err != nil {
		t.Fatal(err)
	}
	box, err := d.AddContainer(d.shop, Act{}, Container{Kind: "bin", Place: "STORE"})
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range []Move{{Tags: []string{tag}, To: box.Tag}, {Tags: []string{box.Tag}, Out: "handed-over"}} {
		if _, err := d.Move(d.shop, Act{}, m); err != nil {
			t.Fatal(err)
		}
	}
	for _, tag := range []string{tag, box.Tag} {
		if h, ok, err := d.log.HeldAs(tag); ok || err != nil {
			t.Errorf("%s is still in the shop: %+v, %v", tag, h, err)
		}
	}
}
