package triage

import (
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// bornLater are records that begin after their instrument and follow none, each with its reason.
var bornLater = map[string]string{
	"air-a331-966":      "no limit of charge was in packing instruction 966 before 2026, so there was none to exceed",
	"air-a183-a331-966": "likewise",
}

var yearSuffix = regexp.MustCompile(`-20[0-9][0-9]$`)

// windowFaults checks that dated records of one table leave no day without a rule and give no day two. A row that
// ends bears the year at the end of its id; the rows that follow it begin with the id that is left. Rows that share
// a window are halves of one text.
func windowFaults(table *Table) (faults []string) {
	type window struct{ from, until Date }
	chains := map[string]map[window][]string{}
	table.eachRecord(func(_ string, r *Record) {
		if base := yearSuffix.ReplaceAllString(r.ID, ""); base != r.ID {
			chains[base] = map[window][]string{}
		}
	})
	table.eachRecord(func(_ string, r *Record) {
		chain := ""
		for base := range chains {
			if (r.ID == base || strings.HasPrefix(r.ID, base+"-")) && len(base) > len(chain) {
				chain = base
			}
		}
		switch {
		case chain != "":
			w := window{r.from, r.until}
			chains[chain][w] = append(chains[chain][w], r.ID)
		case r.from == 0 && r.until == 0:
		case bornLater[r.ID] == "" || r.until != 0:
			faults = append(faults, r.ID+" has a window and belongs to no chain")
		}
	})
	for base, windows := range chains {
		order := slices.SortedFunc(maps.Keys(windows), func(a, b window) int { return int(a.from - b.from) })
		if len(order) < 2 {
			faults = append(faults, base+" ends and nothing follows")
			continue
		}
		for i, w := range order {
			switch last := i == len(order)-1; {
			case i == 0 && w.from != 0 && w.from != table.from:
				faults = append(faults, base+" begins after its instrument")
			case last && w.until != 0 && w.until != table.until:
				faults = append(faults, base+" ends before its instrument")
			case !last && w.until == 0:
				faults = append(faults, base+" overlaps: no end before "+order[i+1].from.String())
			case !last && order[i+1].from > w.until+1:
				faults = append(faults, base+" has a gap after "+w.until.String())
			case !last && order[i+1].from <= w.until:
				faults = append(faults, base+" overlaps on "+w.until.String())
			}
		}
	}
	return faults
}

func TestDatedRowsLeaveNoGapAndNoOverlap(t *testing.T) {
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	for _, table := range tables {
		for _, fault := range windowFaults(table) {
			t.Errorf("%s: %s", table.Name, fault)
		}
	}
}

// The lint is shown each fault that it looks for.
func TestDateLintFindsWhatItLooksFor(t *testing.T) {
	row := func(id, window string) string {
		return "[[rule]]\nid = \"" + id + "\"\nhandling = \"hold\"\nwhen = [\"swollen is yes\"]\n" + window + "\n"
	}
	head := "[instrument]\nid = \"x\"\nfrom = \"2025-01-01\"\n"
	for _, c := range []struct{ name, rows, want string }{
		{"good", row("a-2025", `until = "2025-12-31"`) + row("a", `from = "2026-01-01"`) + row("a-b", `from = "2026-01-01"`), ""},
		{"gap", row("a-2025", `until = "2025-12-30"`) + row("a", `from = "2026-01-01"`), "gap"},
		{"overlap", row("a-2025", `until = "2026-01-01"`) + row("a", `from = "2026-01-01"`), "overlaps on"},
		{"open end", row("a-2025", ``) + row("a", `from = "2026-01-01"`), "overlaps: no end"},
		{"never ended", row("a-2025", `until = "2025-12-31"`) + row("a", ``), "overlaps"},
		{"three in a row", row("a-2025", `until = "2025-12-31"`) + row("a-2026", "from = \"2026-01-01\"\nuntil = \"2026-12-31\"") + row("a", `from = "2027-01-01"`), ""},
		{"nothing follows", row("a-2025", `until = "2025-12-31"`), "nothing follows"},
		{"late", row("a-2025", "from = \"2025-02-01\"\nuntil = \"2025-12-31\"") + row("a", `from = "2026-01-01"`), "begins after"},
		{"early end", row("a-2025", `until = "2025-12-31"`) + row("a", "from = \"2026-01-01\"\nuntil = \"2026-06-30\""), "ends before"},
		{"stray", row("b", `from = "2026-01-01"`), "no chain"},
		{"sibling with another end", row("a-2025", `until = "2025-12-31"`) + row("a", `from = "2026-01-01"`) + row("a-b", `from = "2026-02-01"`), "overlaps"},
	} {
		table, err := ParseTable("t.toml", []byte(head+c.rows))
		if err != nil {
			t.Fatal(err)
		}
		got := strings.Join(windowFaults(table), "; ")
		if c.want == "" && got != "" || !strings.Contains(got, c.want) {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
	}
}

// Past the last day for which a text is known every verdict says so; on that day none does.
func TestNoticePastTheLastKnownDay(t *testing.T) {
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, table := range tables {
		in := &table.Instrument
		if in.KnownUntil == "" {
			continue
		}
		seen++
		last := day(t, in.KnownUntil)
		for by, want := range map[Date]bool{0: false, 1: true, 400: true} {
			rb, err := tables.On(last + by)
			if err != nil {
				t.Fatal(err)
			}
			notices := strings.Join(verdict(t, rb, read(t, plain)).Notices(rb), "\n")
			if got := strings.Contains(notices, "The rules of "+in.ID+" are known until "+in.KnownUntil); got != want {
				t.Errorf("%s, %d days past: notice %t, want %t", in.ID, by, got, want)
			}
		}
	}
	if seen == 0 {
		t.Error("no instrument has a last known day")
	}
}
