package app

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

// Quiet for a day is not enough: it must be known that it is not warm, as for a
// sign that was seen.
func TestAQuietCellIsAlsoCool(t *testing.T) {
	for _, words := range []string{"quiet_h=30", "quiet_h=30 warm=yes", "quiet_h=30 cell_c=28 ambient_c=21"} {
		d := onDesk(t)
		tag := d.look(t, "", "ocv_v=3.8")
		_, err := d.Raise(d.shop, Act{Who: "MK"}, tag, triage.Emergency, 0, "it hissed")
		d.did(t, err)
		d.wait(31 * time.Hour)
		_, err = d.Recheck(d.shop, Act{Who: "MK"}, tag, "same", typed(t, words))
		d.did(t, err)
		d.least(t, tag, words, triage.Emergency, triage.Reacting)
	}
}

// Two people who set 0.17 V over a limit aside did not judge 0.90 V over another.
func TestAValueIsHeldAgainstTheSameFact(t *testing.T) {
	rb := rulebook(t)
	judge := func(volts, limit string, by ...triage.Determination) *triage.Verdict {
		c := triage.Case{On: rb.On, Determinations: by}
		c.Reading, _ = readGiven(typed(t, strings.NewReplacer("ocv_v=3.8", "ocv_v="+volts, "charge_limit_v=4.4", "charge_limit_v="+limit).Replace(cleanLook)))
		v := new(triage.Verdict)
		rb.Judge(&c, v)
		return v
	}
	seen := judge("4.62", "4.45") // over 4.60 V, and 0.17 V over its limit
	if seen.Handling != triage.Emergency {
		t.Fatalf("4.62 V is %s", seen.Handling)
	}
	by := triage.Determination{SetsAside: []triage.Aside{seen.Aside("over-0-20")}, Criteria: "d", Reason: "the meter", By: "MK", Second: "LS", On: rb.On}
	if got := judge("4.55", "3.65", by); got.Handling != triage.Emergency {
		t.Errorf("0.90 V over the limit: %s, want %s as without the determination", got.Handling, judge("4.55", "3.65").Handling)
	}
}

// What a rule of the house found is not let go of with a dent, by a run that has
// no house file.
func TestAHouseFindingOutlivesTheHouseFile(t *testing.T) {
	d := onDesk(t)
	house := filepath.Join(t.TempDir(), "house.toml")
	text := "[[rule]]\nid = \"house-energy\"\ntitle = \"5 Wh and more\"\nwhen = [\"energy >= 5 Wh\"]\nhandling = \"isolate\"\ncondition = \"damaged\"\n" +
		"source = \"invented\"\nbasis = \"house\"\nconfidence = \"read\"\n"
	if err := os.WriteFile(house, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	plain := d.shop
	var err error
	if d.shop, err = OpenShop("", house, d.time); err != nil {
		t.Fatal(err)
	}
	tag := d.look(t, "", "signs=dented")
	d.shop = plain
	d.determine(t, tag, Ruling{Lower: []string{"dented"}})
	d.least(t, tag, "without the house file", triage.Isolate, triage.Damaged)
}

// A shop that is no longer one of one person does not let out what one person
// lowered.
func TestASoloDeterminationIsReadByAMove(t *testing.T) {
	d := onDesk(t)
	house := filepath.Join(t.TempDir(), "house.toml")
	if err := os.WriteFile(house, []byte("[shop]\nsolo = true\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	plain := d.shop
	var err error
	if d.shop, err = OpenShop("", house, d.time); err != nil {
		t.Fatal(err)
	}
	tag := d.look(t, "", "signs=dented")
	_, err = d.Determine(d.shop, Act{Who: "MK"}, tag, Ruling{Lower: []string{"dented"}, Criteria: "c", Reason: "print"})
	d.did(t, err)
	d.shop = plain
	if _, err := d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{tag}, Out: "reused"}); err == nil {
		t.Error("let out for reuse, although nothing stands that lowers the dent")
	}
}

// A recheck that is entered late says nothing of when to look after a newer look.
func TestALateRecheckLeavesTheNextLook(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "cell_c=27 ambient_c=21")
	o, err := d.Recheck(d.shop, Act{Who: "MK", Happened: d.time.Add(-3 * time.Hour)}, tag, "same", typed(t, "ocv_v=3.8"))
	d.did(t, err)
	if o.Was.LookIn != o.Is.LookIn {
		t.Errorf("look again in %d min, was in %d, for the same look of %s", o.Is.LookIn, o.Was.LookIn, o.Is.Looked)
	}
}

