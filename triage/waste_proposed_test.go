package triage

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// proposedOrigin is the key of the waste tables that the program does not know yet.
var proposedOrigin = regexp.MustCompile(`(?m)^origin = "(municipal|trade)"\n`)

// TestProposedWasteTables keeps the waste tables that wait for a schema change (rules/*.proposed, not embedded) clean:
// without the one new key they parse and lint beside the shipped tables, and the codes change on the one day.
func TestProposedWasteTables(t *testing.T) {
	all, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	all = slices.Clone(all)
	for name, origins := range map[string]int{"waste-eu": 4, "waste-uk": 2} {
		data, err := os.ReadFile("rules/" + name + ".toml.proposed")
		if err != nil {
			t.Fatal(err)
		}
		if n := len(proposedOrigin.FindAll(data, -1)); n != origins {
			t.Errorf("%s: %d rows with an origin, want %d", name, n, origins)
		}
		table, err := ParseTable(name+".toml", proposedOrigin.ReplaceAll(data, nil))
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, table)
		for i := range table.Streams {
			s := &table.Streams[i]
			if len(s.Codes) == 0 && len(s.Duties) == 0 {
				t.Errorf("%s: neither code nor duty", s.ID)
			}
			for j := range s.Duties {
				d := &s.Duties[j]
				if (d.Confidence == "memory") != strings.Contains(d.Source, "from memory") {
					t.Errorf("%s: %q says %q and its source %q", s.ID, d.Text, d.Confidence, d.Source)
				}
			}
			if s.Until != "" && s.Until != "2026-12-08" || s.From != "" && s.From != "2026-12-09" {
				t.Errorf("%s: from %q until %q, not at the switch", s.ID, s.From, s.Until)
			}
		}
	}
	if err := all.Lint(); err != nil {
		t.Error(err)
	}
}
