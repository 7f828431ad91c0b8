package chart

import (
	"fmt"
	"image/color"
	"io"
	"math"

	"gonum.org/v1/plot/vg"

	"pouchward/exports"
	"pouchward/triage"
	"pouchward/triage/review"
)

// Age draws what is in hand by how long it has been accumulated, against the steps of
// the country's accumulation time.
func Age(w io.Writer, s *review.Snapshot, x *review.Ages, format string) error {
	return draw(w, format, 760, 520, func(page *sheet) {
		p := &agePicture{plot: plot{sheet: page, left: 62, right: 736, floor: 116, ceiling: 388}, ages: x}
		p.paint(s)
	})
}

// The fillings of bars: under the last step of the time, and past it.
var (
	waiting = filling{tone: color.Gray{225}, ink: color.Gray{90}, slope: -1, apart: 6}
	past    = filling{tone: blood}
)

// binDays is how many days of age one bar has.
const binDays = 7

type agePicture struct {
	plot
	ages *review.Ages
}

func (p *agePicture) paint(s *review.Snapshot) {
	p.text(vg.Point{X: 20, Y: 488}, 0, 17, true, exports.AgesHead(p.ages))
	p.text(vg.Point{X: 20, Y: 468}, 0, 11.5, false, fmt.Sprintf("Cells in hand on %s by days since they became waste or came in, a bar a week. %s", p.ages.On, s.Site))
	bins, most := p.bins()
	p.y1 = max(most*1.12, 1)
	p.x1 = float64(len(bins) * binDays)
	if most == 0 {
		p.frame()
		p.nothing("No clock runs: nothing in hand has a known start.")
		p.steps()
	} else {
		p.heights("cells", 8, true)
		p.steps()
		p.bars(bins) // over the steps: a line must not cross a tag
		p.frame()
	}
	step, _ := round(p.x1, 10)
	for d := 0.0; d <= p.x1; d += max(step, binDays) {
		p.mark(p.x(d), fmt.Sprintf("%g", d))
	}
	p.text(vg.Point{X: (p.left + p.right) / 2, Y: p.floor - 30}, 0.5, 10, false, "days since accumulation began")
	p.paragraph(vg.Point{X: 20, Y: 60}, p.w-40, 9.5, exports.AgesNote(p.ages))
}

// year is the age from which the last step is reached.
func (p *agePicture) year() int {
	if n := len(p.ages.Steps); n > 0 {
		return p.ages.Steps[n-1].Days
	}
	return math.MaxInt
}

// A bin is the cells of one week of age.
type bin struct {
	under, past float64
	tags        []string
}

// name is the tag of a bar where it is one, else how many cells it has.
func (b *bin) name() string {
	text := fmt.Sprintf("%g", b.under+b.past)
	switch {
	case len(b.tags) == 1 && text == "1":
		return triage.SpacedTag(b.tags[0])
	case len(b.tags) == 1:
		return triage.SpacedTag(b.tags[0]) + ": " + text
	}
	return text
}

// bins counts cells by week; the axis runs at least a month past the last step.
func (p *agePicture) bins() (list []bin, most float64) {
	until := 400
	if n := len(p.ages.Steps); n > 0 {
		until = p.ages.Steps[n-1].Days + 35
	}
	for i := range p.ages.Cells {
		until = max(until, p.ages.Cells[i].Days+binDays)
	}
	list = make([]bin, until/binDays+1)
	for i := range p.ages.Cells {
		a := &p.ages.Cells[i]
		b := &list[max(a.Days, 0)/binDays]
		b.tags = append(b.tags, a.Tag)
		if a.Days >= p.year() {
			b.past += float64(a.Amount.Cells)
		} else {
			b.under += float64(a.Amount.Cells)
		}
		most = max(most, b.past+b.under)
	}
	return list, most
}

// bars draws the weeks, what is past the last step solid and dark; from the first step
// on with their tag or count.
func (p *agePicture) bars(list []bin) {
	for i, b := range list {
		if b.under+b.past == 0 {
			continue
		}
		x0, x1 := p.x(float64(i*binDays)), p.x(float64((i+1)*binDays))
		mid, top := p.y(b.past), p.y(b.past+b.under)
		p.fill(past, []column{{x0, x1, p.floor, mid}})
		p.fill(waiting, []column{{x0, x1, mid, top}})
		p.line(black, 0.9, solid, vg.Point{X: x0, Y: p.floor}, vg.Point{X: x0, Y: top}, vg.Point{X: x1, Y: top}, vg.Point{X: x1, Y: p.floor})
		if n := p.ages.Steps; len(n) > 0 && (i+1)*binDays > n[0].Days {
			p.boxed(vg.Point{X: (x0 + x1) / 2, Y: top + 4}, 0.5, 10, true, b.name())
		}
	}
}

// steps draws each step of the accumulation time with its words, one above the other.
func (p *agePicture) steps() {
	dashes := map[string][]vg.Length{"notice": dotted, "due": dashed, "overdue": solid}
	weights := map[string]vg.Length{"notice": 1.4, "due": 1.4, "overdue": 2.6}
	for i, s := range p.ages.Steps {
		x := p.x(float64(s.Days))
		y := p.ceiling + 22 + vg.Length(i)*16
		p.line(black, weights[s.By.Severity], dashes[s.By.Severity], vg.Point{X: x, Y: p.floor}, vg.Point{X: x, Y: y - 3})
		p.text(vg.Point{X: x - 6, Y: y}, 1, 10.5, s.By.Severity == "overdue", fmt.Sprintf("%s (from day %d): %s", s.By.Title, s.Days, exports.Count(p.ages.Past(s).Cells, "cell")))
	}
}
