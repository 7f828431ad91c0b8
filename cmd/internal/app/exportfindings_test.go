package app

import (
	"slices"
	"testing"
	"time"

	"pouchward/exports/table"
	"pouchward/triage"
	"pouchward/triage/review"
)

// The table of findings says what is open, what was answered, what was gone through
// without one, and what nobody looked at: none of them reads as another.
func TestFindingsTable(t *testing.T) {
	shop, _ := exportShop(t)
	var seen, unseen *triage.Check
	for _, c := range shop.Rulebook.Checks() {
		if c.Unseen != "" {
			unseen = c
		} else if seen == nil {
			seen = c
		}
	}
	if seen == nil || unseen == nil {
		t.Fatal("the rulebook has not both kinds of checks")
	}
	at := time.Date(2026, 11, 1, 9, 0, 0, 0, time.UTC)
	r := &review.Report{Findings: []review.Finding{
		{Check: seen, Subject: "F2XE9R", Tags: []string{"F2XE9R"}, Entries: []int64{7, 9}, Since: at, Text: "packed by MK"},
		{Check: seen, Subject: "D3N2PN", Since: at, Until: at.Add(time.Hour), Text: "was late"},
		{Check: seen, Subject: "MK", Since: at, Text: "not trained", Signed: &review.SignOff{Source: review.Source{Who: "LS"}, Reason: "trained since"}},
	}, Clean: []review.Clean{{Check: seen, Checked: 12}, {Check: seen}}, Unseen: []*triage.Check{unseen}}
	names := newPeople()
	names.all([]string{"MK", "LS"})
	e := &exporter{shop: shop, ask: &ExportAsk{}, people: names, review: names.report(r)}
	tab := e.findingsTable()
	column := func(name string) int {
		return slices.IndexFunc(tab.Columns, func(c table.Column) bool { return c.Name == name })
	}
	var got [][]string
	err := tab.Rows(func(row []table.Value) error {
		got = append(got, []string{row[column("state")].Text(), row[column("subject")].Text(), row[column("found")].Text(), row[column("entries")].Text(), row[column("answered_by")].Text()})
		return nil
	})
	want := [][]string{{"open", "F2XE9R", "packed by P1", "7 9", ""}, {"past", "D3N2PN", "was late", "", ""}, {"answered", "P1", "not trained", "", "P2"},
		{"nothing found", "", seen.Clean + " (12 " + seen.Counts + ")", "", ""}, {"nothing to look at", "", "there were no " + seen.Counts, "", ""}, {"not to be seen", "", unseen.Unseen, "", ""}}
	if err != nil || len(got) != len(want) {
		t.Fatalf("%d rows, want %d: %v", len(got), len(want), err)
	}
	for i := range want {
		if !slices.Equal(got[i], want[i]) {
			t.Errorf("row %d: %q, want %q", i, got[i], want[i])
		}
	}
	tables := []string{}
	for _, x := range e.tables() {
		tables = append(tables, x.Name)
	}
	if i := slices.Index(tables, "findings"); i < 0 || tables[i-1] != "packages" || tables[i+1] != "ledger" {
		t.Errorf("the tables are %v", tables)
	}
}
