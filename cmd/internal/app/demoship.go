package app

import (
	"errors"
	"fmt"
	"os"
	"strconv"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// The outer packagings of the invented shop.
const (
	demoBox  = "carton 40x30x20,strong,0.6,30"
	demoDrum = "steel drum 10 L,pg1,2.1,20,1A2/X20/S/25/INVENTED"
)

// handOver is the quarterly visit of the recycler's carrier: what stands in the
// bins, or is held and not damaged, goes in cartons, what is damaged in another
// shipment, each alone in a drum. What is not lawful by highway stays.
func (y *demoYear) handOver() {
	y.sent++
	ordinary := y.here(func(c *demoCell) bool {
		return c.where != "" && (c.where == y.bins["cells"] || c.where == y.bins["packs"])
	})
	carton := &demoParcel{ref: fmt.Sprintf("PA-%d1", 40+y.sent), accepts: []string{"undamaged"}, short: y.sent == 2, alone: y.sent == 1, untrained: y.sent == 3, nameless: y.sent == 3}
	// What was meant for reuse goes by another way than what is for recycling, and
	// so in a carton of its own.
	for _, meant := range []bool{false, true} {
		box := Packing{Shipment: newTag, Package: newTag, Route: "us-highway", Outer: demoBox, Inner: true}
		if carton.tag != "" {
			box.Shipment, box.Route = carton.tag, ""
		}
		for _, c := range ordinary {
			if meant == (c.fate == worn || c.fate == reused) {
				y.packOne(carton, &box, c)
			}
		}
	}
	y.depart(carton)
	// What came in today is looked at within the hour, and goes another time.
	today := y.moment(triage.DateOf(y.now), 0)
	damaged := y.here(func(c *demoCell) bool {
		return c.where != "" && c.since.Before(today) && (c.class == triage.Isolate || c.class == triage.Hold) // held: not taken with the others
	})
	drums := &demoParcel{drums: true, ref: fmt.Sprintf("PA-%d2", 40+y.sent), accepts: []string{"damaged", "recalled"}, refused: y.sent == 3, unanswered: y.sent == 4,
		lapsed: y.sent == 1, paperless: y.sent == 2, untried: y.sent == 2}
	for _, c := range damaged {
		if y.decide(c); c.class != triage.Isolate {
			continue
		}
		drum := Packing{Shipment: newTag, Package: newTag, Route: "us-highway", Outer: demoDrum, Inner: true, Fill: true}
		if drums.tag != "" {
			drum.Shipment, drum.Route = drums.tag, ""
		}
		y.packOne(drums, &drum, c)
		if len(drums.cells) == 1 {
			y.wrongDrum(drums, c)
		}
	}
	y.depart(drums)
}

// decide has two people put up to damaged what nobody can tell more of: it goes
// as damaged rather than stay for good.
func (y *demoYear) decide(c *demoCell) {
	if y.err != nil {
		return
	}
	h, ok, err := y.rec.log.HeldAs(c.tag)
	if y.fail(err); !ok || y.err != nil || h.Condition != triage.Undetermined.String() {
		return
	}
	y.pass(50 * time.Second)
	o, err := y.sit("").Determine(y.day(), Act{Who: demoPeople[0]}, c.tag, Ruling{Condition: triage.Damaged.String(), Criteria: "d", Reason: "nobody can tell more of it: it goes as damaged",
		Second: demoPeople[1]})
	y.took(c, o, err)
	y.secure(c, time.Time{}) // from isolate up fill is owed too
}

// A demoParcel is a shipment of the demo, and what is to go wrong with it.
type demoParcel struct {
	tag        string
	packs      []string
	cells      []*demoCell
	ref        string
	accepts    []string
	netMg      int64
	drums      bool
	short      bool // the receipt says one less
	refused    bool // the first carrier does not take it
	unanswered bool // no receipt comes
	alone      bool // the first package is packed and checked by one person
	untrained  bool // somebody whose training has run out checks the first package
	lapsed     bool // the acceptance had run out the day before
	nameless   bool // who carries it is not written down
	paperless  bool // no copy of the papers is kept
	untried    bool // the emergency telephone was not tried for too long
}

// packOne packs a cell; one that does not go by highway is left where it is.
func (y *demoYear) packOne(s *demoParcel, x *Packing, c *demoCell) {
	if y.err != nil {
		return
	}
	y.pass(17 * time.Second)
	p, err := y.sit("").Pack(y.day(), Act{Who: demoPeople[1]}, x, c.tag)
	var exit *ExitError
	if errors.As(err, &exit) && exit.Code == ExitUsage {
		return
	}
	if y.fail(err); y.err != nil {
		return
	}
	if s.tag = p.Shipment; len(s.packs) == 0 || s.packs[len(s.packs)-1] != p.Package {
		s.packs = append(s.packs, p.Package)
	}
	s.cells = append(s.cells, c)
	if y.inTin[c.where] == c {
		delete(y.inTin, c.where)
	}
	c.where, c.gone = p.Package, true
	c.look++
}

// depart closes every package and hands the shipment over.
func (y *demoYear) depart(s *demoParcel) {
	if y.err != nil || len(s.cells) == 0 {
		return
	}
	for i, tag := range s.packs {
		y.pass(2 * time.Minute)
		shop, checker := y.checker(s, i)
		net := y.weighed(tag)
		tare := int64(900_000)
		if s.drums {
			tare = 3_400_000 // a drum with its fill
		}
		_, err := y.sit("").ClosePackage(shop, Act{Who: demoPeople[1]}, Closing{Package: tag, GrossKg: triage.Micro(net + tare).String(), TareKg: triage.Micro(tare).String(),
			PackedBy: demoPeople[1], CheckedBy: checker})
		if y.fail(err); y.err != nil {
			return
		}
		s.netMg += net
	}
	y.pass(9 * time.Minute)
	y.dispatch(s, "Invented Haulage (invented)")
	y.plantSent(s)
	if s.refused {
		y.turnedAway(s)
	}
	if s.unanswered || y.err != nil {
		return
	}
	y.at(y.moment(y.nextOpen(triage.DateOf(y.now)+9), 10*60+2), func() { y.receipt(s) })
}

// weighed is what the cells of a package weigh, in milligrams: those that were
// never put on a scale by what their part weighs.
func (y *demoYear) weighed(pack string) (mg int64) {
	y.fail(y.rec.log.Contents(pack, func(h *logbook.Held) error {
		if h.MilliGram > 0 {
			mg += h.MilliGram
			return nil
		}
		for _, c := range y.cells {
			if c.tag == h.Tag {
				mg += int64(c.part.grams10) * 100
			}
		}
		return nil
	}))
	return mg
}

func (y *demoYear) dispatch(s *demoParcel, carrier string) {
	if y.err != nil {
		return
	}
	x := Dispatch{Shipment: s.tag, Carrier: carrier, AcceptedBy: "dispatch desk (invented)", Ref: s.ref, Until: (triage.DateOf(y.now) + 21).String(), Accepts: s.accepts}
	switch {
	case s.lapsed:
		y.forgeDispatch(x, func(h *Handover) { h.Acceptance.Until = (triage.DateOf(y.now) - 1).String() })
	case s.nameless:
		y.forgeDispatch(x, func(h *Handover) { h.Carrier = "" })
	default:
		_, err := y.sit("").Dispatch(y.day(), Act{Who: demoPeople[0]}, x)
		y.fail(err)
	}
	if s.drums && !s.paperless {
		y.pass(4 * time.Minute)
		y.attach(s.tag, "shipping-paper-"+s.ref+".txt", "paper", "invented", func(f *os.File) error {
			_, err := fmt.Fprintf(f, "INVENTED SHIPPING PAPER - nothing was carried\n\nShipment %s by %s, reference %s.\n", triage.SpacedTag(s.tag), carrier, s.ref)
			return err
		})
	}
}

// turnedAway: the driver has no sheet for damaged ones; every cell is looked at,
// and another carrier takes them an hour later.
func (y *demoYear) turnedAway(s *demoParcel) {
	y.pass(6 * time.Minute)
	if y.err != nil {
		return
	}
	_, err := y.sit("").Refused(y.day(), Act{Who: demoPeople[0]}, s.tag, "driver has no sheet for damaged ones (invented)")
	y.fail(err)
	for _, c := range s.cells {
		y.pass(40 * time.Second)
		if y.err == nil {
			_, err := y.sit("").Recheck(y.day(), Act{Who: demoPeople[1]}, c.tag, "same", c.temperatures(y.now))
			y.fail(err)
		}
	}
	y.pass(20 * time.Minute)
	y.dispatch(s, "Other Invented Haulage (invented)")
}

// receipt comes in with a certificate; one that is short is chased for two days.
func (y *demoYear) receipt(s *demoParcel) {
	count := int64(len(s.cells))
	if s.short {
		count--
	}
	x := Reception{Shipment: s.tag, On: (triage.DateOf(y.now) - 1).String(), Count: &count, MassKg: triage.Micro(s.netMg).String(), Certificate: y.certificate(s, count)}
	y.received(x)
	if s.short {
		y.at(y.moment(y.nextOpen(triage.DateOf(y.now)+2), 16*60+20), func() {
			y.received(Reception{Shipment: s.tag, Close: true, Note: "found on the recycler's floor sheet, named by the dispatch desk (invented)"})
		})
	}
}

func (y *demoYear) received(x Reception) {
	if y.err != nil {
		return
	}
	_, err := y.sit("").Receive(y.day(), Act{Who: demoPeople[0]}, x)
	y.fail(err)
}

// certificate writes the recycler's paper and returns its file.
func (y *demoYear) certificate(s *demoParcel, count int64) string {
	return y.file("certificate-"+s.ref+".txt", fmt.Sprintf(`INVENTED CERTIFICATE - nobody issued this

Invented Cell Recycling, dock 3
Acceptance %s, shipment %s: %s lithium-ion cells and packs received from %s,
for treatment and recovery. Received on %s.
`, s.ref, triage.SpacedTag(s.tag), strconv.FormatInt(count, 10), demoSite, (triage.DateOf(y.now)-1).String()))
}
