package review

import (
	"strings"
	"testing"

	"pouchward/triage"
)

func TestUnreadShare(t *testing.T) {
	const check = "review-unread-share"
	for _, c := range []struct {
		name    string
		cells   int // with the three of the clean shop
		lacking int
		text    string
		found   bool
		says    string
	}{
		{"a tenth", 20, 2, "ocv_v=", false, ""},
		{"more than a tenth", 20, 3, "ocv_v=", true, "3 of 20 cells taken in lack a voltage or a temperature, 0 of them with a reason (Bench 2: 3)"},
		{"no room temperature", 20, 3, "ambient_c=?", true, "0 of them with a reason"},
		{"a reason", 20, 3, "cell_c=ni", true, "3 of them with a reason"},
		{"one that could not be read", 20, 3, "cell_c=x", true, "0 of them with a reason"},
		{"a kind without a voltage", 20, 3, "ocv_v= kind=enclosed", false, ""},
		{"does not apply", 20, 3, "ocv_v=na", false, ""},
		{"few cells", 9, 6, "ocv_v=", false, ""},
	} {
		b := cleanShop(t)
		b.run(c.lacking, "Bench 2", c.text)
		b.run(c.cells-3-c.lacking, "Bench 2", "ocv_v=3.8%d")
		var want []string
		if c.found {
			want = []string{"2026-11"}
		}
		list, r := b.of(check, want...)
		if c.found && (!list[0].Open() || len(list[0].Entries) != c.lacking || !strings.Contains(list[0].Text, c.says)) {
			t.Errorf("%s: found %+v", c.name, list[0])
		}
		if c.name == "few cells" {
			if x := cleanOf(t, r, check); !strings.HasPrefix(x.Untold, "9 cells of months with too few") {
				t.Errorf("%+v", x)
			}
		}
	}

	// Read within the shift it was read; an emergency is not counted.
	b := cleanShop(t)
	b.run(17, "Bench 2", "ocv_v=3.8%d")
	for i := 3; i < 8; i++ {
		c := &b.s.Cells[i]
		give(t, c.Steps[0].Look, "ocv_v=")
		if i < 6 {
			c.Steps = append(c.Steps, b.look(1, "recheck", "ocv_v=3.8", c.Steps[2].Now))
		} else {
			c.Steps[0].Look.Handling = triage.Emergency
		}
	}
	if _, r := b.of(check); cleanOf(t, r, check).Checked != 18 {
		t.Errorf("%+v", cleanOf(t, r, check))
	}
}

func TestUnreadLong(t *testing.T) {
	const check = "review-unread-long"
	all := "signs=none ocv_v=3.8 cell_c=21.4 ambient_c=21 recalled=no"
	for _, c := range []struct {
		name, text string
		hours      float64
		class      triage.Handling
		open       []string // rules that could fire
		says       string   // blank: no finding
		untold     string
	}{
		{"all read", all, 30, triage.Hold, nil, "", ""},
		{"no voltage", all + " ocv_v=", 25, triage.Hold, nil, "not taken in 25 h since 2026-11-24 11:00: voltage", ""},
		{"a shift", all + " ocv_v=", 24, triage.Hold, nil, "", ""},
		{"no instrument", all + " cell_c=ni", 25, triage.Hold, nil, "surface temperature", ""},
		{"refused", all + " ambient_c=x", 25, triage.Hold, nil, "room temperature", ""},
		{"cannot be told", all + " ocv_v=nr", 25, triage.Hold, nil, "", ""},
		{"no signs", all + " signs= ocv_v=", 25, triage.Hold, nil, "voltage, signs", ""},
		{"one sign left out", all + " signs= swollen=no", 25, triage.Hold, nil, "signs", ""},
		{"recall not looked up", all + " recalled=", 25, triage.Hold, []string{"recalled"}, "recalled for a safety reason", ""},
		{"the list answered", all + " recalled=", 25, triage.Hold, nil, "", ""},
		{"hands off", all + " ocv_v=", 25, triage.Isolate, nil, "", "1 cell with a reading not taken that their class keeps hands from"},
		{"isolated, by eye", all + " cell_c=", 25, triage.Isolate, nil, "surface temperature", ""},
		{"reacting", "", 25, triage.Emergency, nil, "", "1 cell judged an emergency, from which nothing is read"},
		{"enclosed", all + " ocv_v= kind=enclosed", 25, triage.Hold, nil, "", ""},
	} {
		b := cleanShop(t)
		x := b.cell(cellTag(4), ago(c.hours), retired, boxTag(2))
		for i := range x.Steps {
			x.Steps[i].Now.Handling = c.class
		}
		l := x.Steps[0].Look
		l.Given, l.Handling, l.Open = nil, c.class, c.open
		give(t, l, c.text)
		var want []string
		if c.says != "" {
			want = []string{x.Tag}
		}
		list, r := b.of(check, want...)
		if c.says != "" && (!list[0].Open() || !strings.HasSuffix(list[0].Text, c.says)) {
			t.Errorf("%s: found %+v", c.name, list[0])
		}
		if c.untold != "" && !strings.Contains(cleanOf(t, r, check).Untold, c.untold) {
			t.Errorf("%s: %+v", c.name, cleanOf(t, r, check))
		}
	}
}

// A reading of a later look counts, one that was taken back does not; a cell that left
// is not asked about.
func TestUnreadLongOverSeveralLooks(t *testing.T) {
	const check = "review-unread-long"
	b := cleanShop(t)
	x := b.cell(cellTag(4), ago(30), retired, boxTag(2))
	give(t, x.Steps[0].Look, "signs=none recalled=no ocv_v=")
	x.Steps = append(x.Steps, b.look(1, "recheck", "ocv_v=3.8", x.Steps[2].Now))
	b.of(check)
	b.s.Cells[3].Steps[3].Void = true
	b.of(check, cellTag(4))
	b.s.Cells[3].Steps[3].Now = State{Is: Out}
	b.of(check)
}
