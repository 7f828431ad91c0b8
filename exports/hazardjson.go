package exports

import (
	"bytes"
	"io"
	"math"

	"pouchward/triage"
	"pouchward/triage/hazard"
)

// bandDoc is a band in JSON; null is not known, or that there is no middle.
type bandDoc struct {
	Low    *float64 `json:"low"`
	Middle *float64 `json:"middle"`
	Worst  *float64 `json:"worst"`
}

// hazardDoc is a screening in JSON; its names are an interface.
type hazardDoc struct {
	On       string       `json:"on"`
	Of       string       `json:"of"`
	Caution  string       `json:"caution"`
	Here     hereDoc      `json:"here"`
	Room     *roomDoc     `json:"room"` // null: none given
	Cases    []caseDoc    `json:"cases"`
	Limits   []limitDoc   `json:"limits"`
	MayStand *mayStandDoc `json:"may_stand"` // null without a room
	Storage  []storageDoc `json:"storage"`
}

type hereDoc struct {
	Cells     int64   `json:"cells"`
	Wh        float64 `json:"wh"`
	AtLeast   bool    `json:"at_least"`
	ByMass    int64   `json:"cells_by_mass"`
	Unknown   int64   `json:"cells_of_unknown_size"`
	Unplaced  int64   `json:"cells_without_a_place"`
	Kg        float64 `json:"kg"`
	Unweighed int64   `json:"unweighed"`
	Worst     string  `json:"worst,omitempty"`
	Oldest    string  `json:"oldest,omitempty"`
}

type roomDoc struct {
	M3      float64  `json:"m3"`
	Changes *float64 `json:"air_changes_per_h"` // null: not stated, none counted
}

type caseDoc struct {
	Case      string   `json:"case"`
	Container string   `json:"container,omitempty"`
	Place     string   `json:"place,omitempty"`
	Cells     int64    `json:"cells"`
	Wh        float64  `json:"wh"`
	AtLeast   bool     `json:"at_least"`
	Gases     []gasDoc `json:"gases"`
	AllGas    bandDoc  `json:"all_gas_l"`
}

type gasDoc struct {
	Gas     string   `json:"gas"`
	Name    string   `json:"name"`
	Yield   bandDoc  `json:"yield_mg_wh"`
	MG      bandDoc  `json:"mg"`
	MgM3    *bandDoc `json:"mg_m3,omitempty"`
	PPM     *bandDoc `json:"ppm,omitempty"`
	Low     bool     `json:"low_confidence"`
	Sources []string `json:"sources"`
}

type limitDoc struct {
	ID         string  `json:"id"`
	Name       string  `json:"name"`
	Gas        string  `json:"gas"`
	Kind       string  `json:"kind"`
	PPM        float64 `json:"ppm"`
	MgM3       float64 `json:"mg_m3"`
	Source     string  `json:"source"`
	Confidence string  `json:"confidence"`
	// Of the case that is held against it; left out without a room, and for an
	// average of a working day.
	Case  string    `json:"case,omitempty"`
	Above *aboveDoc `json:"minutes_above,omitempty"`
}

// aboveDoc gives minutes; 0 is under, a word is "stays" or "not known".
type aboveDoc struct {
	Low    any `json:"low"`
	Middle any `json:"middle"`
	Worst  any `json:"worst"`
}

type mayStandDoc struct {
	Limit string  `json:"limit"`
	Wh    float64 `json:"less_than_wh"`
	Cells *int64  `json:"cells"` // null: none until the sizes are known
	Text  string  `json:"text"`
}

type storageDoc struct {
	ID           string `json:"id"`
	About        string `json:"about"`
	Text         string `json:"text"`
	Jurisdiction string `json:"jurisdiction"`
	Edition      string `json:"edition"`
	Here         string `json:"here,omitempty"`
	Question     string `json:"question,omitempty"`
	Ask          string `json:"ask,omitempty"`
	Source       string `json:"source"`
	Basis        string `json:"basis"`
	Confidence   string `json:"confidence"`
}

