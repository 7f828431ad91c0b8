package chart

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/plot/vg"

	"pouchward/triage"
)

// A plot is a rectangle of a page with an axis each way.
type plot struct {
	*sheet
	left, right, floor, ceiling vg.Length
	x0, x1, y0, y1              float64
}

func (p *plot) x(v float64) vg.Length {
	return p.left + vg.Length((v-p.x0)/(p.x1-p.x0))*(p.right-p.left)
}

func (p *plot) y(v float64) vg.Length {
	return p.floor + vg.Length((v-p.y0)/(p.y1-p.y0))*(p.ceiling-p.floor)
}

func (p *plot) at(x, y float64) vg.Point { return vg.Point{X: p.x(x), Y: p.y(y)} }

// round is a step of 1, 2 or 5 times a power of ten of which at most so many make a
// span, and how many figures behind the point it has.
func round(span float64, most int) (step float64, decimals int) {
	e := math.Floor(math.Log10(span / float64(most)))
	for {
		for _, m := range []float64{1, 2, 5} {
			if step = m * math.Pow(10, e); span/step <= float64(most)*(1+1e-9) {
				return step, max(0, -int(e))
			}
		}
		e++
	}
}

// heights draws the axis at the left with lines across; whole has no step under one.
func (p *plot) heights(unit string, most int, whole bool) {
	step, decimals := round(p.y1-p.y0, most)
	if whole {
		step, decimals = max(step, 1), 0
	}
	// The nought added keeps a tick of zero from being written -0.
	for i := math.Ceil(p.y0/step-1e-9) + 0; i*step <= p.y1*(1+1e-12)+1e-12; i++ {
		y := p.y(i * step)
		p.line(faint, 0.7, solid, vg.Point{X: p.left, Y: y}, vg.Point{X: p.right, Y: y})
		p.text(vg.Point{X: p.left - 6, Y: y - 3.5}, 1, 10, false, fmt.Sprintf("%.*f", decimals, i*step))
	}
	p.text(vg.Point{X: p.left - 40, Y: p.ceiling + 8}, 0, 10, false, unit)
}

// frame draws the two axes.
func (p *plot) frame() {
	p.line(black, 1, solid, vg.Point{X: p.left, Y: p.ceiling}, vg.Point{X: p.left, Y: p.floor}, vg.Point{X: p.right, Y: p.floor})
}

// mark draws a tick of the lower axis with its words, which stay within the plot.
func (p *plot) mark(x vg.Length, words string) {
	p.line(black, 1, solid, vg.Point{X: x, Y: p.floor}, vg.Point{X: x, Y: p.floor - 4})
	p.text(vg.Point{X: x, Y: p.floor - 15}, 0.5, 10, false, words)
}

// days marks days along the lower axis: firsts of months where there is more than one,
// else single days. x counts days from a day.
func (p *plot) days(from triage.Date) {
	var firsts []float64
	for d := from; float64(d-from) <= p.x1; d++ {
		if d.In(time.UTC).Day() == 1 && float64(d-from) >= p.x0 {
			firsts = append(firsts, float64(d-from))
		}
	}
	if len(firsts) > 2 {
		every := (len(firsts) + 12) / 13
		for i := 0; i < len(firsts); i += every {
			p.mark(p.x(firsts[i]), (from + triage.Date(firsts[i])).String()[:7])
			if len(firsts)/every > 7 {
				i += every
			}
		}
		return
	}
	step, _ := round(max(p.x1-p.x0, 1), 6)
	step = max(step, 1)
	for d := math.Ceil(p.x0); d < p.x1; d += step {
		p.mark(p.x(d), (from + triage.Date(d)).String())
	}
}

// nothing says in the middle of a plot why it is empty.
func (p *plot) nothing(words string) {
	p.boxed(vg.Point{X: (p.left + p.right) / 2, Y: (p.floor + p.ceiling) / 2}, 0.5, 13, true, words)
}
