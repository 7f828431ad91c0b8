package triage

import (
	"strings"
	"testing"
)

const goodHouse = `
[shop]
site = "North Street"
country = "US"
solo = true

[map]
"Voltage" = "ocv_v"

[[rule]]
id = "house-rise-4"
title = "House: 4 K over the room"
when = ["rise >= 4 K", "heat_explains is no"]
handling = "isolate"

[[rule]]
id = "rise-5"
when = ["rise >= 4.5 K", "heat_explains is no"]
handling = "isolate"
condition = "undetermined"

[[bar]]
id = "house-no-rail"
routes = ["us-rail"]
closes = ["all"]

[[approval]]
way = "syn-permit"
number = "A-1"
holder = "North Street"
until = "2026-12-31"

[[permit]]
number = "SP 12345"
holder = "North Street"
scope = "damaged cells, several to one fibre drum"
routes = ["us-highway"]
for = ["damaged"]
chemistry = ["lithium-ion"]
class = "damaged"
until = "2026-12-31"
`

func TestHouseFileTightensAndAdds(t *testing.T) {
	tables := syntheticTables(t)
	h, err := ParseHouse("house.toml", []byte(goodHouse), tables)
	if err != nil {
		t.Fatal(err)
	}
	rb, err := append(tables, h.Table()).On(day(t, testDay))
	if err != nil {
		t.Fatal(err)
	}
	judge := func(reading string) *Verdict {
		v := &Verdict{}
		rb.Judge(&Case{Reading: read(t, plain, reading), On: rb.On, InHand: h.InHand(rb.On), Solo: h.Shop.Solo}, v)
		return v
	}
	if v := judge("cell_c=25"); v.Handling != Isolate {
		t.Errorf("house line at 4 K: %s", v.Handling)
	}
	if v := judge("smoking=yes quiet_h=24"); v.Routes[USHighway].Class != RouteCritical {
		t.Errorf("approval in hand: %s", v.Routes[USHighway].Class)
	}
	v := judge("swollen=yes")
	if a := v.Routes[USHighway]; len(a.Open) != 2 || a.Open[1].ID != "permit-sp-12345" && a.Open[0].ID != "permit-sp-12345" && a.Way.ID != "permit-sp-12345" {
		t.Errorf("permit's way is not open: %v, %v", a.Way, a.Open)
	}
	if v.Routes[USRail].Class != RouteForbidden {
		t.Errorf("house bar: %s", v.Routes[USRail].Class)
	}
	if got := h.InHand(day(t, "2027-01-01")); len(got) != 0 {
		t.Errorf("an expired approval is in hand: %v", got)
	}
	late, err := append(tables, h.Table()).On(day(t, "2027-01-01"))
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range late.ways[USHighway] {
		if w.ID == "permit-sp-12345" {
			t.Error("an expired permit is a way")
		}
	}
}

func TestHouseFileRefusals(t *testing.T) {
	tables := syntheticTables(t)
	for name, c := range map[string]struct{ toml, want string }{
		"unknown key":      {"[shop]\ncolour = \"red\"\n", "line 2 column 1: unknown key shop.colour"},
		"loosened limit":   {"[[rule]]\nid = \"rise-5\"\nwhen = [\"rise >= 6 K\", \"heat_explains is no\"]\nhandling = \"isolate\"\ncondition = \"undetermined\"\n", `loosens the shipped rule rise-5 from "rise >= 5 K" to "rise >= 6 K"`},
		"loosened other":   {"[[rule]]\nid = \"volts-under-3\"\nwhen = [\"cell_volts_least < 2.9 V\"]\nhandling = \"hold\"\n", "loosens the shipped rule volts-under-3"},
		"loosened outcome": {"[[rule]]\nid = \"swollen\"\nwhen = [\"swollen is yes\"]\nhandling = \"hold\"\ncondition = \"undetermined\"\n", "loosens the shipped rule swollen"},
		"turned round":     {"[[rule]]\nid = \"swollen\"\nwhen = [\"swollen is no\"]\nhandling = \"isolate\"\ncondition = \"damaged\"\n", "loosens the shipped rule swollen"},
		"one more if":      {"[[rule]]\nid = \"swollen\"\nwhen = [\"swollen is yes\", \"rise >= 3 K\"]\nhandling = \"isolate\"\ncondition = \"damaged\"\n", "give the house rule an id of its own"},
		"a size":           {"[[rule]]\nid = \"house-small\"\nwhen = [\"energy <= 30 Wh\"]\nsize = \"small\"\n", "cannot give a size"},
		"lowering":         {"[[rule]]\nid = \"house-x\"\nwhen = [\"swollen is yes\"]\nhandling = \"hold\"\nlowered_by = \"second-person\"\n", "cannot say what a determination"},
		"a way":            {"[[way]]\nid = \"house-way\"\n", "unknown key way"},
		"no conditions":    {"[[rule]]\nid = \"house-x\"\nhandling = \"hold\"\n", "would fire on every cell"},
		"a used id":        {"[[bar]]\nid = \"syn-bar\"\nroutes = [\"us-rail\"]\ncloses = [\"all\"]\n", "id syn-bar is used already"},
		"approval":         {"[[approval]]\nway = \"syn-permitt\"\nnumber = \"1\"\nholder = \"x\"\nuntil = \"2026-12-31\"\n", "did you mean syn-permit?"},
		"no approval":      {"[[approval]]\nway = \"syn-small\"\nnumber = \"1\"\nholder = \"x\"\nuntil = \"2026-12-31\"\n", "that way asks for none"},
		"no expiry":        {"[[approval]]\nway = \"syn-permit\"\nnumber = \"1\"\nholder = \"x\"\n", "needs number, holder and until"},
		"light permit":     {"[[permit]]\nnumber = \"1\"\nholder = \"x\"\nscope = \"y\"\nuntil = \"2026-12-31\"\nroutes = [\"us-rail\"]\nfor = [\"damaged\"]\nchemistry = [\"lithium-ion\"]\nclass = \"small\"\n", "is regulated, damaged or critical"},
		"reacting permit":  {"[[permit]]\nnumber = \"1\"\nholder = \"x\"\nscope = \"y\"\nuntil = \"2026-12-31\"\nroutes = [\"us-rail\"]\nfor = [\"reacting\"]\nchemistry = [\"lithium-ion\"]\n", "no permit covers a cell that reacts"},
		"map":              {"[map]\nVolt = \"ocw_v\"\n", "did you mean ocv_v?"},
		"country":          {"[shop]\ncountry = \"Germany\"\n", "two capital letters"},
		"bar of nothing":   {"[[bar]]\nid = \"house-b\"\nroutes = [\"us-rail\"]\ncloses = [\"nothing\"]\n", "no such way"},
	} {
		_, err := ParseHouse("house.toml", []byte(c.toml), tables)
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "house.toml") {
			t.Errorf("%s: got %v, want %q", name, err, c.want)
		}
	}
}

