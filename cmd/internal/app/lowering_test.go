package app

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

// Ways in which a cell could have come to a better class than two people gave it:
// each is a promise, shown by the entries that would break it.

// look records an assessment of clean readings with some in their place, and
// returns the tag.
func (d *desk) look(t *testing.T, tag, words string) string {
	t.Helper()
	given := typed(t, words)
	for _, g := range typed(t, cleanLook) {
		if !wasGiven(given, g.Field) {
			given = append(given, g)
		}
	}
	if tag != "" {
		given = append(given, Given{triage.Tag, tag})
	}
	tag, err := d.assess(given...)
	if err != nil {
		t.Fatal(err)
	}
	d.wait(time.Minute)
	return tag
}

func (d *desk) wait(x time.Duration) { d.time = d.time.Add(x) }

// did fails the test on an error, moves the clock and returns the number of the
// last entry.
func (d *desk) did(t *testing.T, err error) int64 {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	d.wait(time.Minute)
	n, err := d.log.Size()
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// is returns what holds of a cell by its last entry.
func (d *desk) is(t *testing.T, tag string) (triage.Handling, triage.ConditionClass) {
	t.Helper()
	c, err := readCell(d.log, tag)
	if err != nil {
		t.Fatal(err)
	}
	h, _ := triage.HandlingByName(c.State.Handling)
	cond, _ := triage.ConditionByName(c.State.Condition)
	return h, cond
}

// least fails the test where a cell is better than it must be.
func (d *desk) least(t *testing.T, tag, when string, h triage.Handling, cond triage.ConditionClass) {
	t.Helper()
	if gotH, gotC := d.is(t, tag); gotH < h || gotC < cond {
		t.Errorf("%s: %s, %s; want %s, %s or worse", when, gotH, gotC, h, cond)
	}
}

func (d *desk) determine(t *testing.T, tag string, x Ruling) int64 {
	t.Helper()
	x.Criteria, x.Reason = "c", "as seen under the lens"
	if x.Second == "" {
		x.Second = "LS"
	}
	_, err := d.Determine(d.shop, Act{Who: "MK"}, tag, x)
	return d.did(t, err)
}

func onDesk(t *testing.T) *desk {
	t.Helper()
	d := newDesk(t, t.TempDir())
	t.Cleanup(func() { d.Close() })
	return d
}

// A cell that was put up a moment ago was not quiet for a day, whatever a look
// says of it.
func TestQuietCannotBeLongerThanSinceTheReaction(t *testing.T) {
	for _, row := range []struct {
		name  string
		after time.Duration // of the look, from the raise
	}{{"ten minutes later", 10 * time.Minute}, {"a look of before it, entered late", -time.Hour}} {
		d := onDesk(t)
		tag := d.look(t, "", "ocv_v=3.8")
		_, err := d.Raise(d.shop, Act{Who: "MK"}, tag, triage.Emergency, 0, "it hissed")
		raised := d.time
		d.did(t, err)
		act := Act{Who: "MK", Happened: raised.Add(row.after)}
		if row.after > 0 {
			d.time, act.Happened = act.Happened, time.Time{}
		}
		_, err = d.Recheck(d.shop, act, tag, "same", typed(t, "quiet_h=30 cell_c=21 ambient_c=21"))
		d.did(t, err)
		d.least(t, tag, row.name, triage.Emergency, triage.Reacting)
	}
}

// Two people who judged a dent did not judge the voltage: taking back the look
// that read it needs two more.
func TestADeterminationOfOneThingLeavesTheFloorOfAnother(t *testing.T) {
	for _, verb := range []string{"retract", "correct"} {
		d := onDesk(t)
		tag := d.look(t, "", "ocv_v=3.8")
		d.look(t, tag, "signs=dented")
		d.look(t, tag, "ocv_v=2.4")
		low, err := d.log.Size()
		if err != nil {
			t.Fatal(err)
		}
		d.determine(t, tag, Ruling{Lower: []string{"dented"}})
		d.least(t, tag, "after the determination", triage.Isolate, triage.Undetermined)
		x := Change{Entry: low, Reason: "mistyped", Field: "ocv_v", New: "3.8"}
		if verb == "retract" {
			_, err = d.Retract(d.shop, Act{Who: "MK"}, x)
		} else {
			_, err = d.Correct(d.shop, Act{Who: "MK"}, x)
		}
		d.did(t, err)
		d.least(t, tag, verb, triage.Isolate, triage.Undetermined)
	}
}

// A look entered late is not the last word on the cell: retracting the one that
// is keeps what it found.
func TestALateLookDoesNotTakeTheFloorAway(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "ocv_v=2.4")
	low, err := d.log.Size()
	if err != nil {
		t.Fatal(err)
	}
	d.Happened = d.time.Add(-5 * time.Hour)
	d.look(t, tag, "ocv_v=3.8")
	d.Happened = time.Time{}
	d.least(t, tag, "after the late look", triage.Isolate, triage.Undetermined)
	_, err = d.Retract(d.shop, Act{Who: "MK"}, Change{Entry: low, Reason: "mistyped"})
	d.did(t, err)
	d.least(t, tag, "retracted by one hand", triage.Isolate, triage.Undetermined)
}

