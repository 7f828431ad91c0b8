package pdf

import "codeberg.org/go-pdf/fpdf"

// A Point is a place on a page.
type Point struct{ X, Y float64 }

// A Shape is lines through points, or the areas that they enclose, in a colour: what
// a picture is made of. Black on white is all that everything else is.
type Shape struct {
	Paths  [][]Point
	Fill   bool // each path is closed and filled; else it is stroked
	Ink    [3]uint8
	Weight float64   // of strokes, in mm
	Dash   []float64 // lengths of dashes and gaps, in mm; none: solid
}

// moved returns the shape so far to the right and down.
func (s Shape) moved(x, y float64) Shape {
	paths := s.Paths
	s.Paths = make([][]Point, len(paths))
	for i, path := range paths {
		for _, p := range path {
			s.Paths[i] = append(s.Paths[i], Point{p.X + x, p.Y + y})
		}
	}
	return s
}

func (s *Shape) draw(f *fpdf.Fpdf) {
	r, g, b := int(s.Ink[0]), int(s.Ink[1]), int(s.Ink[2])
	if s.Fill {
		f.SetFillColor(r, g, b)
	} else {
		f.SetDrawColor(r, g, b)
		f.SetLineWidth(s.Weight)
		f.SetDashPattern(s.Dash, 0)
	}
	for _, path := range s.Paths {
		for i, p := range path {
			if i == 0 {
				f.MoveTo(p.X, p.Y)
			} else {
				f.LineTo(p.X, p.Y)
			}
		}
		if s.Fill {
			f.ClosePath()
		}
	}
	if s.Fill {
		f.DrawPath("F")
		return
	}
	f.DrawPath("D")
	f.SetDashPattern(nil, 0)
}
