package review

import (
	"testing"

	"pouchward/triage"
)

// A stay of four days, judged better for two of them by a determination that lapsed.
func TestStockSeries(t *testing.T) {
	b := cleanShop(t)
	b.s.Cells, b.s.From = nil, triage.DateOf(noon)-9
	c := Cell{Tag: cellTag(1)}
	s := isolated(ago(24*7), boxTag(1))
	b.ledgerStep(&c, ago(24*7), "assessment", s)
	better := s
	better.Handling, better.Lapses, better.LapsedHandling = triage.Retire, triage.DateOf(noon)-5, triage.Isolate
	b.ledgerStep(&c, ago(24*6), "determination", better)
	better.Is = Out
	b.ledgerStep(&c, ago(24*3), "move", better)
	b.s.Cells = append(b.s.Cells, c)
	lot := Cell{Tag: boxTag(5)}
	b.ledgerStep(&lot, ago(24*100), "container", State{Is: Here, Handling: triage.Hold, Count: 30, MilliGram: 5})
	b.ledgerStep(&lot, ago(24*2), "container", State{Is: Here, Handling: triage.Hold, Count: 18, MilliGram: 3})
	b.ledgerStep(&lot, ago(1), "container", State{Is: Here})
	b.s.Cells = append(b.s.Cells, lot)
	days := StockSeries(&b.s)
	if len(days) != 10 || days[9].On != b.s.To {
		t.Fatalf("%d days", len(days))
	}
	for i, want := range [][3]int64{{0, 30, 0}, {0, 30, 0}, {0, 30, 1}, {1, 30, 0}, {1, 30, 0}, {0, 30, 1}, {0, 30, 0}, {0, 18, 0}, {0, 18, 0}, {0, 0, 0}} {
		d := &days[i]
		if got := [3]int64{d.By[triage.Retire].Cells, d.By[triage.Hold].Cells, d.By[triage.Isolate].Cells}; got != want {
			t.Errorf("day %d: %v, want %v", i, got, want)
		}
	}
	if a := days[7].Total(); a != (Amount{Cells: 18, Unrated: 18, MilliGram: 3}) {
		t.Errorf("%+v", a)
	}
	// The series ends with what stands there by the ledger.
	whole := cleanShop(t)
	last := StockSeries(&whole.s)
	l := NewLedger(&whole.s)
	if got, want := last[len(last)-1].Total(), l.Months[len(l.Months)-1].Total.After; got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
}

func TestAges(t *testing.T) {
	b := cleanShop(t)
	today := triage.DateOf(noon)
	b.s.Cells = nil
	start := func(n int64, d triage.Date, s State) {
		s.Start = d
		c := Cell{Tag: cellTag(n)}
		b.ledgerStep(&c, ago(1), "assessment", s)
		b.s.Cells = append(b.s.Cells, c)
	}
	year := day(t, "2025-11-25") // the year is up on the day reviewed for
	start(1, year+1, retired(ago(1), boxTag(1)))
	start(2, year, retired(ago(1), boxTag(1)))
	start(3, today, retired(ago(1), boxTag(1)))
	start(4, 0, retired(ago(1), boxTag(1)))
	kept := retired(ago(1), boxTag(1))
	kept.Waste = triage.NotWaste
	start(5, 0, kept)
	out := retired(ago(1), "")
	out.Is = Out
	start(6, year-100, out)
	x := AgesOf(&b.s)
	if len(x.Cells) != 3 || x.Cells[0].Tag != cellTag(2) || x.Cells[0].Days != 365 || len(x.Unknown) != 1 || x.Kept.Cells != 1 || len(x.Steps) != 3 {
		t.Fatalf("%+v", x)
	}
	last := x.Steps[2]
	if last.By.ID != "us-accumulation-year" || last.Days != 365 || x.Cells[0].Reached != last.By || x.Cells[1].Reached.ID != "accumulation-due" || x.Cells[2].Reached != nil {
		t.Errorf("%+v, reached %v and %v", last, x.Cells[0].Reached, x.Cells[1].Reached)
	}
	if n := x.Past(last).Cells; n != 2 { // the one of the year, and the one whose start nobody knows
		t.Errorf("%d past the year", n)
	}
	// 25 August and 25 February: 9 and 3 months, in days (computed).
	if x.Steps[0].Days != int(today-day(t, "2026-02-25")) || x.Steps[1].Days != int(today-day(t, "2025-12-25")) {
		t.Errorf("%+v", x.Steps)
	}
}
