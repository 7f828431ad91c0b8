package app

import (
	"bytes"
	"errors"
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

// reviewed reviews the log of a desk at its clock.
func (d *desk) reviewed(t *testing.T, ask ReviewAsk) *review.Report {
	t.Helper()
	r, err := Review(d.shop, d.place(), ask)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func (d *desk) place() LogPlace {
	return LogPlace{Path: d.log.Path(), Options: logbook.Options{Now: func() time.Time { return d.time }}}
}

func (d *desk) at(t *testing.T, day string) {
	t.Helper()
	on, err := triage.ParseDate(day)
	if err != nil {
		t.Fatal(err)
	}
	d.time = time.Unix(int64(on)*86400+9*3600, 0).UTC()
	if d.shop, err = OpenShop(day, "", d.time); err != nil {
		t.Fatal(err)
	}
}

func (d *desk) box(t *testing.T) string {
	t.Helper()
	o, err := d.AddContainer(d.shop, Act{Who: "MK"}, Container{Kind: "tin", Material: "steel", VolumeL: "2.5", Lid: "vented", Place: "Yard"})
	d.did(t, err)
	return o.Tag
}

// A look is as written, the correction a step of its own; a tag that nobody issued is
// told, and so is what was entered late.
func TestSnapshotKeepsWhatWasWritten(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, triage.IssueTag(triage.CellTag, 77), "ocv_v=3.8")
	_, err := d.Correct(d.shop, Act{Who: "MK"}, Change{Entry: 2, Field: "ocv_v", New: "3.9", Reason: "misread"})
	d.did(t, err)
	_, err = d.Secure(d.shop, Act{Who: "LS", Happened: d.time.Add(-30 * time.Hour)}, tag, Secured(true, true, true))
	d.did(t, err)
	s := d.reviewed(t, ReviewAsk{}).Snapshot
	if len(s.Cells) != 1 || len(s.Cells[0].Steps) != 3 {
		t.Fatalf("cells %+v", s.Cells)
	}
	x := s.Cells[0].Steps
	if v := x[0].Look.Get(triage.OcvV); v.State != triage.Known || v.Num != 3_800_000 {
		t.Errorf("the look reads %+v, want 3.8 V as written", v)
	}
	if c := x[1].Correction; c == nil || c.Of != 2 || c.Field != "ocv_v" || c.Old != "3.8" || c.New != "3.9" {
		t.Errorf("the correction is %+v", c)
	}
	if x[2].Secured == nil || !x[2].Secured.Fill || x[2].Happened.After(x[0].Happened) || !x[2].Now.MadeSafe {
		t.Errorf("the last step is %+v", x[2])
	}
	if len(s.Unissued) != 1 || s.Unissued[0].Tag != tag || s.Unissued[0].Entry != 2 {
		t.Errorf("tags that nobody issued: %+v", s.Unissued)
	}
	if len(s.Entries.Late) != 1 || s.Entries.Late[0].Entry != 4 || s.Entries.Corrections != 1 {
		t.Errorf("numbers %+v", s.Entries)
	}
	if got := []string{s.People[0].Name, s.People[1].Name}; !slices.Equal(got, []string{"LS", "MK"}) || s.People[1].First.Entry != 3 {
		t.Errorf("people %+v", s.People)
	}
}

// A lot is a cell under the tag of its container, until none is left in it.
func TestSnapshotOfALot(t *testing.T) {
	d := onDesk(t)
	o, err := d.Lot(d.shop, Act{Who: "MK"}, Container{Kind: "bin", Place: "Shelf", Lot: &Lot{Count: 12, MassG: "500"}})
	d.did(t, err)
	s := d.reviewed(t, ReviewAsk{}).Snapshot
	if len(s.Cells) != 1 {
		t.Fatalf("cells %+v", s.Cells)
	}
	if x := s.Cells[0].Last(); x.Cells() != 12 || x.In != o.Tag || x.Place != "" || x.Handling != triage.Hold || x.MilliGram != 500_000 {
		t.Errorf("the lot is %+v", x)
	}
	if want := (review.Counted{Key: o.Tag, Place: "Shelf", Cells: 12, MilliGram: 500_000}); len(s.Counted) != 1 || s.Counted[0] != want {
		t.Errorf("counted %+v, want %+v", s.Counted, want)
	}
	_, err = d.Lot(d.shop, Act{Who: "MK"}, Container{Tag: o.Tag, Kind: "bin", Lot: &Lot{}})
	d.did(t, err)
	s = d.reviewed(t, ReviewAsk{}).Snapshot
	if x := s.Cells[0].Last(); x.Is != review.Nowhere || x.Cells() != 0 || s.Containers[0].Steps[1].Is != review.Here || len(s.Counted) != 0 || s.Counted == nil {
		t.Errorf("with none left: %+v, container %+v, counted %+v", x, s.Containers[0].Steps, s.Counted)
	}
}

// What this program does not know is taken for the worst there is, and said.
func TestUnknownWordsAreTheWorst(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "ocv_v=3.8")
	body, err := logbook.ParseBody([]byte(`{"terminals":true,"bag":true,"fill":true}`))
	if err != nil {
		t.Fatal(err)
	}
	_, err = d.log.Append(logbook.Draft{Kind: "secured", Tags: []string{tag}, Body: body,
		Now: []logbook.State{{Tag: tag, Is: logbook.Here, Handling: "mild", Condition: "fine", Size: "small", Waste: "whole", Start: "soon"}}})
	n := d.did(t, err)
	s := d.reviewed(t, ReviewAsk{}).Snapshot
	x := s.Cells[0].Last()
	if x.Handling != triage.Emergency || x.Condition != triage.Reacting || x.Waste != triage.CasingBreached || x.Start == 0 || x.Start > triage.Date(2) {
		t.Errorf("got %+v", x)
	}
	if len(s.Troubles) != 1 || s.Troubles[0].Entry != n {
		t.Errorf("troubles %+v, want one of entry %d", s.Troubles, n)
	}
}

