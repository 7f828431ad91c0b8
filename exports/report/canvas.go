package report

import (
	"image/color"

	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"pouchward/exports/pdf"
)

// A canvas draws a picture of exports/chart onto a page: points from the lower left
// corner become mm from the upper left one. The face of both is the same.
type canvas struct {
	page   *pdf.Page
	left   float64 // of the lower left corner, in mm
	floor  float64
	scale  float64 // mm to a point
	ink    color.Color
	weight vg.Length
	dash   []vg.Length
}

func (c *canvas) SetLineWidth(w vg.Length)               { c.weight = w }
func (c *canvas) SetLineDash(d []vg.Length, _ vg.Length) { c.dash = d }
func (c *canvas) SetColor(ink color.Color)               { c.ink = ink }
func (c *canvas) Stroke(path vg.Path)                    { c.shape(path, false) }
func (c *canvas) Fill(path vg.Path)                      { c.shape(path, true) }

func (c *canvas) at(p vg.Point) pdf.Point {
	return pdf.Point{X: c.left + float64(p.X)*c.scale, Y: c.floor - float64(p.Y)*c.scale}
}

func (c *canvas) shape(path vg.Path, fill bool) {
	s := pdf.Shape{Fill: fill, Ink: inkOf(c.ink), Weight: float64(c.weight) * c.scale}
	for _, d := range c.dash {
		s.Dash = append(s.Dash, float64(d)*c.scale)
	}
	for i := range path {
		switch x := &path[i]; x.Type {
		case vg.MoveComp:
			s.Paths = append(s.Paths, []pdf.Point{c.at(x.Pos)})
		case vg.LineComp:
			n := len(s.Paths) - 1
			s.Paths[n] = append(s.Paths[n], c.at(x.Pos))
		case vg.CloseComp:
			n := len(s.Paths) - 1
			s.Paths[n] = append(s.Paths[n], s.Paths[n][0])
		default:
			panic("report: a picture has a curve, which chart.Canvas rules out")
		}
	}
	if len(s.Paths) > 0 {
		c.page.Shapes = append(c.page.Shapes, s)
	}
}

func inkOf(ink color.Color) [3]uint8 {
	if ink == nil {
		return [3]uint8{}
	}
	r, g, b, _ := ink.RGBA()
	return [3]uint8{uint8(r >> 8), uint8(g >> 8), uint8(b >> 8)}
}

// FillString writes words on their base line.
func (c *canvas) FillString(f font.Face, at vg.Point, text string) {
	p := c.at(at)
	const pointsPerMm = 72 / 25.4
	c.page.Put(p.X, p.Y, text, pdf.Style{Points: float64(f.Font.Size) * c.scale * pointsPerMm, Bold: f.Font.Weight == xfont.WeightBold})
}
