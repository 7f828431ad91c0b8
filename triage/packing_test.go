package triage

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// What a duty says to people and what it says to the program are one thing: a text
// that names a packing group, a strong outer packaging, an overpack or a cap has
// the term, and no term stands without its text.
func TestPackingTermsAgreeWithTheText(t *testing.T) {
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	counted := map[string]int{}
	for _, table := range tables {
		table.eachDuty(func(r *Record, d *Duty) {
			fault := func(what string) { t.Errorf("%s: %s: %q", r.ID, what, d.Text) }
			lower := strings.ToLower(d.Text)
			level := ""
			switch {
			case d.Kind != "packaging" || strings.Contains(lower, "unless the equipment protects") || strings.Contains(lower, "it may go without one") || strings.HasPrefix(lower, "a single battery"):
			case strings.Contains(lower, "p911 at packing group i,") || strings.Contains(lower, "to packing group i:"):
				level = "pg1"
			case strings.Contains(lower, "strong outer packaging up to 30 kg"), strings.Contains(lower, "in strong outer packagings"):
				level = "strong"
			case strings.Contains(lower, "packing group ii") || strings.Contains(lower, "p903 (1)"):
				level = "pg2"
			case strings.Contains(lower, "strong outer packaging") || strings.Contains(lower, "strong rigid outer packaging"):
				level = "strong"
			}
			if d.Level != level {
				fault("level " + d.Level + ", the text says " + level)
			}
			if d.Overpack != strings.HasPrefix(d.Text, "In an overpack") || d.Words == "OVERPACK" && !d.Overpack {
				fault("overpack")
			}
			if encloses := d.Kind == "packaging" && (strings.HasPrefix(d.Text, "Enclose each") || strings.HasPrefix(d.Text, "Put each cell")); encloses != (d.Asks == "inner") {
				fault("asks inner")
			}
			if cushions := d.Kind == "packaging" && (strings.HasPrefix(d.Text, "Surround") || strings.HasPrefix(d.Text, "Part the layers")); cushions != (d.Asks == "fill") {
				fault("asks fill")
			}
			if (d.Spared != nil) != strings.Contains(d.Text, "at most two packages, each with at most four cells or two batteries") {
				fault("spared")
			}
			if (d.Over != "") != strings.Contains(d.Text, "more than 5 kg net") {
				fault("over")
			}
			if (d.Lifted != "") != strings.Contains(d.Text, "that is not UN-tested") {
				fault("lifted")
			}
			if (d.Per != "") != (d.Kind == "net-cap" && strings.Contains(d.Text, "on one transport unit")) {
				fault("per")
			}
			if d.Kind == "gross-cap" || d.Kind == "net-cap" {
				if !strings.Contains(d.Text, d.AtMost) || d.Cap().Unit != CapMass {
					fault("at most " + d.AtMost)
				}
			}
			for _, code := range slices.Concat(d.Codes, d.CodesOne) {
				counted[code]++
				if !strings.Contains(d.Text, code) && code[0] != '5' {
					fault("code " + code + " is not in the text")
				}
			}
			for _, term := range []string{d.Level, d.Asks, d.Lifted, d.Per, d.Over} {
				counted[term]++
			}
		})
	}
	for _, term := range []string{"pg1", "pg2", "strong", "inner", "fill", "consignment", "5 kg", "4G", "50A"} {
		if counted[term] == 0 {
			t.Errorf("no duty has %s", term)
		}
	}
}

