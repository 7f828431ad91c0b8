package review

import (
	"cmp"
	"fmt"
	"strings"

	"pouchward/triage"
)

// noReceipt looks for shipments that left, and no receipt came within the wait. One
// that came late, or a shipment that came back late, is told as past.
func noReceipt(p *pass) {
	by := p.Rules.Interval("receipt-wait")
	var untold int64
	p.departures(func(d *departure) {
		if by == nil {
			untold++
			return
		}
		came, until := d.came(), d.ended()
		if p.bearsOn(d.step.Happened, until) {
			p.checked++
		}
		owed := by.Next(d.offered()).In(p.Now.Location())
		if came != nil && !until.After(owed) || came == nil && p.Now.Before(owed) {
			return
		}
		f := Finding{Subject: d.ship.Tag, Tags: d.tags(), Entries: []int64{d.step.Entry}, Since: owed, Until: until,
			Text: fmt.Sprintf("%s to %s, and no receipt is on record: the wait of %s was over on %s", d.name(), said(d.step.Consignee), strings.TrimPrefix(by.Text(), "after "), triage.DateOf(owed))}
		if came != nil {
			what := "a receipt came"
			if came.Did == "refused" {
				what = "it came back"
			}
			f.Entries = append(f.Entries, came.Entry)
			f.Text = fmt.Sprintf("%s to %s, and %s on %s, %s after it left", d.name(), said(d.step.Consignee), what, minute(until), plural(int64(came.Day()-d.offered()), "day"))
		}
		p.find(f)
	})
	p.cannotTell(untold, "hand-overs, since the rules of that day name no wait for a receipt")
}

// said is a text, or that there is none.
func said(s string) string {
	if unsaid(s) {
		return "nobody named"
	}
	return s
}

// receiptDiffers looks for receipts that do not say what left. Settled with a word
// how, or followed by a receipt that agrees, it is past: that a difference was there a
// reviewer wants to see. Settled without a word it stays open.
func receiptDiffers(p *pass) {
	var blank int64
	for i := range p.Shipments {
		s := &p.Shipments[i]
		for j := range s.Steps {
			st := &s.Steps[j]
			if st.Did != "received" {
				continue
			}
			if st.Receipt == nil || !st.Receipt.Closed && len(st.Receipt.Differs) == 0 {
				if p.within(st.Happened) {
					blank++
				}
				continue
			}
			if p.within(st.Happened) {
				p.checked++
			}
			if len(st.Receipt.Differs) > 0 {
				p.receiptDiffers(s, j)
			}
		}
	}
	p.cannotTell(blank, "receipts that do not say what came in")
}

// receiptDiffers tells the difference of one receipt, the jth step of a shipment.
func (p *pass) receiptDiffers(s *Shipment, j int) {
	st := &s.Steps[j]
	f := Finding{Subject: s.Tag, Tags: []string{s.Tag}, Entries: []int64{st.Entry}, Since: st.Happened,
		Text: fmt.Sprintf("shipment %s, the receipt of %s: %s", triage.SpacedTag(s.Tag), cmp.Or(st.Receipt.On, st.Day()), few(st.Receipt.Differs))}
	for i := range s.Steps[:j] {
		if s.Steps[i].Did == "dispatched" {
			f.Entries = append(f.Entries, s.Steps[i].Entry)
		}
	}
	for i := range s.Steps[j+1:] {
		next := &s.Steps[j+1+i]
		switch {
		case next.Did == "settled" && next.Receipt != nil && unsaid(next.Receipt.Note):
			f.Text += fmt.Sprintf("; closed on %s without a word how it was settled", minute(next.Happened))
			f.Entries = append(f.Entries, next.Entry)
			continue
		case next.Did == "settled" && next.Receipt != nil:
			f.Text += fmt.Sprintf("; settled on %s: %s", minute(next.Happened), next.Receipt.Note)
		case next.Did == "received":
			f.Text += "; another receipt came on " + minute(next.Happened)
		default:
			continue
		}
		f.Until, f.Entries = next.Happened, append(f.Entries, next.Entry)
		break
	}
	p.find(f)
}
