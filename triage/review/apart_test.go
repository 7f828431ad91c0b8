package review

import (
	"testing"
	"time"

	"pouchward/triage"
)

func TestDamagedAmongOthers(t *testing.T) {
	// Put into the bin of the retired after the verdict: at once.
	b := cleanShop(t)
	c := &b.s.Cells[0]
	move := Step{Source: b.source(ago(0.5), "TO"), Kind: "move", Now: isolated(ago(0.9), boxTag(2)), Move: &Move{To: boxTag(2)}}
	c.Steps = append(c.Steps, move)
	r := b.wants("review-damaged-among-others " + cellTag(1))
	if f := &r.Findings[0]; !f.Open() || !f.Presses() || f.Since != move.Happened || len(f.Tags) != 4 {
		t.Errorf("found %+v", f)
	}

	// Taken out again: past, and still told.
	back := Step{Source: b.source(ago(0.4), "TO"), Kind: "move", Now: isolated(ago(0.9), boxTag(1)), Move: &Move{To: boxTag(1)}}
	b.s.Cells[0].Steps = append(b.s.Cells[0].Steps, back)
	r = b.wants("review-damaged-among-others " + cellTag(1))
	if f := &r.Findings[0]; f.Open() || f.Presses() || f.Until != back.Happened {
		t.Errorf("found %+v", f)
	}

	// Judged worse where it stood: in order while the hours allow it.
	for _, c := range []struct {
		hours float64
		want  []string
	}{{23.5, nil}, {24.5, []string{"review-damaged-among-others " + cellTag(4)}}} {
		b := cleanShop(t)
		b.cell(cellTag(4), ago(30), retired, boxTag(2))
		worse := isolated(ago(c.hours), boxTag(2))
		last := &b.s.Cells[3]
		b.s.Cells[1].Steps, b.s.Cells[2].Steps = shift(b.s.Cells[1].Steps, -40), shift(b.s.Cells[2].Steps, -40)
		last.Steps = append(last.Steps, Step{Source: b.source(ago(c.hours), "TO"), Kind: "recheck", Now: worse, Look: &Look{Found: "same", Handling: triage.Isolate, Condition: triage.Damaged}})
		got, _ := b.found()
		n := 0
		for _, k := range got {
			if k == "review-damaged-among-others "+cellTag(4) {
				n++
			}
		}
		if n != len(c.want) {
			t.Errorf("%g h after it was judged: found %q", c.hours, got)
		}
	}
}

// shift moves steps in time.
func shift(steps []Step, hours float64) []Step {
	for i := range steps {
		steps[i].Happened = steps[i].Happened.Add(time.Duration(hours * float64(time.Hour)))
		steps[i].Entered = steps[i].Happened
	}
	return steps
}

func TestSeveralInOne(t *testing.T) {
	b := cleanShop(t)
	b.cell(cellTag(4), ago(0.7), isolated, boxTag(1))
	r := b.wants("review-several-in-one " + boxTag(1))
	if f := &r.Findings[0]; !f.Open() || len(f.Entries) != 2 {
		t.Errorf("found %+v", f)
	}
}

// A sign-off answers what it names, until there is more, or its day is over.
func TestSignOff(t *testing.T) {
	b := cleanShop(t)
	b.cell(cellTag(4), ago(0.7), isolated, boxTag(1))
	_, r := b.found()
	sign := SignOff{Source: b.source(ago(0.1), "ML"), Check: "review-several-in-one", Subject: boxTag(1), Entries: r.Findings[0].Entries, Reason: "a second tin is bought"}
	for _, c := range []struct {
		change func(*SignOff)
		signed bool
	}{
		{func(*SignOff) {}, true},
		{func(x *SignOff) { x.Until = triage.DateOf(noon) }, true},
		{func(x *SignOff) { x.Until = triage.DateOf(noon) - 1 }, false},
		{func(x *SignOff) { x.Entries = x.Entries[:1] }, false},
		{func(x *SignOff) { x.Subject = boxTag(2) }, false},
		{func(x *SignOff) { x.Void = true }, false},
	} {
		x := sign
		c.change(&x)
		b.s.SignOffs = []SignOff{x}
		_, r := b.found()
		if f := &r.Findings[0]; (f.Signed != nil) != c.signed || f.Presses() == c.signed {
			t.Errorf("%+v: signed %t", x, f.Signed != nil)
		}
	}
}
