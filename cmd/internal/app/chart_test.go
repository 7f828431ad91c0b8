package app

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/review"
)

// The demo's ledger balances, in every month and against the stock view; the charts end
// with what the stock says; and one entry missing in either is found.
func (d *demoShop) testLedgerAndCharts(t *testing.T) {
	s, err := Charted(d.shop, d.place, ReviewAsk{})
	if err != nil {
		t.Fatal(err)
	}
	l := review.NewLedger(s)
	if len(l.Differences) > 0 || !l.Compared || len(l.Months) < 12 || len(l.Recounts) != 4 {
		t.Errorf("%d months, recounts %+v, differences %+v", len(l.Months), l.Recounts, l.Differences)
	}
	gone := int64(0)
	for _, r := range l.Recounts {
		gone += r.Missing()
	}
	if gone != 2 {
		t.Errorf("%d cells are gone from lots, want the two that are planted: %+v", gone, l.Recounts)
	}
	var stock int64
	for i := range s.Counted {
		stock += s.Counted[i].Cells
	}
	days, ages := review.StockSeries(s), review.AgesOf(s)
	aged := ages.Kept.Cells + ages.UnknownCells()
	for i := range ages.Cells {
		aged += ages.Cells[i].Amount.Cells
	}
	if last := days[len(days)-1].Total().Cells; last != stock || aged != stock || stock == 0 {
		t.Errorf("the stock view has %d cells, the series ends with %d, the ages have %d", stock, last, aged)
	}

	// One cell is drawn from its own entries as from the whole log.
	drawn := 0
	err = ReadLog(d.place, func(log *logbook.Log) error {
		for i := range s.Cells {
			want := review.TrendsOf(&s.Cells[i])
			if len(want[0].Points) < 3 && len(want[1].Points) < 3 && i%20 > 0 {
				continue
			}
			_, c, err := ChartedOne(d.shop, log, d.place.Now(), s.Cells[i].Tag)
			if err != nil {
				return err
			}
			if got := review.TrendsOf(c); fmt.Sprint(got) != fmt.Sprint(want) {
				t.Errorf("%s alone: %v, in the whole log %v", c.Tag, got, want)
			}
			drawn++
		}
		return nil
	})
	if err != nil || drawn < 10 {
		t.Errorf("%d cells drawn alone: %v", drawn, err)
	}

	// A cell that the log's reader lost: the view has it, the entries have not.
	here := slices.IndexFunc(s.Cells, func(c review.Cell) bool { return c.Last().Is == review.Here })
	lost := *s
	lost.Cells = slices.Delete(slices.Clone(s.Cells), here, here+1)
	if len(review.NewLedger(&lost).Differences) == 0 {
		t.Error("a cell that was lost is not found")
	}

	// In the past there is no view to compare with, and the ledger balances all the same.
	if s, err = Charted(d.shop, d.place, ReviewAsk{To: "2026-06-15"}); err != nil {
		t.Fatal(err)
	}
	if l := review.NewLedger(s); l.Compared || len(l.Differences) > 0 || triage.DateOf(s.Now) != day(t, "2026-06-15") {
		t.Errorf("on %s: %+v", s.Now, l.Differences)
	}
	if _, err := ChartedCell(s, "9999999"); !errors.As(err, new(*ExitError)) {
		t.Errorf("a tag that does not hold: %v", err)
	}

	// An entry that cannot be read: nothing is drawn from what is left.
	x := d.copied(t)
	data, err := os.ReadFile(x.place.Path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(x.place.Path, bytes.Replace(data, []byte(`{"v":1,"n":1500,`), []byte(`{"x":1,"n":1500,`), 1), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = Charted(x.shop, x.place, ReviewAsk{})
	if e := new(ExitError); !errors.As(err, &e) || e.Code != ExitLog || !strings.Contains(err.Error(), "entry 1500: ") {
		t.Errorf("with an entry that cannot be read: %v", err)
	}
}
