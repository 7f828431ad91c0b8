package review

import (
	"testing"

	"pouchward/triage"
)

func TestUntrained(t *testing.T) {
	const key = "review-untrained "
	train := func(b *builder, i int) *Training { return &b.s.Trainings[i] } // 0 MK, 1 TO
	closing := triage.DateOf(ago(20.5 * aDay))
	again := func(b *builder, topic string, days float64, failed bool) {
		b.s.Trainings = append(b.s.Trainings, Training{Source: b.source(ago(days*aDay), "ML"), Name: "TO", Topic: topic, Given: triage.DateOf(ago(days * aDay)), Failed: failed})
	}
	try(t, []tradeCase{
		{"none", func(b *builder) { b.s.Trainings = b.s.Trainings[:1] }, key + "TO", true, "TO checked package"},
		{"taken back", func(b *builder) { train(b, 1).Void = true }, key + "TO", true, "no training on record"},
		{"given later", func(b *builder) { train(b, 1).Given = triage.DateOf(ago(3 * aDay)) }, key + "TO", false, "no training on record"},
		{"given that day", func(b *builder) { train(b, 1).Given = closing }, "", false, ""},
		{"its own date is over", func(b *builder) { train(b, 1).Until = closing - 1 }, key + "TO", true, "had run out"},
		{"its own date is that day", func(b *builder) { train(b, 1).Until = closing }, "", false, ""},
		{"three years are over", func(b *builder) { train(b, 1).Given = closing - 1097 }, key + "TO", true, "had run out"},
		{"three years are not over", func(b *builder) { train(b, 1).Given = closing - 1095 }, "", false, ""},
		{"a year elsewhere", func(b *builder) { b.s.Country = "DE"; train(b, 1).Given = closing - 366 }, key + "TO", true, "had run out"},
		{"less than a year elsewhere", func(b *builder) { b.s.Country = "DE"; train(b, 1).Given = closing - 364 }, "", false, ""},
		{"not passed", func(b *builder) { train(b, 1).Failed = true }, key + "TO", true, "not passed"},
		{"passed, then not", func(b *builder) { again(b, "Packing", 100, true) }, key + "TO", true, "not passed"},
		{"not passed, of another topic", func(b *builder) { again(b, "gas", 100, true) }, "", false, ""},
		{"not passed, then passed", func(b *builder) { train(b, 1).Failed = true; again(b, "packing", 100, false) }, "", false, ""},
		{"not passed and passed in a day", func(b *builder) { train(b, 1).Failed = true; again(b, "packing", 300, false) }, "", false, ""},
		{"not passed afterwards either", func(b *builder) { train(b, 1).Failed = true; again(b, "packing", 3, true) }, key + "TO", true, "not passed"},
		{"written another way", func(b *builder) { b.pack(closed).CheckedBy = "t. o." }, "", false, ""},
		{"the closing is not in the log", func(b *builder) {
			b.sent(closed).Did, b.s.Trainings = "odd", b.s.Trainings[:1]
		}, key + "TO", true, "TO checked package"},
	})
	b := tradingShop(t)
	b.s.Trainings[0].Void = true // packs, hands over, and is the one of the entries
	b.wants(key+"MK", "review-not-informed MK")

	b = tradingShop(t)
	b.sent(left).Who = "unknown"
	if c := b.cleanOf("review-untrained"); c.Checked != 2 || c.Untold != "1 name left out under packings, checks and hand-overs" {
		t.Errorf("%+v", c)
	}
}

