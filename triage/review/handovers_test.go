package review

import (
	"testing"
	"time"

	"pouchward/triage"
)

func TestSentUnaccepted(t *testing.T) {
	const key = "review-sent-unaccepted "
	day0 := triage.DateOf(ago(20 * aDay))
	try(t, []tradeCase{
		{"no word at all", func(b *builder) { b.hand().AcceptedBy, b.hand().Ref = "", "not said" }, key + shipTag, false, "no acceptance"},
		{"no name", func(b *builder) { b.hand().AcceptedBy = "?" }, key + shipTag, false, "who at the consignee"},
		{"no reference", func(b *builder) { b.hand().Ref = " " }, key + shipTag, false, "under no reference"},
		{"on its way still", func(b *builder) { b.hand().Ref = ""; b.cut(received) }, key + shipTag, true, "under no reference"},
		{"came back", func(b *builder) { b.hand().Ref = ""; b.cut(received); b.put(19*aDay, "refused") }, key + shipTag, false, ""},
		{"ran out the day before", func(b *builder) { b.hand().Until = day0 - 1 }, key + shipTag, false, "had run out on"},
		{"ran out that day", func(b *builder) { b.hand().Until = day0 }, "", false, ""},
		{"closed as damaged", func(b *builder) { b.pack(left).Conditions[0] = triage.Damaged }, key + shipTag, false, "is for undamaged, and damaged went"},
		{"a word not known", func(b *builder) { b.pack(left).Conditions[0] = triage.Reacting }, key + shipTag, false, "reacting went"},
		{"accepts nothing", func(b *builder) { b.hand().Accepts = nil }, key + shipTag, false, "is for no condition"},
		{"before the period", func(b *builder) { b.hand().Ref = ""; b.s.From = triage.DateOf(noon) - 10 }, "", false, ""},
	})

	// The cell was known to be recalled, whatever the package was closed as.
	b := tradingShop(t)
	sent := &b.s.Cells[len(b.s.Cells)-1]
	sent.Steps[1].Now.Condition = triage.RecalledCell
	keys, r := b.found()
	if len(keys) == 0 || r.Findings[0].Tags[0] == "" {
		t.Fatalf("found %q", keys)
	}
	found := false
	for _, k := range keys {
		found = found || k == key+shipTag
	}
	if !found {
		t.Errorf("found %q", keys)
	}

	// What it was found to be after it had come back does not count.
	b = tradingShop(t)
	sent = &b.s.Cells[len(b.s.Cells)-1]
	back := sent.Steps[1]
	back.Source, back.Now.Condition = b.source(ago(19*aDay), "MK"), triage.Damaged
	if sent.Steps = append(sent.Steps, back); b.has(key + shipTag) {
		t.Error("a class of after the hand-over was held against it")
	}

	// Bettered by a determination that had lapsed.
	b = tradingShop(t)
	s := &b.s.Cells[len(b.s.Cells)-1].Steps[1].Now
	s.Lapses, s.LapsedCondition = day0-1, triage.Damaged
	if s.LapsedHandling = triage.Retire; !b.has(key + shipTag) {
		t.Error("a condition that had lapsed was taken as named")
	}
	if s.Lapses = day0; b.has(key + shipTag) {
		t.Error("a determination on its last day was taken as lapsed")
	}
}

// has reports whether a key is among what is found.
func (b *builder) has(key string) bool {
	keys, _ := b.found()
	for _, k := range keys {
		if k == key {
			return true
		}
	}
	return false
}

func TestSentUnacceptedUnknown(t *testing.T) {
	b := tradingShop(t)
	b.hand().Until = 0
	if c := b.cleanOf("review-sent-unaccepted"); c.Checked != 0 || c.Untold != "1 hand-over whose acceptance names no last day" {
		t.Errorf("%+v", c)
	}
	b = tradingShop(t)
	b.pack(left).Conditions, b.pack(left).Cells = nil, []string{cellTag(99)}
	if c := b.cleanOf("review-sent-unaccepted"); c.Checked != 0 || c.Untold != "1 package of which no condition is recorded" {
		t.Errorf("%+v", c)
	}
	b = tradingShop(t)
	b.sent(left).Handover = nil
	if !b.has("review-sent-unaccepted " + shipTag) {
		t.Error("a hand-over that says nothing was taken as accepted")
	}
	if c := b.cleanOf("review-paper-copy"); c.Checked != 0 || c.Untold == "" {
		t.Errorf("%+v", c)
	}
	if c := b.cleanOf("review-emergency-number"); c.Checked != 0 || c.Untold == "" {
		t.Errorf("%+v", c)
	}
}

func TestShipmentRecord(t *testing.T) {
	const key = "review-shipment-record "
	try(t, []tradeCase{
		{"no consignee", func(b *builder) { b.sent(left).Consignee = "" }, key + shipTag, true, "who receives it"},
		{"no carrier", func(b *builder) { b.hand().Carrier = "?" }, key + shipTag, true, "who carries it"},
		{"no day", func(b *builder) { b.sent(left).Offered, b.hand().At = 0, time.Time{} }, key + shipTag, true, "the day of the hand-over"},
		{"the hour alone", func(b *builder) { b.sent(left).Offered = 0 }, "", false, ""},
		{"the day alone", func(b *builder) { b.hand().At = time.Time{} }, "", false, ""},
		{"no mass", func(b *builder) { b.pack(left).NetMg = 0 }, key + shipTag, true, "the net mass of 1 of its packages"},
		{"no count", func(b *builder) { b.pack(left).Cells = nil }, key + shipTag, true, "how many cells are in 1"},
		{"nothing in it", func(b *builder) { b.sent(left).Packages = nil }, key + shipTag, true, "what is in it"},
	})

	// Three years and no longer: 1096 days.
	for days, want := range map[float64]bool{1095: true, 1096: false} {
		b := tradingShop(t)
		b.sent(left).Consignee, b.s.Files = "", nil
		b.sent(left).Happened = ago(days * aDay)
		for _, id := range []string{"review-shipment-record ", "review-paper-copy "} {
			if got := b.has(id + shipTag); got != want {
				t.Errorf("%s%g days after it left: found %t", id, days, got)
			}
		}
	}
}

