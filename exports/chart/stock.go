package chart

import (
	"fmt"
	"image/color"
	"io"
	"slices"

	"gonum.org/v1/plot/vg"

	"pouchward/exports"
	"pouchward/triage"
	"pouchward/triage/review"
)

// Measures are what the stock may be drawn in.
var Measures = []string{"cells", "wh", "kg"}

// classFillings are of the handling classes, by class: the worse the darker.
var classFillings = [review.Classes]filling{
	{tone: white},
	{tone: white, ink: color.Gray{110}, apart: 5, dash: []vg.Length{1, 3}},
	{tone: color.Gray{235}, ink: color.Gray{90}, slope: -1, apart: 9},
	{tone: tint, ink: blood, slope: 1, apart: 5},
	{tone: blood},
}

// Stock draws what stood in the shop at the end of each day, by handling class, the
// worst at the bottom where its height is read off the axis. of is one of Measures.
func Stock(w io.Writer, s *review.Snapshot, days []review.StockDay, of, format string) error {
	if !slices.Contains(Measures, of) {
		return fmt.Errorf("no measure %q: use cells, wh or kg", of)
	}
	return draw(w, format, 760, 520, func(page *sheet) {
		p := &stockPicture{plot: plot{sheet: page, left: 62, right: 560, floor: 88, ceiling: 416}, days: days, of: of}
		p.paint(s)
	})
}

type stockPicture struct {
	plot
	days []review.StockDay
	of   string
}

// measure is an amount in the measure drawn.
func (p *stockPicture) measure(a review.Amount) float64 {
	switch p.of {
	case "wh":
		return float64(a.MicroWh) / 1e6
	case "kg":
		return float64(a.MilliGram) / 1e6
	}
	return float64(a.Cells)
}

func (p *stockPicture) paint(s *review.Snapshot) {
	p.text(vg.Point{X: 20, Y: 488}, 0, 17, true, exports.StockSeriesHead(p.days))
	what := map[string]string{"cells": "Cells", "wh": "Watt-hours of cells whose rating is known", "kg": "Kilograms of cells that were weighed"}[p.of]
	p.text(vg.Point{X: 20, Y: 468}, 0, 11.5, false, fmt.Sprintf("%s in hand at the end of each day, by handling class, the worst at the bottom. %s", what, s.Site))
	most := 0.0
	for i := range p.days {
		most = max(most, p.measure(p.days[i].Total()))
	}
	p.x1, p.y1 = float64(max(len(p.days), 1)), most*1.08
	if most == 0 {
		p.y1 = 1
		p.frame()
		p.nothing("Nothing was in hand in this time, as far as the log knows.")
	} else {
		p.heights(map[string]string{"cells": "cells", "wh": "Wh", "kg": "kg"}[p.of], 8, p.of == "cells")
		p.layers()
		p.frame()
	}
	if len(p.days) > 0 {
		p.plot.days(p.days[0].On)
	}
	p.paragraph(vg.Point{X: 20, Y: 46}, p.w-40, 9.5, exports.StockSeriesNote(p.days))
}

// layers stacks the classes, the worst first, and names each at the right.
func (p *stockPicture) layers() {
	under := make([]float64, len(p.days))
	for h := review.Classes - 1; h >= 0; h-- {
		var list []column
		var edge []vg.Point
		for i := range p.days {
			top := under[i] + p.measure(p.days[i].By[h])
			c := column{p.x(float64(i)), p.x(float64(i + 1)), p.y(under[i]), p.y(top)}
			list = append(list, c)
			edge = append(edge, vg.Point{X: c.x0, Y: c.y1}, vg.Point{X: c.x1, Y: c.y1})
			under[i] = top
		}
		p.fill(classFillings[h], list)
		p.edge(list, edge)
	}
	p.outline(under)
	p.legend()
}

// outline draws the stock as a whole, its falls too.
func (p *stockPicture) outline(tops []float64) {
	points := []vg.Point{p.at(0, 0)}
	for i, top := range tops {
		points = append(points, p.at(float64(i), top), p.at(float64(i+1), top))
	}
	p.line(black, 1.2, solid, append(points, p.at(float64(len(tops)), 0))...)
}

// edge draws the upper side of a layer where it has a height.
func (p *stockPicture) edge(list []column, points []vg.Point) {
	var run []vg.Point
	flush := func() {
		if len(run) > 1 {
			p.line(black, 0.5, solid, run...)
		}
		run = nil
	}
	for i, c := range list {
		if c.y1-c.y0 < 0.01 {
			flush()
			continue
		}
		run = append(run, points[2*i], points[2*i+1])
	}
	flush()
}

// legend says of each class, best at the top as it is stacked, what was in hand last.
func (p *stockPicture) legend() {
	last := &p.days[len(p.days)-1]
	p.text(vg.Point{X: p.right + 14, Y: p.ceiling + 8}, 0, 10.5, true, "On "+last.On.String())
	y := p.ceiling - 14
	for h := range review.Classes {
		a := last.By[h]
		p.fill(classFillings[h], []column{{p.right + 14, p.right + 38, y - 8, y + 8}})
		x0, x1 := p.right+14, p.right+38
		p.line(black, 0.9, solid, vg.Point{X: x0, Y: y - 8}, vg.Point{X: x1, Y: y - 8}, vg.Point{X: x1, Y: y + 8}, vg.Point{X: x0, Y: y + 8}, vg.Point{X: x0, Y: y - 8})
		p.amount(x1+8, y, exports.HandlingText(triage.Handling(h).String()), a)
		y -= 42
	}
	p.line(black, 0.7, solid, vg.Point{X: p.right + 14, Y: y + 18}, vg.Point{X: p.w - 20, Y: y + 18})
	p.amount(p.right+46, y, "ALL", last.Total())
}

// amount writes how much it is of something, a line each: the column is narrow.
func (p *stockPicture) amount(x, y vg.Length, name string, a review.Amount) {
	p.text(vg.Point{X: x, Y: y + 2}, 0, 10.5, true, name)
	if a.Cells == 0 {
		p.text(vg.Point{X: x, Y: y - 10}, 0, 9.5, false, "none")
		return
	}
	wh, kg := exports.AmountParts(a)
	p.text(vg.Point{X: x, Y: y - 10}, 0, 9.5, false, exports.Count(a.Cells, "cell")+", "+wh)
	p.text(vg.Point{X: x, Y: y - 21}, 0, 9.5, false, kg)
}