// A row of a sheet that is recorded late says no more of the cell now than a
// late assessment does.
func TestALateSheetLeavesTheLaterLook(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "ocv_v=2.4")
	d.Happened = d.time.Add(-5 * time.Hour)
	var head, row []string
	for _, g := range typed(t, cleanLook+" tag="+tag) {
		head, row = append(head, triage.Fields[g.Field].Name), append(row, g.Text)
	}
	sheet := strings.Join(head, ",") + "\n" + strings.Join(row, ",") + "\n"
	_, err := Sort(SortOptions{Files: []string{"-"}, Stdin: strings.NewReader(sheet), Shop: d.shop, Format: "csv", Out: &bytes.Buffer{}, Record: d.Recording})
	d.did(t, err)
	d.least(t, tag, "sort --record --happened", triage.Isolate, triage.Undetermined)
}

// What two people lowered until a day is not fitted into a device after it.
func TestALapsedDeterminationIsReadByAMove(t *testing.T) {
	lapsed := func(t *testing.T) (*desk, string) {
		d := onDesk(t)
		tag := d.look(t, "", "signs=dented")
		d.determine(t, tag, Ruling{Lower: []string{"dented"}, Until: "2026-11-26"})
		d.least(t, tag, "lowered", triage.Sound, triage.Undamaged)
		if h, _ := d.is(t, tag); h != triage.Sound {
			t.Fatalf("the determination left it at %s", h)
		}
		d.wait(48 * time.Hour)
		var err error
		if d.shop, err = OpenShop("", "", d.time); err != nil {
			t.Fatal(err)
		}
		return d, tag
	}
	t.Run("out", func(t *testing.T) {
		d, tag := lapsed(t)
		if _, err := d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{tag}, Out: "reused"}); err == nil {
			t.Error("a cell whose determination lapsed was let out for reuse without a word")
		}
	})
	t.Run("beside others", func(t *testing.T) {
		d, tag := lapsed(t)
		o, err := d.AddContainer(d.shop, Act{Who: "MK"}, Container{Kind: "tin", Place: "Y1"})
		d.did(t, err)
		_, err = d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{tag}, To: o.Tag, Because: "x"})
		d.did(t, err)
		other := d.look(t, "", "ocv_v=3.8")
		if _, err := d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{other}, To: o.Tag}); err == nil {
			t.Error("a cell went beside one that is isolated")
		}
	})
	t.Run("no move between", func(t *testing.T) {
		d := onDesk(t)
		tag := d.look(t, "", "signs=dented")
		d.determine(t, tag, Ruling{Lower: []string{"dented"}, Until: "2026-11-26"})
		o, err := d.AddContainer(d.shop, Act{Who: "MK"}, Container{Kind: "tin", Place: "Y1"})
		d.did(t, err)
		_, err = d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{tag}, To: o.Tag})
		d.did(t, err)
		other := d.look(t, "", "ocv_v=3.8")
		d.wait(48 * time.Hour)
		if d.shop, err = OpenShop("", "", d.time); err != nil {
			t.Fatal(err)
		}
		if _, err := d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{other}, To: o.Tag}); err == nil {
			t.Error("a cell went beside one whose determination lapsed")
		}
	})
}

