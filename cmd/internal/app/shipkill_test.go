package app

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// shipChild makes this binary a child that ships one cell after another: LOG and BENCH,
// with a space between. It prints a line for each act that was acknowledged.
const shipChild = "POUCHWARD_SHIP_CHILD"

func runShipChild(job string) int {
	path, bench, _ := strings.Cut(job, " ")
	s, err := newShipper(path, bench)
	if err == nil {
		fmt.Println("begin")
		for err == nil {
			err = s.ship(func(act string) { fmt.Println(act) })
		}
	}
	fmt.Fprintln(os.Stderr, err)
	return 1
}

// A shipper ships cells at a bench of its own.
type shipper struct {
	*Recording
	shop *Shop
}

func newShipper(path, bench string) (*shipper, error) {
	begun := time.Now()
	now := func() time.Time { return time.Date(2026, 11, 26, 9, 0, 0, 0, time.UTC).Add(time.Since(begun)) }
	rec, err := OpenRecording(LogPlace{Path: path, Options: logbook.Options{Now: now, Busy: time.Minute}}, bench)
	if err != nil {
		return nil, err
	}
	shop, err := OpenShop("", "", now())
	if err != nil {
		return nil, err
	}
	shop.House = &triage.House{Shop: triage.Shop{EmergencyNumber: "+1 555 0100"}} // invented
	return &shipper{rec, shop}, nil
}

// ship takes a cell in, packs it into a new package of a new shipment, closes that and
// hands it over, and tells each act that was acknowledged.
func (s *shipper) ship(acknowledged func(act string)) error {
	act, x := Act{Who: "LS"}, Packing{Shipment: newTag, Package: newTag, Route: "us-highway", Outer: "box,strong,1,30", Inner: true, Fill: true}
	tag := ""
	for _, step := range []struct {
		act string
		do  func() error
	}{
		{"take", func() error {
			a, err := s.Judge(s.shop, typedWords(dockLook))
			if err == nil {
				_, err = s.Record(a)
				tag = a.Verdict.Tag
			}
			return err
		}},
		{"secure", func() error { _, err := s.Secure(s.shop, act, tag, Secured(true, true, true)); return err }},
		{"pack", func() error { _, err := s.Pack(s.shop, act, &x, tag); return err }},
		{"close", func() error {
			_, err := s.ClosePackage(s.shop, act, Closing{Package: x.Package, GrossKg: "1.048", TareKg: "1", PackedBy: "LS", CheckedBy: "MK"})
			return err
		}},
		{"dispatch", func() error {
			_, err := s.Dispatch(s.shop, act, Dispatch{Shipment: x.Shipment, Carrier: "V", Consignee: "R", AcceptedBy: "A", Ref: "1", Until: "2030-01-01"})
			return err
		}},
	} {
		if err := step.do(); err != nil {
			return fmt.Errorf("%s: %w", step.act, err)
		}
		acknowledged(step.act)
	}
	return nil
}

// kindsAt are the kinds of the entries that a bench wrote, in order.
func kindsAt(t *testing.T, p LogPlace, bench string) (kinds []string) {
	t.Helper()
	err := ReadLog(p, func(l *logbook.Log) error {
		size, err := l.Size()
		if err != nil {
			return err
		}
		return l.Entries(1, size, func(e *logbook.Entry) error {
			if e.Bench == bench {
				kinds = append(kinds, e.Kind)
			}
			return nil
		})
	})
	if err != nil {
		t.Fatal(err)
	}
	return kinds
}

// Processes that pack, close and dispatch are killed, two at a time on one log. What was
// acknowledged is there, no act is there in part, and the log verifies.
func TestKilledShipping(t *testing.T) {
	p := LogPlace{Path: filepath.Join(t.TempDir(), "log.db"), Options: logbook.Options{Now: time.Now}}
	if _, err := InitLog(p, "Back room (invented)"); err != nil {
		t.Fatal(err)
	}
	// What each act writes, as one that nobody killed wrote it.
	s, err := newShipper(p.Path, "whole")
	if err != nil {
		t.Fatal(err)
	}
	var acts []string
	writes := map[string][]string{}
	err = s.ship(func(act string) {
		kinds := kindsAt(t, p, "whole")
		for _, earlier := range acts {
			kinds = kinds[len(writes[earlier]):]
		}
		acts, writes[act] = append(acts, act), kinds
	})
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	if len(writes["pack"]) < 3 || len(writes["dispatch"]) == 0 {
		t.Fatalf("an act writes %v", writes)
	}
	const together = 2
	kills, mid := 0, 0
	for round := 0; kills < killsOf(t, 12); round++ {
		var wg sync.WaitGroup
		var said [together][]string
		for i := range together {
			wg.Go(func() {
				cmd := exec.Command(os.Args[0], "-test.run=^$")
				cmd.Env = append(os.Environ(), fmt.Sprintf("%s=%s bench %d-%d", shipChild, p.Path, round, i))
				said[i], _ = killMidway(t, cmd, upTo(300*time.Millisecond))
			})
		}
		wg.Wait()
		for i := range together {
			kills++
			bench, whole := fmt.Sprintf("bench %d-%d", round, i), 0
			left := kindsAt(t, p, bench)
			for len(left) > 0 {
				want := writes[acts[whole%len(acts)]]
				if len(left) < len(want) || !slices.Equal(left[:len(want)], want) {
					t.Fatalf("%s: after %d whole acts stands %v, want %v", bench, whole, left, want)
				}
				left, whole = left[len(want):], whole+1
			}
			if got := len(said[i]); whole < got || whole > got+1 {
				t.Errorf("%s: %d acts were acknowledged, %d are in the log", bench, got, whole)
			} else if got > 0 {
				mid++
			}
		}
	}
	r, err := VerifyLog(p, Held{}, Progress{})
	if err != nil {
		t.Fatalf("%v: %+v", err, r.Problems)
	}
	t.Logf("%d killed, %d after something was acknowledged; %d entries verify", kills, mid, r.Tree.Size)
	if mid == 0 {
		t.Error("none was killed after an acknowledgement: the test shows nothing")
	}
}
