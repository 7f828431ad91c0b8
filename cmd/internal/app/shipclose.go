package app

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/consign"
)

// A Closing says how a package was closed.
type Closing struct {
	Package             string
	GrossKg, TareKg     string // tare: all but the cells, as weighed before they went in
	PackedBy, CheckedBy string
	Inner, Fill         bool     // as of Packing, where it was not said yet
	Photos              []string // files
	Note                string
}

// A Closed is what became of it, or of a reopening.
type Closed struct {
	Outcome
	Shipment string
	Pack     packedBody
	Marks    []exports.ShipMark
}

// ClosePackage records a package as closed: weighed, looked over by two people,
// and every cell in it judged again as it stands.
func (r *Recording) ClosePackage(shop *Shop, act Act, x Closing) (*Closed, error) {
	tag, err := readPackTag(x.Package)
	if err != nil {
		return nil, err
	}
	if err := r.today(shop, act); err != nil {
		return nil, err
	}
	var p packedBody
	switch {
	case strings.TrimSpace(x.GrossKg) == "":
		return nil, Usage("say what the closed package weighs: --gross-kg 2.41")
	case strings.TrimSpace(x.TareKg) == "":
		return nil, Usage("say what all of it but the cells weighs, packagings and fill, as weighed before they went in: --tare-kg 0.52")
	}
	if p.GrossMg, err = parseKg("--gross-kg", x.GrossKg); err != nil {
		return nil, err
	}
	if p.TareMg, err = parseKg("--tare-kg", x.TareKg); err != nil {
		return nil, err
	}
	if p.PackedBy, p.CheckedBy, err = twoPeople(shop, x.PackedBy, x.CheckedBy); err != nil {
		return nil, err
	}
	out := &Closed{Outcome: Outcome{Shop: shop, Tag: tag}}
	err = r.onPackage(tag, act, out, func(tx *logbook.Tx, s *shipmentBody, old *packedBody) error {
		if old.Closed {
			return Usage("it is closed already, by %s and %s", old.PackedBy, old.CheckedBy)
		}
		p.Tag, p.Outer, p.Closed, p.Note = tag, old.Outer, true, x.Note
		p.Inner, p.Fill = old.Inner || x.Inner, old.Fill || x.Fill
		cells, err := contentsOf(tx, shop, tag)
		if err == nil {
			err = noBins(tx, tag)
		}
		if err != nil {
			return err
		}
		j, err := p.close(shop, s, cells, out)
		if err != nil {
			return err
		}
		*old = p
		b := s.then("closed")
		b.Package = tag
		if err := r.putShipment(tx, shop, act, &out.Outcome, b, nil, append([]string{s.About, tag}, p.Cells...)...); err != nil {
			return err
		}
		out.Pack, out.Marks = p, marksOf(j)
		return r.keepWith(tx, act, &out.Outcome, "photo", x.Photos, s.About, tag)
	})
	if err != nil {
		return nil, fmt.Errorf("%s not closed: %w", packName(tag), err)
	}
	return out, nil
}

// onPackage runs fn on a package whose shipment is at hand, within one write.
func (r *Recording) onPackage(tag string, act Act, out *Closed, fn func(*logbook.Tx, *shipmentBody, *packedBody) error) error {
	return r.log.Write(func(tx *logbook.Tx) error {
		s, err := shipmentOfPackage(tx, tag)
		if err != nil {
			return err
		}
		if s == nil {
			return Usage("%s is no package of a shipment (pouchward ship list)", triage.SpacedTag(tag))
		}
		if err := s.atHand(); err != nil {
			return err
		}
		if err := r.inOrder(tx, s.About, act); err != nil {
			return err
		}
		out.Shipment = s.About
		return fn(tx, s, s.pack(tag))
	})
}

// twoPeople reads who packed and who checked: two, or one where the house file
// says solo.
func twoPeople(shop *Shop, packed, checked string) (string, string, error) {
	packed, checked = strings.TrimSpace(packed), strings.TrimSpace(checked)
	switch {
	case !triage.NamesSomebody(packed):
		return "", "", Usage("say who packed it: --packed-by INITIALS")
	case !triage.NamesSomebody(checked) && !shop.solo():
		return "", "", Usage("say who checked it, a second person: --checked-by INITIALS (a shop of one says solo = true in its house file)")
	case triage.SamePerson(packed, checked) && !shop.solo():
		return "", "", Usage("%s packed it and cannot check it as well: another person does (a shop of one says solo = true in its house file)", packed)
	case checked == "":
		checked = packed
	}
	return packed, checked, nil
}