func TestPackingTermsAreStrict(t *testing.T) {
	const head = "[instrument]\nid = \"x\"\nfrom = \"2025-01-01\"\n"
	const way = head + "[[way]]\nid = \"w\"\nroutes = [\"sea\"]\nclass = \"small\"\nchemistry = [\"lithium-ion\"]\nfor = [\"undamaged\"]\nduty = [{ kind = \"KIND\", text = \"t\", source = \"s\", TERM }]\n"
	for _, c := range []struct{ kind, term, want string }{
		{"packaging", `level = "pg3"`, `level "pg3" is none of strong, pg2, pg1`},
		{"packaging", `asks = "outer"`, "neither inner nor fill"},
		{"packaging", `lifted = "pg2"`, "belong to a cap"},
		{"packaging", `colour = "red"`, "unknown key"},
		{"gross-cap", `at_most = "30"`, ""},
		{"gross-cap", `at_most = "30 stone"`, "unknown unit"},
		{"gross-cap", `at_most = ""`, "at_most"},
		{"net-cap", `at_most = "3 kg", per = "truck"`, "is not consignment"},
		{"one-per-outer", `at_most = "one item"`, "not a number"},
		{"mark", `over = "five"`, "is no mass"},
		{"mark", `spared = { packages = 2, cells = 4 }`, "names packages, cells and batteries"},
		{"label", `spared = { packages = 2, cells = 4, batteries = 2 }`, "belongs to a mark"},
	} {
		_, err := ParseTable("t.toml", []byte(strings.NewReplacer("KIND", c.kind, "TERM", c.term).Replace(way)))
		if c.want == "" {
			if err != nil {
				t.Errorf("%s: %v", c.term, err)
			}
		} else if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got error %v, want one with %q", c.term, err, c.want)
		}
	}
	for _, c := range []struct{ text, want string }{
		{"[[together]]\nid = \"a\"\nroutes = [\"sea\"]\nwithin = \"box\"\nsame = \"way\"\n", "neither package nor overpack"},
		{"[[together]]\nid = \"a\"\nroutes = [\"sea\"]\nwithin = \"package\"\nsame = \"colour\"\n", "none of condition, number, way"},
		{"[[together]]\nid = \"a\"\nwithin = \"package\"\nsame = \"way\"\n", "names no route"},
		{"[[outer]]\nid = \"a\"\nlevel = \"strong\"\ntare = \"0 kg\"\nmax_gross = \"3 kg\"\n", "above 0"},
		{"[[outer]]\nid = \"a\"\nlevel = \"x\"\ntare = \"1 kg\"\nmax_gross = \"3 kg\"\n", "is none of strong"},
	} {
		if _, err := ParseTable("t.toml", []byte(head+c.text)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got error %v, want one with %q", c.text, err, c.want)
		}
	}
}

// What may share a package stands here a second time, so that a slip in the table
// is noticed.
func TestTogethersAreAsAgreed(t *testing.T) {
	rb := shipped(t)
	for route := range NumRoutes {
		var got []string
		for _, x := range rb.Togethers(route) {
			got = append(got, x.ID+": "+x.outcome())
		}
		want := []string{"pack-one-condition: one condition to each package", "pack-one-number: one number to each package", "pack-one-way: one way to each package"}
		if route == USHighway {
			want = append(want, "pack-recycling-ion-metal: may share a package: us-recycling-small-ion, us-recycling-small-metal")
		}
		if want = append(want, "overpack-one-condition: one condition to each overpack"); !slices.Equal(got, want) {
			t.Errorf("%s: got %q", route, got)
		}
	}
	var got []string
	for _, o := range rb.StockOuters() {
		got = append(got, o.ID+" "+o.Level+" "+o.UNMark+" "+o.TareG.String()+" "+o.MaxGrossG.String())
	}
	if want := []string{"outer-strong strong  2000 30000", "outer-pg2 pg2 4G/Y30/S 2000 30000", "outer-pg1 pg1 1A2/X30/S 5000 30000"}; !slices.Equal(got, want) {
		t.Errorf("got %q", got)
	}
}

// Every cap and every level of each way stands in packing-terms.tsv a second time,
// so that a slip in a table is noticed.
func TestCapsAndLevelsAreAsAgreed(t *testing.T) {
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	agreed := map[string]int{}
	for _, row := range rows(t, "packing-terms.tsv") {
		agreed[strings.Join([]string{row["way"], row["kind"], row["routes"], row["when"], row["term"]}, "|")]++
	}
	for _, table := range tables {
		table.eachDuty(func(r *Record, d *Duty) {
			term := termOf(d)
			if term == "" {
				return
			}
			key := strings.Join([]string{r.ID, d.Kind, strings.Join(d.Routes, ","), strings.Join(slices.Concat(d.When, []string{"or"}, d.OrWhen), ", "), term}, "|")
			if agreed[key]--; agreed[key] < 0 {
				t.Errorf("not agreed: %s", key)
			}
		})
	}
	for key, n := range agreed {
		if n > 0 {
			t.Errorf("agreed and not there: %s", key)
		}
	}
}

// termOf writes what a duty asks of a package in one line, "" for nothing.
func termOf(d *Duty) string {
	var parts []string
	add := func(name, value string) {
		if value != "" {
			parts = append(parts, name+" "+value)
		}
	}
	if d.Cap().Unit != "" {
		add("at most", d.AtMost)
	}
	add("level", d.Level)
	add("asks", d.Asks)
	add("lifted by", d.Lifted)
	add("per", d.Per)
	add("over", d.Over)
	add("codes", strings.Join(d.Codes, " "))
	add("one", strings.Join(d.CodesOne, " "))
	if s := d.Spared; s != nil {
		parts = append(parts, fmt.Sprintf("spared %d packages of %d cells or %d batteries", s.Packages, s.Cells, s.Batteries))
	}
	return strings.Join(parts, "; ")
}
