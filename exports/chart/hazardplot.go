package chart

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"

	"pouchward/exports"
	"pouchward/triage/hazard"
)

// curves draws the band of the main case against time.
func (p *hazardPicture) curves() {
	b := p.main.MgM3(p.hf, *p.s.Room)
	end := p.span(b.Worst)
	at := func(c, minutes float64) vg.Point {
		return vg.Point{X: left + vg.Length(minutes/end)*(right-left), Y: p.y.at(p.s.Room.After(c, minutes))}
	}
	// Straight on the logarithmic scale but for where it leaves the picture.
	course := func(c float64) (list []vg.Point) {
		for i := range 201 {
			list = append(list, at(c, end*float64(i)/200))
		}
		return list
	}
	worst, low := course(b.Worst), course(b.Low)
	outline := append([]vg.Point(nil), worst...)
	for i := range low {
		outline = append(outline, low[len(low)-1-i])
	}
	p.area(tint, outline...)
	p.line(blood, 2.6, solid, p.shown(worst)...)
	p.line(blood, 1.6, dashed, p.shown(course(b.Middle))...)
	p.line(blood, 1, solid, p.shown(low)...)
	for _, c := range []struct {
		word string
		mg   float64
	}{{"worst", b.Worst}, {"middle", b.Middle}, {"low", b.Low}} {
		start := at(c.mg, 0)
		p.say(vg.Point{X: start.X + 8, Y: start.Y + 3}, 0, 10.5, c.word == "worst", c.word+" "+exports.Sig(c.mg))
	}
	p.times(end)
	p.crossing(b.Worst, at)
}

// say writes words on a white ground once all lines are drawn.
func (p *hazardPicture) say(at vg.Point, align float64, size vg.Length, bold bool, words string) {
	p.words = append(p.words, func() { p.boxed(at, align, size, bold, words) })
}

// shown drops the points that lie below the picture.
func (p *hazardPicture) shown(points []vg.Point) []vg.Point {
	for i := range points {
		if points[i].Y <= floor && i > 0 {
			return points[:i+1]
		}
	}
	return points
}

// span is the time that the picture shows: until the worst is under the lowest
// limit drawn, in a round number of minutes.
func (p *hazardPicture) span(worst float64) float64 {
	need := 10.0
	for _, l := range p.drawn() {
		need = max(need, p.s.Room.MinutesAbove(worst, p.hf.MgM3(l.PPM)))
	}
	step := tick(need)
	return math.Ceil(need/step+0.2) * step
}

// tick is a round number of minutes of which four to eight make the time.
func tick(minutes float64) float64 {
	for _, t := range []float64{2, 5, 10, 15, 30, 60, 120, 240, 480} {
		if minutes/t <= 8 {
			return t
		}
	}
	return 1440 * math.Ceil(minutes/1440/8)
}

// times draws the axis of time.
func (p *hazardPicture) times(end float64) {
	for t := 0.0; t <= end; t += tick(end / 1.2) {
		x := left + vg.Length(t/end)*(right-left)
		p.line(black, 1, solid, vg.Point{X: x, Y: floor}, vg.Point{X: x, Y: floor - 4})
		p.text(vg.Point{X: x, Y: floor - 15}, 0.5, 10, false, fmt.Sprintf("%g", t))
	}
	p.text(vg.Point{X: (left + right) / 2, Y: floor - 29}, 0.5, 10, false, "minutes after the gas is let off")
}

// crossing marks when the worst is under the immediately dangerous level.
func (p *hazardPicture) crossing(worst float64, at func(c, minutes float64) vg.Point) {
	_, l := p.s.Figures.Limit("hf-niosh-idlh")
	if l == nil {
		return
	}
	minutes := p.s.Room.MinutesAbove(worst, p.hf.MgM3(l.PPM))
	if minutes == 0 {
		return
	}
	pt := at(worst, minutes)
	p.words = append(p.words, func() {
		p.area(black, vg.Point{X: pt.X - 5, Y: pt.Y}, vg.Point{X: pt.X, Y: pt.Y + 5}, vg.Point{X: pt.X + 5, Y: pt.Y}, vg.Point{X: pt.X, Y: pt.Y - 5})
	})
	p.say(vg.Point{X: pt.X + 7, Y: pt.Y + 7}, 0, 10.5, true, exports.Minutes(minutes))
}

// bars draws each case as a bar from low to worst, with a line at the middle.
func (p *hazardPicture) bars() {
	wide := vg.Length(right-left) / vg.Length(len(p.cases))
	for i := range p.cases {
		k := &p.cases[i]
		if k.Wh == 0 {
			continue
		}
		p.bar(k, k.MgM3(p.hf, *p.s.Room), left+wide*(vg.Length(i)+0.5), min(wide*0.32, 52))
	}
}

// bar draws one case round x, half as wide as said to each side.
func (p *hazardPicture) bar(k *hazard.Case, b hazard.Band, x, half vg.Length) {
	low, middle, worst := p.y.at(b.Low), p.y.at(b.Middle), p.y.at(b.Worst)
	p.area(tint, vg.Point{X: x - half, Y: low}, vg.Point{X: x + half, Y: low}, vg.Point{X: x + half, Y: worst}, vg.Point{X: x - half, Y: worst})
	p.line(blood, 1, solid, vg.Point{X: x - half, Y: worst}, vg.Point{X: x - half, Y: low}, vg.Point{X: x + half, Y: low}, vg.Point{X: x + half, Y: worst})
	p.line(blood, 2.6, solid, vg.Point{X: x - half, Y: worst}, vg.Point{X: x + half, Y: worst})
	p.line(blood, 1.6, dashed, vg.Point{X: x - half, Y: middle}, vg.Point{X: x + half, Y: middle})
	p.say(vg.Point{X: x, Y: worst + 5}, 0.5, 10.5, true, "worst "+exports.Sig(b.Worst))
	p.say(vg.Point{X: x, Y: middle + 4}, 0.5, 10, false, "middle "+exports.Sig(b.Middle))
	p.say(vg.Point{X: x, Y: low - 12}, 0.5, 10, false, "low "+exports.Sig(b.Low))
	p.text(vg.Point{X: x, Y: floor - 15}, 0.5, 10.5, true, exports.CaseText(k))
	p.text(vg.Point{X: x, Y: floor - 28}, 0.5, 10, false, exports.Count(k.Cells, "cell")+", "+exports.WhText(k.Wh, k.AtLeast))
}