// close holds a package against its cells, its weights and the rules; it fills
// in what is known of them.
func (p *packedBody) close(shop *Shop, s *shipmentBody, cells []*packedCell, out *Closed) (*consign.Judgement, error) {
	if len(cells) == 0 {
		return nil, Usage("nothing is in it by the log: pouchward ship pack %s %s TAG", s.About, p.Tag)
	}
	if err := p.weigh(cells, out); err != nil {
		return nil, err
	}
	j, wrong, err := p.judge(shop, s, cells)
	if err != nil {
		return nil, err
	}
	if len(wrong) > 0 {
		return nil, usageReasons(append(textsOf(wrong), "A cell is taken out with pouchward move TAG --to PLACE"))
	}
	p.class(j, cells)
	for _, c := range cells {
		p.Cells = append(p.Cells, c.cell.Tag)
	}
	return j, nil
}

// class takes over what the marks on a package rest on: its number, the ways its
// cells go by, and their conditions.
func (p *packedBody) class(j *consign.Judgement, cells []*packedCell) {
	p.UN, p.Ways, p.Conditions = j.UN, nil, nil
	for _, w := range j.Ways {
		if w != nil && !slices.Contains(p.Ways, w.ID) {
			p.Ways = append(p.Ways, w.ID)
		}
	}
	for _, c := range cells {
		if word := c.verdict.Condition.String(); !slices.Contains(p.Conditions, word) {
			p.Conditions = append(p.Conditions, word)
		}
	}
}

// changed says how a closed package is no longer of the class that it was closed
// in, blank where it is. Its marks were put on for that class, and the people who
// closed it looked at that: lawful as another is not lawful as it stands there.
func (p *packedBody) changed(rb *triage.Rulebook, j *consign.Judgement, cells []*packedCell) string {
	var now packedBody
	now.class(j, cells)
	if now.UN == p.UN && sameWords(now.Ways, p.Ways) && sameWords(now.Conditions, p.Conditions) {
		return ""
	}
	was := func(p *packedBody) string {
		return fmt.Sprintf("%s, %s (%s)", p.UN, strings.Join(p.Conditions, " and "), wayTitles(rb, p.Ways))
	}
	return fmt.Sprintf("was closed and marked as %s, and is %s now. Open it, mark it anew and close it: pouchward ship reopen %s --reason \"...\" [%s; %s]",
		was(p), was(&now), p.Tag, strings.Join(p.Ways, ", "), strings.Join(now.Ways, ", "))
}

// wayTitles says ways in words. One that the rulebook of the day does not have, such as
// a permit that ran out, stands by its id.
func wayTitles(rb *triage.Rulebook, ids []string) string {
	var list []string
	for _, id := range ids {
		if w := rb.WayByID(id); w != nil {
			id = w.Title
		}
		list = append(list, id)
	}
	return strings.Join(list, "; ")
}

func sameWords(a, b []string) bool {
	a, b = slices.Clone(a), slices.Clone(b)
	slices.Sort(a)
	slices.Sort(b)
	return slices.Equal(a, b)
}

// judge judges a package as it stands today, cell by cell and as a whole, and
// returns all that is wrong with it. What is not known is wrong here.
func (p *packedBody) judge(shop *Shop, s *shipmentBody, cells []*packedCell) (*consign.Judgement, []reason, error) {
	route, err := s.route()
	if err != nil {
		return nil, nil, err
	}
	var wrong []reason
	told := map[string]bool{}
	for _, c := range cells {
		name := triage.SpacedTag(c.cell.Tag) + ": "
		if why := c.barred(shop, route); why != "" {
			wrong, told[c.cell.Tag] = append(wrong, reason{barred, name + why}), true
		} else if why := c.unready(); why != "" {
			wrong = append(wrong, reason{unrecorded, name + why})
		}
	}
	j := consign.Judge(shop.Rulebook, route, p.consignPackage(cells))
	return j, append(wrong, breachReasons(j.Breaches, told)...), nil
}

// breachReasons are the breaches of a judgement, but for those of cells that were told
// of: they say the same in other words.
func breachReasons(list []consign.Breach, told map[string]bool) (reasons []reason) {
	for i := range list {
		b := &list[i]
		switch {
		case told[b.Item]:
		case b.Missing:
			reasons = append(reasons, reason{unrecorded, breachText(b)})
		default:
			reasons = append(reasons, reason{apart, breachText(b)})
		}
	}
	return reasons
}

