package pdf

// A Column of a table: its head, its width in mm (0: a share of what is left), and
// whether it holds numbers, which stand right.
type Column struct {
	Head  string
	Width float64
	Right bool
}

// A Table is drawn with lines around its cells. A row may be higher than its text,
// to be filled by hand.
type Table struct {
	Columns []Column
	Rows    [][]string
	Style   Style
	Least   float64 // height of a row in mm
}

// cellPad is the room inside a cell, in mm.
const cellPad = 1

// Table draws a table. Text is wrapped in its cell; a row is never split over two
// pages, unless it is higher than one, and the head stands on each.
func (f *Flow) Table(t *Table) {
	widths := t.widths(f.Width())
	head := t.Style
	head.Bold = true
	var titles []string
	for _, c := range t.Columns {
		titles = append(titles, c.Head)
	}
	f.begin(t, widths, titles, head, 0)
	for i, row := range t.Rows {
		h := rowHeight(row, widths, t.Style, t.Least)
		if i > 0 && f.Y+h > f.bottom() {
			f.Break()
			f.begin(t, widths, titles, head, 0)
		}
		f.row(t, widths, row, t.Style, t.Least)
	}
}

// begin draws the head where at least one row fits under it.
func (f *Flow) begin(t *Table, widths []float64, titles []string, head Style, least float64) {
	first := t.Least
	if len(t.Rows) > 0 {
		first = rowHeight(t.Rows[0], widths, t.Style, t.Least)
	}
	f.Need(rowHeight(titles, widths, head, least) + first)
	f.Page.Line(margin, f.Y, margin+sum(widths), f.Y, 0.4)
	f.row(t, widths, titles, head, least)
}

// widths gives the columns without a width what is left.
func (t *Table) widths(whole float64) []float64 {
	widths := make([]float64, len(t.Columns))
	open := 0
	for i, c := range t.Columns {
		widths[i] = c.Width
		whole -= c.Width
		if c.Width == 0 {
			open++
		}
	}
	for i := range widths {
		if widths[i] == 0 {
			widths[i] = whole / float64(open)
		}
	}
	return widths
}

func sum(list []float64) (s float64) {
	for _, x := range list {
		s += x
	}
	return s
}

func rowHeight(row []string, widths []float64, s Style, least float64) float64 {
	lines := 1
	for i, text := range row {
		lines = max(lines, len(Wrap(text, widths[i]-2*cellPad, s)))
	}
	return max(least, float64(lines)*Leading(s)+2*cellPad)
}

// row draws one row with the lines around it. One that is higher than a page goes
// on over the next.
func (f *Flow) row(t *Table, widths []float64, row []string, s Style, least float64) {
	cells := make([][]string, len(row))
	left := 1
	for i, text := range row {
		cells[i] = Wrap(text, widths[i]-2*cellPad, s)
		left = max(left, len(cells[i]))
	}
	for left > 0 {
		n := min(left, int((f.Room()-2*cellPad)/Leading(s)))
		if n < 1 {
			f.Break()
			continue
		}
		h := max(least, float64(n)*Leading(s)+2*cellPad)
		x := f.Left()
		f.Page.Line(x, f.Y, x, f.Y+h, 0.2)
		for i, w := range widths {
			y := f.Y + cellPad
			for range min(n, len(cells[i])) {
				at := x + cellPad
				if t.Columns[i].Right {
					at = x + w - cellPad - Width(cells[i][0], s)
				}
				f.Page.Put(at, y+baseline(s), cells[i][0], s)
				cells[i] = cells[i][1:]
				y += Leading(s)
			}
			x += w
			f.Page.Line(x, f.Y, x, f.Y+h, 0.2)
		}
		f.Y += h
		f.Page.Line(f.Left(), f.Y, x, f.Y, 0.2)
		left -= n
	}
}
