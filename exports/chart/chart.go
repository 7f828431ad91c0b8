// Package chart draws pictures: one drawing gives SVG and PNG, the same bytes for
// the same input. Nothing is told by colour alone: lines differ in weight and dash,
// and each carries its words.
//
// It stands apart from exports because its fonts cost start-up time.
package chart

import (
	"bytes"
	"fmt"
	"image/color"
	"io"
	"math"
	"strings"

	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"pouchward/exports"
)

// Inks, dark enough apart in grey.
var (
	black = color.Gray{0}
	faint = color.Gray{215}
	tint  = color.RGBA{246, 205, 160, 255}
	blood = color.RGBA{140, 20, 20, 255}
	white = color.White
)

// Dashes of lines.
var (
	solid   []vg.Length
	dashed  = []vg.Length{7, 4}
	dotted  = []vg.Length{1.5, 3}
	dashDot = []vg.Length{9, 3, 2, 3}
)

// A Canvas is what a picture is drawn on, in points; the origin is the lower left
// corner. Paths are of straight lines. Those of gonum's vg are canvases.
type Canvas interface {
	SetLineWidth(vg.Length)
	SetLineDash(pattern []vg.Length, offset vg.Length)
	SetColor(color.Color)
	Stroke(vg.Path)
	Fill(vg.Path)
	FillString(f font.Face, at vg.Point, text string)
}

// A Picture is a drawing of a size in points.
type Picture struct {
	W, H  vg.Length
	paint func(*sheet)
}

// Draw draws the picture on a canvas.
func (p *Picture) Draw(c Canvas) {
	p.paint(&sheet{Canvas: c, fonts: font.NewCache(liberation.Collection()), w: p.W, h: p.H})
}

// Write writes the picture in a format, svg or png.
func (p *Picture) Write(w io.Writer, format string) error {
	return draw(w, format, p.W, p.H, p.paint)
}

// A sheet is a page under way; the origin is its lower left corner, lengths are in
// points.
type sheet struct {
	Canvas
	fonts *font.Cache
	w, h  vg.Length
}

// draw lays a page of a size out on a canvas of a format, svg or png.
func draw(w io.Writer, format string, width, height vg.Length, paint func(*sheet)) error {
	s := &sheet{fonts: font.NewCache(liberation.Collection()), w: width, h: height}
	var out io.WriterTo
	switch format {
	case "svg":
		c := vgsvg.New(width, height)
		s.Canvas, out = c, c
	case "png":
		c := vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(width, height), vgimg.UseDPI(144))}
		s.Canvas, out = c, c
	default:
		return fmt.Errorf("no picture format %q: use svg or png", format)
	}
	s.area(white, vg.Point{}, vg.Point{X: width}, vg.Point{X: width, Y: height}, vg.Point{Y: height})
	paint(s)
	var buf bytes.Buffer
	if _, err := out.WriteTo(&buf); err != nil {
		return fmt.Errorf("drawing the %s: %w", format, err)
	}
	page := buf.Bytes()
	if format == "svg" {
		// A machine without the face takes one of the same widths.
		page = bytes.ReplaceAll(page, []byte("font-family:Liberation Sans;"), []byte("font-family:'Liberation Sans',Arial,Helvetica,sans-serif;"))
	}
	_, err := w.Write(page)
	return err
}

// line strokes through points.
func (s *sheet) line(ink color.Color, weight vg.Length, dash []vg.Length, points ...vg.Point) {
	var p vg.Path
	for i, pt := range points {
		if i == 0 {
			p.Move(pt)
			continue
		}
		p.Line(pt)
	}
	s.SetColor(ink)
	s.SetLineWidth(weight)
	s.SetLineDash(dash, 0)
	s.Stroke(p)
	s.SetLineDash(nil, 0)
}

// area fills a polygon.
func (s *sheet) area(ink color.Color, points ...vg.Point) {
	var p vg.Path
	p.Move(points[0])
	for _, pt := range points[1:] {
		p.Line(pt)
	}
	p.Close()
	s.SetColor(ink)
	s.Fill(p)
}

// face is the sans face of a size.
func (s *sheet) face(size vg.Length, bold bool) font.Face {
	f := font.Font{Typeface: "Liberation", Variant: "Sans"}
	if bold {
		f.Weight = xfont.WeightBold
	}
	return s.fonts.Lookup(f, size)
}

// text writes words from a point on its base line; align 0 begins there, 0.5 is
// centred, 1 ends there.
func (s *sheet) text(at vg.Point, align float64, size vg.Length, bold bool, words string) {
	words = exports.Clean(words)
	f := s.face(size, bold)
	at.X -= vg.Length(align) * f.Width(words)
	s.SetColor(black)
	s.FillString(f, at, words)
}

// boxed is text on a white ground, so that a line under it does not cross it.
func (s *sheet) boxed(at vg.Point, align float64, size vg.Length, bold bool, words string) {
	f := s.face(size, bold)
	w := f.Width(words)
	x := at.X - vg.Length(align)*w
	s.area(white, vg.Point{X: x - 2, Y: at.Y - 2}, vg.Point{X: x + w + 2, Y: at.Y - 2}, vg.Point{X: x + w + 2, Y: at.Y + size - 1}, vg.Point{X: x - 2, Y: at.Y + size - 1})
	s.text(at, align, size, bold, words)
}

// paragraph writes wrapped words downwards and returns the next base line.
func (s *sheet) paragraph(at vg.Point, width, size vg.Length, words string) vg.Length {
	f, line := s.face(size, false), ""
	flush := func() {
		s.text(at, 0, size, false, line)
		at.Y -= size * 1.3
	}
	for _, word := range strings.Fields(words) {
		longer := strings.TrimSpace(line + " " + word)
		if line != "" && f.Width(longer) > width {
			flush()
			longer = word
		}
		line = longer
	}
	flush()
	return at.Y
}

// A logScale maps values between two ends onto a length, by their logarithm.
type logScale struct {
	lo, hi   float64
	from, to vg.Length
}

func (l logScale) at(x float64) vg.Length {
	x = min(max(x, l.lo), l.hi)
	return l.from + vg.Length(math.Log(x/l.lo)/math.Log(l.hi/l.lo))*(l.to-l.from)
}

// ticks are the powers of ten on the scale.
func (l logScale) ticks() (list []float64) {
	for e := math.Ceil(math.Log10(l.lo) - 1e-9); ; e++ {
		x := math.Pow(10, e)
		if x > l.hi*(1+1e-9) {
			return list
		}
		list = append(list, x)
	}
}
