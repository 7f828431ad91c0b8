package triage

import "testing"

// A house file gives one digest from wherever it is named, and another one under
// another name or with other rules.
func TestDigestKnowsNoFolder(t *testing.T) {
	tables, err := Embedded()
	if err != nil {
		t.Fatal(err)
	}
	digest := func(name, text string) string {
		h, err := ParseHouse(name, []byte(text), tables)
		if err != nil {
			t.Fatal(err)
		}
		rb, err := append(append(Tables{}, tables...), h.Table()).On(day(t, "2026-11-25"))
		if err != nil {
			t.Fatal(err)
		}
		return rb.Digest
	}
	const text = "[shop]\nsite = \"Invented shop\"\n"
	want := digest("house.toml", text)
	for _, name := range []string{"shop/house.toml", "/srv/shop/house.toml", `C:\shop\house.toml`, "./house.toml"} {
		if got := digest(name, text); got != want {
			t.Errorf("%s gives another digest", name)
		}
	}
	if digest("other.toml", text) == want || digest("house.toml", text+"solo = true\n") == want {
		t.Error("another file gives the same digest")
	}
}