// A lot is not counted into the container in which an isolated cell stands alone.
func TestALotIsNotCountedBesideAnIsolatedCell(t *testing.T) {
	d := onDesk(t)
	o, err := d.AddContainer(d.shop, Act{Who: "MK"}, Container{Kind: "tin", Place: "Y1"})
	d.did(t, err)
	tag := d.look(t, "", "signs=swollen")
	_, err = d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{tag}, To: o.Tag})
	d.did(t, err)
	if _, err := d.Lot(d.shop, Act{Who: "MK"}, Container{Tag: o.Tag, Lot: &Lot{Count: 5}}); err == nil {
		t.Error("5 cells were put beside an isolated one without a word")
	}
}

// A cell stands where the last move took it, not where the last one that was
// entered did.
func TestALateMoveLeavesTheCellWhereItIs(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "signs=swollen")
	d.wait(time.Hour)
	_, err := d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{tag}, To: "isolation place"})
	d.did(t, err)
	_, err = d.Move(d.shop, Act{Who: "MK", Happened: d.time.Add(-30 * time.Minute)}, Move{Tags: []string{tag}, To: "bench"})
	d.did(t, err)
	c, err := readCell(d.log, tag)
	if err != nil {
		t.Fatal(err)
	}
	if c.State.Place != "isolation place" {
		t.Errorf("by the log it is at %s", c.State.Place)
	}
}

// An entry that was taken back, or moved already, is not moved to one more cell.
func TestWrongCellOfAnEntryThatWasTakenBack(t *testing.T) {
	d := onDesk(t)
	d.look(t, "", "ocv_v=3.8")
	n, err := d.log.Size()
	if err != nil {
		t.Fatal(err)
	}
	_, _, err = d.WrongCell(d.shop, Act{Who: "MK"}, Change{Entry: n}, d.look(t, "", "signs=dented"))
	d.did(t, err)
	if _, _, err := d.WrongCell(d.shop, Act{Who: "MK"}, Change{Entry: n}, d.look(t, "", "signs=dented")); err == nil {
		t.Error("one look was moved to two cells")
	}
}

// A cell that reacts in the shop is in the shop, whatever the log had of it.
func TestACellThatReactsIsHere(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "ocv_v=3.8")
	_, err := d.Move(d.shop, Act{Who: "MK"}, Move{Tags: []string{tag}, Out: "reused"})
	d.did(t, err)
	_, err = d.TellIncident(d.shop, Act{Who: "MK"}, Incident{Answers: map[string]string{"tags": tag, "reacted": "yes"}})
	d.did(t, err)
	if _, ok, err := d.log.HeldAs(tag); !ok || err != nil {
		t.Errorf("an emergency is neither in the stock nor in what is due (%v)", err)
	}
}

// Splits and merges of one cell cost what they are, not twice as much each time.
func TestTiesAreReadOnce(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "ocv_v=3.8")
	for range 8 {
		_, o, err := d.Split(d.shop, Act{Who: "MK"}, tag, "", "")
		d.did(t, err)
		_, err = d.Merge(d.shop, Act{Who: "MK"}, tag, o.Tag, "")
		d.did(t, err)
	}
	c, err := readCell(d.log, tag)
	if err != nil {
		t.Fatal(err)
	}
	if len(c.tags) > 100 {
		t.Errorf("after 8 splits and merges the log is asked %d times for %d entries", len(c.tags), len(c.Entries))
	}
}