func TestRecallList(t *testing.T) {
	on := day(t, testDay)
	l := NewRecallList([]RecallEntry{
		{Part: "PX-4820-R", Notice: "N1", ReadOn: on - 22},
		{Part: "PX 3300", Notice: "N2", MadeFrom: day(t, "2023-01-01"), MadeTo: day(t, "2023-06-30"), ReadOn: on - 40},
		{Part: "ОХ-77", Notice: "N4", ReadOn: on - 30}, // Cyrillic letters
		{Part: "LB.114", Notice: "N3", Serials: "A100 to A900", ReadOn: on - 30},
	})
	for _, c := range []struct {
		name, reading, want string
		age                 Date
		tell                string
	}{
		{"listed", "part=px4820r", "yes", 0, "recall notice N1"},
		{"listed against a typed no", "part=PX-4820-R recalled=no", "yes", 0, "recall notice N1"},
		{"in the dates", "part=PX3300 made_on=2023-06-30", "yes", 0, "N2"},
		{"out of the dates", "part=PX3300 made_on=2023-07-01", "no", 0, ""},
		{"dates not known", "part=PX3300", "", 0, "read the date of manufacture"},
		{"serials not known", "part=LB-114", "", 0, "look it up"},
		{"serials, somebody looked", "part=LB-114 recalled=no", "no", 0, ""},
		{"not listed", "part=ZZ-9000", "no", 0, ""},
		{"one slip away", "part=PX-4820-S", "", 0, "read the part number again"},
		{"not listed, list 30 days old", "part=ZZ-9000", "no", 8, ""},
		{"not listed, list too old", "part=ZZ-9000", "", 9, "too old"},
		{"listed, list too old", "part=PX-4820-R", "yes", 9, "N1"},
		{"no part number", "", "", 0, ""},
		{"part not known", "part=?", "", 0, ""},
		{"part not readable", "part=ur", "", 0, ""},
		{"hyphens of a page", "part=PX‑4820‑R", "yes", 0, "N1"},
		{"hyphens that do not show", "part=PX\u20114820\u00ad\u200bR", "yes", 0, "N1"},
		{"a letter that looks like it", "part=РX-4820-R", "", 0, "type it again"}, // the first is Cyrillic
		{"wide letters", "part=ＰＸ４８２０Ｒ", "", 0, "type it again"},
		{"listed with a letter that looks like it", "part=QX-77", "", 0, "read the part number again"},
		{"of another length than that", "part=QX-77-34-1", "no", 0, ""},
		{"a list from the future", "part=ZZ-9000", "", -23, "after"},
		{"listed, in a list from the future", "part=PX-4820-R", "yes", -23, "N1"},
		{"part too short", "part=A1", "", 0, ""},
		{"asked, and not listed", "part=ZZ-9000 recalled=?", "?", 0, ""},
	} {
		r := read(t, c.reading)
		tell := l.apply(&r, on+c.age)
		got := ""
		switch v := r[Recalled]; {
		case v.State == Known && v.Num == 1:
			got = "yes"
		case v.State == Known:
			got = "no"
		case v.State == Asked:
			got = "?"
		}
		if got != c.want || (c.tell == "") != (tell == "") || !strings.Contains(tell, c.tell) {
			t.Errorf("%s: got %q, told %q; want %q, %q", c.name, got, tell, c.want, c.tell)
		}
	}
}