func TestOnePairOfHands(t *testing.T) {
	key := "review-one-pair-of-hands " + packTag
	one := func(b *builder, by string) { b.pack(closed).CheckedBy, b.pack(left).CheckedBy = by, by }
	try(t, []tradeCase{
		{"left", func(b *builder) { one(b, "MK") }, key, false, "packed and checked by MK"},
		{"written another way", func(b *builder) { one(b, "m.k.") }, key, false, ""},
		{"nobody", func(b *builder) { one(b, "none") }, key, false, "checked by nobody"},
		{"here", func(b *builder) { one(b, "MK"); b.cut(left) }, key, true, ""},
		{"opened again", func(b *builder) { one(b, "MK"); b.cut(left); b.put(20*aDay, "reopened").Package = packTag }, key, false, ""},
		{"another was opened", func(b *builder) { one(b, "MK"); b.cut(left); b.put(20*aDay, "reopened").Package = boxTag(8) }, key, true, ""},
		{"closed anew by two", func(b *builder) {
			one(b, "MK")
			b.cut(left)
			again := b.put(20*aDay, "closed")
			again.Package, again.Packages[0].CheckedBy = packTag, "TO"
		}, key, false, ""},
		{"came back as it was", func(b *builder) { one(b, "MK"); b.cut(received); b.put(19*aDay, "refused") }, key, true, ""},
	})
	b := tradingShop(t)
	one(b, "MK")
	b.s.Solo = true
	if c := b.cleanOf("review-one-pair-of-hands"); c.Checked != 0 || c.Untold == "" {
		t.Errorf("a shop of one: %+v", c)
	}
	b = tradingShop(t)
	b.pack(closed).PackedBy = ""
	if c := b.cleanOf("review-one-pair-of-hands"); c.Checked != 0 || c.Untold != "1 package of which nobody is named as packer" {
		t.Errorf("no packer: %+v", c)
	}
}

func TestNotInformed(t *testing.T) {
	const key = "review-not-informed "
	person := func(name string, days float64) func(*builder) *Person {
		return func(b *builder) *Person {
			first := b.source(ago(days*aDay), name)
			b.s.People = append(b.s.People, Person{Name: name, Entries: 1, First: first})
			return &b.s.People[len(b.s.People)-1]
		}
	}
	told := func(b *builder, name string, days float64) *Training {
		b.s.Trainings = append(b.s.Trainings, Training{Source: b.source(ago(days*aDay), "ML"), Name: name, Topic: "handling", Given: triage.DateOf(ago(days * aDay))})
		return &b.s.Trainings[len(b.s.Trainings)-1]
	}
	try(t, []tradeCase{
		{"never", func(b *builder) { person("RB", 5)(b) }, key + "RB", true, "no training on record by"},
		{"later", func(b *builder) { person("RB", 5)(b); told(b, "RB", 4) }, key + "RB", false, ""},
		{"that day", func(b *builder) { person("RB", 5)(b); told(b, "rb", 5) }, "", false, ""},
		{"long ago", func(b *builder) { person("RB", 5)(b); told(b, "RB", 3000) }, "", false, ""},
		{"not passed", func(b *builder) { person("RB", 5)(b); told(b, "RB", 50).Failed = true }, key + "RB", true, ""},
		{"taken back", func(b *builder) { person("RB", 5)(b); told(b, "RB", 50).Void = true }, key + "RB", true, ""},
		{"no entry in the period", func(b *builder) { person("RB", 5)(b).First = Source{} }, "", false, ""},
		{"two spellings", func(b *builder) { person("RB", 5)(b); person("r. b.", 4)(b) }, key + "RB", true, ""},
	})

	// It rests on the first entry of all, also where that is before the period.
	b := tradingShop(t)
	x := person("RB", 5)(b)
	x.Began = Source{Entry: 1, Who: "RB", Happened: ago(700 * aDay)}
	r := b.wants(key + "RB")
	if f := &r.Findings[0]; len(f.Entries) != 1 || f.Entries[0] != 1 || f.Since != ago(700*aDay) {
		t.Errorf("found %+v", f)
	}
	b = tradingShop(t)
	person("", 5)(b)
	if c := b.cleanOf("review-not-informed"); c.Checked != 1 || c.Untold != "1 entry about cells under no name" {
		t.Errorf("%+v", c)
	}
}
