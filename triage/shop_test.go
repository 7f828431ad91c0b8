package triage

import (
	"strings"
	"testing"
)

func TestShopFacts(t *testing.T) {
	const file = `[shop]
opens = "08:30"
closes = "17:00"
closed_days = ["sunday", "monday"]
fire_service = "112"
emergency_number = "+1 555 0100"
emergency_number_by = "Hazard Line (invented), contract 7"
isolation_place = "yard, concrete slab Y1"
store_place = "metal cabinet C1"
consignee = "Recycler of North Street (invented)"
`
	h, err := ParseHouse("house.toml", []byte(file), nil)
	if err != nil {
		t.Fatal(err)
	}
	want := Hours{Opens: 510, Closes: 1020, Closed: [7]bool{true, true}}
	if got := h.Shop.Hours(); got != want {
		t.Errorf("hours: got %+v, want %+v", got, want)
	}
	if got := want.String(); got != "08:30 to 17:00, closed sunday, monday" {
		t.Errorf("hours print as %q", got)
	}
	if h.Shop.FireService != "112" || h.Shop.EmergencyNumber != "+1 555 0100" || h.Shop.IsolationPlace != "yard, concrete slab Y1" ||
		h.Shop.StorePlace != "metal cabinet C1" || !strings.HasPrefix(h.Shop.Consignee, "Recycler") || !strings.HasPrefix(h.Shop.EmergencyNumberBy, "Hazard") {
		t.Errorf("a fact was not kept: %+v", h.Shop)
	}
}

// Where the house is silent the next opening is never put off.
func TestUsualHours(t *testing.T) {
	usual := Hours{Opens: 540, Closes: 1080}
	var none *Shop
	for name, got := range map[string]Hours{
		"no shop":      none.Hours(),
		"silent shop":  (&Shop{}).Hours(),
		"zero":         Hours{}.orUsual(),
		"no open day":  Hours{Closed: [7]bool{true, true, true, true, true, true, true}}.orUsual(),
		"unreadable":   (&Shop{Opens: "nine", Closes: "18:00"}).Hours(),
		"one is given": (&Shop{Opens: "10:00"}).Hours(),
	} {
		if got != usual {
			t.Errorf("%s: got %+v, want %+v", name, got, usual)
		}
	}
	if got := (&Shop{ClosedDays: []string{"sunday"}}).Hours(); got != (Hours{Opens: 540, Closes: 1080, Closed: [7]bool{true}}) {
		t.Errorf("closed day alone: %+v", got)
	}
	if got := (Hours{}).String(); got != "09:00 to 18:00, every day" {
		t.Errorf("usual hours print as %q", got)
	}
}

func TestShopFactRefusals(t *testing.T) {
	for _, c := range []struct{ toml, want string }{
		{`opens = "9:00"` + "\n" + `closes = "18:00"`, `shop: opens "9:00": use hours and minutes of 24 h, such as 09:00`},
		{`opens = "09:00"` + "\n" + `closes = "24:00"`, `closes "24:00": use hours`},
		{`opens = "09:00"`, "give both or neither"},
		{`closes = "18:00"`, "give both or neither"},
		{`opens = "18:00"` + "\n" + `closes = "18:00"`, "opens 18:00 is not before closes 18:00"},
		{`closed_days = ["sundey"]`, "did you mean sunday?"},
		{`closed_days = ["Sunday"]`, `"Sunday" is none of sunday`},
		{`closed_days = ["sunday", "sunday"]`, "sunday stands there twice"},
		{`closed_days = ["sunday", "monday", "tuesday", "wednesday", "thursday", "friday", "saturday"]`, "no day is left"},
		{`closed_days = "sunday"`, "line 2"},
		{`fire_service = "the brigade"`, `shop: fire_service "the brigade": has no digit`},
		{`emergency_number = "call us"`, "has no digit"},
		{`emergency_number_by = "nobody"`, "give emergency_number too"},
		{`isolation_place = "yard\u001b[2J"`, `does not print after "yard"`},
		{`store_place = "two\nlines"`, `does not print after "two"`},
		{`consignee = "turned \u202e round"`, `does not print after "turned "`},
		{`consignee = " Recycler"`, "begins or ends with a space"},
		{`consignee = " "`, "begins or ends with a space"},
		{`isolation_place = "` + strings.Repeat("x", 61) + `"`, "is 61 characters long, and 60 fit"},
		{`fire_service = "` + strings.Repeat("1", 41) + `"`, "is 41 characters long, and 40 fit"},
		{`isolation-place = "yard"`, "unknown key shop.isolation-place"},
	} {
		_, err := ParseHouse("house.toml", []byte("[shop]\n"+c.toml+"\n"), nil)
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "house.toml") {
			t.Errorf("%s: got %v, want %q", c.toml, err, c.want)
		}
	}
	if _, err := ParseHouse("house.toml", []byte("[shop]\nisolation_place = \""+strings.Repeat("ü", 60)+"\"\n"), nil); err != nil {
		t.Errorf("60 characters: %v", err)
	}
}