func TestPaperCopy(t *testing.T) {
	const key = "review-paper-copy "
	entry := func(b *builder, of int64) { b.s.Files[0].Tags, b.s.Files[0].OfEntry = nil, of }
	try(t, []tradeCase{
		{"none", func(b *builder) { b.s.Files = nil }, key + shipTag, true, "no copy"},
		{"no papers went", func(b *builder) { b.s.Files, b.hand().Papers = nil, false }, "", false, ""},
		{"a certificate is a receipt", func(b *builder) { b.s.Files[0].What = "certificate" }, key + shipTag, true, ""},
		{"a photo", func(b *builder) { b.s.Files[0].What = "photo" }, key + shipTag, true, ""},
		{"of a cell", func(b *builder) { b.s.Files[0].Tags = []string{cellTag(1)} }, key + shipTag, true, ""},
		{"of the package", func(b *builder) { b.s.Files[0].Tags = []string{packTag} }, "", false, ""},
		{"of the entry", func(b *builder) { entry(b, b.sent(left).Entry) }, "", false, ""},
		{"of another entry", func(b *builder) { entry(b, 1) }, key + shipTag, true, ""},
		{"of a hand-over that came back", func(b *builder) {
			b.sent(received).Did, b.sent(received).Receipt = "refused", nil
			again := b.put(10*aDay, "dispatched")
			again.Handover, again.Offered = b.hand(), triage.DateOf(ago(10*aDay))
			b.put(9*aDay, "received").Receipt = &Receipt{Closed: true}
			entry(b, b.sent(left).Entry)
		}, key + shipTag, true, minute(ago(10 * aDay))},
		{"of the hand-over after it", func(b *builder) {
			b.sent(received).Did, b.sent(received).Receipt = "refused", nil
			again := b.put(10*aDay, "dispatched")
			again.Handover, again.Offered = b.hand(), triage.DateOf(ago(10*aDay))
			b.put(9*aDay, "received").Receipt = &Receipt{Closed: true}
			entry(b, again.Entry)
		}, key + shipTag, true, minute(ago(20 * aDay))},
		{"one for each", func(b *builder) {
			b.sent(received).Did, b.sent(received).Receipt = "refused", nil
			entry(b, b.sent(left).Entry)
			again := b.put(10*aDay, "dispatched")
			again.Handover, again.Offered = b.hand(), triage.DateOf(ago(10*aDay))
			b.put(9*aDay, "received").Receipt = &Receipt{Closed: true}
			b.s.Files = append(b.s.Files, File{Source: b.source(ago(9*aDay), "MK"), Tags: []string{shipTag}, What: "paper"})
		}, "", false, ""},
	})
}

func TestReceipts(t *testing.T) {
	none, differs := "review-no-receipt "+shipTag, "review-receipt-differs "+shipTag
	at := func(days float64, receipt *Receipt) func(*builder) { // it left so many days ago
		return func(b *builder) {
			b.cut(received)
			b.sent(left).Offered = triage.DateOf(ago(days * aDay))
			if receipt != nil {
				b.put(1*aDay, "received").Receipt = receipt
			}
		}
	}
	lost := []string{"0 cells received for 1 cell that left"}
	try(t, []tradeCase{
		{"waiting on the last day", at(29, nil), "", false, ""},
		{"the wait is over", at(30, nil), none, true, "the wait of 30 days was over"},
		{"came in time", at(30, &Receipt{Closed: true}), "", false, ""},
		{"came late", at(33, &Receipt{Closed: true}), none, false, "a receipt came"},
		{"came back late", func(b *builder) { at(33, nil)(b); b.put(1*aDay, "refused") }, none, false, "it came back"},
		{"differs", func(b *builder) { b.sent(received).Receipt = &Receipt{Differs: lost} }, differs, true, "0 cells received"},
		{"settled", func(b *builder) {
			b.sent(received).Receipt = &Receipt{Differs: lost}
			b.put(5*aDay, "settled").Receipt = &Receipt{Differs: lost, Closed: true, Note: "under the floor sheet"}
		}, differs, false, "under the floor sheet"},
		{"settled without a word", func(b *builder) {
			b.sent(received).Receipt = &Receipt{Differs: lost}
			b.put(5*aDay, "settled").Receipt = &Receipt{Differs: lost, Closed: true}
		}, differs, true, "without a word"},
		{"another receipt", func(b *builder) {
			b.sent(received).Receipt = &Receipt{Differs: lost}
			b.put(5*aDay, "received").Receipt = &Receipt{Closed: true}
		}, differs, false, "another receipt"},
		{"the second differs", func(b *builder) { b.put(5*aDay, "received").Receipt = &Receipt{Differs: lost} }, differs, true, ""},
	})
	b := tradingShop(t)
	b.sent(received).Receipt = nil
	if c := b.cleanOf("review-receipt-differs"); c.Checked != 0 || c.Untold != "1 receipt that does not say what came in" {
		t.Errorf("%+v", c)
	}
}
