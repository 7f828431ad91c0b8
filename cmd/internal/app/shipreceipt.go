package app

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// receiptBody is what the consignee says it received, and how that differs from
// what left.
type receiptBody struct {
	On      string        `json:"on"`
	Count   *int64        `json:"count,omitempty"`
	MassMg  *int64        `json:"mass_mg,omitempty"`
	Lines   []receiptLine `json:"lines,omitempty"`
	Differs []string      `json:"differs,omitempty"`
	Note    string        `json:"note,omitempty"` // how it was settled
	Closed  string        `json:"closed,omitempty"`
}

// A Reception is a receipt as it came in.
type Reception struct {
	Shipment    string
	On          string // the consignee's date
	Count       *int64
	MassKg      string
	CSV         string // a file of lines, in the place of count and mass
	Certificate string // a file
	Close       bool   // settle what differs
	Note        string // how
}

// What two scales may differ by (common practice): the greater of 2 % and 0.2 kg, which
// is a step of a floor scale, and never more than a tenth of what left. Without the
// tenth a receipt of twice a shipment of 0.15 kg would be as it left.
const (
	receiptPercent = 2
	receiptLeastMg = 200_000
	receiptShare   = 10
)

const receiptWithin = "2 % or 0.2 kg, the greater, and never more than a tenth of what left (common practice)"

// Receive records a receipt. It settles the shipment where count and mass are
// said and are those that left; else the shipment stays open with what differs,
// until somebody says how it was settled.
func (r *Recording) Receive(shop *Shop, act Act, x Reception) (*Sent, error) {
	if err := act.needWho("a receipt"); err != nil {
		return nil, err
	}
	if x.Close {
		return r.settleReceipt(shop, act, x)
	}
	b, err := x.read()
	if err != nil {
		return nil, err
	}
	return r.onShipment(shop, x.Shipment, "has no receipt recorded", func(tx *logbook.Tx, s *shipmentBody, out *Sent) error {
		switch s.Stage {
		case stageOnWay, stageDiffers:
		case stageSettled:
			return Usage("%s: what comes in later is kept beside the log (pouchward attach %s FILE --note \"...\")", s.Receipt.settledBy(), s.About)
		default:
			return Usage("it is %s: only what was handed over is received", exports.StageText(s.Stage))
		}
		today := dateText(r.at(act.Happened))
		switch {
		case b.On < s.Offered:
			return Usage("--on-date %s: it left on %s", b.On, s.Offered)
		case b.On > today:
			return Usage("--on-date %s is still to come", b.On)
		}
		next := s.then("received")
		b.compare(s)
		next.Receipt, next.Stage, next.Open = b, stageDiffers, true
		if len(b.Differs) == 0 {
			b.Closed = today
			next.Stage, next.Open = stageSettled, false
		}
		out.Shipment = next
		if err := r.putShipment(tx, nil, act, &out.Outcome, next, nil, next.tags()...); err != nil {
			return err
		}
		if x.Certificate == "" {
			return nil
		}
		return r.keepWith(tx, act, &out.Outcome, "certificate", []string{x.Certificate}, next.About)
	})
}

// read reads a receipt, by count and mass or by lines.
func (x *Reception) read() (*receiptBody, error) {
	b := &receiptBody{}
	if x.On == "" {
		return nil, Usage("say on which day the consignee received it: --on-date DATE")
	}
	on, err := triage.ParseDate(x.On)
	if err != nil {
		return nil, Usage("--on-date %q: %v", x.On, err)
	}
	b.On = on.String()
	if x.CSV != "" {
		if x.Count != nil || x.MassKg != "" {
			return nil, Usage("--csv has its own counts and masses: leave out --count and --mass-kg")
		}
		b.Lines, err = readReceiptLines(x.CSV)
		return b, err
	}
	if x.Count == nil && x.MassKg == "" {
		return nil, Usage("say what the receipt says: --count N --mass-kg M, or --csv FILE")
	}
	if x.Count != nil && (*x.Count < 0 || *x.Count > 1_000_000) {
		return nil, Usage("--count %d: use a number from 0 to 1000000", *x.Count)
	}
	b.Count = x.Count
	if x.MassKg != "" {
		mg, err := parseKg("--mass-kg", x.MassKg)
		if err != nil {
			return nil, err
		}
		b.MassMg = &mg
	}
	return b, nil
}

