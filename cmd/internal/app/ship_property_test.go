package app

import (
	"errors"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pouchward/logbook"
	"pouchward/triage"
)

// A dock is a desk at which shipments are packed.
type dock struct {
	*desk
	shipment, pack string // the last begun
	left           map[string]string
	dispatched     int
	refused        int // dispatches that were refused
}

const dockLook = "signs=none recalled=no cell_c=21 ambient_c=21 kind=pouch chemistry=li-ion series=1 parallel=1 nominal_v=3.85 charge_limit_v=4.4 rated_mah=3000 fit=loose ocv_v=3.8 purpose=recycle mass_g=48"

// take records a cell, half of the time one with something drawn besides, and
// makes it safe.
func (d *dock) take(t *rapid.T) {
	given := typedWords(dockLook)
	if rapid.IntRange(0, 2).Draw(t, "odd") == 0 {
		odd := drawGiven(t, 3)
		given = append(slices.DeleteFunc(given, func(g Given) bool {
			return slices.ContainsFunc(odd, func(o Given) bool { return o.Field == g.Field })
		}), odd...)
	}
	tag, err := d.assess(given...)
	if err != nil {
		t.Fatal(err)
	}
	d.tags = append(d.tags, tag)
	if rapid.IntRange(0, 9).Draw(t, "secure") > 0 {
		if _, err := d.Secure(d.shop, Act{}, tag, Secured(true, true, true)); err != nil {
			t.Fatal(err)
		}
	}
}

// try does one thing at the dock. What is refused as wrong usage is no failure.
func (d *dock) try(t *rapid.T) {
	tag := rapid.SampledFrom(d.tags).Draw(t, "tag")
	act := Act{Who: "LS"}
	do := "pack" // nothing else has anything to work on yet
	if d.shipment != "" {
		do = rapid.SampledFrom([]string{"pack", "pack", "raise", "worse", "same", "same", "out", "close", "close", "close", "reopen", "dispatch", "dispatch", "dispatch", "refused", "day"}).Draw(t, "do")
	}
	var err error
	switch do {
	case "pack":
		err = d.packSome(t, act, tag)
	case "raise":
		_, err = d.Raise(d.shop, act, tag, rapid.SampledFrom([]triage.Handling{triage.Hold, triage.Isolate, triage.Emergency}).Draw(t, "to"), 0, "")
	case "worse":
		_, err = d.look(act, tag, "worse")
	case "same":
		_, err = d.look(act, tag, "same")
	case "out":
		_, err = d.Move(d.shop, act, Move{Tags: []string{tag}, To: "STORE", Because: rapid.SampledFrom([]string{"", "drawn"}).Draw(t, "because")})
	case "close":
		_, err = d.ClosePackage(d.shop, act, Closing{Package: d.pack, GrossKg: d.gross(t), TareKg: "1", PackedBy: "LS", CheckedBy: "MK", Inner: true, Fill: true})
	case "reopen":
		_, err = d.ReopenPackage(d.shop, act, d.pack, "drawn")
	case "dispatch":
		err = d.dispatch(t, act)
	case "refused":
		if _, err = d.Refused(d.shop, act, d.shipment, "drawn"); err == nil {
			for tag, s := range d.left {
				if s == d.shipment {
					delete(d.left, tag)
				}
			}
		}
	case "day":
		d.time = d.time.AddDate(0, 0, 1)
		d.shop, err = OpenShop("", "", d.time)
		d.shop.House = &triage.House{Shop: triage.Shop{EmergencyNumber: "+1 555 0100"}}
	}
	var exit *ExitError
	if err != nil && !(errors.As(err, &exit) && exit.Code == ExitUsage) {
		t.Fatal(err)
	}
	d.time = d.time.Add(time.Minute)
}

// look looks at a cell, which is then here, wherever it was thought to be.
func (d *dock) look(act Act, tag, as string) (*Outcome, error) {
	o, err := d.Recheck(d.shop, act, tag, as, nil)
	if err == nil {
		delete(d.left, tag)
	}
	return o, err
}

