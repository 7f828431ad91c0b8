package app

import (
	"errors"
	"io"

	"pouchward/cmd/internal/intake"
	"pouchward/triage"
	"pouchward/triage/hazard"
)

// sheet reads cells from a sheet: all in one container, or each in its own.
func (a *HazardAsk) sheet(shop *Shop, f *hazard.Figures) (*hazard.Stand, error) {
	var house map[string]string
	if shop.House != nil {
		house = shop.House.Map
	}
	sheet, err := openSheet(a.File, a.Stdin, a.Sheet, a.Map, house, nil)
	if err != nil {
		return nil, err
	}
	stand := &hazard.Stand{}
	err = eachVerdict(shop, sheet, func(v *triage.Verdict, refused []string) {
		a.Refusals = append(a.Refusals, refused...)
		if len(stand.Groups) == 0 || a.Each {
			stand.Groups = append(stand.Groups, hazard.Group{})
		}
		stand.Groups[len(stand.Groups)-1].Add(f, verdictCells(v))
	})
	return stand, errors.Join(err, sheet.Close())
}

// verdictCells is what a verdict says of a cell's size and class.
func verdictCells(v *triage.Verdict) hazard.Cells {
	c := hazard.Cells{Count: 1, Class: v.Handling.String()}
	if e := &v.Facts[triage.FEnergy]; e.State == triage.Known {
		c.Wh = e.Hi
	}
	if m := &v.Facts[triage.FScaleMass]; m.State == triage.Known {
		c.Grams = m.Hi
	}
	for _, field := range []triage.FieldID{triage.PulledOn, triage.WasteOn} {
		if d := &v.Reading[field]; d.State == triage.Known {
			c.Start = triage.Date(d.Num).String()
		}
	}
	return c
}

// eachVerdict judges every row of a sheet.
func eachVerdict(shop *Shop, sheet *intake.Sheet, fn func(v *triage.Verdict, refused []string)) error {
	var row intake.Row
	var v triage.Verdict
	c := shop.Case()
	for {
		if err := sheet.Next(&row); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
		refused := sheet.Read(&row, &c.Reading)
		judgeRow(shop.Rulebook, &c, &v, row.Written)
		fn(&v, refused)
	}
}