// A cell whose determination lapsed owes the fill that an isolated one owes.
func TestALapsedDeterminationOwesTheFill(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "signs=dented")
	d.determine(t, tag, Ruling{Lower: []string{"dented"}, Until: "2026-11-26"})
	_, err := d.Secure(d.shop, Act{Who: "MK"}, tag, Secured(true, true, false))
	d.did(t, err)
	d.wait(48 * time.Hour)
	rows, err := Due(d.shop, d.log, d.time, 1)
	if err != nil {
		t.Fatal(err)
	}
	owed := false
	for _, x := range rows {
		owed = owed || x.What == "secured" && x.Tag == tag
	}
	if !owed {
		t.Error("isolated again, without fill, and nothing is owed")
	}
}

// A look that was found worse after a determination lapsed is not lowered by
// deciding once more on what was lowered before.
func TestFoundWorseAfterALapseStands(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "signs=dented")
	d.determine(t, tag, Ruling{Lower: []string{"dented"}, Until: "2026-11-26"})
	d.wait(48 * time.Hour)
	var err error
	if d.shop, err = OpenShop("", "", d.time); err != nil {
		t.Fatal(err)
	}
	_, err = d.Recheck(d.shop, Act{Who: "MK"}, tag, "worse", nil)
	d.did(t, err)
	d.determine(t, tag, Ruling{Lower: []string{"dented"}})
	d.least(t, tag, "found worse", triage.Isolate, triage.Damaged)
}

// What is in a container leaves with it: the container is not let out where the
// cell would not be.
func TestAContainerIsMovedWithWhatIsInIt(t *testing.T) {
	for _, row := range []struct {
		name string
		put  func(t *testing.T, d *desk, box string)
	}{
		{"an isolated cell", func(t *testing.T, d *desk, box string) {
			tag := d.look(t, "", "signs=swollen")
			_, err := d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{tag}, To: box})
			d.did(t, err)
		}},
		{"an emergency", func(t *testing.T, d *desk, box string) {
			tag := d.look(t, "", "ocv_v=3.8")
			_, err := d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{tag}, To: box})
			d.did(t, err)
			_, err = d.Raise(d.shop, Act{Who: "MK"}, tag, triage.Emergency, 0, "")
			d.did(t, err)
		}},
		{"a lot", func(t *testing.T, d *desk, box string) {
			_, err := d.Lot(d.shop, Act{Who: "MK"}, Container{Tag: box, Lot: &Lot{Count: 10}})
			d.did(t, err)
		}},
	} {
		t.Run(row.name, func(t *testing.T) {
			d := onDesk(t)
			o, err := d.AddContainer(d.shop, Act{Who: "MK"}, Container{Kind: "tin", Place: "Y1"})
			d.did(t, err)
			row.put(t, d, o.Tag)
			if _, err := d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{o.Tag}, Out: "reused"}); err == nil {
				t.Error("the container left for reuse without a word")
			}
		})
	}
}

// Cells that left in a container are not in the shop.
func TestWhatLeftInAContainerIsOut(t *testing.T) {
	d := onDesk(t)
	o, err := d.AddContainer(d.shop, Act{Who: "MK"}, Container{Kind: "tin", Place: "Y1"})
	d.did(t, err)
	tag := d.look(t, "", "ocv_v=3.8")
	_, err = d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{tag}, To: o.Tag})
	d.did(t, err)
	_, err = d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{o.Tag}, Out: "handed-over"})
	d.did(t, err)
	if h, ok, err := d.log.HeldAs(tag); ok || err != nil {
		t.Errorf("still here: in %q at %q (%v)", h.In, h.Place, err)
	}
}