// weigh holds gross less tare against the cells' own masses: within 2 % where all
// were weighed, and never below what was weighed (common practice).
func (p *packedBody) weigh(cells []*packedCell, out *Closed) error {
	p.NetMg, p.WeighedMg, p.Unweighed, p.MicroWh, p.Unrated = p.GrossMg-p.TareMg, 0, 0, 0, 0
	var sum Packed
	sum.count(cells)
	p.WeighedMg, p.Unweighed, p.MicroWh, p.Unrated = sum.MassMg, sum.Unweighed, sum.MicroWh, sum.Unrated
	kg := func(mg int64) string { return exports.Amount(mg, 1e6) + " kg" }
	diff, most := p.NetMg-p.WeighedMg, mostMg(cells)
	switch {
	case p.NetMg <= 0:
		return Usage("gross %s less tare %s leaves nothing for the cells: weigh again", kg(p.GrossMg), kg(p.TareMg))
	case p.Outer.TareMg > 0 && p.TareMg < p.Outer.TareMg-p.Outer.TareMg/50:
		return Usage("tare %s is less than the empty packaging of %s (%s): weigh again", kg(p.TareMg), kg(p.Outer.TareMg), p.Outer.Name)
	case p.Unweighed == 0 && max(diff, -diff)*50 > p.WeighedMg:
		return Usage("gross %s less tare %s is %s, and the cells weigh %s: more than 2 %% apart. Weigh again, or count what is in it", kg(p.GrossMg), kg(p.TareMg), kg(p.NetMg), kg(p.WeighedMg))
	case -diff*50 > p.WeighedMg:
		return Usage("gross %s less tare %s is %s, and the cells that were weighed alone come to %s. Weigh again, or count what is in it", kg(p.GrossMg), kg(p.TareMg), kg(p.NetMg), kg(p.WeighedMg))
	case p.Unweighed > 0 && most > 0 && (p.NetMg-most)*50 > most:
		return Usage("gross %s less tare %s is %s, and the cells weigh %s at most, those never weighed by their rating. Weigh again, or count what is in it", kg(p.GrossMg), kg(p.TareMg), kg(p.NetMg), exports.Amount((most+999)/1000, 1000)+" kg")
	case p.Unweighed > 0:
		out.note("%d of %d cells were never weighed: the net mass is gross less tare, %s, with nothing to check it against.", p.Unweighed, sum.Cells, kg(p.NetMg))
	}
	return nil
}

// mostMg is what loose cells weigh at most, by scale or by rating; 0 where that is
// not known of each: a device weighs more than what is in it.
func mostMg(cells []*packedCell) (mg int64) {
	for _, c := range cells {
		fit, m := c.verdict.Facts[triage.FFit], c.verdict.Facts[triage.FMass]
		if fit.State != triage.Known || triage.Fields[triage.Fit].Words[fit.Lo] != "loose" || m.State != triage.Known {
			return 0
		}
		mg += int64(m.Hi / 1000)
	}
	return mg
}

// marksOf lists what is owed on the package.
func marksOf(j *consign.Judgement) (list []exports.ShipMark) {
	for _, d := range j.Marks {
		if d.Kind == "mark" || d.Kind == "label" {
			list = append(list, exports.ShipMark{Words: d.Words, Text: d.Text, Source: d.Source})
		}
	}
	return list
}

// ReopenPackage opens a closed package again, on the record.
func (r *Recording) ReopenPackage(shop *Shop, act Act, tag, reason string) (*Closed, error) {
	tag, err := readPackTag(tag)
	if err != nil {
		return nil, err
	}
	if reason = strings.TrimSpace(reason); reason == "" {
		return nil, Usage("say why it is opened: --reason \"...\"")
	}
	out := &Closed{Outcome: Outcome{Shop: shop, Tag: tag}}
	err = r.onPackage(tag, act, out, func(tx *logbook.Tx, s *shipmentBody, old *packedBody) error {
		if !old.Closed {
			return Usage("it is open")
		}
		cells := old.Cells
		*old = packedBody{Tag: old.Tag, Outer: old.Outer, Inner: old.Inner, Fill: old.Fill}
		b := s.then("reopened")
		b.Package, b.Reason = tag, reason
		out.Pack = *old
		return r.putShipment(tx, shop, act, &out.Outcome, b, nil, append([]string{s.About, tag}, cells...)...)
	})
	if err != nil {
		return nil, fmt.Errorf("%s not opened: %w", packName(tag), err)
	}
	return out, nil
}

// keepWith keeps files beside the log and writes their entries, each of the last
// entry of the outcome. A file that cannot be kept ends the whole write; what was
// copied by then is named by no entry, which does no harm.
func (r *Recording) keepWith(tx *logbook.Tx, act Act, o *Outcome, what string, files []string, tags ...string) error {
	entry := o.Receipts[len(o.Receipts)-1].Number
	for _, name := range files {
		a, err := r.log.KeepFile(name)
		if err != nil {
			return err
		}
		a.Name, a.What, a.OfEntry = givenName(name), what, entry
		d, err := r.draft(nil, act, "record", a, tags...)
		if err != nil {
			return err
		}
		if err := o.append(tx, d); err != nil {
			return err
		}
	}
	return nil
}
