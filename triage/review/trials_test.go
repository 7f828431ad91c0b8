package review

import (
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

func TestEmergencyNumber(t *testing.T) {
	const key = "review-emergency-number "
	at := func(days float64) time.Time { return ago((20 + days) * aDay) } // before it left
	ring := func(b *builder, days float64, number string, passed bool) {
		b.s.Trials = append(b.s.Trials, Trial{Source: b.source(at(days), "MK"), Number: number, Passed: passed})
	}
	try(t, []tradeCase{
		{"never", func(b *builder) { b.s.Trials = nil }, key + shipTag, false, "never tried before"},
		{"never, and on its way", func(b *builder) { b.s.Trials = nil; b.cut(received) }, key + shipTag, true, ""},
		{"answered afterwards", func(b *builder) { b.s.Trials[0].Happened = ago(18 * aDay); b.cut(received) }, key + shipTag, false, "never tried before"},
		{"too long ago", func(b *builder) { b.s.Trials[0].Happened = at(91) }, key + shipTag, false, "91 days before"},
		{"on the last day", func(b *builder) { b.s.Trials[0].Happened = at(90) }, "", false, ""},
		{"had not answered", func(b *builder) { ring(b, 1, phone, false) }, key + shipTag, false, "had not answered"},
		{"had not answered, then did", func(b *builder) { ring(b, 5, phone, false); ring(b, 1, "(1) 312-555-0100", true) }, "", false, ""},
		{"another number", func(b *builder) { b.s.Trials[0].Number = "+1 312 555 0199" }, key + shipTag, false, "never tried"},
		{"taken back", func(b *builder) { b.s.Trials[0].Void = true }, key + shipTag, false, "never tried"},
		{"papers and no number", func(b *builder) { b.hand().Phone = "" }, key + shipTag, false, "names no emergency telephone"},
		{"neither", func(b *builder) { b.hand().Phone, b.hand().Papers, b.s.Trials = "", false, nil }, "", false, ""},
	})
	b := tradingShop(t)
	b.s.Trials[0].Number = "not said"
	if c := b.cleanOf("review-emergency-number"); c.Checked != 0 || !strings.HasPrefix(c.Untold, "1 hand-over before which a telephone answered") {
		t.Errorf("%+v", c)
	}
}

func TestInstrument(t *testing.T) {
	const key = "review-instrument meter 1"
	failed := func(hours float64, unit string) func(*builder) {
		return func(b *builder) { b.meter(ago(hours), false).Unit = unit }
	}
	try(t, []tradeCase{
		{"before three readings", failed(4, "V"), key, true, "3 looks with readings in V followed"},
		{"in the midst of them", failed(2, "V"), key, true, "1 look with readings in V"},
		{"after all of them", failed(0.5, "V"), "", false, ""},
		{"passed in between", func(b *builder) { failed(4, "V")(b); b.meter(ago(2), true) }, key, false, "2 looks with readings in V followed"},
		{"passed before the next reading", func(b *builder) { failed(4, "V")(b); b.meter(ago(3.5), true) }, "", false, ""},
		{"passed in ohms", func(b *builder) { failed(4, "V")(b); b.meter(ago(3.5), true).Unit = "mΩ" }, key, true, ""},
		{"another one passed", func(b *builder) { failed(4, "V")(b); b.meter(ago(3.5), true).Instrument = "meter 2" }, key, true, ""},
		{"a pass that was taken back", func(b *builder) { failed(4, "V")(b); b.meter(ago(3.5), true).Void = true }, key, true, ""},
		{"a pass that nobody judged", func(b *builder) { failed(4, "V")(b); b.meter(ago(3.5), true).Unjudged = true }, key, true, ""},
		{"a failure that was taken back", func(b *builder) { failed(4, "V")(b); b.s.Trials[len(b.s.Trials)-1].Void = true }, "", false, ""},
		{"degrees", failed(4, "°C"), key, true, "3 looks with readings in °C"},
		{"degrees, in another way", failed(4, "C"), key, true, ""},
		{"nothing is weighed", failed(4, "g"), "", false, ""},
	})

	// A look that was taken back, a mass from the memory of parts, a reading not taken.
	b := tradingShop(t)
	failed(4, "g")(b)
	look := b.s.Cells[0].Steps[0].Look
	look.Given = append(look.Given, known(triage.MassG, 60_000_000))
	b.wants(key)
	look.FromPart = []string{"mass_g"}
	b.wants()
	look.FromPart, b.s.Cells[0].Steps[0].Void = nil, true
	b.wants()
	b.s.Cells[0].Steps[0].Void = false
	look.Given[len(look.Given)-1].Value.State = triage.NoInstrument
	b.wants()

	b = tradingShop(t)
	failed(4, "L")(b)
	b.meter(ago(3), false).Unjudged = true
	if c := b.cleanOf("review-instrument"); c.Checked != 1 || !strings.Contains(c.Untold, "1 instrument check that was not judged") || !strings.Contains(c.Untold, "1 failed check") {
		t.Errorf("%+v", c)
	}
}
