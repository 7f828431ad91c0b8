package review

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

// Tags of the invented shipment.
var (
	shipTag = triage.IssueTag(triage.ShipmentTag, 1)
	packTag = boxTag(7)
	sentTag = cellTag(7)
)

const (
	aDay  = 24.0 // hours
	phone = "+1 312 555 0100"
)

// Names of the steps of the shipment of tradingShop, in their order.
const (
	begun = iota
	closed
	left
	received
)

// tradingShop is cleanShop with a shipment that left 20 days ago and was received three
// days later, two people who are trained, a telephone that answered, weekly rounds of
// the yard, an incident that is closed and a meter that passed.
func tradingShop(t *testing.T) *builder {
	b := cleanShop(t)
	for _, who := range []string{"MK", "TO"} {
		b.s.Trainings = append(b.s.Trainings, Training{Source: b.source(ago(300*aDay), "ML"), Name: who, Topic: "packing", Given: triage.DateOf(ago(300 * aDay))})
	}
	b.s.Trials = []Trial{{Source: b.source(ago(30*aDay), "MK"), Number: phone, Passed: true}}
	b.s.Shipments = []Shipment{b.shipment()}
	b.s.Files = []File{{Source: b.source(ago(20*aDay), "MK"), Tags: []string{shipTag}, What: "paper", Name: "paper.pdf"}}
	for _, days := range []float64{28, 21, 14, 7, 0.1} {
		b.round(ago(days*aDay), nil)
	}
	incident := b.source(ago(10*aDay), "MK")
	b.s.Incidents = []Incident{{Source: incident, Last: b.source(ago(8*aDay), "MK")}}
	b.meter(ago(2*aDay), true)
	who := b.s.Cells[len(b.s.Cells)-1].Steps[0].Source
	b.s.People = []Person{{Name: "MK", Entries: 12, Began: who, First: who}}
	return b
}

// shipment sends one undamaged cell: begun, closed, left, received.
func (b *builder) shipment() Shipment {
	sent := retired(ago(21*aDay), packTag)
	sent.MadeSafe = true
	look := &Look{Handling: triage.Retire, Condition: triage.Undamaged, Given: []Given{known(triage.OcvV, 3_700_000), known(triage.CellC, 20_000_000), known(triage.AmbientC, 20_500_000)}}
	pack := Package{Tag: packTag, Closed: true, Inner: true, Cells: []string{sentTag}, Conditions: []triage.ConditionClass{triage.Undamaged}, UN: "UN3480",
		Ways: []WayOf{{ID: "us-recycling", Known: true}}, UWh: 15_400_000, NetMg: 60_000, PackedBy: "MK", CheckedBy: "TO"}
	open := pack
	open.Closed, open.PackedBy, open.CheckedBy, open.Conditions = false, "", "", nil
	hand := &Handover{Carrier: "Invented Carrier", At: ago(20 * aDay), Papers: true, Phone: phone, AcceptedBy: "dispatch desk", Ref: "PA-1", Until: triage.DateOf(ago(10 * aDay)),
		Accepts: []triage.ConditionClass{triage.Undamaged}}
	step := func(hours float64, did, stage string, p Package) ShipmentStep {
		return ShipmentStep{Source: b.source(ago(hours), "MK"), Did: did, Stage: stage, Route: "us-highway", Consignee: "Invented Recycler", Packages: []Package{p}}
	}
	box := ContainerStep{Source: b.source(ago(21*aDay), "MK"), Kind: "container", Is: Here, What: "carton", Lid: "closed", MilliLitr: 24_000, Place: "Yard", Package: true, Shipment: shipTag}
	first := b.source(ago(21*aDay), "MK")
	steps := []ShipmentStep{step(21*aDay, "packed", "packing", open), step(20.5*aDay, "closed", "packing", pack), step(20*aDay, "dispatched", "on-the-way", pack),
		step(17*aDay, "received", "settled", pack)}
	steps[begun].Package, steps[begun].Cells = packTag, []string{sentTag}
	steps[closed].Package = packTag
	steps[left].Handover, steps[left].Open, steps[left].Offered = hand, true, triage.DateOf(ago(20*aDay))
	steps[received].Handover, steps[received].Receipt = hand, &Receipt{On: triage.DateOf(ago(17 * aDay)), Closed: true}
	gone, out := sent, box
	gone.Is, gone.In = Out, ""
	out.Source, out.Kind, out.Is = steps[left].Source, "shipment", Out
	b.s.Containers = append(b.s.Containers, Container{Tag: packTag, Steps: []ContainerStep{box, out}})
	b.s.Cells = append(b.s.Cells, Cell{Tag: sentTag, Steps: []Step{
		{Source: first, Kind: "assessment", Now: sent, Look: look, Secured: &Secured{true, true, false}},
		{Source: steps[begun].Source, Kind: "shipment", Now: sent, Shipment: shipTag, Did: "packed"},
		{Source: steps[left].Source, Kind: "shipment", Now: gone, Shipment: shipTag, Did: "dispatched"},
	}})
	return Shipment{Tag: shipTag, Steps: steps}
}

