package exports

import (
	"fmt"
	"slices"

	"pouchward/triage"
)

// A Panel is a verdict as a page shows it: the same words as the card, not yet
// broken into lines.
type Panel struct {
	Word, Verb string   // of strength, and what hands do
	Class      string   // of handling
	Tag        string   // as it is said, blank for none
	Unless     string   // what else it may be, blank for nothing
	Do         []string // in order
	Again      string   // when to look again, blank for never
	Care       []string
	Why        []PanelRow // what decided
	Next       []PanelRow // what is not known, and what to measure first
	More       []PanelRow // what else could change the answer
	Papers     []PanelRow // carriage, size, waste, routes, questions, notices
	Routes     []PanelRoute
}

// A PanelRoute is what the routes that are answered alike ask for.
type PanelRoute struct {
	Names string
	Rows  []PanelRow // answer, duties, what else is open or would be
}

// A PanelRow is a label and its text; a blank label goes on with the one before.
type PanelRow struct{ Label, Text string }

// NewPanel fills a panel.
func NewPanel(rb *triage.Rulebook, v *triage.Verdict, refused []string, opt CardOptions) *Panel {
	p := &Panel{Class: v.Handling.String(), Do: v.DoLines(), Care: v.CautionLines()}
	p.Word, p.Verb = Strength(v)
	if v.Tag != "" {
		p.Tag = spaced(Clean(v.Tag))
	}
	if v.Handling == triage.Emergency && onlyVolts(v) {
		p.Unless = unlessVolts
	}
	p.Again = again(v, opt)
	c := card{width: width, rows: &p.Why}
	c.why(v)
	c.rows = &p.Next
	c.open(v)
	if most := len(p.Next) - len(v.Next) + nextShown; most < len(p.Next) {
		p.Next, p.More = p.Next[:most], p.Next[most:]
	}
	c.rows = &p.Papers
	c.papers(v, opt)
	c.told(rb, v, refused, opt)
	p.Routes = panelRoutes(v)
	return p
}

// panelRoutes are the pages of Papers without their lines.
func panelRoutes(v *triage.Verdict) (list []PanelRoute) {
	for r := range triage.NumRoutes {
		x := PanelRoute{Names: r.String()}
		c := card{width: width, rows: &x.Rows}
		c.duties(v, r)
		at := slices.IndexFunc(list, func(o PanelRoute) bool { return slices.Equal(o.Rows, x.Rows) })
		if at < 0 {
			list = append(list, x)
			continue
		}
		list[at].Names += ", " + x.Names
	}
	return list
}

// again says when to look at a cell again, "" for never.
func again(v *triage.Verdict, opt CardOptions) string {
	if v.LookAgain == 0 {
		return ""
	}
	at := ""
	if opt.At != "" {
		at = "at " + opt.At + ", "
	}
	return fmt.Sprintf("Look %sin %s: heat, smell, hiss, growth. Eyes first, hands last.", at, span(v.LookAgain))
}

// papers draws what is read sitting down.
func (c *card) papers(v *triage.Verdict, opt CardOptions) {
	c.condition(v)
	c.size(v)
	c.fromPart(opt)
	c.computed(v)
	c.waste(v)
	c.routes(v)
}

// told draws what must be known of the reading, of dates and of the rules.
func (c *card) told(rb *triage.Rulebook, v *triage.Verdict, refused []string, opt CardOptions) {
	for _, q := range v.QuestionLines() {
		c.item("QUESTION", q)
	}
	for _, e := range refused {
		c.item("REFUSED", Clean(e))
	}
	if opt.Local != nil {
		c.item("LOCAL", opt.Local.Line())
	}
	for _, n := range v.Notices(rb) {
		c.item("NOTICE", n)
	}
	c.item("RULES", fmt.Sprintf("Judged for %s by rulebook %.12s. Post is not judged.", v.On, rb.Digest))
}