// compare holds the receipt against what left. What the receipt does not say
// is a difference too.
func (b *receiptBody) compare(s *shipmentBody) {
	differs := func(format string, args ...any) { b.Differs = append(b.Differs, fmt.Sprintf(format, args...)) }
	if b.Lines != nil {
		b.byLine(s, differs)
	}
	var sent, net int64
	for i := range s.Packages {
		sent, net = sent+int64(len(s.Packages[i].Cells)), net+s.Packages[i].NetMg
	}
	switch {
	case b.Count == nil:
		differs("the receipt says no count, and %d cells left", sent)
	case *b.Count != sent:
		differs("%s received for %d that left", exports.Count(*b.Count, "cell"), sent)
	}
	switch {
	case b.MassMg == nil:
		differs("the receipt says no mass, and %s kg left", exports.Amount(net, 1e6))
	case massDiffers(*b.MassMg, net):
		differs("%s kg received for %s kg that left, further apart than two scales are: %s", exports.Amount(*b.MassMg, 1e6), exports.Amount(net, 1e6), receiptWithin)
	}
}

// massDiffers reports whether two masses are further apart than two scales explain.
func massDiffers(got, sent int64) bool {
	d := max(got-sent, sent-got)
	return d*receiptShare > sent || d > receiptLeastMg && d*100 > sent*receiptPercent
}

// byLine holds each line against the package or the cell that it names, and adds
// the lines up.
func (b *receiptBody) byLine(s *shipmentBody, differs func(string, ...any)) {
	var count, mass int64
	countKnown, massKnown := true, true
	seen := map[string]bool{}
	for i := range b.Lines {
		l := &b.Lines[i]
		name := triage.SpacedTag(l.Tag)
		p := s.pack(l.Tag)
		n := int64(1)
		if l.Count != nil {
			n = *l.Count
		} else if p != nil {
			countKnown, n = false, 0
		}
		count += n
		if l.MassMg != nil {
			mass += *l.MassMg
		} else {
			massKnown = false
		}
		switch {
		case p != nil:
			for _, c := range p.Cells {
				seen[c] = true
			}
			if sent := int64(len(p.Cells)); l.Count == nil {
				differs("package %s: the receipt says no count, and %d cells left in it", name, sent)
			} else if n != sent {
				differs("package %s: %s received for %d", name, exports.Count(n, "cell"), sent)
			}
			if l.MassMg != nil && massDiffers(*l.MassMg, p.NetMg) {
				differs("package %s: %s kg received for %s kg", name, exports.Amount(*l.MassMg, 1e6), exports.Amount(p.NetMg, 1e6))
			}
		case slices.Contains(s.cells(), l.Tag):
			seen[l.Tag] = true
			if n != 1 {
				differs("%s: counted as %d", name, n)
			}
			if q := s.pack(l.Package); l.Package != "" && (q == nil || !slices.Contains(q.Cells, l.Tag)) {
				differs("%s: received in package %s, and did not leave in it", name, triage.SpacedTag(l.Package))
			}
		default:
			differs("%s: received, and not in this shipment", name)
		}
		if l.Rejected {
			differs("%s: rejected%s", name, strings.TrimSuffix(": "+l.Note, ": "))
		}
	}
	for _, tag := range s.cells() {
		if !seen[tag] {
			differs("%s: not received", triage.SpacedTag(tag))
		}
	}
	if countKnown {
		b.Count = &count
	}
	if massKnown && len(b.Lines) > 0 {
		b.MassMg = &mass
	}
}

// settledBy says which receipt settled a shipment.
func (b *receiptBody) settledBy() string {
	text := fmt.Sprintf("the receipt of %s settled it on %s, and a settled shipment takes no other", b.On, b.Closed)
	if b.Count != nil {
		text = fmt.Sprintf("the receipt of %s (%s) settled it on %s, and a settled shipment takes no other", b.On, exports.Count(*b.Count, "cell"), b.Closed)
	}
	return text
}

// settleReceipt closes a shipment whose receipt differs, with how that was settled.
func (r *Recording) settleReceipt(shop *Shop, act Act, x Reception) (*Sent, error) {
	if x.Note = strings.TrimSpace(x.Note); x.Note == "" {
		return nil, Usage("say how it was settled: --close --note \"found on the floor sheet, named by ...\"")
	}
	if x.On != "" || x.Count != nil || x.MassKg != "" || x.CSV != "" {
		return nil, Usage("--close settles the receipt that is on record: record a new one first, then close it")
	}
	return r.onShipment(shop, x.Shipment, "not settled", func(tx *logbook.Tx, s *shipmentBody, out *Sent) error {
		if s.Stage != stageDiffers {
			return Usage("it is %s: there is no receipt with a difference to settle", exports.StageText(s.Stage))
		}
		next := s.then("settled")
		receipt := *s.Receipt
		receipt.Note, receipt.Closed = x.Note, dateText(r.at(act.Happened))
		next.Receipt, next.Stage, next.Open, next.Reason = &receipt, stageSettled, false, x.Note
		out.Shipment = next
		if err := r.putShipment(tx, nil, act, &out.Outcome, next, nil, next.tags()...); err != nil {
			return err
		}
		if x.Certificate == "" {
			return nil
		}
		return r.keepWith(tx, act, &out.Outcome, "certificate", []string{x.Certificate}, next.About)
	})
}
