package review

import (
	"fmt"
	"strings"

	"pouchward/triage"
)

// incidentOpen looks for incidents that nobody closed within the days, and for those
// that were closed with questions that nobody answered. Closed late is past. One that
// was taken back is nobody's fault and no proof that nothing happened.
func incidentOpen(p *pass) {
	days := triage.Date(p.limit("after_days"))
	var void int64
	for i := range p.Incidents {
		x := &p.Incidents[i]
		owed := (x.Day() + days + 1).In(p.Now.Location())
		if x.Void {
			if p.within(x.Happened) {
				void++
			}
			continue
		}
		if p.within(x.Happened) {
			p.checked++
		}
		f := Finding{Subject: fmt.Sprintf("incident %d", x.Entry), Tags: x.Tags, Entries: []int64{x.Entry, x.Last.Entry}, Since: owed}
		what := "incident"
		if x.NearMiss {
			what = "near miss"
		}
		f.Text = fmt.Sprintf("%s of %s, entry %d", what, minute(x.Happened), x.Entry)
		if len(x.Tags) > 0 {
			f.Text += ", " + tagList(x.Tags)
		}
		late := x.Last.Happened
		unsaid := ""
		if len(x.Unsaid) > 0 {
			unsaid = ", not said: " + strings.Join(x.Unsaid, ", ")
		}
		switch {
		case x.Open && !p.Now.Before(owed):
			f.Text += fmt.Sprintf(": open after %s%s", plural(int64(p.today()-x.Day()), "day"), unsaid)
		case !x.Open && unsaid != "":
			f.Since = late
			f.Text += fmt.Sprintf(": closed on %s%s", minute(late), unsaid)
		case !x.Open && !late.Before(owed):
			f.Until = late
			f.Text += fmt.Sprintf(": closed on %s, after %s", minute(late), plural(int64(triage.DateOf(late)-x.Day()), "day"))
		default:
			continue
		}
		p.find(f)
	}
	p.cannotTell(void, "incidents that were taken back")
}
