package report

import (
	"fmt"
	"strings"

	"pouchward/exports"
	"pouchward/exports/pdf"
	"pouchward/triage/review"
)

// stateRoom is the column of since when a finding is, in mm.
const stateRoom = 30

// findings writes the findings by severity and check: first the checks of which something
// is open, then those of which all is past, as the page of the review has them.
func (p *page) findings() {
	p.section("Findings, the worst first")
	if len(p.Review.Findings) == 0 {
		p.Para("Nothing was found that a check looks for. That is no permission and no praise: see below what was looked at, and what a log cannot show.", plain)
	}
	for rank, head := range exports.SeverityHeads {
		open, past := exports.ByCheck(p.Review, rank)
		if len(open)+len(past) == 0 {
			continue
		}
		p.severity(head)
		for _, list := range append(open, past...) {
			p.check(list)
		}
	}
}

// severity is a bar across the page.
func (p *page) severity(head string) {
	p.Need(38)
	p.Space(2)
	p.Page.Area(p.Left(), p.Y, p.Width(), 6.2)
	p.Page.Block(p.Left()+2, p.Y+0.9, []string{head}, pdf.Style{Points: 10.5, Bold: true, White: true})
	p.Y += 8 // Space would leave none at the head of a page
}

func (p *page) check(list []*review.Finding) {
	k, open := list[0].Check, list[0].Open()
	p.Need(30)
	p.Para(upperFirst(k.Title), pdf.Style{Points: 11, Bold: true})
	p.Space(1)
	for _, f := range list[:min(len(list), mostFindings)] {
		p.finding(f)
	}
	if more := len(list) - mostFindings; more > 0 {
		p.Indented(stateRoom, "", fmt.Sprintf("%d more of these stand in the table findings of the workbook and the CSV (pouchward export), and on the page of pouchward review.", more), small)
		p.Space(1)
	}
	say := func(label, text string) { p.Indented(stateRoom, label, text, fine) }
	if untold := exports.UntoldOf(p.Review, k); untold != "" {
		say("Not told", upperFirst(untold)+".")
	}
	if open { // what is past needs no telling what would close it
		say("To close it", upperFirst(k.Closes)+".")
		say("Ask", upperFirst(k.Ask)+".")
	}
	say("Rule", exports.CheckSource(k))
	p.Space(1.5)
	p.Rule(0.2)
	p.Space(2)
}

// finding writes one finding: its state in words beside what was found.
func (p *page) finding(f *review.Finding) {
	state, style := exports.FindingState(f), small
	if f.Open() && f.Signed == nil {
		state, style.Bold = strings.Replace(state, "open", "OPEN", 1), true
	}
	states := pdf.Wrap(state, stateRoom-2, style)
	p.Need(float64(max(len(states), 2)) * pdf.Leading(plain))
	top, on := p.Y, p.Page
	on.Block(p.Left(), top, states, style)
	p.Indented(stateRoom, "", upperFirst(f.Text)+".", plain)
	p.Indented(stateRoom, "", exports.Evidence(f), fine)
	if text := exports.AnswerOf(f); text != "" {
		p.Indented(stateRoom, "", upperFirst(text), small)
	}
	if under := top + float64(len(states))*pdf.Leading(style); p.Page == on {
		p.Y = max(p.Y, under)
	}
	p.Space(1.2)
}

// clean writes what was gone through and in order, and what there was nothing of.
func (p *page) clean() {
	p.section("Looked at and in order")
	var rows [][]string
	var empty []string
	for i := range p.Review.Clean {
		x := &p.Review.Clean[i]
		untold := ""
		if x.Untold != "" {
			untold = " Not told: " + x.Untold + "."
		}
		if x.Checked == 0 {
			empty = append(empty, x.Check.Title+"."+untold)
			continue
		}
		rows = append(rows, []string{fmt.Sprint(x.Checked), x.Check.Counts, upperFirst(x.Check.Clean) + "." + untold})
	}
	if len(rows) > 0 {
		p.Table(&pdf.Table{Columns: []pdf.Column{{Head: "How many", Width: 18, Right: true}, {Head: "of what", Width: 62}, {Head: "What was seen of them"}}, Rows: rows, Style: small})
	}
	if len(empty) == 0 {
		return
	}
	p.Need(20)
	p.Space(3)
	p.Para("Nothing there to look at: in order cannot be said of these", strong)
	p.Space(1)
	for _, text := range empty {
		p.bullet(text)
	}
}

func (p *page) bullet(text string) {
	p.Indented(4, "-", text, small)
	p.Space(0.4)
}

// unseen writes what a log cannot show.
func (p *page) unseen() {
	p.section("Not to be seen in a log")
	for _, k := range p.Review.Unseen {
		p.bullet(fmt.Sprintf("%s: %s. Ask %s. [%s]", k.Title, k.Unseen, k.Ask, k.Source))
	}
}