// A lot that reacted is not counted quiet: neither by way of none, nor of out.
func TestALotThatReactedIsNotCountedBetter(t *testing.T) {
	for _, way := range []string{"zero and again", "out and again"} {
		d := onDesk(t)
		o, err := d.Lot(d.shop, Act{Who: "MK"}, Container{Kind: "bin", Place: "Y1", Lot: &Lot{Count: 20}})
		d.did(t, err)
		_, err = d.TellIncident(d.shop, Act{Who: "MK"}, Incident{Answers: map[string]string{"tags": o.Tag, "reacted": "yes"}})
		d.did(t, err)
		if way == "zero and again" {
			_, err = d.Lot(d.shop, Act{Who: "MK"}, Container{Tag: o.Tag, Lot: &Lot{Count: 0}})
		} else {
			_, err = d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{o.Tag}, Out: "handed-over", Because: "the fire service took it"})
		}
		d.did(t, err)
		o, err = d.Lot(d.shop, Act{Who: "MK"}, Container{Tag: o.Tag, Kind: "bin", Lot: &Lot{Count: 20}})
		d.did(t, err)
		if o.Is.Handling != triage.Emergency.String() {
			t.Errorf("%s: %s, %s", way, o.Is.Handling, o.Is.Condition)
		}
	}
}

// A cell that is not to be charged again is not fitted into a device.
func TestARetiredCellIsNotReused(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "purpose=recycle")
	if h, _ := d.is(t, tag); h != triage.Retire {
		t.Fatalf("it is %s", h)
	}
	if _, err := d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{tag}, Out: "reused"}); err == nil {
		t.Error("a retired cell was let out for reuse without a word")
	}
}

// The cell that was meant gets what is known of the look by now, and what the
// look found, not what was first typed.
func TestWrongCellTakesCorrectionsAlong(t *testing.T) {
	d := onDesk(t)
	_ = d.look(t, "", "ocv_v=3.8")
	n, err := d.log.Size()
	if err != nil {
		t.Fatal(err)
	}
	_, err = d.Correct(d.shop, Act{Who: "MK"}, Change{Entry: n, Reason: "misread", Field: "signs", New: "leaking"})
	d.did(t, err)
	right := d.look(t, "", "ocv_v=3.8")
	_, _, err = d.WrongCell(d.shop, Act{Who: "MK"}, Change{Entry: n}, right)
	d.did(t, err)
	d.least(t, right, "the right cell", triage.Isolate, triage.Damaged)
}

// A mistaken entry is one whose finding was the mistake: correcting its note
// lets go of nothing.
func TestMistakenNeedsTheFindingToBeTheMistake(t *testing.T) {
	for _, bad := range []string{"purpose=return", "cell_c=65"} {
		d := onDesk(t)
		tag := d.look(t, "", bad)
		n, err := d.log.Size()
		if err != nil {
			t.Fatal(err)
		}
		_, err = d.Correct(d.shop, Act{Who: "MK"}, Change{Entry: n, Reason: "mistyped", Field: "note", New: "blue tape"})
		d.did(t, err)
		d.determine(t, tag, Ruling{Mistaken: []int64{n}})
		d.look(t, tag, "ocv_v=3.8")
		d.least(t, tag, bad, triage.Isolate, triage.Damaged)
	}
}

// Bad news that comes by a correction counts, though two people lowered the same
// rule for something else before.
func TestACorrectionAfterADeterminationIsNews(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "ocv_v=3.8")
	first, err := d.log.Size()
	if err != nil {
		t.Fatal(err)
	}
	d.look(t, tag, "ocv_v=us")
	d.look(t, tag, "ocv_v=3.8")
	d.determine(t, tag, Ruling{Lower: []string{"undiagnosable"}})
	if h, _ := d.is(t, tag); h != triage.Sound {
		t.Fatalf("the determination left it at %s", h)
	}
	last, err := d.log.Size()
	if err != nil {
		t.Fatal(err)
	}
	_ = first
	_, err = d.Correct(d.shop, Act{Who: "MK"}, Change{Entry: last - 1, Reason: "misread", Field: "leaking", New: "cannot"})
	d.did(t, err)
	d.least(t, tag, "leaking cannot be told", triage.Isolate, triage.Damaged)
}

