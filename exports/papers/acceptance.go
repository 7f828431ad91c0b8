package papers

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/triage"
)

// acceptance is the sheet that answers what a receiving site must know before
// arrival. Whatever is not known is said to be so, and listed at its end.
func (x *Shipment) acceptance() Sheet {
	cells := x.cells()
	from := Form{
		{Label: "Producer, site", Value: known(x.Site)},
		{Label: "Its address"}, {Label: "Contact, telephone"},
		{Label: "Consignee", Value: known(x.Consignee)},
		{Label: "Its address"}, {Label: "Wanted on", Value: NotKnown, Write: true},
	}
	what := Form{
		{Label: "Route", Value: x.Route.String()},
		{Label: "Chemistry", Value: tally(cells, func(c *Cell) string { return c.fact(triage.FFamily) })},
		{Label: "Count", Value: fmt.Sprintf("%d cells or batteries in %s", len(cells), plural(len(x.Packages), "package"))},
		{Label: "One cell or a battery", Value: tally(cells, func(c *Cell) string { return c.fact(triage.FUnit) })},
		{Label: "In equipment or not", Value: tally(cells, func(c *Cell) string { return c.fact(triage.FFit) })},
		{Label: "Net mass", Value: x.netText()},
		{Label: "Total rating", Value: wh(cells)},
		{Label: "Charge", Value: charge(cells)},
	}
	state := Form{
		{Label: "Undamaged", Value: howMany(cells, triage.Undamaged)},
		{Label: "Damaged, defective or recalled", Value: damaged(cells)},
		{Label: "Condition undetermined", Value: howMany(cells, triage.Undetermined)},
		{Label: "Known defects", Value: defects(cells)},
		{Label: "Wet, or was in water", Value: sign(cells, func(c *Cell) (bool, bool) {
			f := c.V.Facts[triage.FWet]
			return f.State == triage.Known && f.Lo == yesWord, f.State == triage.Known
		})},
		{Label: "Casing breached", Value: sign(cells, func(c *Cell) (bool, bool) {
			open := c.V.Facts[triage.FCasingOpen]
			return c.V.Waste == triage.CasingBreached, c.V.Waste != triage.WasteUnknown && open.State == triage.Known && open.Lo != yesWord
		})},
		{Label: "Reacting or liable to", Value: sign(cells, func(c *Cell) (bool, bool) {
			open := c.V.Facts[triage.FDangerOpen]
			return c.V.Condition >= triage.Liable, open.State == triage.Known && open.Lo != yesWord
		})},
	}
	return Sheet{Title: "pre-acceptance", Blocks: []Block{
		Para("For the consignee, before arrival. \"" + NotKnown + "\" means that the log of the shop does not say; nothing here is guessed."),
		Heading("From and to"), from, Heading("What"), what, Heading("State"), state,
		Heading("How it is packed"), x.packedForm(cells),
		Heading("Hazards"), hazards(cells), Together{Heading("Not known"), x.unknowns(cells)},
	}}
}

// yesWord is the value of a fact that is answered yes.
const yesWord triage.Micro = 1

func howMany(cells []*Cell, class triage.ConditionClass) string {
	n := 0
	for _, c := range cells {
		if c.V.Condition == class {
			n++
		}
	}
	return fmt.Sprintf("%d of %d", n, len(cells))
}

// sign says which cells show something. It says "none" only where each was looked at.
func sign(cells []*Cell, is func(*Cell) (yes, looked bool)) string {
	var shown, open []*Cell
	for _, c := range cells {
		switch yes, looked := is(c); {
		case yes:
			shown = append(shown, c)
		case !looked:
			open = append(open, c)
		}
	}
	var parts []string
	if len(shown) > 0 {
		parts = append(parts, fmt.Sprintf("%d: %s", len(shown), tags(shown)))
	}
	if len(open) > 0 {
		parts = append(parts, fmt.Sprintf("%s of %d: %s", NotKnown, len(open), tags(open)))
	}
	switch {
	case len(cells) == 0:
		return NotKnown
	case len(parts) == 0:
		return fmt.Sprintf("none seen on %s", plural(len(cells), "cell"))
	}
	return strings.Join(parts, "; ")
}

// netText is the net mass of all packages, as far as it is known.
func (x *Shipment) netText() string {
	var net int64
	var open []string
	for i := range x.Packages {
		p := &x.Packages[i]
		if net += p.NetMg; !p.Closed {
			open = append(open, triage.SpacedTag(p.Tag))
		}
	}
	switch {
	case len(open) == len(x.Packages):
		return NotKnown + ": no package is closed and weighed"
	case len(open) > 0:
		return fmt.Sprintf("%s without package %s, which is open and not weighed", kg(net), strings.Join(open, ", "))
	}
	text := kg(net) + ", gross less tare of each package"
	if slices.ContainsFunc(x.cells(), func(c *Cell) bool { return c.fact(triage.FFit) != "loose" }) {
		text += "; equipment counts in it, and the mass of cells alone is " + NotKnown
	}
	return text
}

