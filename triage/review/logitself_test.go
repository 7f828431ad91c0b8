package review

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

func TestLogDamaged(t *testing.T) {
	b := cleanShop(t)
	if x := cleanOf(t, b.wants(), "review-log-damaged"); x.Checked != b.n || x.Untold != "" {
		t.Errorf("%+v", x)
	}
	b.s.Troubles = []Trouble{{3, "its bytes do not give its hash"}, {0, "the tree is not that of the checkpoint"}}
	r := b.wants("review-log-damaged entry 3", "review-log-damaged log")
	for i := range r.Findings {
		if f := &r.Findings[i]; !f.Presses() || (f.Subject == "log") != (len(f.Entries) == 0) {
			t.Errorf("found %+v", f)
		}
	}
	b.s.Troubles, b.s.Verified = nil, false
	if x := cleanOf(t, b.wants(), "review-log-damaged"); x.Checked != 0 || !strings.HasSuffix(x.Untold, "entries not verified") {
		t.Errorf("%+v", x)
	}
}

func TestFileGone(t *testing.T) {
	b := cleanShop(t)
	b.s.Files = []File{{Source: b.source(ago(40), "TO"), Tags: []string{cellTag(2)}, What: "photo", Name: "label.jpg", Read: true}, {Source: b.source(ago(30), "TO"), Name: "x.pdf"}}
	if x := cleanOf(t, b.wants(), "review-file-gone"); x.Checked != 1 || x.Untold != "1 attached file not read again" {
		t.Errorf("%+v", x)
	}
	b.s.Files[1].Read, b.s.Files[1].Wrong = true, "is not there"
	key := fmt.Sprintf("entry %d", b.s.Files[1].Entry)
	r := b.wants("review-file-gone " + key)
	if f := &r.Findings[0]; !f.Open() || len(f.Entries) != 1 || f.Text != "file x.pdf of 2026-11-24: is not there" {
		t.Errorf("found %+v", f)
	}
}

func TestTagUnissued(t *testing.T) {
	b := cleanShop(t)
	b.s.Unissued = []Unissued{{b.source(ago(30), ""), cellTag(900)}}
	r := b.wants("review-tag-unissued " + cellTag(900))
	if f := &r.Findings[0]; !f.Open() || len(f.Entries) != 1 || !strings.Contains(f.Text, "nobody named") {
		t.Errorf("found %+v", f)
	}
	b.s.Unissued = nil
	if x := cleanOf(t, b.wants(), "review-tag-unissued"); x.Checked != 5 {
		t.Errorf("%+v", x)
	}
}

func TestClockBack(t *testing.T) {
	for _, c := range []struct {
		name        string
		entered     time.Time
		before      time.Time // of the entry before it
		from        triage.Date
		found, open bool
	}{
		{"an hour", ago(2), ago(1), 0, true, false},
		{"years", ago(80000), ago(1), triage.DateOf(noon) - 30, true, false}, // its own day is before the period
		{"before the period", ago(2000), ago(1999), triage.DateOf(noon) - 30, false, false},
		{"after a clock that stood ahead", ago(1), ago(-9000), triage.DateOf(noon) - 30, true, true},
	} {
		b := cleanShop(t)
		s := b.source(c.entered, "MK")
		s.Clock = "1 h"
		b.s.Entries.ClockBack = []Source{s}
		b.s.From = max(b.s.From, c.from)
		for i := range b.s.Cells {
			for j := range b.s.Cells[i].Steps {
				b.s.Cells[i].Steps[j].Entered = c.before
			}
		}
		var want []string
		if c.found {
			want = []string{fmt.Sprintf("entry %d", s.Entry)}
		}
		if list, _ := b.of("review-clock", want...); c.found && list[0].Open() != c.open {
			t.Errorf("%s: found %+v", c.name, list[0])
		}
	}
}

func TestEnteredLate(t *testing.T) {
	const check = "review-entered-late"
	b := cleanShop(t)
	late := func(who string, hours, ended float64) int64 {
		s := b.source(ago(ended), who)
		s.Happened = s.Entered.Add(-time.Duration(hours * float64(time.Hour)))
		b.s.Entries.Late = append(b.s.Entries.Late, s)
		return s.Entry
	}
	late("MK", 24, 5)
	if x := cleanOf(t, b.wants(), check); x.Checked != b.n {
		t.Errorf("%+v", x)
	}
	first, worst := late("MK", 25, 400), late("MK", 61, 300)
	late("", 30, 20)
	late("TO", 30, 9000) // before the period
	list, _ := b.of(check, "MK", "nobody named")
	for _, f := range list {
		if f.Subject == "MK" && (fmt.Sprint(f.Entries) != fmt.Sprint([]int64{first, worst}) || f.Open() || !strings.Contains(f.Text, fmt.Sprintf("2 entries made more than 24 h after what they tell; the longest is entry %d, 61 h after", worst))) {
			t.Errorf("found %+v", f)
		}
	}
}
