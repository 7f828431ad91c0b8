package app

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/consign"
)

// dropEmpty leaves behind the open packages that nothing is in.
func (s *shipmentBody) dropEmpty(tx *logbook.Tx) error {
	var kept []packedBody
	for _, p := range s.Packages {
		full := p.Closed
		if err := tx.Contents(p.Tag, func(*logbook.Held) error {
			full = true
			return nil
		}); err != nil {
			return err
		}
		if full {
			kept = append(kept, p)
		}
	}
	s.Packages = kept
	return nil
}

// judgeAll judges every package and what holds over them, and names all that
// keeps the shipment.
func (s *shipmentBody) judgeAll(tx *logbook.Tx, shop *Shop) (all []*packedCell, err error) {
	if len(s.Packages) == 0 {
		return nil, Usage("nothing is packed: pouchward ship pack %s new TAG", s.About)
	}
	var wrong []reason
	var list []*consign.Package
	for i := range s.Packages {
		p := &s.Packages[i]
		name := packName(p.Tag)
		cells, err := contentsOf(tx, shop, p.Tag)
		if err == nil {
			err = noBins(tx, p.Tag)
		}
		if err != nil {
			return nil, err
		}
		j, bad, err := p.judge(shop, s, cells)
		if err != nil {
			return nil, err
		}
		not := p.asClosed(cells)
		if not != "" {
			wrong = append(wrong, reason{apart, name + " " + not})
		}
		for _, b := range bad {
			if not == "" || b.grave < unrecorded { // what is open is weighed and looked over at its closing
				wrong = append(wrong, reason{b.grave, name + ": " + b.text})
			}
		}
		why := p.changed(shop.Rulebook, j, cells)
		switch {
		case not != "":
		case graver(bad):
			wrong = append(wrong, reason{apart, fmt.Sprintf("%s: open it and take out what keeps it: pouchward ship reopen %s --reason \"...\"", name, p.Tag)})
		case why != "":
			wrong = append(wrong, reason{apart, name + " " + why})
		}
		all, list = append(all, cells...), append(list, p.consignPackage(cells))
	}
	over, err := s.judgeTogether(shop, list)
	if err != nil {
		return nil, err
	}
	if !graver(wrong) { // else what is taken out changes what the packages are together
		wrong = append(wrong, over...)
	}
	if len(wrong) > 0 {
		return nil, usageReasons(textsOf(wrong))
	}
	return all, nil
}

// judgeTogether judges what holds over all packages, and what the hand-over wants. It
// notes on the hand-over what papers are owed.
func (s *shipmentBody) judgeTogether(shop *Shop, list []*consign.Package) (wrong []reason, err error) {
	route, err := s.route()
	if err != nil {
		return nil, err
	}
	judged, breaches := consign.JudgeAll(shop.Rulebook, route, list)
	wrong = breachReasons(breaches, nil)
	for i, j := range judged {
		for k := range j.Breaches {
			j.Breaches[k].Text = packName(s.Packages[i].Tag) + ": " + breachOwn(&j.Breaches[k])
			j.Breaches[k].Item = ""
		}
		wrong = append(wrong, breachReasons(j.Breaches, nil)...)
		for _, text := range s.Handover.lacks(shop, &s.Packages[i], j) {
			wrong = append(wrong, reason{unrecorded, text})
		}
	}
	return wrong, nil
}

// asClosed says how a package is not as it was closed, blank where it is.
func (p *packedBody) asClosed(cells []*packedCell) string {
	if !p.Closed {
		return fmt.Sprintf("is open: pouchward ship close %s --gross-kg ... --tare-kg ... --packed-by ... --checked-by ...", p.Tag)
	}
	var now, gone []string
	for _, c := range cells {
		if !slices.Contains(p.Cells, c.cell.Tag) {
			now = append(now, triage.SpacedTag(c.cell.Tag))
		}
	}
	for _, tag := range p.Cells {
		if !slices.ContainsFunc(cells, func(c *packedCell) bool { return c.cell.Tag == tag }) {
			gone = append(gone, triage.SpacedTag(tag))
		}
	}
	if len(now)+len(gone) == 0 {
		return ""
	}
	text := "does not hold what it was closed with"
	if len(gone) > 0 {
		text += ", gone: " + strings.Join(gone, ", ")
	}
	if len(now) > 0 {
		text += ", come in: " + strings.Join(now, ", ")
	}
	return text + fmt.Sprintf(". Open it and close it anew: pouchward ship reopen %s --reason \"...\"", p.Tag)
}

// lacks says what the hand-over of a package still wants: a yes to its condition,
// and where papers are owed a telephone for them.
func (h *Handover) lacks(shop *Shop, p *packedBody, j *consign.Judgement) (list []string) {
	for _, word := range p.Conditions {
		if !slices.Contains(h.Acceptance.Accepts, word) {
			list = append(list, fmt.Sprintf("%s is %s, and the acceptance %s is for %s: ask the consignee, then --accepts %s", packName(p.Tag), word, h.Acceptance.Ref,
				strings.Join(h.Acceptance.Accepts, ", "), strings.Join(append(slices.Clone(h.Acceptance.Accepts), word), ",")))
		}
	}
	h.Papers = h.Papers || j.Papers
	if !j.Phone && !j.Papers {
		return list
	}
	if shop.House != nil {
		h.Phone = shop.House.Shop.EmergencyNumber
	}
	if h.Phone == "" {
		list = append(list, packName(p.Tag)+" goes with papers, which name a telephone that is answered at all times: emergency_number in the house file (--house)")
	}
	return list
}
