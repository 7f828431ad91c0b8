package label

import (
	"pouchward/exports"
	"pouchward/exports/pdf"
)

// wallEdge is the margin of the wall and the day sheet, in mm.
const wallEdge = 12

// DrawWall adds the wall sheet: the emergency card on one page, to be read across
// the room (capitals of 9 mm and more: 1.8 m by the rule of 200), and on the next
// what puts a cell into which class.
func DrawWall(d *pdf.Doc, paper pdf.Paper, s *exports.WallSheet, lines *exports.Lines) {
	p := d.Page(paper.W, paper.H)
	w := paper.W - 2*wallEdge
	y := wallHead(p, w, s)
	for _, st := range s.Steps {
		y = wallStep(p, y, w, st)
	}
	p.Area(wallEdge, y+1, w, 1.2)
	y += 5
	foot := drawFoot2(p, wallEdge, paper.H-wallEdge, w, "Site: "+orLine(s.Site)+". "+d.Foot+" ["+s.Source+"]")
	care := pdf.Style{Points: 10.5, Bold: true}
	top := foot - 2
	var all []string
	for _, c := range s.Care {
		all = append(all, pdf.Wrap(c, w, care)...)
	}
	top -= float64(len(all)) * pdf.Leading(care)
	p.Block(wallEdge, top, all, care)
	each := (top - 2 - y) / float64(len(s.Posts))
	for _, post := range s.Posts {
		wallPost(p, y, w, each, post)
		y += each
	}
	drawLines(d, paper, lines)
}

func wallHead(p *pdf.Page, w float64, s *exports.WallSheet) float64 {
	const high = 40
	p.Area(wallEdge, wallEdge, w, high)
	word := capStyle(20, true)
	word.White = true
	p.Put(wallEdge+5, wallEdge+10+20, s.Word, word)
	x := wallEdge + 10 + pdf.Width(s.Word, word)
	when := pdf.Style{Points: 22, Bold: true, White: true}
	when, lines, _ := pdf.Fit(s.When, wallEdge+w-4-x, high-8, when, 10)
	p.Block(x, wallEdge+(high-float64(len(lines))*pdf.Leading(when))/2, lines, when)
	return wallEdge + high + 3
}

// wallStep draws the word to shout with what to do beside it.
func wallStep(p *pdf.Page, y, w float64, st exports.Step) float64 {
	const high, wide = 17, 62
	word, lines, _ := pdf.Fit(st.Word, wide-2, high, capStyle(11, true), 12)
	p.Block(wallEdge, y+(high-float64(len(lines))*pdf.Leading(word))/2, lines, word)
	text, lines, _ := pdf.Fit(st.Text, w-wide, high, pdf.Style{Points: 19}, 10)
	p.Block(wallEdge+wide, y+(high-float64(len(lines))*pdf.Leading(text))/2, lines, text)
	return y + high
}

// wallPost draws a number or a place, or a line to write it on.
func wallPost(p *pdf.Page, y, w, high float64, post exports.Post) {
	const wide = 52
	label, lines, _ := pdf.Fit(post.Label, wide-2, high, pdf.Style{Points: 14, Bold: true}, 8)
	p.Block(wallEdge, y+3, lines, label)
	note := pdf.Style{Points: 9}
	notes := pdf.Wrap(post.Note, w-wide, note)
	room := high - 2 - float64(len(notes))*pdf.Leading(note)
	at := y + room
	if post.Text == "" {
		p.Line(wallEdge+wide, at, wallEdge+w, at, 0.3)
	} else {
		text, lines, _ := pdf.Fit(post.Text, w-wide, room, pdf.Style{Points: 24, Bold: true}, 9)
		at = p.Block(wallEdge+wide, y+1, lines, text)
	}
	p.Block(wallEdge+wide, at+0.3, notes, note)
}

// orLine is a text, or a line to write on.
func orLine(text string) string {
	if text == "" {
		return "______________________________"
	}
	return text
}

// drawLines draws the lines at which a class begins, in columns.
func drawLines(d *pdf.Doc, paper pdf.Paper, x *exports.Lines) {
	f := d.Flow(paper)
	head := pdf.Style{Points: 15, Bold: true}
	small := pdf.Style{Points: 9}
	f.Para("WHAT PUTS A CELL WHERE", head)
	f.Space(1)
	f.Para(x.Note, small)
	f.Space(2)
	t := &pdf.Table{Style: small}
	longest := 0
	for _, c := range x.Classes {
		t.Columns = append(t.Columns, pdf.Column{Head: c.Word + ": " + c.Verb})
		longest = max(longest, len(c.Signs))
	}
	for i := range longest {
		row := make([]string, len(x.Classes))
		for j, c := range x.Classes {
			if i < len(c.Signs) {
				row[j] = c.Signs[i]
			}
		}
		t.Rows = append(t.Rows, row)
	}
	f.Table(t)
}