// HazardJSON writes a screening as one JSON object.
func HazardJSON(w io.Writer, s *hazard.Screen) error {
	t := s.Stand.Total()
	d := hazardDoc{On: s.On.String(), Of: Clean(s.Of), Caution: hazard.Caution, Cases: []caseDoc{}, Limits: limitDocs(s), Storage: storageDocs(s),
		Here: hereDoc{Cells: t.Cells, Wh: float64(t.Wh) / 1e6, AtLeast: s.Stand.AtLeast(), ByMass: t.Bounded, Unknown: t.Unknown, Unplaced: s.Stand.Unplaced,
			Kg: float64(t.Grams) / 1e9, Unweighed: t.Unweighed, Worst: t.Worst, Oldest: t.Oldest}}
	cases := s.Stand.Cases()
	for i := range cases {
		d.Cases = append(d.Cases, newCaseDoc(s, &cases[i]))
	}
	if s.Room != nil {
		d.Room = &roomDoc{M3: s.Room.M3}
		if s.Room.AirChanges > 0 {
			d.Room.Changes = &s.Room.AirChanges
		}
		g, l := s.Asked()
		m := s.Stand.HowMany(g, l, *s.Room)
		d.MayStand = &mayStandDoc{Limit: l.ID, Wh: m.Wh, Text: MayStandText(s, l.Name)}
		if m.Known {
			d.MayStand.Cells = &m.Cells
		}
	}
	var buf bytes.Buffer
	if err := EncodeJSON(&buf, d, "  "); err != nil {
		return err
	}
	_, err := w.Write(buf.Bytes())
	return err
}

func newBandDoc(b hazard.Band, known bool) bandDoc {
	if !known {
		return bandDoc{}
	}
	low, middle, worst := roundTo(b.Low, 4), roundTo(b.Middle, 4), roundTo(b.Worst, 4)
	d := bandDoc{Low: &low, Worst: &worst}
	if middle > 0 {
		d.Middle = &middle
	}
	return d
}

func newCaseDoc(s *hazard.Screen, k *hazard.Case) caseDoc {
	known := k.Wh > 0
	d := caseDoc{Case: k.Key, Cells: k.Cells, Wh: float64(k.Wh) / 1e6, AtLeast: k.AtLeast, Gases: []gasDoc{}, AllGas: newBandDoc(k.Litres(s.Figures), known)}
	if k.Group != nil {
		d.Container, d.Place = k.Group.Tag, k.Group.Place
	}
	for _, g := range s.Figures.Gases() {
		x := gasDoc{Gas: g.Key, Name: g.Name, Yield: newBandDoc(g.Yield, true), MG: newBandDoc(k.MG(g), known), Low: g.Low(), Sources: []string{}}
		if s.Room != nil {
			m := k.MgM3(g, *s.Room)
			air, ppm := newBandDoc(m, known), newBandDoc(hazard.Band{Low: g.PPM(m.Low), Middle: g.PPM(m.Middle), Worst: g.PPM(m.Worst)}, known)
			x.MgM3, x.PPM = &air, &ppm
		}
		for _, f := range g.Figures {
			x.Sources = append(x.Sources, f.Source)
		}
		d.Gases = append(d.Gases, x)
	}
	return d
}

func limitDocs(s *hazard.Screen) []limitDoc {
	list := []limitDoc{}
	k := hazard.Main(s.Stand.Cases())
	for _, g := range s.Figures.Gases() {
		for _, l := range g.Limits {
			d := limitDoc{ID: l.ID, Name: l.Name, Gas: l.Gas, Kind: l.Kind, PPM: l.PPM, MgM3: roundTo(g.MgM3(l.PPM), 4), Source: l.Source, Confidence: l.Confidence}
			if k != nil && s.Room != nil && l.Short() {
				b := k.MgM3(g, *s.Room)
				d.Case = k.Key
				d.Above = &aboveDoc{aboveValue(s, k, g, l, b.Low), aboveValue(s, k, g, l, b.Middle), aboveValue(s, k, g, l, b.Worst)}
				if g.Yield.Middle == 0 {
					d.Above.Middle = nil
				}
			}
			list = append(list, d)
		}
	}
	return list
}

func aboveValue(s *hazard.Screen, k *hazard.Case, g *hazard.Gas, l *triage.Limit, mgM3 float64) any {
	reach, minutes := k.Above(g, l, mgM3, *s.Room)
	switch {
	case reach == hazard.NotKnown:
		return "not known"
	case math.IsInf(minutes, 1):
		return "stays"
	}
	return math.Ceil(minutes*10) / 10
}

func storageDocs(s *hazard.Screen) []storageDoc {
	here := map[string]string{}
	for _, a := range s.Stand.Storage(s.Storages) {
		here[a.Rule.ID] = volumeText(&a)
	}
	list := []storageDoc{}
	for _, r := range s.Storages {
		list = append(list, storageDoc{ID: r.ID, About: r.About, Text: r.Text, Jurisdiction: r.Jurisdiction, Edition: r.Edition, Here: here[r.ID],
			Question: r.Question, Ask: r.Ask, Source: r.Source, Basis: string(r.Basis), Confidence: r.Confidence})
	}
	return list
}
