package app

import (
	"errors"
	"strings"
	"testing"

	"pouchward/triage"
)

// What a correction or a retraction would make of a cell is what it then makes of it,
// and trying writes nothing.
func TestTriedIsWhatIsRecorded(t *testing.T) {
	r := newRecording(t)
	shop, err := OpenShop("2026-11-26", "", r.now())
	if err != nil {
		t.Fatal(err)
	}
	a, err := r.Judge(shop, typed(t, "signs=swollen ocv_v=3.7 cell_c=22 ambient_c=22 recalled=no"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.Record(a); err != nil {
		t.Fatal(err)
	}
	act := Act{Who: "MK"}
	slip := Change{Entry: 2, Field: "signs", New: "none", Reason: "wrong-cell"}
	two := slip
	two.Second, two.Criteria = "LS", "a"
	for _, c := range []struct {
		name string
		try  func() (*Tentative, error)
		do   func() (*Outcome, error)
		want triage.Handling
	}{
		{"correction that is held", func() (*Tentative, error) { return r.TryCorrect(shop, act, slip) }, func() (*Outcome, error) { return r.Correct(shop, act, slip) }, triage.Isolate},
		{"retraction that is held", func() (*Tentative, error) {
			return r.TryRetract(shop, act, Change{Entry: 2, Reason: "misread"})
		}, func() (*Outcome, error) { return r.Retract(shop, act, Change{Entry: 2, Reason: "misread"}) }, triage.Isolate},
	} {
		before, err := r.log.Size()
		if err != nil {
			t.Fatal(err)
		}
		x, err := c.try()
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if after, err := r.log.Size(); err != nil || after != before || len(x.Receipts) > 0 {
			t.Errorf("%s: trying wrote: %d entries, then %d (%v)", c.name, before, after, err)
		}
		o, err := c.do()
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if x.Before.Handling != triage.Isolate || x.After.Handling != c.want || o.Verdict.Handling != x.After.Handling || o.Verdict.Condition != x.After.Condition ||
			strings.Join(o.Notes, "|") != strings.Join(x.Notes, "|") || !o.Is.Since.Equal(x.Is.Since) || o.Is.Handling != x.Is.Handling {
			t.Errorf("%s: tried %s from %s, recorded %s; notes %q and %q", c.name, x.After.Handling, x.Before.Handling, o.Verdict.Handling, x.Notes, o.Notes)
		}
	}
	// Two people let go of what the slip found: this is shown before too.
	if a, err = r.Judge(shop, typed(t, "signs=swollen ocv_v=3.7 cell_c=22 ambient_c=22 recalled=no")); err != nil {
		t.Fatal(err)
	}
	receipt, err := r.Record(a)
	if err != nil {
		t.Fatal(err)
	}
	free := two
	free.Entry = receipt.Number
	x, err := r.TryCorrect(shop, act, free)
	if err != nil {
		t.Fatal(err)
	}
	if o, err := r.Correct(shop, act, free); err != nil || o.Verdict.Handling != x.After.Handling || x.After.Handling >= x.Before.Handling || len(o.Receipts) != 2 {
		t.Errorf("with a second person: tried %s from %s, recorded %+v, %v", x.After.Handling, x.Before.Handling, o, err)
	}
	if _, err := r.TryCorrect(shop, act, two); err == nil {
		t.Error("a correction of what was taken back is tried")
	}
	if _, err := r.TryRetract(shop, act, Change{Entry: 99, Reason: "misread"}); err == nil {
		t.Error("a retraction of no entry is tried")
	}
}

// An outer packaging of parts reads as the flag does, and a comma shifts nothing.
func TestOuterText(t *testing.T) {
	for _, c := range []struct {
		parts [5]string
		want  string
	}{
		{[5]string{"box 30x20x20", "strong", "0.4", "30", ""}, "box 30x20x20,strong,0.4,30"},
		{[5]string{" drum ", "pg1", "", "", "1A2/X25/S/26"}, "drum,pg1,,,1A2/X25/S/26"},
		{[5]string{"box", "strong", "", "", ""}, "box,strong"},
		{[5]string{"box", "strong", "0,4", "30", ""}, "!"},
		{[5]string{"box,strong", "pg1", "", "", ""}, "!"},
	} {
		got, err := OuterText(c.parts[0], c.parts[1], c.parts[2], c.parts[3], c.parts[4])
		if err != nil {
			got = "!"
		}
		if got != c.want {
			t.Errorf("%q: %q, want %q (%v)", c.parts, got, c.want, err)
		}
	}
}

// An entry moved to the cell that was meant, and a determination, come to what was
// shown of each cell before; trying writes nothing.
func TestTriedOnBothCells(t *testing.T) {
	r := newRecording(t)
	shop, err := OpenShop("2026-11-26", "", r.now())
	if err != nil {
		t.Fatal(err)
	}
	record := func(words string) (int64, string) {
		t.Helper()
		a, err := r.Judge(shop, typed(t, words))
		if err != nil {
			t.Fatal(err)
		}
		receipt, err := r.Record(a)
		if err != nil {
			t.Fatal(err)
		}
		return receipt.Number, a.Verdict.Tag
	}
	act := Act{Who: "MK"}
	_, meant := record("signs=none ocv_v=3.7 cell_c=22 ambient_c=22 recalled=no")
	n, wrong := record("signs=swollen ocv_v=3.7 cell_c=22 ambient_c=22 recalled=no")
	for _, right := range []string{meant, triage.IssueTag(triage.CellTag, 91_000)} { // the second was never recorded
		x := Change{Entry: n}
		before, err := r.log.Size()
		if err != nil {
			t.Fatal(err)
		}
		from, to, err := r.TryWrongCell(shop, act, x, right)
		if err != nil {
			t.Fatal(err)
		}
		if after, err := r.log.Size(); err != nil || after != before || len(from.Receipts)+len(to.Receipts) > 0 {
			t.Fatalf("trying wrote: %d entries, then %d (%v)", before, after, err)
		}
		if from.Before == nil || from.Last != n || (to.Before == nil) != (right != meant) || (to.Last == 0) != (right != meant) {
			t.Errorf("%s: rests on %d and %d, from %v and %v", right, from.Last, to.Last, from.Before, to.Before)
		}
		for _, stale := range [][2]int64{{from.Last + 1, to.Last}, {from.Last, to.Last + 1}, {0, to.Last}} {
			_, _, err := r.RestingOn(stale[0], stale[1]).WrongCell(shop, act, x, right)
			if after, sizeErr := r.log.Size(); !errors.Is(err, ErrMoved) || sizeErr != nil || after != before {
				t.Fatalf("resting on %d: %v, %d entries, want %d", stale, err, after, before)
			}
		}
		f, o, err := r.RestingOn(from.Last, to.Last).WrongCell(shop, act, x, right)
		if err != nil {
			t.Fatal(err)
		}
		if f.Is.Handling != from.After.Handling.String() || o.Is.Handling != to.After.Handling.String() || o.Is.Handling != "isolate" || f.Is.Condition != from.After.Condition.String() {
			t.Errorf("%s: tried %s and %s, recorded %s and %s", right, from.After.Handling, to.After.Handling, f.Is.Handling, o.Is.Handling)
		}
		if _, _, err := r.TryWrongCell(shop, act, x, right); err == nil {
			t.Error("an entry that was taken back is moved")
		}
		n, wrong = record("signs=swollen ocv_v=3.7 cell_c=22 ambient_c=22 recalled=no")
	}
	_, dented := record("signs=dented ocv_v=3.7 cell_c=22 ambient_c=22 recalled=no")
	ruling := Ruling{Lower: []string{"dented"}, Criteria: "c", Reason: "the mark is print", Second: "LS"}
	x, err := r.TryDetermine(shop, act, dented, ruling)
	if err != nil {
		t.Fatal(err)
	}
	o, err := r.Determine(shop, act, dented, ruling)
	if err != nil || x.After.Condition >= x.Before.Condition || o.Verdict.Condition != x.After.Condition || o.Verdict.Handling != x.After.Handling {
		t.Errorf("tried %s from %s, recorded %+v, %v", x.After.Condition, x.Before.Condition, o, err)
	}
	if _, err := r.TryDetermine(shop, act, wrong, ruling); err == nil {
		t.Error("what does not hold a cell is set aside")
	}
}
