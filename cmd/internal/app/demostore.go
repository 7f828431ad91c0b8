package app

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strings"
	"time"

	"pouchward/triage"
)

// addContainer records a container and returns its tag.
func (y *demoYear) addContainer(x Container) string {
	if y.err != nil {
		return ""
	}
	o, err := y.sit("").AddContainer(y.day(), Act{Who: demoPeople[0]}, x)
	if y.fail(err); y.err != nil {
		return ""
	}
	y.boxAt[o.Tag] = x.Place
	return o.Tag
}

func (y *demoYear) addTin() string {
	tin := y.addContainer(Container{Kind: "tin", Material: "steel", VolumeL: "2.5", TareG: "410", Lid: "vented", Place: demoYard, Note: "for one isolated cell, dry sand"})
	y.tins = append(y.tins, tin)
	return tin
}

// freeTin returns a tin that nothing stands in; one more is bought where none is
// left.
func (y *demoYear) freeTin() string {
	for _, tin := range y.tins {
		if y.inTin[tin] == nil {
			return tin
		}
	}
	return y.addTin()
}

// bin returns the bin for a retired cell: packs and single cells stand apart.
func (y *demoYear) bin(c *demoCell) string {
	what := "cells"
	if c.part.thick == 0 {
		what = "packs"
	}
	if y.bins[what] == "" {
		y.bins[what] = y.addContainer(Container{Kind: "bin", Material: "steel", VolumeL: "30", TareG: "3200", Lid: "vented", Place: demoShelf,
			Note: what + " for recycling, terminals insulated"})
	}
	return y.bins[what]
}

// here lists the cells in the shop that a hand-over may take.
func (y *demoYear) here(fits func(*demoCell) bool) (list []*demoCell) {
	for _, c := range y.cells {
		if c.tag != "" && !c.gone && c.kept == "" && c.fate != recalled && fits(c) {
			list = append(list, c)
		}
	}
	return list
}

// A demoLot is the drawer of loose cells that nobody had looked at.
type demoLot struct {
	look        int // counts the looks that were planned
	tag         string
	left, grams int
	found       triage.Date
}

// findLot records the drawer as count and mass.
func (y *demoYear) findLot() {
	y.lot.left, y.lot.grams, y.lot.found = 60, 3312, triage.DateOf(y.now)
	y.countLot(Container{Kind: "bin", Material: "steel", VolumeL: "20", Lid: "vented", Place: demoHoldShelf, Note: "loose phone cells found in a drawer, never looked at"})
}

func (y *demoYear) countLot(x Container) {
	if y.err != nil {
		return
	}
	x.Tag, x.Lot = y.lot.tag, &Lot{Count: int64(y.lot.left), MassG: fmt.Sprint(y.lot.grams)}
	o, err := y.sit(demoBenches[1]).Lot(y.day(), Act{Who: demoPeople[1]}, x)
	if y.fail(err); y.err != nil {
		return
	}
	if y.lot.tag == "" {
		y.plant("review-start-unknown", demoHoldShelf, plantOpen, "nobody said how long the loose cells of the lot had lain there")
	}
	y.lot.tag = o.Tag
	y.lot.look++
	// It is looked over and counted as often as a cell that is held is looked at.
	mine := y.lot.look
	if at, _ := y.owed(y.lot.tag); !at.IsZero() {
		y.at(y.whenStaffed(at, mine%7), func() {
			if y.lot.look == mine {
				y.countLot(Container{Kind: "bin", Note: "counted"})
			}
		})
	}
}

// workLot takes a dozen cells out of the lot: a sheet is filled, sorted and
// recorded in one go, and the lot is counted again.
func (y *demoYear) workLot() {
	if y.err != nil {
		return
	}
	fates := []demoFate{plain, plain, swollen, plain, plain, flat, plain, plain, dented, plain, flat, plain}
	var sheet []*demoCell
	for _, fate := range fates {
		c := y.newCell(fate)
		c.part = drawPart(c.rng, singleCell)
		c.thick = c.part.thick
		c.loose, c.pulled, c.who, c.bench = true, y.lot.found, demoPeople[1], demoBenches[1]
		y.lot.grams -= c.part.grams10 / 10
		sheet = append(sheet, c)
	}
	y.lot.left -= len(sheet)
	var out bytes.Buffer
	sum, err := Sort(SortOptions{Files: []string{"-"}, Stdin: strings.NewReader(demoSheet(sheet, y.now)), Shop: y.day(), Format: "csv", Out: &out, Record: y.sit(demoBenches[1])})
	if err == nil && sum.Refused > 0 {
		err = fmt.Errorf("a reading of the demo was refused: %s", sum.Examples[0])
	}
	if y.fail(err); y.err != nil {
		return
	}
	y.fail(y.sorted(sheet, &out))
	y.in(4, func() { y.countLot(Container{Kind: "bin", Note: "a dozen worked off by a sheet"}) })
}

// demoSheet writes a sheet of readings as a shop would, without tags.
func demoSheet(cells []*demoCell, at time.Time) string {
	fields := []triage.FieldID{triage.Part, triage.Device, triage.Kind, triage.Chemistry, triage.Series, triage.Parallel, triage.NominalV, triage.ChargeLimitV,
		triage.RatedMah, triage.Signs, triage.CellC, triage.AmbientC, triage.OcvV, triage.RestH, triage.Rocks, triage.MassG, triage.Fit, triage.Purpose, triage.Recalled, triage.WasteOn, triage.PulledOn, triage.Who}
	var b strings.Builder
	w := csv.NewWriter(&b)
	var head []string
	for _, f := range fields {
		head = append(head, triage.Fields[f].Name)
	}
	_ = w.Write(append(head, "x_demo")) // a Builder takes all
	for _, c := range cells {
		_ = w.Write(append(row(fields, c.reading(at)), "invented"))
	}
	w.Flush()
	return b.String()
}

// sorted reads the tags and classes that the sheet got, and puts the cells away.
func (y *demoYear) sorted(sheet []*demoCell, out *bytes.Buffer) error {
	rows, err := csv.NewReader(out).ReadAll()
	if err != nil {
		return fmt.Errorf("reading the sorted sheet: %w", err)
	}
	if len(rows) != len(sheet)+1 {
		return fmt.Errorf("the sorted sheet has %d rows for %d cells", len(rows)-1, len(sheet))
	}
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	for i, c := range sheet {
		c.tag = rows[i+1][column["tag"]]
		c.class, _ = triage.HandlingByName(rows[i+1][column["handling"]])
		c.since = y.now
		y.expect(c)
		y.in(5+2*i, func() {
			y.secure(c, time.Time{})
			y.in(1, func() { y.put(c, time.Time{}) })
		})
	}
	return nil
}
