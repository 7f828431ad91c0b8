package app

import (
	"fmt"
	"strings"

	"pouchward/exports"
	"pouchward/triage"
)

// Line tells what a scan made of the package.
func (p *Packed) Line() string {
	text := fmt.Sprintf("%-8s  into %s: %s, %s Wh", triage.SpacedTag(p.Tag), triage.SpacedTag(p.Package), exports.Count(p.Cells, "cell"), exports.Amount(p.MicroWh, 1e6))
	if p.Unrated > 0 {
		text += fmt.Sprintf(" and %d without a rating", p.Unrated)
	}
	text += ", " + exports.Amount(p.MassMg, 1e6) + " kg"
	if p.Unweighed > 0 {
		text += fmt.Sprintf(" and %d not weighed", p.Unweighed)
	}
	return text
}

// Lines tell what was closed, and what goes onto the package.
func (c *Closed) Lines() []string {
	p := &c.Pack
	kg := func(mg int64) string { return exports.Amount(mg, 1e6) + " kg" }
	list := []string{fmt.Sprintf("Package %s closed: %s, %s, gross %s less tare %s is %s net. Packed by %s, checked by %s.", triage.SpacedTag(p.Tag), p.UN,
		exports.Count(int64(len(p.Cells)), "cell"), kg(p.GrossMg), kg(p.TareMg), kg(p.NetMg), p.PackedBy, p.CheckedBy)}
	for _, m := range c.Marks {
		text := "On it: "
		if m.Words != "" {
			text += m.Words + ". "
		}
		list = append(list, text+m.Text+" ("+m.Source+")")
	}
	return list
}

// Lines tell what became of a shipment.
func (s *Sent) Lines(what string) []string {
	b := s.Shipment
	var net int64
	for i := range b.Packages {
		net += b.Packages[i].NetMg
	}
	text := fmt.Sprintf("Shipment %s (%s in %s, %s kg net) %s", triage.SpacedTag(b.About), exports.Count(int64(len(b.cells())), "cell"),
		exports.Count(int64(len(b.Packages)), "package"), exports.Amount(net, 1e6), what)
	return []string{strings.TrimSuffix(text, ".") + "."}
}

// Received tells how a receipt compares.
func (s *Sent) Received() string {
	r := s.Shipment.Receipt
	switch {
	case s.Shipment.Open:
		return "stays open, the receipt differs: " + strings.Join(r.Differs, "; ") + ". Chase it, then --close --note \"...\""
	case r.Note != "":
		return "is settled: " + r.Note
	}
	return "was received on " + r.On + ", as it left: settled"
}
