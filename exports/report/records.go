package report

import (
	"fmt"

	"pouchward/exports"
)

// records writes the short tables.
func (p *page) records() {
	p.section("Records: shipments, training, incidents, local rules")
	for i := range p.Records {
		r := &p.Records[i]
		p.Need(24)
		p.Para(r.Title, strong)
		p.Space(1)
		if len(r.Rows) == 0 {
			p.Para("None on record.", plain)
		} else {
			p.table(r.Columns, r.Rows, r.All, r.Table)
		}
		p.Space(4)
	}
}

// checks says how to check the log without trusting this program or the shop.
func (p *page) checks() {
	p.section("Checkpoint, and how to check it without this program")
	part := ""
	for _, c := range p.Checks {
		if c.Part != part {
			part = c.Part
			p.Need(16)
			p.Space(1.5)
			p.Para(upperFirst(part), strong)
			p.Space(0.6)
		}
		p.Indented(38, c.Name, c.Text, small)
		p.Space(0.8)
	}
	p.Space(2)
	p.Para(fmt.Sprintf("End of the report: %s, %s.", exports.Count(int64(p.Entries), "entry"), p.Line), small)
}