// round adds a round of the yard that found nothing amiss; change may spoil it.
func (b *builder) round(at time.Time, change func(*Round)) *Round {
	n := int64(3)
	r := Round{Source: b.source(at, "MK"), About: "Yard", Found: &n, Expected: n, Checks: map[string]string{}}
	for _, check := range []string{"closed", "sound", "labelled", "dated", "alone", "quiet"} {
		r.Checks[check] = "yes"
	}
	if change != nil {
		change(&r)
	}
	b.s.Rounds = append(b.s.Rounds, r)
	return &b.s.Rounds[len(b.s.Rounds)-1]
}

// meter adds a check of the voltmeter.
func (b *builder) meter(at time.Time, passed bool) *Trial {
	b.s.Trials = append(b.s.Trials, Trial{Source: b.source(at, "MK"), Instrument: "meter 1", Unit: "V", Passed: passed})
	return &b.s.Trials[len(b.s.Trials)-1]
}

// sent is a step of the shipment; hand is what was said at its hand-over.
func (b *builder) sent(i int) *ShipmentStep { return &b.s.Shipments[0].Steps[i] }
func (b *builder) hand() *Handover          { return b.sent(left).Handover }
func (b *builder) pack(i int) *Package      { return &b.sent(i).Packages[0] }

// cut takes away the steps of the shipment from the ith on.
func (b *builder) cut(i int) { b.s.Shipments[0].Steps = b.s.Shipments[0].Steps[:i] }

// put adds a step to the shipment, like its last one.
func (b *builder) put(hours float64, did string) *ShipmentStep {
	list := &b.s.Shipments[0].Steps
	s := (*list)[len(*list)-1]
	s.Source, s.Did, s.Receipt, s.Packages = b.source(ago(hours), "MK"), did, nil, slices.Clone(s.Packages)
	*list = append(*list, s)
	return &(*list)[len(*list)-1]
}

// A tradeCase breaks one thing in the trading shop.
type tradeCase struct {
	name   string
	change func(*builder)
	want   string // key of the one finding, blank for none
	open   bool
	text   string // in its text
}

// try runs the cases of one check.
func try(t *testing.T, cases []tradeCase) {
	t.Helper()
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			b := tradingShop(t)
			c.change(b)
			if c.want == "" {
				b.wants()
				return
			}
			r := b.wants(c.want)
			if len(r.Findings) != 1 {
				return
			}
			f := &r.Findings[0]
			if f.Open() != c.open || !strings.Contains(f.Text, c.text) || len(f.Entries) == 0 || strings.HasSuffix(f.Text, ".") {
				t.Errorf("open %t, entries %v, %q; want open %t, %q", f.Open(), f.Entries, f.Text, c.open, c.text)
			}
		})
	}
}

// cleanOf returns what is told of a check that found nothing.
func (b *builder) cleanOf(id string) Clean {
	b.t.Helper()
	_, r := b.found()
	i := slices.IndexFunc(r.Clean, func(c Clean) bool { return c.Check.ID == id })
	if i < 0 {
		b.t.Fatalf("%s found something", id)
	}
	return r.Clean[i]
}

func TestATradingShopHasNoFinding(t *testing.T) {
	b := tradingShop(t)
	b.wants()
	for id, want := range map[string]int64{"review-sent-unaccepted": 1, "review-untrained": 3, "review-one-pair-of-hands": 1, "review-no-receipt": 1, "review-receipt-differs": 1,
		"review-count-differs": 5, "review-round-open": 0, "review-no-round": 1, "review-not-informed": 1, "review-incident-open": 1, "review-shipment-record": 1,
		"review-paper-copy": 1, "review-emergency-number": 1, "review-instrument": 1} {
		if c := b.cleanOf(id); c.Checked != want || c.Untold != "" {
			t.Errorf("%s: went through %d, want %d; could not tell %q", id, c.Checked, want, c.Untold)
		}
	}
	// An empty shop is nothing gone through, never in order.
	e := cleanShop(t)
	for id := range recordLooks {
		if c := e.cleanOf(id); c.Checked != 0 && id != "review-no-round" {
			t.Errorf("%s went through %d of a shop without records", id, c.Checked)
		}
	}
}
