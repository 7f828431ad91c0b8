package triage

import (
	"bufio"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// ruleState says what rule or bar id did in a verdict.
func ruleState(v *Verdict, id string) string {
	for _, list := range [][]Finding{v.HandlingFindings, v.ConditionFindings, v.SizeFindings, v.WasteFindings} {
		for i := range list {
			if f := &list[i]; f.Rule != nil && f.Rule.ID == id {
				return f.State.String()
			}
		}
	}
	for i := range v.Routes {
		if b := v.Routes[i].Bar; b != nil && b.ID == id {
			return "fired"
		}
	}
	return "no"
}

func TestEveryRuleJustInsideJustOutsideMissing(t *testing.T) {
	rb := shipped(t)
	have := map[string]map[string]bool{}
	for _, row := range rows(t, "rules.tsv") {
		id := row["rule"]
		if have[id] == nil {
			have[id] = map[string]bool{}
		}
		have[id][row["place"]] = true
		v := verdict(t, rb, read(t, plain, row["reading"]))
		if got := ruleState(v, id); got != row["want"] {
			t.Errorf("%s %s, %s: got %s, want %s", id, row["place"], row["reading"], got, row["want"])
		}
	}
	for _, r := range rb.rules {
		needs := []string{"inside", "outside", "missing"}
		for _, place := range needs {
			if !have[r.ID][place] {
				t.Errorf("rule %s has no case %s", r.ID, place)
			}
		}
	}
	for route := range NumRoutes {
		for _, b := range rb.bars[route] {
			for _, place := range []string{"inside", "outside", "missing"} {
				if !have[b.ID][place] {
					t.Errorf("bar %s has no case %s", b.ID, place)
				}
			}
		}
	}
}

// The word map of the design page: routine is sound or retire, contain is hold;
// "needs a decision" and "not judged yet" are undetermined. Whatever makes
// handling emergency makes condition reacting.
func TestWorkedScenarios(t *testing.T) {
	rb := shipped(t)
	for _, row := range rows(t, "scenarios.tsv") {
		if row["basis"] != "common practice" {
			t.Errorf("%s is not marked common practice", row["id"])
		}
		v := verdict(t, rb, read(t, row["reading"]))
		want := []string{row["handling"], row["condition"], row["size"], row["waste"]}
		got := []string{v.Handling.String(), v.Condition.String(), v.Size.String(), v.Waste.String()}
		if want[0] == "routine" && (got[0] == "sound" || got[0] == "retire") {
			got[0] = "routine"
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: got %v, want %v", row["id"], got, want)
		}
	}
}

func TestShippedTablesAreClean(t *testing.T) {
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	if err := tables.Lint(); err != nil {
		t.Error(err)
	}
	if NumFacts > 64 || NumFields > 64 {
		t.Errorf("%d facts, %d fields: sets hold 64", NumFacts, NumFields)
	}
}

// A rule id that was released stays: an old log names it.
func TestReleasedRuleIDsStay(t *testing.T) {
	f, err := os.Open(filepath.Join(cases, "released-rule-ids.txt"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	now := map[string]bool{}
	for _, t := range tables {
		t.eachRecord(func(_ string, r *Record) { now[r.ID] = true })
	}
	released := 0
	for sc := bufio.NewScanner(f); sc.Scan(); released++ {
		if !now[sc.Text()] {
			t.Errorf("rule %s was released and is gone: end it with a date and a reason instead", sc.Text())
		}
		delete(now, sc.Text())
	}
	if released == 0 {
		t.Error("the list of released ids is empty")
	}
	for id := range now {
		t.Errorf("rule %s is not in testdata/cases/released-rule-ids.txt: add it", id)
	}
}

func TestTableErrorsNamePlaceAndReason(t *testing.T) {
	const head = "[instrument]\nid = \"x\"\nfrom = \"2025-01-01\"\n"
	for _, c := range []struct{ name, toml, want string }{
		{"unknown key", head + "[[rule]]\nid = \"a\"\ncolour = \"red\"\n", "line 6 column 1: unknown key"},
		{"unknown fact", head + "[[rule]]\nid = \"a\"\nhandling = \"hold\"\nwhen = [\"swolen is yes\"]\n", "did you mean swollen?"},
		{"missing unit", head + "[[rule]]\nid = \"a\"\nhandling = \"hold\"\nwhen = [\"rise >= 3\"]\n", "the unit is missing: rise takes K"},
		{"wrong unit", head + "[[rule]]\nid = \"a\"\nhandling = \"hold\"\nwhen = [\"rise >= 3 V\"]\n", `unknown unit "v"`},
		{"word for a number", head + "[[rule]]\nid = \"a\"\nhandling = \"hold\"\nwhen = [\"rise is yes\"]\n", "compare it"},
		{"number for a word", head + "[[rule]]\nid = \"a\"\nhandling = \"hold\"\nwhen = [\"swollen >= 1 V\"]\n", "use \"is\""},
		{"emergency without reacting", head + "[[rule]]\nid = \"a\"\nhandling = \"emergency\"\nwhen = [\"swollen is yes\"]\n", "must make condition reacting"},
		{"no outcome", head + "[[rule]]\nid = \"a\"\nwhen = [\"swollen is yes\"]\n", "has no outcome"},
		{"unknown class", head + "[[rule]]\nid = \"a\"\nhandling = \"fine\"\n", `handling "fine" is none of`},
		{"window", "[instrument]\nid = \"x\"\nfrom = \"2026-01-01\"\nuntil = \"2025-01-01\"\n", "ends on 2025-01-01 before it begins"},
		{"syntax", "[instrument\n", "line 1"},
	} {
		_, err := ParseTable("t.toml", []byte(c.toml))
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "t.toml") {
			t.Errorf("%s: got error %v, want one with %q", c.name, err, c.want)
		}
	}
}

func TestLintFindsWhatItLooksFor(t *testing.T) {
	good := "[instrument]\nid = \"x\"\nauthority = \"a\"\ntitle = \"t\"\nedition = \"e\"\nread_on = \"2026-11-25\"\n" +
		"[[rule]]\nid = \"a\"\ntitle = \"T\"\nsource = \"s\"\nbasis = \"published\"\nconfidence = \"read\"\nhandling = \"hold\"\nwhen = [\"swollen is yes\"]\n"
	for _, c := range []struct{ from, to, want string }{
		{`id = "a"`, `id = "A b"`, "lower-case"},
		{`source = "s"`, `source = ""`, "lacks title or source"},
		{`basis = "published"`, `basis = "law"`, "basis"},
		{`confidence = "read"`, `confidence = "sure"`, "confidence"},
		{`title = "T"`, `title = "Now safe to ship"`, `prints "safe"`},
		{`when = ["swollen is yes"]`, ``, "fires on every cell"},
		{`edition = "e"`, ``, "lacks id, authority"},
	} {
		table, err := ParseTable("t.toml", []byte(strings.Replace(good, c.from, c.to, 1)))
		if err != nil {
			t.Fatal(err)
		}
		if err := (Tables{table}).Lint(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s -> %s: lint says %v, want %q", c.from, c.to, err, c.want)
		}
	}
}

func TestNoRulesBeforeTheFirstEdition(t *testing.T) {
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := tables.On(day(t, "2024-12-31")); err == nil {
		t.Error("a day before the first edition gave a rulebook")
	}
	rb, err := tables.On(day(t, "2027-01-01"))
	if err != nil {
		t.Fatal(err)
	}
	if len(rb.PastEdition()) == 0 {
		t.Error("no notice past the end of the newest air edition")
	}
	// What is known to be forbidden stays so past the edition's end.
	v := verdict(t, rb, read(t, plain, "swollen=yes"))
	if v.Routes[AirCargo].Class != RouteForbidden {
		t.Error("the bar by air ended with its edition")
	}
}

// The outcome of every rule stands a second time in the test data, so that a
// slip in a table is noticed.
func TestEveryOutcomeIsAsAgreed(t *testing.T) {
	rb := shipped(t)
	want := map[string]map[string]string{}
	for _, row := range rows(t, "outcomes.tsv") {
		want[row["rule"]] = row
	}
	dash := func(s string) string {
		if s == "" {
			return "-"
		}
		return s
	}
	for _, r := range rb.rules {
		w := want[r.ID]
		got := map[string]string{"rule": r.ID, "handling": dash(r.Handling), "condition": dash(r.Condition), "size": dash(r.Size),
			"waste": dash(r.Waste), "lowered_by": dash(r.LoweredBy)}
		if !maps.Equal(got, w) {
			t.Errorf("%s: %v, agreed %v", r.ID, got, w)
		}
		delete(want, r.ID)
	}
	for id := range want {
		t.Errorf("%s has an agreed outcome and no rule", id)
	}
}

// The digest that is made from the heads is that of the whole rulebook, on the days on
// which editions change and between them.
func TestDigestOn(t *testing.T) {
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	for _, day := range []string{"2025-06-01", "2025-12-31", "2026-01-01", "2026-11-25", "2026-12-31", "2027-01-01", "2030-01-01"} {
		on, err := ParseDate(day)
		if err != nil {
			t.Fatal(err)
		}
		rb, err := tables.On(on)
		if err != nil {
			t.Fatal(err)
		}
		got, err := DigestOn(on)
		if err != nil || got != rb.Digest {
			t.Errorf("%s: %s from the heads (%v), %s of the rulebook", day, got, err, rb.Digest)
		}
	}
	// Before the first edition no table of it is in force, and none is in the digest.
	early, err := DigestOn(mustDate("2020-01-01"))
	if now, _ := DigestOn(mustDate("2026-11-25")); err != nil || early == now {
		t.Errorf("2020: the digest is that of 2026 (%v)", err)
	}
}