// With the clock far ahead an entry is made; when it is put right, the entry still counts
// and is no step of the future.
func TestAClockAhead(t *testing.T) {
	d := onDesk(t)
	now := d.time
	d.time = now.AddDate(3, 0, 0)
	tag := d.look(t, "", "thickness_mm=5 nominal_thickness_mm=4")
	d.time = now
	_, err := d.Secure(d.shop, Act{Who: "LS"}, tag, Secured(true, true, true))
	d.did(t, err)
	s := d.reviewed(t, ReviewAsk{}).Snapshot
	if len(s.Cells) != 1 || len(s.Cells[0].Steps) != 2 || s.Cells[0].Steps[0].Happened.After(s.Now) || s.Cells[0].Last().Handling != triage.Isolate || len(s.Entries.ClockBack) != 1 {
		t.Errorf("got %+v, clock back %+v", s.Cells, s.Entries.ClockBack)
	}
}

// The words of the row of testdata/demo/intake.csv whose way by air changes with the year
// (compare.txtar): a tested cell packed with its phone.
const inFlight = "kind=pouch fit=packed-with chemistry=li-ion series=1 parallel=1 nominal_v=3.85 charge_limit_v=4.40 rated_mah=4500 ocv_v=3.86 rest_h=2 rocks=no " +
	"thickness_mm=4.9 nominal_thickness_mm=4.9 mass_g=75 purpose=reuse type_tested=yes"