// The day on which a determination lapses is the shop's, where the machine's
// clock stands in another zone.
func TestADeterminationLapsesByTheShopsDay(t *testing.T) {
	house := filepath.Join(t.TempDir(), "house.toml")
	if err := os.WriteFile(house, []byte("[shop]\ntime_zone = \"Pacific/Auckland\"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	machine := time.Date(2026, 11, 26, 1, 0, 0, 0, time.UTC)
	name := filepath.Join(t.TempDir(), "log.db")
	p, err := PlaceLog(name, house, func() time.Time { return machine })
	if err != nil {
		t.Fatal(err)
	}
	if _, err := InitLog(p, "Invented Back Room"); err != nil {
		t.Fatal(err)
	}
	d := &desk{}
	if d.Recording, err = OpenRecording(p, ""); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { d.Close() })
	if d.shop, err = OpenShop("", house, machine); err != nil { // as cli's env.shop does
		t.Fatal(err)
	}
	tag := d.look(t, "", "signs=dented")
	d.determine(t, tag, Ruling{Lower: []string{"dented"}, Until: "2026-11-26"})
	machine = time.Date(2026, 11, 26, 19, 0, 0, 0, time.UTC) // 27 November, 08:00 in the shop
	if d.shop, err = OpenShop("", house, machine); err != nil {
		t.Fatal(err)
	}
	if got, want := d.shop.Rulebook.On, triage.DateOf(p.Now()); got != want {
		t.Errorf("judged for %s, on the shop's day %s", got, want)
	}
	_, err = d.Recheck(d.shop, Act{Who: "MK"}, tag, "same", nil)
	d.did(t, err)
	d.least(t, tag, "the day after it lapsed", triage.Isolate, triage.Damaged)
}

// One hand does not set an accumulation clock later: neither by a day still to
// come, nor by a correction, nor by a merge.
func TestOneHandDoesNotSetAClockLater(t *testing.T) {
	start := func(d *desk, tag string) string {
		c, err := readCell(d.log, tag)
		if err != nil {
			t.Fatal(err)
		}
		return c.State.Start
	}
	d := onDesk(t)
	future := d.look(t, "", "purpose=recycle pulled_on=2199-01-01")
	if got := start(d, future); got != "2026-11-26" {
		t.Errorf("with a day still to come the clock runs from %s", got)
	}
	old := d.look(t, "", "purpose=recycle pulled_on=2026-01-05")
	n, err := d.log.Size()
	if err != nil {
		t.Fatal(err)
	}
	x := Change{Entry: n, Field: "pulled_on", New: "2026-11-20", Reason: "mistyped"}
	_, err = d.Correct(d.shop, Act{Who: "MK"}, x)
	d.did(t, err)
	if got := start(d, old); got != "2026-01-05" {
		t.Errorf("corrected by one hand it runs from %s", got)
	}
	d.determine(t, old, Ruling{Mistaken: []int64{n}})
	if got := start(d, old); got != "2026-11-20" {
		t.Errorf("corrected by two it runs from %s", got)
	}
	a, b := d.look(t, "", "purpose=recycle pulled_on=2026-11-20"), d.look(t, "", "purpose=recycle pulled_on=2026-02-01")
	_, err = d.Merge(d.shop, Act{Who: "MK"}, a, b, "")
	d.did(t, err)
	if got := start(d, a); got != "2026-02-01" {
		t.Errorf("merged it runs from %s", got)
	}
}

// A look entered late, when the later one was retracted, does not lower what that
// one found.
func TestALateLookAfterARetraction(t *testing.T) {
	d := onDesk(t)
	tag := d.look(t, "", "ocv_v=1.9")
	n, err := d.log.Size()
	if err != nil {
		t.Fatal(err)
	}
	_, err = d.Retract(d.shop, Act{Who: "MK"}, Change{Entry: n, Reason: "mistyped"})
	d.did(t, err)
	d.Happened = d.time.Add(-73 * time.Hour)
	d.look(t, tag, "ocv_v=3.8")
	d.least(t, tag, "late", triage.Isolate, triage.Undetermined)
}
