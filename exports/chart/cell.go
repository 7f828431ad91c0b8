package chart

import (
	"fmt"
	"io"
	"math"
	"time"

	"gonum.org/v1/plot/vg"

	"pouchward/exports"
	"pouchward/triage"
	"pouchward/triage/review"
)

// Cell draws the voltages and the thicknesses of one cell over time, each with the line
// through them, the band in which the line lies, and what can be told from it in words.
func Cell(w io.Writer, s *review.Snapshot, c *review.Cell, trends []review.Trend, format string) error {
	return draw(w, format, 760, 560, func(page *sheet) {
		p := &cellPicture{sheet: page, trends: trends}
		p.span(s.Now.Location())
		p.text(vg.Point{X: 20, Y: 530}, 0, 17, true, exports.TrendsHead(c, trends))
		p.text(vg.Point{X: 20, Y: 511}, 0, 11.5, false, fmt.Sprintf("Readings of one cell over time; the line is laid through them by least squares, the band is its error. %s", s.Site))
		for i := range trends {
			p.panel(&trends[i], 470-vg.Length(i)*208)
		}
		p.paragraph(vg.Point{X: 20, Y: 40}, p.w-40, 9.5, exports.TrendsNote)
	})
}

type cellPicture struct {
	*sheet
	trends []review.Trend
	from   time.Time // both panels share the axis of time
	days   float64
}

// span fits the axis of time round the readings of both kinds.
func (p *cellPicture) span(zone *time.Location) {
	for i := range p.trends {
		if t := &p.trends[i]; len(t.Points) > 0 && (p.from.IsZero() || t.Start.Before(p.from)) {
			p.from = t.Start
		}
	}
	for i := range p.trends {
		t := &p.trends[i]
		for _, pt := range t.Points {
			p.days = max(p.days, t.Start.Sub(p.from).Hours()/24+pt.Day)
		}
	}
	p.from = p.from.In(zone)
}

// panel draws one kind of reading from a height downwards.
func (p *cellPicture) panel(t *review.Trend, top vg.Length) {
	q := &plot{sheet: p.sheet, left: 70, right: 736, floor: top - 158, ceiling: top - 38}
	p.text(vg.Point{X: 20, Y: top + 4}, 0, 12, true, exports.TrendLine(t))
	p.text(vg.Point{X: 20, Y: top - 11}, 0, 10, false, exports.TrendWhy(t))
	shift := 0.0
	if len(t.Points) > 0 {
		shift = t.Start.Sub(p.from).Hours() / 24
	}
	margin := max(p.days*0.03, 0.02)
	q.x0, q.x1 = -margin, max(p.days, 0.04)+margin
	if len(t.Points) == 0 {
		q.y1 = 1
		q.frame()
		q.nothing(map[triage.FieldID]string{triage.OcvV: "No voltage is on record.", triage.ThicknessMm: "No thickness is on record."}[t.Field])
		return
	}
	q.fit(t)
	q.heights(t.Unit, 5, false)
	if t.Fitted {
		q.band(t, shift)
	}
	q.frame()
	q.limit(t, shift)
	q.points(t, shift)
	q.clock(p.from)
}

// fit puts the readings and the line with its band into the height; a meter's few last
// places are not blown up to fill it. A band far wider than the readings is cut.
func (p *plot) fit(t *review.Trend) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, pt := range t.Points {
		lo, hi = min(lo, pt.Value-t.Place/2), max(hi, pt.Value+t.Place/2)
	}
	room := max(hi-lo, 4*t.Place, map[string]float64{"V": 0.02, "mm": 0.2}[t.Unit])
	if t.Fitted {
		for _, pt := range t.Points {
			at, off := t.Line.At(pt.Day), t.Line.Band(pt.Day)
			lo, hi = min(lo, max(at-off, lo-room)), max(hi, min(at+off, hi+room))
		}
	}
	mid := (lo + hi) / 2
	half := max(hi-lo, room) / 2 * 1.1
	p.y0, p.y1 = mid-half, mid+half
}

// band draws the line and, to either side, its error.
func (p *plot) band(t *review.Trend, shift float64) {
	first, last := 0.0, 0.0
	for _, pt := range t.Points {
		last = max(last, pt.Day)
	}
	const pieces = 60
	inside := func(v float64) float64 { return min(max(v, p.y0), p.y1) }
	var upper, lower, line []vg.Point
	for i := range pieces + 1 {
		d := first + (last-first)*float64(i)/pieces
		at, off := t.Line.At(d), t.Line.Band(d)
		upper = append(upper, p.at(d+shift, inside(at+off)))
		lower = append(lower, p.at(d+shift, inside(at-off)))
		line = append(line, p.at(d+shift, inside(at)))
	}
	outline := append([]vg.Point(nil), upper...)
	for i := range lower {
		outline = append(outline, lower[len(lower)-1-i])
	}
	p.area(tint, outline...)
	p.line(blood, 0.8, dashed, upper...)
	p.line(blood, 0.8, dashed, lower...)
	p.line(blood, 2, solid, line...)
}

// limit draws, from the first day on, how a reading would go at the practice limit, as
// far as the picture shows it.
func (p *plot) limit(t *review.Trend, shift float64) {
	if !t.Fitted || t.Limit <= 0 {
		return
	}
	first, slope := t.Line.At(0), t.Limit
	edge := p.y1
	if t.Field == triage.OcvV {
		slope, edge = -slope, p.y0
	}
	end := min(p.x1-shift, (edge-first)/slope)
	if end <= 0 {
		return
	}
	p.line(black, 1.4, dotted, p.at(shift, first), p.at(shift+end, first+slope*end))
	p.text(vg.Point{X: p.right, Y: p.ceiling + 8}, 1, 9.5, false, "dotted: how it would go at the practice limit")
}

// points marks each reading by a ring whose upright is the meter's last place.
func (p *plot) points(t *review.Trend, shift float64) {
	for _, pt := range t.Points {
		x := pt.Day + shift
		p.line(black, 1, solid, p.at(x, max(pt.Value-t.Place/2, p.y0)), p.at(x, min(pt.Value+t.Place/2, p.y1)))
		p.ring(p.at(x, pt.Value), 3)
	}
}

// ring is a dot with a white heart.
func (s *sheet) ring(at vg.Point, r vg.Length) {
	for _, x := range []struct {
		ink  vg.Length
		tone int
	}{{r, 0}, {r * 0.5, 1}} {
		var list []vg.Point
		for i := range 24 {
			a := 2 * math.Pi * float64(i) / 24
			list = append(list, vg.Point{X: at.X + x.ink*vg.Length(math.Cos(a)), Y: at.Y + x.ink*vg.Length(math.Sin(a))})
		}
		if x.tone == 0 {
			s.area(black, list...)
		} else {
			s.area(white, list...)
		}
	}
}

// clock marks the axis of time: days, or hours where it is no longer than two days.
func (p *plot) clock(from time.Time) {
	if p.x1-p.x0 > 3 {
		midnight := time.Date(from.Year(), from.Month(), from.Day(), 0, 0, 0, 0, from.Location())
		into := from.Sub(midnight).Hours() / 24
		q := *p
		q.x0, q.x1 = p.x0+into, p.x1+into
		q.days(triage.DateOf(from))
		return
	}
	step, _ := round((p.x1-p.x0)*24, 6)
	for h := 0.0; h/24 <= p.x1; h += max(step, 0.5) {
		at := from.Add(time.Duration(h * float64(time.Hour)))
		p.mark(p.x(h/24), at.Format("01-02 15:04"))
	}
}
