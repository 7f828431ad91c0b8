package chart

import (
	"image/color"

	"gonum.org/v1/plot/vg"
)

// A column is an upright strip of a filled region.
type column struct{ x0, x1, y0, y1 vg.Length }

// A filling tells a region from its neighbours without colour: a tone and lines.
type filling struct {
	tone  color.Color
	ink   color.Color
	slope float64 // of the lines: 1, -1, 0 level
	apart vg.Length
	dash  []vg.Length
}

// fill paints a region of strips, which stand side by side, and strokes its lines.
func (s *sheet) fill(f filling, list []column) {
	list = joined(list)
	for _, c := range list {
		s.area(f.tone, vg.Point{X: c.x0, Y: c.y0}, vg.Point{X: c.x1, Y: c.y0}, vg.Point{X: c.x1, Y: c.y1}, vg.Point{X: c.x0, Y: c.y1})
	}
	if f.apart == 0 || len(list) == 0 {
		return
	}
	lo, hi := vg.Length(0), s.h
	if f.slope != 0 {
		lo, hi = -s.w, s.h+s.w
	}
	var p vg.Path
	for c := lo; c < hi; c += f.apart {
		var end vg.Point
		for _, x := range list {
			if from, to, ok := x.cross(f.slope, c); ok {
				if from != end {
					p.Move(from)
				}
				p.Line(to)
				end = to
			}
		}
	}
	s.SetColor(f.ink)
	s.SetLineWidth(0.7)
	s.SetLineDash(f.dash, 0)
	s.Stroke(p)
	s.SetLineDash(nil, 0)
}

// joined puts neighbouring strips of one height together, and drops empty ones.
func joined(list []column) (out []column) {
	for _, c := range list {
		if c.y1-c.y0 < 0.01 {
			continue
		}
		if n := len(out); n > 0 && out[n-1].x1 == c.x0 && out[n-1].y0 == c.y0 && out[n-1].y1 == c.y1 {
			out[n-1].x1 = c.x1
			continue
		}
		out = append(out, c)
	}
	return out
}

// cross is the piece of the line y = slope x + c that lies in the strip.
func (x column) cross(slope float64, c vg.Length) (from, to vg.Point, ok bool) {
	a, b := x.x0, x.x1
	switch k := vg.Length(slope); {
	case k == 0:
		if c <= x.y0 || c >= x.y1 {
			return from, to, false
		}
	case k > 0:
		a, b = max(a, (x.y0-c)/k), min(b, (x.y1-c)/k)
	default:
		a, b = max(a, (x.y1-c)/k), min(b, (x.y0-c)/k)
	}
	k := vg.Length(slope)
	return vg.Point{X: a, Y: k*a + c}, vg.Point{X: b, Y: k*b + c}, a < b
}