// A cell that was judged by the rules of one year stands there in the next.
func TestRulesThatChange(t *testing.T) {
	d := onDesk(t)
	d.at(t, "2025-12-30")
	p := d.place()
	p.Path += "2"
	var err error
	d.log.Close()
	if d.log, _, err = logbook.Create(p.Path, "Back room", p.Options); err != nil {
		t.Fatal(err)
	}
	tag := d.look(t, "", inFlight)
	lowered := d.look(t, "", "ocv_v=3.8")
	_, err = d.Raise(d.shop, Act{Who: "MK"}, lowered, triage.Isolate, 0, "it looked odd")
	d.did(t, err)
	d.determine(t, lowered, Ruling{Lower: []string{"raise"}, Until: "2026-02-10"})
	check := func(when string, got []triage.AnswerChange) {
		t.Helper()
		if i := slices.IndexFunc(got, func(a triage.AnswerChange) bool {
			return a.Answer == "air-passenger" && strings.HasSuffix(a.From, "(air-966-ii-2025)")
		}); i < 0 || slices.ContainsFunc(got, func(a triage.AnswerChange) bool { return a.Answer == "handling" }) {
			t.Errorf("%s: %+v", when, got)
		}
	}
	if s := d.reviewed(t, ReviewAsk{}).Snapshot; len(s.Changed) != 0 {
		t.Errorf("on the day itself: %+v", s.Changed)
	}
	x, err := Rejudge(d.shop, d.place(), ReviewAsk{}, triage.DateOf(d.time)+10)
	if err != nil || x.Compared != 2 || len(x.Cells) != 1 || x.Cells[0].Tag != tag || x.Cells[0].Entry != 2 {
		t.Fatalf("judged anew: %+v, %v", x, err)
	}
	check("by the rules of ten days later", x.Cells[0].Changes)

	d.at(t, "2026-02-01")
	s := d.reviewed(t, ReviewAsk{}).Snapshot
	if len(s.Changed) != 1 || s.Changed[0].Tag != tag || s.Changed[0].Entry != 2 {
		t.Fatalf("five weeks later: %+v", s.Changed)
	}
	check("five weeks later", s.Changed[0].Changes)
	// The determination lapses on the way: that is time, not the rules.
	d.at(t, "2026-03-01")
	if s := d.reviewed(t, ReviewAsk{}).Snapshot; len(s.Changed) != 1 || s.Changed[0].Tag != tag {
		t.Errorf("after the determination has lapsed: %+v", s.Changed)
	}
	// Back then nothing had changed yet, by what was there then.
	if s := d.reviewed(t, ReviewAsk{To: "2025-12-31"}).Snapshot; len(s.Changed) != 0 || s.Cells[0].Last().Is != review.Here {
		t.Errorf("at the end of the year: %+v", s.Changed)
	}
}

// A state that no rules at hand explain was said by others: those of another release.
func TestStatesOfOtherRules(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "ocv_v=3.8")
	body, err := logbook.ParseBody([]byte(`{"terminals":true,"bag":true,"fill":true}`))
	if err != nil {
		t.Fatal(err)
	}
	now := d.cellState(t, tag)
	now.Size = "medium"
	_, err = d.log.Append(logbook.Draft{Kind: "secured", Rulebook: "of another release", Tags: []string{tag}, Body: body, Now: []logbook.State{now}})
	n := d.did(t, err)
	s := d.reviewed(t, ReviewAsk{}).Snapshot
	if len(s.Changed) != 1 || s.Changed[0].Entry != n || len(s.Changed[0].Changes) != 1 || s.Changed[0].Changes[0].Answer != "size" || s.Changed[0].Changes[0].From != "medium" {
		t.Errorf("got %+v", s.Changed)
	}
}

func (d *desk) cellState(t *testing.T, tag string) logbook.State {
	t.Helper()
	c, err := readCell(d.log, tag)
	if err != nil {
		t.Fatal(err)
	}
	return c.State
}

// A finding is signed off as it stands; what comes later it does not answer.
func TestSignOff(t *testing.T) {
	d := onDesk(t)
	box := d.box(t)
	bad := d.look(t, "", "thickness_mm=5 nominal_thickness_mm=4")
	sound := d.look(t, "", "ocv_v=3.8")
	for _, tag := range []string{bad, sound} {
		_, err := d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{tag}, To: box, Because: "no other tin at hand"})
		d.did(t, err)
	}
	const check = "review-damaged-among-others"
	size, err := d.log.Size()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		act  Act
		x    SignOff
		want string
	}{
		{Act{}, SignOff{Check: check, Subject: bad, Reason: "moved"}, "--who"},
		{Act{Who: "nobody"}, SignOff{Check: check, Subject: bad, Reason: "moved"}, "names none"},
		{Act{Who: "MK"}, SignOff{Check: check, Subject: bad, Reason: " "}, "--reason"},
		{Act{Who: "MK"}, SignOff{Check: check, Subject: sound, Reason: "moved"}, check + " " + bad},
		{Act{Who: "MK"}, SignOff{Check: "review-damaged-among-other", Subject: bad, Reason: "moved"}, check + " " + bad},
		{Act{Who: "MK"}, SignOff{Check: check, Subject: bad, Reason: "moved", Until: "2026-11-25"}, "is over"},
		{Act{Who: "MK"}, SignOff{Check: check, Subject: bad, Reason: strings.Repeat("x", 2000)}, "longer than"},
	} {
		_, err := d.SignOff(d.shop, row.act, row.x)
		if x := new(ExitError); !errors.As(err, &x) || x.Code != ExitUsage || !strings.Contains(err.Error(), row.want) {
			t.Errorf("%+v: %v, want a usage error with %q", row.x, err, row.want)
		}
	}
	if after, err := d.log.Size(); err != nil || after != size {
		t.Fatalf("a refused sign-off left %d entries, want %d, %v", after, size, err)
	}
	out, err := d.SignOff(d.shop, Act{Who: "LS"}, SignOff{Check: check, Subject: triage.SpacedTag(bad), Reason: "parted at once", Until: "2027-01-31"})
	n := d.did(t, err)
	if out.Receipt.Number != n || len(out.Finding.Entries) == 0 {
		t.Errorf("signed %+v", out)
	}
	signed := func() *review.Finding {
		t.Helper()
		f, err := findingOf(d.reviewed(t, ReviewAsk{}), check, bad)
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	if f := signed(); f.Signed == nil || f.Signed.Entry != n || f.Signed.Reason != "parted at once" || f.Signed.Until.String() != "2027-01-31" || f.Presses() {
		t.Errorf("after it was signed off: %+v", f)
	}
	third := d.look(t, "", "ocv_v=3.8")
	_, err = d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{third}, To: box, Because: "again"})
	d.did(t, err)
	if f := signed(); f.Signed != nil || f.Stale == nil {
		t.Errorf("after another cell came in: signed %+v, stale %+v", f.Signed, f.Stale)
	}
	r, err := logbook.Verify(d.log.Path(), logbook.VerifyOptions{})
	if err != nil || !r.Verified() {
		t.Errorf("the log with a sign-off: %+v, %v", r, err)
	}
}

