package triage

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"
)

const (
	gridLo   Micro = 2_000_000 // the lowest cut-off of any curve
	gridHi   Micro = 4_600_000 // above it a cell is in the emergency area whatever its kind
	gridStep Micro = 250
	gridSize       = int((gridHi-gridLo)/gridStep) + 1
)

// A curveTable holds charge in millionths of a percent at gridLo, gridLo+gridStep, ...; it never falls.
type curveTable [gridSize]int32

// at is the charge at v, not clamped to 0..100 %; v outside the grid takes the nearest end.
func (t *curveTable) at(v Micro) Micro {
	v = min(max(v, gridLo), gridHi) - gridLo
	i := v / gridStep
	if int(i) >= gridSize-1 {
		return Micro(t[gridSize-1])
	}
	a, b := Micro(t[i]), Micro(t[i+1])
	return a + (b-a)*(v%gridStep)/gridStep
}

// fill tabulates the inverse of the rows and checks that it is a number and never falls.
func (t *curveTable) fill(id CurveID, rows curveRows) error {
	var inverse interp.FritschButland
	if err := inverse.Fit(rows.volts, rows.pct); err != nil {
		return fmt.Errorf("fitting curves/%s: %w", curveFiles[id].file, err)
	}
	v, s, k := rows.volts, rows.pct, len(rows.pct)-1
	below, above := (s[1]-s[0])/(v[1]-v[0]), (s[k]-s[k-1])/(v[k]-v[k-1]) // percent per volt
	if id == CurveCobalt {
		above = 100 * 1e6 / float64(modelV)
	}
	for i := range t {
		x := float64(gridLo+Micro(i)*gridStep) / 1e6
		pct := 0.0
		switch {
		case x < v[0]:
			pct = (x - v[0]) * below
		case x > v[k]:
			pct = 100 + (x-v[k])*above
		default:
			pct = inverse.Predict(x)
		}
		if math.IsNaN(pct) || math.Abs(pct) > 1000 {
			return fmt.Errorf("fitting curves/%s: %v %% at %v V", curveFiles[id].file, pct, x)
		}
		if t[i] = int32(math.Round(pct * 1e6)); i > 0 && t[i] < t[i-1] {
			return fmt.Errorf("fitting curves/%s: charge falls at %v V", curveFiles[id].file, x)
		}
	}
	return nil
}
