// Package hazard says how bad the gas of reacting cells could get where they
// stand. It is pure: figures come from a rulebook, loads and rooms from the
// caller.
//
// What it computes, for one cell, for the largest container, and for everything:
//
//	gas        mg = Wh x yield (mg/Wh), as a band: low and worst are the ends of
//	           published fire tests, the middle is our own
//	in a room  mg/m3 = mg / m3, perfectly mixed, let off at once
//	in ppm     mg/m3 x 24.45 L/mol / (g/mol), at 25 °C and 1 atm
//	with time  c(t) = c(0) x exp(-n t), n air changes an hour
//	over L     t = ln(c(0) / L) / n; without end where no air change is stated
//	may stand  Wh < L (mg/m3) x m3 / worst yield
//
// It is a screening figure, not an exposure assessment and not a permission.
// Nothing is taken off for surfaces, moisture, doors or distance; nothing is added
// for the breathing zone beside the cell, for heat, soot or fire. Yields are of
// cells burnt from outside, none a phone pouch. Every chemistry counts as lithium
// ion.
//
// Unknown never lowers a figure. A cell without a rating that was weighed counts
// with the most that its mass can hold; one that was not weighed either leaves
// every figure that could hold it "at least", and no limit is said to be kept.
//
// Sources of the numbers stand in their records: triage/rules/gas.toml.
package hazard

import (
	"fmt"
	"math"

	"pouchward/triage"
)

// Caution stands on every form of these figures.
const Caution = "A screening figure, not an exposure assessment and not a permission. Perfect mixing is assumed and no credit taken for surfaces; " +
	"near the cell it is worse. " + triage.LocalFirst

// A Band is a quantity at the low, middle and worst yield. Middle is 0 where there
// is none.
type Band struct{ Low, Middle, Worst float64 }

func (b Band) times(x float64) Band { return Band{b.Low * x, b.Middle * x, b.Worst * x} }

// A Gas is what is known of one gas.
type Gas struct {
	Key, Name string
	Molar     float64 // g/mol
	Yield     Band    // mg/Wh
	Limits    []*triage.Limit
	Figures   []*triage.Figure // what the yield rests on

	molarVolume float64 // L/mol
}

// PPM converts mg/m3 to parts per million by volume.
func (g *Gas) PPM(mgM3 float64) float64 { return mgM3 * g.molarVolume / g.Molar }

// MgM3 converts parts per million by volume to mg/m3.
func (g *Gas) MgM3(ppm float64) float64 { return ppm * g.Molar / g.molarVolume }

// Low reports whether a figure of the gas is from memory alone: low confidence.
func (g *Gas) Low() bool {
	for _, f := range g.Figures {
		if f.What != "middle" && f.Confidence == "memory" {
			return true
		}
	}
	return false
}

// Figures are the numbers of a rulebook, ready to compute with.
type Figures struct {
	HF, POF3, CO Gas
	Volume       Band    // all gas, L/Wh
	Density      float64 // most energy in a mass, Wh/kg

	VolumeFigure, DensityFigure *triage.Figure
}

// Gases lists the gases, the one that limits first.
func (f *Figures) Gases() []*Gas { return []*Gas{&f.HF, &f.POF3, &f.CO} }

// FiguresOf reads the figures in force. One that is missing is an error: without
// it a gas would look absent.
func FiguresOf(rb *triage.Rulebook) (*Figures, error) {
	list, missing := rb.Figures(), error(nil)
	find := func(what, gas string) *triage.Figure {
		for _, f := range list {
			if f.What == what && f.Gas == gas {
				return f
			}
		}
		missing = fmt.Errorf("no figure for %s %s is in force on %s: choose a later date", what, gas, rb.On)
		return new(triage.Figure)
	}
	volume := find("molar-volume", "").Value
	gas := func(key, name string) Gas {
		return Gas{Key: key, Name: name, Molar: find("molar-mass", key).Value, Limits: rb.Limits(key), molarVolume: volume}
	}
	f := &Figures{HF: gas("hf", "hydrogen fluoride"), POF3: gas("pof3", "phosphoryl fluoride"), CO: gas("co", "carbon monoxide")}
	for _, g := range []*Gas{&f.HF, &f.POF3} {
		y := find("yield", g.Key)
		g.Yield, g.Figures = Band{Low: y.Low, Worst: y.High}, []*triage.Figure{y}
	}
	middle := find("middle", "hf")
	f.HF.Yield.Middle, f.HF.Figures = middle.Value, append(f.HF.Figures, middle)

	f.VolumeFigure, f.DensityFigure = find("gas-volume", ""), find("energy-density", "")
	f.Volume, f.Density = Band{Low: f.VolumeFigure.Low, Worst: f.VolumeFigure.High}, f.DensityFigure.Value
	share := find("share", "co")
	f.CO.Yield = f.Volume.times(share.Value / 100 / volume * f.CO.Molar * 1000) // L/Wh to mg/Wh
	f.CO.Figures = []*triage.Figure{f.VolumeFigure, share}
	if missing != nil {
		return nil, missing
	}
	return f, nil
}

// Limit finds a limit by its id, with its gas.
func (f *Figures) Limit(id string) (*Gas, *triage.Limit) {
	for _, g := range f.Gases() {
		for _, l := range g.Limits {
			if l.ID == id {
				return g, l
			}
		}
	}
	return nil, nil
}

// MostWh is the Wh that the worst yield brings up to a limit in a room: what
// stands in one container stays under the limit only with less. Rounded down to
// 0.01 Wh.
func (g *Gas) MostWh(l *triage.Limit, r Room) float64 {
	return math.Floor(g.MgM3(l.PPM)*r.M3/g.Yield.Worst*100) / 100
}

// RoomFor is the volume of air in m3 that a mass of gas brings just up to a limit.
func (g *Gas) RoomFor(l *triage.Limit, mg float64) float64 { return mg / g.MgM3(l.PPM) }