// One site of a log of two.
func TestReviewOfOneSite(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "ocv_v=3.8")
	other := triage.IssueTag(triage.CellTag, 99)
	s := d.cellState(t, tag)
	s.Tag = other
	body, err := logbook.ParseBody([]byte(`{"terminals":true,"bag":true,"fill":true}`))
	if err != nil {
		t.Fatal(err)
	}
	_, err = d.log.Append(logbook.Draft{Kind: "secured", Site: "Front room", Tags: []string{other}, Body: body, Now: []logbook.State{s}})
	d.did(t, err)
	for site, want := range map[string]string{"Back room": tag, "Front room": other} {
		x := d.reviewed(t, ReviewAsk{Site: site}).Snapshot
		if len(x.Cells) != 1 || x.Cells[0].Tag != want || x.Counted != nil || x.Site != site {
			t.Errorf("%s: %+v, counted %v", site, x.Cells, x.Counted)
		}
	}
	if x := d.reviewed(t, ReviewAsk{}).Snapshot; len(x.Cells) != 2 || len(x.Counted) != 1 || x.Site != "Back room" {
		t.Errorf("of both: %d cells, counted %+v", len(x.Cells), x.Counted)
	}
}

// Each page of a log in turn is overwritten: what is left is reviewed, or the error is
// one of a log; never is a damaged log taken for a whole one.
func TestReviewOfDamagedPages(t *testing.T) {
	d := onDesk(t)
	box := d.box(t)
	for range 30 {
		tag := d.look(t, "", "thickness_mm=5 nominal_thickness_mm=4")
		_, err := d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{tag}, To: box, Because: "no other tin at hand"})
		d.did(t, err)
	}
	whole := d.reviewed(t, ReviewAsk{}).Snapshot.Entries.Count
	d.log.Close()
	data, err := os.ReadFile(d.log.Path())
	if err != nil {
		t.Fatal(err)
	}
	const page = 4096
	read, short := 0, 0
	p := d.place()
	for at := page; at < len(data); at += page {
		p.Path = filepath.Join(t.TempDir(), "bad.db")
		bad := slices.Clone(data)
		for i := range page {
			bad[at+i] = byte(i * 7)
		}
		if err := os.WriteFile(p.Path, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		r, err := Review(d.shop, p, ReviewAsk{DespiteDamage: true})
		if err != nil {
			continue
		}
		read++
		s := r.Snapshot
		if s.Entries.Count < whole {
			short++
		}
		if len(s.Troubles) == 0 && !bytes.Equal(bad, data) {
			t.Errorf("page %d: %d of %d entries were read, and no trouble is told", at/page, s.Entries.Count, whole)
		}
	}
	if read == 0 || short == 0 {
		t.Errorf("of %d pages %d left a log to review, %d with fewer entries: this shows little", len(data)/page, read, short)
	}
}
