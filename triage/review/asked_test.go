package review

import (
	"strings"
	"testing"

	"pouchward/triage"
)

// The texts for carriage by air, by sea and on European roads are known until
// 2026-12-31 (known_until of their instruments).
func TestRulesOld(t *testing.T) {
	b := cleanShop(t)
	if x := cleanOf(t, b.wants(), "review-rules-old"); x.Checked < 10 {
		t.Errorf("%+v", x)
	}
	tables, err := triage.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	day, err := triage.ParseDate("2027-01-01")
	if err != nil {
		t.Fatal(err)
	}
	if b.s.Rules, err = tables.On(day); err != nil {
		t.Fatal(err)
	}
	past := b.s.Rules.PastEdition()
	if len(past) != 3 {
		t.Fatalf("%d instruments are past their edition", len(past))
	}
	b.s.Now, b.s.To = day.In(noon.Location()), day
	late := b.look(0, "recheck", "", b.s.Cells[0].Steps[2].Now)
	late.Happened = b.s.Now
	b.s.Cells[0].Steps = append(b.s.Cells[0].Steps, late)
	list, _ := b.of("review-rules-old", past[0].ID, past[1].ID, past[2].ID)
	for _, f := range list {
		if !f.Open() || triage.DateOf(f.Since) != day || len(f.Entries) != 1 || f.Entries[0] != late.Entry {
			t.Errorf("found %+v", f)
		}
	}
}

func TestRecallList(t *testing.T) {
	today := triage.DateOf(noon)
	for _, c := range []struct {
		list *Recalls
		says string
	}{
		{&Recalls{today - 30}, ""},
		{&Recalls{today - 31}, "31 days ago"},
		{&Recalls{}, "does not say when"},
		{nil, "names no recall list"},
	} {
		b := cleanShop(t)
		b.s.Recalls = c.list
		if c.says == "" {
			if x := cleanOf(t, b.wants(), "review-recall-list"); x.Checked != 1 {
				t.Errorf("%+v", x)
			}
			continue
		}
		r := b.wants("review-recall-list recall list")
		if f := &r.Findings[0]; !f.Open() || !strings.Contains(f.Text, c.says) {
			t.Errorf("found %+v", f)
		}
	}
}

func TestLocalOpen(t *testing.T) {
	const check, day = "review-local-open", 24.0
	today := triage.DateOf(noon)
	type answer struct {
		days   float64 // ago
		given  bool
		lapses triage.Date
		void   bool
	}
	for _, c := range []struct {
		name    string
		began   float64 // days ago
		answers []answer
		found   bool
		open    bool
		since   triage.Date
	}{
		{"60 days", 60, nil, false, false, 0},
		{"61 days", 61, nil, true, true, today - 61},
		{"answered in time", 90, []answer{{40, true, 0, false}}, false, false, 0},
		{"answered late", 90, []answer{{29, true, 0, false}}, true, false, today - 90},
		{"taken back", 90, []answer{{40, true, 0, true}}, true, true, today - 90},
		{"lapses tomorrow", 90, []answer{{40, true, today + 1, false}}, false, false, 0},
		{"lapses today", 90, []answer{{40, true, today, false}}, true, true, today},
		{"lapsed and answered the next day", 90, []answer{{40, true, today - 20, false}, {19, true, 0, false}}, true, false, today - 20},
		{"lapsed and answered that day", 90, []answer{{40, true, today - 20, false}, {20, true, 0, false}}, false, false, 0},
		{"answered before it lapsed", 90, []answer{{40, true, today - 20, false}, {25, true, 0, false}}, false, false, 0},
		{"asked anew", 90, []answer{{40, true, 0, false}, {5, false, 0, false}}, true, true, today - 5},
		{"asked anew and answered", 90, []answer{{40, true, 0, false}, {5, false, 0, false}, {2, true, 0, false}}, true, false, today - 5},
		{"asked anew and never answered", 61, []answer{{40, false, 0, false}}, true, true, today - 61},
	} {
		b := cleanShop(t)
		b.s.Entries.Began = ago(c.began * day)
		for i, q := range b.s.Rules.Locals() {
			if i > 0 {
				b.s.Answers = append(b.s.Answers, Answer{Source: b.source(ago(c.began*day), "ML"), Question: q.ID, Given: true})
				continue
			}
			for _, a := range c.answers {
				b.s.Answers = append(b.s.Answers, Answer{Source: b.source(ago(a.days*day), "ML"), Void: a.void, Question: q.ID, Given: a.given, Lapses: a.lapses})
			}
		}
		var want []string
		if c.found {
			want = []string{b.s.Rules.Locals()[0].ID}
		}
		list, _ := b.of(check, want...)
		if c.found && (list[0].Open() != c.open || triage.DateOf(list[0].Since) != c.since || len(list[0].Entries) != 1) {
			t.Errorf("%s: found %+v", c.name, list[0])
		}
	}
}
