package report

import (
	"fmt"
	"strings"
	"time"

	"pouchward/exports"
	"pouchward/exports/pdf"
	"pouchward/triage"
)

// cover draws the first page and returns where the contents go.
func (p *page) cover() (on *pdf.Page, y float64) {
	p.Para("Report from the log", pdf.Style{Points: 12})
	p.Para(p.Site, title)
	p.Space(1)
	p.Para(fmt.Sprintf("%s, as the log stood on %s. Made for %s.", upperFirst(p.Period), p.AsOf.Format("2006-01-02 15:04"), p.On), plain)
	p.Space(3)
	p.verified()
	p.Space(4)
	p.severities()
	p.Space(4)
	p.facts()
	p.Space(3)
	p.whatItIs()
	p.Space(4)
	p.Need(contentsRoom)
	on, y = p.Page, p.Y
	p.Break()
	return on, y
}

// verified says in a box whether the log verifies, and its paper line.
func (p *page) verified() {
	head, text := "THE LOG VERIFIES", "Every entry, hash, key, view and attached file was read and agrees with the others. That shows that nothing was changed in part; a log written anew as a whole is found only by the paper line or a checkpoint that was kept elsewhere: compare."
	if p.Beside != "" {
		head, text = "THE LOG VERIFIES, FILES BESIDE IT DO NOT", "Every entry, hash, key and view was read and agrees with the others. "+p.Beside+". The findings name each. A log written anew as a whole is found only by the paper line or a checkpoint that was kept elsewhere: compare."
	}
	if p.Notice != "" {
		head, text = "THE LOG DOES NOT VERIFY", "What follows may be wrong in any part."
		for _, w := range p.Wrong {
			text += " " + w + "."
		}
	}
	top, in := p.Y, p.Left()+4
	p.Space(3)
	big := pdf.Style{Points: 15, Bold: true}
	p.Y = p.Page.Block(in, p.Y, []string{head}, big)
	p.Space(1)
	line := pdf.Style{Points: 12, Bold: true}
	p.Y = p.Page.Block(in, p.Y, pdf.Wrap(fmt.Sprintf("Paper line  %s", p.Line), p.Width()-8, line), line)
	p.Space(1)
	p.Y = p.Page.Block(in, p.Y, pdf.Wrap(text, p.Width()-8, plain), plain)
	p.Space(3)
	p.Page.Box(p.Left(), top, p.Width(), p.Y-top, 0.8)
}

// severities counts the findings. There is no score.
func (p *page) severities() {
	var rows [][]string
	for rank, c := range p.counts() {
		rows = append(rows, []string{exports.SeverityHeads[rank], fmt.Sprint(c.open), fmt.Sprint(c.answered), fmt.Sprint(c.past)})
	}
	p.Table(&pdf.Table{Columns: []pdf.Column{{Head: "Findings"}, {Head: "open, not answered", Width: 40, Right: true}, {Head: "open, answered", Width: 32, Right: true}, {Head: "past", Width: 20, Right: true}},
		Rows: rows, Style: pdf.Style{Points: 10}})
}

// A count is of findings of one severity.
type count struct{ open, answered, past int }

func (r *Report) counts() []count {
	counts := make([]count, len(triage.CheckSeverities))
	for i := range r.Review.Findings {
		f := &r.Review.Findings[i]
		c := &counts[f.Check.Rank()]
		switch {
		case !f.Open():
			c.past++
		case f.Signed != nil:
			c.answered++
		default:
			c.open++
		}
	}
	return counts
}

func (p *page) facts() {
	s := p.Review.Snapshot
	const in = 32
	say := func(label, text string) {
		p.Indented(in, label, text, plain)
		p.Space(0.8)
	}
	say("In the shop", exports.ShopText(s)+".")
	say("Entries", fmt.Sprintf("1 to %d, begun on %s. %s and %s, each with its reason, stand in it.", p.Entries, dayOf(p.Began),
		exports.Count(s.Entries.Corrections, "correction"), exports.Count(s.Entries.Retractions, "retraction")))
	say("Rules", fmt.Sprintf("Of %s, rulebook %s. An answer in the log stands as it was given on its day.", p.On, p.Rulebook))
	if p.House != "" {
		say("House file", p.House)
	}
	say("Names", upperFirst(p.Names)+".")
}

// whatItIs says what the report shows and what it does not.
func (p *page) whatItIs() {
	for _, x := range []struct{ head, text string }{
		{"What this is", "What the entries of the log say, read by fixed checks. Each finding names the entries that it rests on and the text that asks for it; each figure can be made again from the log."},
		{"What it is not", "An inspection, a grade or a permission. It cannot show that what was typed is true, that everything was typed, or who sat at the keyboard. A class is what readings showed on their day, and no more. " + triage.LocalFirst},
	} {
		p.Para(x.head, strong)
		p.Para(x.text, plain)
		p.Space(1.5)
	}
}

// contentsRoom is what the contents take, in mm.
const contentsRoom = 36

// fillContents writes the sections with their pages where room was left for them.
func (p *page) fillContents(cover *pdf.Page, y float64) {
	right := p.Left() + p.Width()
	cover.Put(p.Left(), y+4, "Contents", strong)
	half := (len(p.contents) + 1) / 2
	for i, c := range p.contents {
		column, row := i/half, i%half
		x := p.Left() + float64(column)*(p.Width()/2+3)
		at := y + 9 + float64(row)*4.6
		end := right
		if column == 0 {
			end = p.Left() + p.Width()/2 - 3
		}
		number := fmt.Sprint(c.page)
		text, style := fmt.Sprintf("%d  %s", i+1, c.title), plain
		style, _ = pdf.FitLine(text, end-x-8, style, 6)
		cover.Put(x, at, text, style)
		cover.Put(end-pdf.Width(number, plain), at, number, plain)
	}
}

func dayOf(t time.Time) string {
	if t.IsZero() {
		return "a day not known"
	}
	return t.Format(time.DateOnly)
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
