package triage

import (
	"slices"
	"strings"
	"testing"
)

// Each question on a cell that it bears on, and on the nearest that it does not.
func TestLocalQuestionsBear(t *testing.T) {
	rb := shipped(t)
	cases := []struct{ id, bears, not string }{
		{"local-isolation-place", "swollen=yes", "ocv_v=?"},
		{"local-isolation-place", "dented=yes", "smoking=yes"},
		{"local-container-lid", "swollen=yes", "ocv_v=2.9"},
		{"local-container-lid", "dented=yes", "hissing=yes"},
		{"local-after-hours", "swollen=yes", "purpose=recycle"},
		{"local-after-hours", "smoking=yes", "ocv_v=?"},
		{"local-breached-taker", "leaking=yes", "cracked=yes"},
		{"local-breached-taker", "punctured=yes quiet_h=24", "odour=yes"},
		{"local-fire-water", "smoking=yes", "swollen=yes"},
		{"local-recycler-limits", "swollen=yes", "purpose=recycle"},
		{"local-recycler-limits", "rated_mah=5195 purpose=recycle", "rated_mah=5195"},
		{"local-recycler-limits", "smoking=yes quiet_h=24", "smoking=yes"},
		{"local-carrier-refusals", "recalled=yes", "purpose=recycle"},
		{"local-carrier-refusals", "rated_mah=20000 purpose=recycle", "rated_mah=20000"},
		{"local-state-waste", "swollen=yes", "purpose=recycle"},
		{"local-state-waste", "smoking=yes", "rated_mah=5195 purpose=recycle"},
		{"local-permit-amount", "purpose=recycle", ""},
		{"local-permit-amount", "swollen=yes", "ocv_v=?"},
		{"local-landlord-insurer", "swollen=yes", "purpose=recycle"},
		{"local-landlord-insurer", "dented=yes", "smoking=yes"},
		{"local-export", "purpose=return", "recalled=yes"},
		{"local-export", "purpose=return swollen=yes", "purpose="},
		{"local-language", "swollen=yes", "purpose=recycle"},
		{"local-language", "rated_mah=5195 purpose=recycle", "rated_mah=5195"},
	}
	tried := map[string]bool{}
	for _, c := range cases {
		tried[c.id] = true
		others := func(id string) bool { return id != c.id }
		if l := rb.LocalBearing(verdict(t, rb, read(t, plain, c.bears)), others); l == nil || l.ID != c.id {
			t.Errorf("%s does not bear on %s", c.id, c.bears)
		}
		if l := rb.LocalBearing(verdict(t, rb, read(t, plain, c.not)), others); l != nil {
			t.Errorf("%s bears on %q", l.ID, c.not)
		}
	}
	for i, l := range rb.Locals() {
		if !tried[l.ID] {
			t.Errorf("%s has no case", l.ID)
		}
		if l.Order != i+1 {
			t.Errorf("%s has order %d and comes %d.", l.ID, l.Order, i+1)
		}
	}
}

func TestTheMostImportantOpenQuestionComesFirst(t *testing.T) {
	rb := shipped(t)
	isolated := verdict(t, rb, read(t, plain, "swollen=yes"))
	var order []string
	for {
		l := rb.LocalBearing(isolated, func(id string) bool { return slices.Contains(order, id) })
		if l == nil {
			break
		}
		order = append(order, l.ID)
	}
	want := []string{"local-isolation-place", "local-container-lid", "local-after-hours", "local-recycler-limits", "local-carrier-refusals",
		"local-state-waste", "local-permit-amount", "local-landlord-insurer", "local-language"}
	if !slices.Equal(order, want) {
		t.Errorf("got %q, want %q", order, want)
	}
	if l := rb.LocalBearing(isolated, nil); l == nil || l.ID != want[0] {
		t.Errorf("nothing answered: %v", l)
	}
	if l := rb.LocalBearing(verdict(t, rb, read(t, plain)), nil); l != nil {
		t.Errorf("a sound, small, undamaged cell is asked %s", l.ID)
	}
	if got := rb.LocalBearing(isolated, nil).Line(); got != "Where may it stand, indoors or out? Ask the fire code official." {
		t.Errorf("the line is %q", got)
	}
}

func TestLocalErrors(t *testing.T) {
	const head = "[instrument]\nid = \"x\"\nauthority = \"a\"\ntitle = \"t\"\nedition = \"e\"\nread_on = \"2026-11-25\"\n"
	const good = "[[local]]\nid = \"a\"\ntitle = \"T\"\nsource = \"s\"\nbasis = \"published\"\nconfidence = \"read\"\nquestion = \"Open?\"\nask = \"the fire code official\"\norder = 1\nclasses = [\"isolate\"]\n"
	if _, err := ParseTable("t.toml", []byte(head+good)); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ from, to, want string }{
		{`classes = ["isolate"]`, ``, "stand on every card"},
		{`classes = ["isolate"]`, `classes = ["isolated"]`, `handling "isolated" is none of`},
		{`classes = ["isolate"]`, `sizes = ["huge"]`, `size "huge" is none of`},
		{`classes = ["isolate"]`, `waste = ["gone"]`, `waste "gone" is none of`},
		{`classes = ["isolate"]`, `conditions = ["bad"]`, `condition "bad" is none of`},
		{`classes = ["isolate"]`, `for = ["damaged"]`, "name conditions"},
		{`classes = ["isolate"]`, `when = ["swolen is yes"]`, "did you mean swollen?"},
		{`question = "Open?"`, ``, "needs question, ask and an order"},
		{`order = 1`, ``, "needs question, ask and an order"},
		{`ask = "the fire code official"`, ``, "needs question, ask and an order"},
		{`question = "Open?"`, `question = "` + strings.Repeat("x", 42) + `"`, "is 70 characters long, and 69 fit"},
		{`order = 1`, `rank = 1`, "unknown key"},
	} {
		_, err := ParseTable("t.toml", []byte(head+strings.Replace(good, c.from, c.to, 1)))
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "t.toml") {
			t.Errorf("%s -> %s: got %v, want %q", c.from, c.to, err, c.want)
		}
	}
	for _, c := range []struct{ text, want string }{
		{good + strings.Replace(good, `id = "a"`, `id = "b"`, 1), "order 1 is that of a"},
		{strings.Replace(good, "Open?", "Is it safe?", 1), `prints "safe"`},
	} {
		table, err := ParseTable("t.toml", []byte(head+c.text))
		if err != nil {
			t.Fatal(err)
		}
		if err := (Tables{table}).Lint(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("lint says %v, want %q", err, c.want)
		}
	}
}
