package app

import (
	"errors"
	"testing"

	"pgregory.net/rapid"

	"pouchward/triage"
)

// never are the signs that no determination lowers.
var never = []triage.FieldID{triage.Leaking, triage.Punctured, triage.Burnt, triage.Wet, triage.Smoking, triage.Hissing, triage.Odour}

// determineAll tries to lower all that holds a cell, one rule at a time, with
// every right that a determination can have.
func (d *desk) determineAll(t *rapid.T, tag string, expert bool) (made int) {
	c := d.cell(t, tag)
	for _, l := range c.lowerables(d.shop, c.judge(d.shop)) {
		_, err := d.Determine(d.shop, Act{Who: "MK"}, tag, Ruling{Lower: []string{l.ID}, Criteria: "abcdef", Reason: "drawn", Second: "LS", Expert: expert})
		var exit *ExitError
		switch {
		case err == nil:
			made++
		case errors.As(err, &exit) && exit.Code == ExitUsage:
		default:
			t.Fatal(err)
		}
	}
	return made
}

// What leaked, burnt, was wet or reacted, and what is recalled, stays damaged or
// recalled whatever is determined, as long as the look that found it stands.
func TestNoDeterminationLowersWhatNoneMay(t *testing.T) {
	dir := t.TempDir()
	runs, made, lowered := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		runs++
		d := newDesk(t, mustMkdir(t, dir, runs))
		defer d.Close()
		given := drawGiven(t, 17)
		sign := rapid.SampledFrom(append([]triage.FieldID{triage.Recalled, triage.Dented}, never...)).Draw(t, "sign")
		tag, err := d.assess(append(given, Given{sign, "yes"})...)
		if err != nil {
			t.Fatal(err)
		}
		d.tags = []string{tag}
		for range rapid.IntRange(1, 4).Draw(t, "steps") {
			d.time = d.time.AddDate(0, 0, 1)
			if d.shop, err = OpenShop("", "", d.time); err != nil {
				t.Fatal(err)
			}
			if rapid.Bool().Draw(t, "quiet") {
				_, err := d.Recheck(d.shop, Act{Who: "MK"}, tag, "same", typedWords("quiet_h=30 cell_c=22 ambient_c=21"))
				if err != nil {
					t.Fatal(err)
				}
			} else if _, err := d.assess(append(drawGiven(t, 17), Given{triage.Tag, tag})...); err != nil {
				t.Fatal(err)
			}
			made += d.determineAll(t, tag, rapid.Bool().Draw(t, "expert"))
		}
		c := d.cell(t, tag)
		h, _ := triage.HandlingByName(c.State.Handling)
		cond, _ := triage.ConditionByName(c.State.Condition)
		switch {
		case sign == triage.Dented:
			// Where it may, it does: a dent on a cell that shows nothing else.
			plain, err := d.assess(append(typedWords(cleanLook), Given{triage.Dented, "yes"})...)
			if err != nil {
				t.Fatal(err)
			}
			d.determineAll(t, plain, false)
			if c := d.cell(t, plain); c.State.Condition == triage.Undamaged.String() {
				lowered++
			}
		case h < triage.Isolate || cond < triage.Damaged, sign == triage.Recalled && cond < triage.RecalledCell:
			t.Fatalf("%s was lowered to %s, %s", triage.Fields[sign].Name, h, cond)
		}
	})
	if made < runs || lowered == 0 {
		t.Errorf("%d determinations and %d lowered cells in %d runs: the test shows nothing", made, lowered, runs)
	}
}

// typedWords reads field=value words that are known to be right.
func typedWords(words string) []Given { return typed(new(testing.T), words) }