// The casing of a cell that leaked stays breached: one hand does not close it.
func TestOneHandDoesNotCloseACasing(t *testing.T) {
	for _, verb := range []string{"correct", "retract"} {
		d := onDesk(t)
		tag := d.look(t, "", "ocv_v=3.8")
		d.look(t, tag, "signs=leaking")
		n, err := d.log.Size()
		if err != nil {
			t.Fatal(err)
		}
		x := Change{Entry: n, Reason: "mistyped", Field: "signs", New: "none"}
		var o *Outcome
		if verb == "correct" {
			o, err = d.Correct(d.shop, Act{Who: "MK"}, x)
		} else {
			o, err = d.Retract(d.shop, Act{Who: "MK"}, x)
		}
		d.did(t, err)
		if o.Was.Waste != o.Is.Waste {
			t.Errorf("%s by one hand: the casing was %s, is %s (%s, %s)", verb, o.Was.Waste, o.Is.Waste, o.Is.Handling, o.Is.Condition)
		}
	}
}

// Of two cells that one tag stood for, what was made safe is known of neither.
func TestASplitCellIsNotMadeSafe(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "ocv_v=3.8")
	_, err := d.Secure(d.shop, Act{Who: "MK"}, tag, Secured(true, true, true))
	d.did(t, err)
	_, other, err := d.Split(d.shop, Act{Who: "MK"}, tag, "", "two cells")
	d.did(t, err)
	if other.Is.MadeSafe {
		t.Error("the cell that was found later is on record as made safe")
	}
}

// An entry of before a split was of two cells: it is not corrected for one.
func TestAnEntryOfTwoCellsIsNotCorrected(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "ocv_v=3.8")
	n, err := d.log.Size()
	if err != nil {
		t.Fatal(err)
	}
	_, _, err = d.Split(d.shop, Act{Who: "MK"}, tag, "", "two cells")
	d.did(t, err)
	if _, err := d.Correct(d.shop, Act{Who: "MK"}, Change{Entry: n, Reason: "misread", Field: "signs", New: "swollen"}); err == nil {
		t.Error("it was corrected for one of them")
	}
}

// One person by two spellings, or nobody, is no second person.
func TestTheSecondPersonIsAnother(t *testing.T) {
	for _, second := range []string{"MK", "mk", " MK ", "M.K.", "M K", "MK.", "ＭＫ", "MK\u200b", "M\u200dK", "?", "-", "n/a", "none", "nobody"} {
		d := onDesk(t)
		tag := d.look(t, "", "signs=dented")
		if _, err := d.Determine(d.shop, Act{Who: "MK"}, tag, Ruling{Lower: []string{"dented"}, Criteria: "c", Reason: "print", Second: second}); err == nil {
			t.Errorf("%q was taken for a second person beside MK", second)
		}
	}
}

// What a row may have said, where its cells shifted, is not let go of with an
// older raise.
func TestAShiftedRowIsHeldBesideARaise(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "ocv_v=3.8")
	_, err := d.Raise(d.shop, Act{Who: "MK"}, tag, triage.Isolate, 0, "")
	d.did(t, err)
	sheet := "tag,signs,cell_c,ambient_c,recalled,ocv_v,chemistry,series,thickness_mm,nominal_thickness_mm\n" +
		tag + ",none,21,21,no,3.8,li-ion,1,5.6,4,4\n"
	_, err = Sort(SortOptions{Files: []string{"-"}, Stdin: strings.NewReader(sheet), Shop: d.shop, Format: "csv", Out: &bytes.Buffer{}, Record: d.Recording})
	d.did(t, err)
	d.determine(t, tag, Ruling{Lower: []string{"raise"}})
	d.look(t, tag, "ocv_v=3.8")
	d.least(t, tag, "the shifted row", triage.Isolate, triage.Damaged)
}
