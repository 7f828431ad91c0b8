package app

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
)

// A Handover is who took a shipment, and what the consignee said of it before.
type Handover struct {
	Carrier    string     `json:"carrier"`
	At         string     `json:"at"` // when it was handed over, with the shop's offset
	Papers     bool       `json:"papers,omitempty"`
	Phone      string     `json:"phone,omitempty"` // the emergency telephone named on them
	Acceptance Acceptance `json:"acceptance"`
}

// An Acceptance is the consignee's yes.
type Acceptance struct {
	By      string   `json:"by"`      // who said it
	Ref     string   `json:"ref"`     // under which reference
	Until   string   `json:"until"`   // last day on which it holds
	Accepts []string `json:"accepts"` // conditions
}

// A Dispatch is what is said when a shipment is handed over.
type Dispatch struct {
	Shipment   string
	Carrier    string
	Consignee  string // blank: as it was packed for, else of the house file
	AcceptedBy string
	Ref        string
	Until      string
	Accepts    []string // conditions; none: undamaged alone
	Note       string
}

// check reads what the flags say.
func (x *Dispatch) check(shop *Shop) (a Acceptance, err error) {
	if x.Carrier = strings.TrimSpace(x.Carrier); x.Carrier == "" {
		return a, Usage("say who takes it: --carrier NAME")
	}
	a = Acceptance{By: strings.TrimSpace(x.AcceptedBy), Ref: strings.TrimSpace(x.Ref)}
	const ask = "; ask the consignee before it goes (pouchward ship plan says what)"
	switch {
	case a.By == "":
		return a, Usage("say who at the consignee accepted it: --accepted-by NAME" + ask)
	case a.Ref == "":
		return a, Usage("say under which reference it was accepted: --acceptance REF" + ask)
	case x.Until == "":
		return a, Usage("say until when the acceptance holds: --acceptance-until DATE" + ask)
	}
	until, err := triage.ParseDate(x.Until)
	if err != nil {
		return a, Usage("--acceptance-until %q: %v", x.Until, err)
	}
	if a.Until = until.String(); until < shop.Rulebook.On {
		return a, Usage("the acceptance %s ran out on %s: ask the consignee again", a.Ref, a.Until)
	}
	for _, w := range x.Accepts {
		w = strings.ToLower(strings.TrimSpace(w))
		if c, ok := triage.ConditionByName(w); !ok || c == triage.Reacting || c == triage.Undetermined {
			return a, Usage("--accepts %q: use undamaged, damaged, recalled or liable, with commas between", w)
		}
		if !slices.Contains(a.Accepts, w) {
			a.Accepts = append(a.Accepts, w)
		}
	}
	if len(a.Accepts) == 0 {
		a.Accepts = []string{triage.Undamaged.String()} // a yes for ordinary ones is no yes for the rest
	}
	return a, nil
}

// A Sent is what a dispatch, a refusal or a receipt made of a shipment.
type Sent struct {
	Outcome
	Shipment *shipmentBody
	Cells    []*Outcome
}

// Dispatch records that a shipment was handed over. All of it is judged again as
// it stands: one cell that is not lawful on the route keeps the whole shipment.
func (r *Recording) Dispatch(shop *Shop, act Act, x Dispatch) (*Sent, error) {
	if err := act.needWho("a hand-over"); err != nil {
		return nil, err
	}
	accepted, err := x.check(shop)
	if err != nil {
		return nil, err
	}
	if err := r.today(shop, act); err != nil {
		return nil, err
	}
	return r.onShipment(shop, x.Shipment, "not dispatched", func(tx *logbook.Tx, s *shipmentBody, out *Sent) error {
		if err := s.atHand(); err != nil {
			return err
		}
		if err := r.inOrder(tx, s.About, act); err != nil {
			return err
		}
		b := s.then("dispatched")
		b.Consignee = cmp.Or(strings.TrimSpace(x.Consignee), s.Consignee)
		if b.Consignee == "" && shop.House != nil {
			b.Consignee = shop.House.Shop.Consignee
		}
		if b.Consignee == "" {
			return Usage("say who receives it: --consignee NAME, or consignee in the house file")
		}
		if text := x.otherConsignee(shop, s, b.Consignee); text != "" {
			out.note("%s", text)
		}
		at := r.at(act.Happened)
		b.Stage, b.Open, b.Offered, b.Returned, b.Reason = stageOnWay, true, dateText(at), nil, x.Note
		b.Handover = &Handover{Carrier: x.Carrier, At: at.Format("2006-01-02 15:04 -07:00"), Acceptance: accepted}
		if err := b.dropEmpty(tx); err != nil {
			return err
		}
		cells, err := b.judgeAll(tx, shop)
		if err != nil {
			return err
		}
		return r.leave(tx, act, b, cells, out)
	})
}