// charge is the range over those of which it is known.
func charge(cells []*Cell) string {
	lo, hi, n := triage.Micro(0), triage.Micro(0), 0
	for _, c := range cells {
		f := c.V.Facts[triage.FCharge]
		if f.State != triage.Known {
			continue
		}
		if n == 0 || f.Lo < lo {
			lo = f.Lo
		}
		hi = max(hi, f.Hi)
		n++
	}
	if n == 0 {
		return NotKnown
	}
	text := fmt.Sprintf("from %s to %s %% of charge for %d, worked out from the last voltage", lo.Rounded(0), hi.Rounded(0), n)
	if n < len(cells) {
		text += fmt.Sprintf("; %s of %d", NotKnown, len(cells)-n)
	}
	return text
}

// packedForm says how the cells are packed and insulated.
func (x *Shipment) packedForm(cells []*Cell) Form {
	outers, inner, fill := []string{}, 0, 0
	count := map[string]int{}
	for i := range x.Packages {
		p := &x.Packages[i]
		if name := p.outerText(); count[name] == 0 {
			outers = append(outers, name)
		}
		count[p.outerText()]++
		if p.Inner {
			inner++
		}
		if p.Fill {
			fill++
		}
	}
	for i, name := range outers {
		outers[i] = fmt.Sprintf("%d x %s", count[name], name)
	}
	secured := func(what string) string {
		n := 0
		for _, c := range cells {
			if c.Secured[what] {
				n++
			}
		}
		return of(n, len(cells), "cell")
	}
	return Form{
		{Label: "Outer packaging", Value: known(strings.Join(outers, "; "))},
		{Label: "Each in an inner packaging of its own", Value: of(inner, len(x.Packages), "package")},
		{Label: "Cushioned: does not burn or conduct, absorbs", Value: of(fill, len(x.Packages), "package")},
		{Label: "Terminals insulated", Value: secured("terminals")},
		{Label: "One cell, one bag that is no metal", Value: secured("bag")},
	}
}

// of says of how many something is on record; of the rest it is not known.
func of(n, all int, thing string) string {
	switch {
	case n == 0 || all == 0:
		return NotKnown
	case n == all:
		return fmt.Sprintf("on record for all, %s", plural(all, thing))
	}
	return fmt.Sprintf("on record for %d of %s; %s of %d", n, plural(all, thing), NotKnown, all-n)
}

// outerText is the packaging with its UN mark, or that it is a strong outer.
func (p *Package) outerText() string {
	switch {
	case p.UNMark != "":
		return p.Outer + ", UN mark " + p.UNMark
	case p.Level == triage.Levels[0]:
		return p.Outer + ", strong outer, no UN mark"
	}
	return p.Outer + ", UN mark " + NotKnown
}

// hazards are those of the chemistry; a cell of unknown chemistry counts as lithium
// ion, as it does in the judging.
func hazards(cells []*Cell) Para {
	for _, c := range cells {
		if f := c.fact(triage.FFamily); f == "" || f == "lithium-ion" {
			return "A lithium ion cell may vent and ignite when hot (over 150 °C), crushed, pierced or short-circuited. Burning gives hydrogen fluoride. A fire may come back up to weeks later. [Emergency Response Guidebook 2024, guide 147; crushed, pierced, short-circuited: common practice]"
		}
	}
	return Para("For this chemistry no hazards are held here: " + NotKnown + ". Ask before it is sent.")
}

// unknowns lists what the log does not say.
func (x *Shipment) unknowns(cells []*Cell) Para {
	list := []string{"addresses and contact", "wanted day"}
	missing := func(what string, is func(*Cell) bool) {
		n := 0
		for _, c := range cells {
			if is(c) {
				n++
			}
		}
		if n > 0 {
			list = append(list, fmt.Sprintf("%s of %s", what, plural(n, "cell")))
		}
	}
	for _, f := range []struct {
		id   triage.FactID
		what string
	}{{triage.FFamily, "chemistry"}, {triage.FUnit, "one cell or battery"}, {triage.FFit, "whether in equipment"}, {triage.FEnergy, "watt-hour rating"},
		{triage.FScaleMass, "mass on a scale"}, {triage.FCharge, "charge"}, {triage.FWet, "whether it was wet"}} {
		missing(f.what, func(c *Cell) bool { return c.fact(f.id) == "" })
	}
	missing("condition", func(c *Cell) bool { return c.V.Condition == triage.Undetermined })
	missing("whether the casing is whole", func(c *Cell) bool { return c.V.Waste == triage.WasteUnknown })
	missing("whether terminals are insulated", func(c *Cell) bool { return !c.Secured["terminals"] })
	if x.Consignee == "" {
		list = append(list, "consignee")
	}
	return Para(upper(strings.Join(list, "; ")) + ".")
}

// upper begins a sentence.
func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
