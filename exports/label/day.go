package label

import (
	"strings"

	"pouchward/exports"
	"pouchward/exports/pdf"
)

// DrawDay adds the blank day sheet, landscape, one page: rows as high as the paper
// allows, 6 mm for a hand at the least.
func DrawDay(d *pdf.Doc, paper pdf.Paper, s *exports.DaySheet) {
	paper = paper.Landscape()
	p := d.Page(paper.W, paper.H)
	w := paper.W - 2*wallEdge
	y := dayHead(p, w, s)
	small := pdf.Style{Points: 8}
	var foot []string
	for _, l := range s.Foot {
		foot = append(foot, pdf.Wrap(l, w, small)...)
	}
	bottom := paper.H - wallEdge - float64(len(foot))*pdf.Leading(small)
	p.Block(wallEdge, bottom, foot, small)
	dayGrid(p, y, bottom-1.5, w, s)
}

// dayHead writes what stands above the grid and returns where it ends.
func dayHead(p *pdf.Page, w float64, s *exports.DaySheet) float64 {
	plain := pdf.Style{Points: 9.5}
	fill := "date ____________   bench ________   sheet ___ of ___"
	typed := "typed in: by ________   on ____________   entries _________ to _________"
	right := max(pdf.Width(fill, plain), pdf.Width(typed, plain))
	title, lines, _ := pdf.Fit("DAY SHEET   "+orLine(s.Site), w-right-5, 12, pdf.Style{Points: 15, Bold: true}, 8)
	y := p.Block(wallEdge, wallEdge, lines, title)
	for i, l := range []string{fill, typed} {
		at := wallEdge + float64(i)*6
		p.Block(wallEdge+w-pdf.Width(l, plain), at, []string{l}, plain)
		y = max(y, at+6)
	}
	return y + 1
}

// dayGrid draws the columns of the day sheet with empty rows.
func dayGrid(p *pdf.Page, y, bottom, w float64, s *exports.DaySheet) {
	columns := s.Columns
	columns = append(columns[:len(columns):len(columns)], exports.Column{Name: "kept", Unit: strings.Join(s.Ticks, " "), Width: 6})
	for _, l := range s.Looks {
		columns = append(columns, exports.Column{Name: l, Unit: "°C s/w", Width: 6})
	}
	shares := 0
	for _, c := range columns {
		shares += c.Width
	}
	const head = 9
	rows := min(s.Rows, int((bottom-y-head)/6))
	high := (bottom - y - head) / float64(rows)
	bold, plain := pdf.Style{Points: 8.5, Bold: true}, pdf.Style{Points: 8}
	x := float64(wallEdge)
	for _, c := range columns {
		wide := w * float64(c.Width) / float64(shares)
		name, lines, _ := pdf.Fit(c.Name, wide-1, 4.5, bold, 5)
		p.Block(x+0.6, y+0.6, lines, name)
		unit, lines, _ := pdf.Fit(c.Unit, wide-1, 4, plain, 5)
		p.Block(x+0.6, y+4.8, lines, unit)
		p.Line(x, y, x, bottom, 0.2)
		x += wide
	}
	p.Line(x, y, x, bottom, 0.2)
	p.Line(wallEdge, y, x, y, 0.4)
	for i := range rows + 1 {
		at := y + head + float64(i)*high
		p.Line(wallEdge, at, x, at, 0.2)
	}
}