func (d *dock) packSome(t *rapid.T, act Act, tag string) error {
	x := Packing{Shipment: d.shipment, Package: d.pack}
	if d.shipment == "" || rapid.IntRange(0, 9).Draw(t, "shipment") == 0 {
		x.Shipment, x.Package, x.Route = newTag, newTag, "us-highway"
	} else if d.pack == "" || rapid.IntRange(0, 3).Draw(t, "package") == 0 {
		x.Package = newTag
	}
	if x.Package == newTag {
		x.Outer = rapid.SampledFrom([]string{"box,strong,1,30", "drum,pg1,1,30,1A2/X30/S/26"}).Draw(t, "outer")
	}
	p, err := d.Pack(d.shop, act, &x, tag)
	if err == nil {
		d.shipment, d.pack = p.Shipment, p.Package
	}
	return err
}

// gross is what the package weighs, with all its cells.
func (d *dock) gross(t *rapid.T) string {
	mg := int64(1_000_000)
	if err := d.log.Contents(d.pack, func(h *logbook.Held) error {
		mg += 48_000
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	return triage.Micro(mg).String()
}

// dispatch hands the last shipment over, and judges what left by itself.
func (d *dock) dispatch(t *rapid.T, act Act) error {
	sent, err := d.Dispatch(d.shop, act, Dispatch{Shipment: d.shipment, Carrier: "V", Consignee: "R", AcceptedBy: "A", Ref: "1", Until: "2030-01-01",
		Accepts: rapid.SampledFrom([][]string{nil, {"undamaged", "damaged", "recalled", "liable"}}).Draw(t, "accepts")})
	if err != nil {
		d.refused++
		return err
	}
	d.dispatched++
	for i := range sent.Shipment.Packages {
		p := &sent.Shipment.Packages[i]
		worst := triage.Undamaged
		for _, tag := range p.Cells {
			c := d.cell(t, tag)
			v := c.judge(d.shop)
			if class := v.Routes[triage.USHighway].Class; class > triage.RouteCritical || v.Handling == triage.Emergency || v.Condition == triage.Undetermined {
				t.Fatalf("%s left as %s, %s, by highway %s", tag, v.Handling, v.Condition, class)
			}
			if was := d.left[tag]; was != "" || c.State.Is != logbook.Out {
				t.Fatalf("%s is %q after it left, and was in %q before", tag, c.State.Is, was)
			}
			d.left[tag] = sent.Shipment.About
			worst = max(worst, v.Condition)
		}
		if worst >= triage.Damaged && (len(p.Cells) != 1 || p.Outer.Level != "pg1") {
			t.Fatalf("%d cells, one of them %s, left in a %s packaging", len(p.Cells), worst, p.Outer.Level)
		}
	}
	return nil
}

// Whatever is done at the benches between packing and the van, no cell leaves in
// a shipment that is not lawful on its route as it stands, or that left before.
func TestNothingUnlawfulIsDispatched(t *testing.T) {
	dir := t.TempDir()
	runs, dispatched, refused := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		runs++
		d := &dock{desk: newDesk(t, mustMkdir(t, dir, runs)), left: map[string]string{}}
		defer d.Close()
		d.shop.House = &triage.House{Shop: triage.Shop{EmergencyNumber: "+1 555 0100"}}
		for range rapid.IntRange(2, 5).Draw(t, "cells") {
			d.take(t)
		}
		for range rapid.IntRange(8, 40).Draw(t, "steps") {
			d.try(t)
		}
		dispatched, refused = dispatched+d.dispatched, refused+d.refused
	})
	if dispatched < runs/20 || refused < runs/20 {
		t.Errorf("%d shipments left and %d were kept in %d runs: the test shows nothing", dispatched, refused, runs)
	}
	t.Logf("%d left, %d kept, %d runs", dispatched, refused, runs)
}