// otherConsignee says that a shipment goes to another than it was packed for, blank
// where it does not: a yes is of one consignee, and the papers name that one.
func (x *Dispatch) otherConsignee(shop *Shop, s *shipmentBody, to string) string {
	was, by, yes := s.Consignee, "was packed for", ""
	if h := s.Handover; h != nil {
		yes = fmt.Sprintf(", which accepted it under %s (%s),", h.Acceptance.Ref, h.Acceptance.By)
	}
	if was == "" && shop.House != nil {
		was, by = shop.House.Shop.Consignee, "is by the house file for"
	}
	if was == "" || strings.EqualFold(strings.Join(strings.Fields(was), " "), strings.Join(strings.Fields(to), " ")) {
		return ""
	}
	return fmt.Sprintf("this shipment %s %s%s and leaves for %s under acceptance %s (%s). A yes is of one consignee: see that this one is of %s, and that papers and packages name it.",
		by, was, yes, to, strings.TrimSpace(x.Ref), strings.TrimSpace(x.AcceptedBy), to)
}

// onShipment runs fn on a shipment within one write.
func (r *Recording) onShipment(shop *Shop, tag, failed string, fn func(*logbook.Tx, *shipmentBody, *Sent) error) (*Sent, error) {
	tag, err := readShipTag(tag)
	if err != nil {
		return nil, err
	}
	out := &Sent{Outcome: Outcome{Shop: shop, Tag: tag}}
	err = r.log.Write(func(tx *logbook.Tx) error {
		s, err := readShipment(tx, tag)
		if err != nil {
			return err
		}
		return fn(tx, s, out)
	})
	if err != nil {
		return nil, fmt.Errorf("shipment %s %s: %w", triage.SpacedTag(tag), failed, err)
	}
	return out, nil
}

// leave writes that a shipment and all in it left the shop.
func (r *Recording) leave(tx *logbook.Tx, act Act, b *shipmentBody, cells []*packedCell, out *Sent) error {
	d, err := r.draft(out.Shop, act, "shipment", b, b.tags()...)
	if err != nil {
		return err
	}
	for i := range b.Packages {
		box, err := r.container(tx, b.Packages[i].Tag)
		if err != nil {
			return err
		}
		box.Is = logbook.Out
		d.Now = append(d.Now, box)
	}
	for _, p := range cells {
		c := p.cell
		o := &Outcome{Shop: out.Shop, Tag: c.Tag, Was: c.State}
		if err := c.movedBy(d.Happened); err != nil {
			return err
		}
		if err := c.add(tx, &d); err != nil {
			return err
		}
		c.State = c.after(out.Shop, p.verdict, d.Happened, false)
		o.Is = c.State
		d.Now = append(d.Now, c.State)
		out.Cells = append(out.Cells, o)
	}
	out.Shipment = b
	return out.append(tx, d)
}

// tags returns the shipment's tag, those of its packages, and of the cells that
// they were closed with.
func (s *shipmentBody) tags() []string {
	list := []string{s.About}
	for i := range s.Packages {
		list = append(list, s.Packages[i].Tag)
	}
	return append(list, s.cells()...)
}

// cells returns the tags of all cells in closed packages.
func (s *shipmentBody) cells() (list []string) {
	for i := range s.Packages {
		list = append(list, s.Packages[i].Cells...)
	}
	return list
}
