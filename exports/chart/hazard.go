package chart

import (
	"errors"
	"fmt"
	"io"
	"math"

	"gonum.org/v1/plot/vg"

	"pouchward/exports"
	"pouchward/triage"
	"pouchward/triage/hazard"
)

// Hazard draws the hydrogen fluoride of a screening against the limits. With an
// air change it is the concentration against time, of the main case. Without one
// it would be flat, so the cases stand side by side instead, each from low to
// worst.
func Hazard(w io.Writer, s *hazard.Screen, format string) error {
	cases := s.Stand.Cases()
	switch {
	case s.Room == nil:
		return errors.New("the picture shows a concentration: give the room with --room-m3")
	case len(cases) == 0:
		return errors.New("no cell on record, so there is nothing to draw")
	case hazard.Main(cases).Wh == 0:
		return errors.New("the size of no cell is known, so there is nothing to draw")
	}
	p := &hazardPicture{s: s, hf: &s.Figures.HF, cases: cases, main: hazard.Main(cases)}
	return draw(w, format, 760, 520, func(page *sheet) {
		p.sheet = page
		p.paint()
	})
}

// The plot's edges on the page.
const left, right, floor, ceiling = 70, 520, 118, 428

type hazardPicture struct {
	*sheet
	s     *hazard.Screen
	hf    *hazard.Gas
	cases []hazard.Case
	main  *hazard.Case
	y     logScale
	words []func()
}

func (p *hazardPicture) paint() {
	p.heads()
	p.axis()
	if p.s.Room.AirChanges > 0 {
		p.curves()
	} else {
		p.bars()
	}
	p.limits()
	for _, words := range p.words {
		words() // over the lines of the limits
	}
	p.foot()
}

// heads say in words what the picture shows.
func (p *hazardPicture) heads() {
	p.text(vg.Point{X: 20, Y: 492}, 0, 17, true, exports.HazardHeadline(p.s))
	of := fmt.Sprintf("Hydrogen fluoride in a room of %g m3 if %s reacts: %s, %s.", p.s.Room.M3, exports.CaseText(p.main), exports.Count(p.main.Cells, "cell"), exports.WhText(p.main.Wh, p.main.AtLeast))
	p.text(vg.Point{X: 20, Y: 472}, 0, 11.5, false, of)
	air := "No air change stated: the gas stays until the room is aired."
	if n := p.s.Room.AirChanges; n > 0 {
		air = fmt.Sprintf("%g air changes an hour, as stated; all let off at once, well mixed.", n)
	}
	p.text(vg.Point{X: 20, Y: 456}, 0, 11.5, false, air)
}

// drawn are the limits that the picture has room for.
func (p *hazardPicture) drawn() (list []*triage.Limit) {
	for _, l := range p.hf.Limits {
		if l.Drawn {
			list = append(list, l)
		}
	}
	return list
}

// axis fits the scale round the bands and the limits, and draws it.
func (p *hazardPicture) axis() {
	lo, hi := math.Inf(1), 0.0
	for _, l := range p.drawn() {
		lo, hi = min(lo, p.hf.MgM3(l.PPM)/3), max(hi, p.hf.MgM3(l.PPM)*2)
	}
	for i := range p.cases {
		b := p.cases[i].MgM3(p.hf, *p.s.Room)
		if b.Worst > 0 {
			lo, hi = min(lo, b.Low/2), max(hi, b.Worst*2)
		}
	}
	p.y = logScale{lo, hi, floor, ceiling}
	for _, t := range p.y.ticks() {
		y := p.y.at(t)
		p.line(faint, 0.7, solid, vg.Point{X: left, Y: y}, vg.Point{X: right, Y: y})
		p.text(vg.Point{X: left - 6, Y: y - 3.5}, 1, 10, false, fmt.Sprintf("%.10g", t))
	}
	p.line(black, 1, solid, vg.Point{X: left, Y: ceiling}, vg.Point{X: left, Y: floor}, vg.Point{X: right, Y: floor})
	p.text(vg.Point{X: left - 50, Y: ceiling + 8}, 0, 10, false, "mg/m3 (each line ten times the one below)")
}

// limits draws each limit over the whole width, with its words at the right.
func (p *hazardPicture) limits() {
	dashes := map[string][]vg.Length{"immediate": solid, "emergency": dashDot, "ceiling": dotted}
	for _, l := range p.drawn() {
		mg := p.hf.MgM3(l.PPM)
		y, now := p.y.at(mg), l.Kind == "immediate"
		weight, size := vg.Length(1.2), vg.Length(10)
		if now {
			weight, size = 2.6, 11.5
		}
		p.line(black, weight, dashes[l.Kind], vg.Point{X: left, Y: y}, vg.Point{X: right + 4, Y: y})
		p.text(vg.Point{X: right + 8, Y: y + 2}, 0, size, now, fmt.Sprintf("%s: %g ppm", l.Name, l.PPM))
		words := map[string]string{"immediate": "immediately dangerous", "emergency": "life-threatening in this time", "ceiling": "ceiling at work"}[l.Kind]
		p.text(vg.Point{X: right + 8, Y: y - 9}, 0, 9.5, false, fmt.Sprintf("%s, %s mg/m3", words, exports.Sig(mg)))
	}
}

// foot says what the picture is not, and where its numbers come from.
func (p *hazardPicture) foot() {
	y := p.paragraph(vg.Point{X: 20, Y: 66}, p.w-40, 9.5, hazard.Caution)
	f := p.hf.Figures
	p.paragraph(vg.Point{X: 20, Y: y - 3}, p.w-40, 8.5, fmt.Sprintf("Low %g and worst %g mg/Wh: %s. Middle %g mg/Wh: our own. Rules of %s.",
		p.hf.Yield.Low, p.hf.Yield.Worst, f[0].Source, p.hf.Yield.Middle, p.s.On))
}
