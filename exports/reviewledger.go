package exports

import (
	"fmt"
	"strings"

	"pouchward/triage/review"
)

// ledger writes what was there, came and left, month by month for the whole shop; the
// JSON has it by container and place too.
func (c *card) ledger(r *review.Report) {
	l := r.Ledger
	c.b.WriteString("\nLEDGER OF THE SHOP: before + in - out + restated = after\n")
	c.rule("-")
	t := table{head: []string{"MONTH", "BEFORE", "IN", "OUT", "RESTATED", "AFTER", "Wh AFTER", "kg AFTER"}, right: []bool{false, true, true, true, true, true, true, true}}
	for i := range l.Months {
		m := &l.Months[i]
		x := &m.Total
		t.rows = append(t.rows, []string{m.From.String()[:7], fmt.Sprint(x.Before.Cells), fmt.Sprint(x.CameIn.Cells), fmt.Sprint(x.Left.Cells), signed(x.Restated.Cells), fmt.Sprint(x.After.Cells),
			withUnknown(float64(x.After.MicroWh)/1e6, 1, x.After.Unrated), withUnknown(float64(x.After.MilliGram)/1e6, 3, x.After.Unweighed)})
	}
	var b strings.Builder
	t.write(&b)
	c.b.WriteString(b.String())
	text := fmt.Sprintf("%s, each by container and place in count, Wh and mass: ", Count(int64(len(l.Months)), "month"))
	if n := len(l.Differences); n > 0 {
		text += fmt.Sprintf("%s, told above as findings", Count(int64(n), "difference"))
	} else {
		text += "no difference"
	}
	if l.Compared {
		text += "; the last is held against the stock view, which is kept apart"
	}
	for _, line := range Wrap(text+". +n: so many more without that figure.", c.width) {
		fmt.Fprintln(&c.b, line)
	}
}

// signed writes a number that may be below zero, blank for none.
func signed(n int64) string {
	if n == 0 {
		return "0"
	}
	return fmt.Sprintf("%+d", n)
}

type ledgerDoc struct {
	reviewLine
	Month     string    `json:"month"`
	Container string    `json:"container,omitempty"`
	Place     string    `json:"place,omitempty"`
	Shop      bool      `json:"whole_shop,omitempty"`
	Before    amountDoc `json:"before"`
	CameIn    amountDoc `json:"came_in"`
	MovedIn   amountDoc `json:"moved_in"`
	MovedOut  amountDoc `json:"moved_out"`
	Left      amountDoc `json:"left"`
	Restated  amountDoc `json:"restated"`
	After     amountDoc `json:"after"`
}

func ledgerLines(r *review.Report, head reviewLine) (lines []any) {
	for i := range r.Ledger.Months {
		m := &r.Ledger.Months[i]
		add := func(x *review.Line, shop bool) {
			lines = append(lines, ledgerDoc{head, m.From.String()[:7], x.Container, x.Place, shop, newAmountDoc(x.Before), newAmountDoc(x.CameIn), newAmountDoc(x.MovedIn),
				newAmountDoc(x.MovedOut), newAmountDoc(x.Left), newAmountDoc(x.Restated), newAmountDoc(x.After)})
		}
		for j := range m.Lines {
			add(&m.Lines[j], false)
		}
		add(&m.Total, true)
	}
	return lines
}
