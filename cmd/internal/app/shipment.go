package app

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/consign"
)

// The stages of a shipment. Cells go into packages while it is packing, or once
// it came back; a package that is closed takes none until it is opened again.
const (
	stagePacking = "packing"
	stageOnWay   = "on-the-way"
	stageBack    = "came-back"  // the carrier or the consignee did not take it
	stageDiffers = "difference" // the receipt does not say what left
	stageSettled = "settled"
)

// shipmentBody is the body of an entry about a shipment: what was done, and the
// whole of what holds of the shipment afterwards, so that the last entry about it
// is enough. Masses are in milligrams.
type shipmentBody struct {
	About  string `json:"about"` // the shipment's tag
	Did    string `json:"did"`   // begun, packed, closed, reopened, dispatched, refused, received, settled
	Issued bool   `json:"issued,omitempty"`

	// What this entry did it to.
	Package string   `json:"package,omitempty"`
	Cells   []string `json:"cells,omitempty"`
	Reason  string   `json:"reason,omitempty"`

	Stage     string       `json:"stage"`
	Open      bool         `json:"open"` // it left, and no receipt settles it
	Offered   string       `json:"offered,omitempty"`
	Route     string       `json:"route"`
	Consignee string       `json:"consignee,omitempty"`
	Packages  []packedBody `json:"packages,omitempty"`
	Handover  *Handover    `json:"handover,omitempty"`
	Returned  *returnBody  `json:"returned,omitempty"`
	Receipt   *receiptBody `json:"receipt,omitempty"`
}

// packedBody is a package as the log has it. Cells, counts and masses are those of
// its closing.
type packedBody struct {
	Tag   string    `json:"tag"`
	Outer outerBody `json:"outer"`
	Inner bool      `json:"inner"` // each in an inner packaging of its own
	Fill  bool      `json:"fill"`  // cushioned: non-combustible, non-conductive, absorbent

	Closed     bool     `json:"closed"`
	Cells      []string `json:"cells,omitempty"`
	Conditions []string `json:"conditions,omitempty"`
	UN         string   `json:"un,omitempty"`
	Ways       []string `json:"ways,omitempty"` // by id
	MicroWh    int64    `json:"uwh,omitempty"`
	Unrated    int64    `json:"unrated,omitempty"`
	GrossMg    int64    `json:"gross_mg,omitempty"`
	TareMg     int64    `json:"tare_mg,omitempty"`
	NetMg      int64    `json:"net_mg,omitempty"` // gross less tare
	WeighedMg  int64    `json:"weighed_mg,omitempty"`
	Unweighed  int64    `json:"unweighed,omitempty"`
	PackedBy   string   `json:"packed_by,omitempty"`
	CheckedBy  string   `json:"checked_by,omitempty"`
	Note       string   `json:"note,omitempty"`
}

type outerBody struct {
	Name   string `json:"name"`
	Level  string `json:"level"`
	UNMark string `json:"un_mark,omitempty"`
	TareMg int64  `json:"tare_mg,omitempty"`
	MaxMg  int64  `json:"max_mg,omitempty"`
}

func (o *outerBody) outer() consign.Outer {
	return consign.Outer{Name: o.Name, Level: o.Level, UNMark: o.UNMark, TareG: triage.Micro(o.TareMg * 1000), MaxGrossG: triage.Micro(o.MaxMg * 1000)}
}

// returnBody is of a shipment that came back.
type returnBody struct {
	On     string   `json:"on"`
	Reason string   `json:"reason"`
	Cells  []string `json:"cells"` // that travelled, to be looked at before they travel again
}

// A lastSaid finds the last entry about a subject: a log, or a write to one.
type lastSaid interface {
	LastAbout(topic, about string) (*logbook.Entry, error)
}

// readShipment reads what the log's last entry about a shipment says of it.
func readShipment(from lastSaid, tag string) (*shipmentBody, error) {
	e, err := from.LastAbout("shipment", tag)
	if err != nil {
		return nil, err
	}
	if e == nil {
		return nil, Usage("shipment %s is not on record (pouchward ship list; pouchward ship pack new new TAG begins one)", triage.SpacedTag(tag))
	}
	return shipmentOf(e)
}

func shipmentOf(e *logbook.Entry) (*shipmentBody, error) {
	b := new(shipmentBody)
	if err := e.Body.Decode(b); err != nil {
		return nil, fmt.Errorf("entry %d: %w", e.Number, err)
	}
	return b, nil
}

// shipmentsWith returns the tags of the shipments that entries of a package or a
// cell are about, in their order.
func shipmentsWith(entries []*logbook.Entry) (tags []string, err error) {
	for _, e := range entries {
		if e.Kind != "shipment" {
			continue
		}
		b, err := shipmentOf(e)
		if err != nil {
			return nil, err
		}
		tags = append(slices.DeleteFunc(tags, func(t string) bool { return t == b.About }), b.About)
	}
	return tags, nil
}

// packageLog is a log, or a write to one.
type packageLog interface {
	historian
	lastSaid
}

// shipmentOfPackage returns the shipment that a package belongs to, nil for a
// container that is none.
func shipmentOfPackage(tx packageLog, tag string) (*shipmentBody, error) {
	list, err := tx.History(tag)
	if err != nil {
		return nil, err
	}
	tags, err := shipmentsWith(list)
	if err != nil {
		return nil, err
	}
	for _, t := range slices.Backward(tags) {
		s, err := readShipment(tx, t)
		if err != nil {
			return nil, err
		}
		if s.pack(tag) != nil {
			return s, nil
		}
	}
	return nil, nil
}

// pack returns a package of the shipment, nil where it is of another.
func (s *shipmentBody) pack(tag string) *packedBody {
	for i := range s.Packages {
		if s.Packages[i].Tag == tag {
			return &s.Packages[i]
		}
	}
	return nil
}

// then returns the body of the next entry about the shipment.
func (s *shipmentBody) then(did string) *shipmentBody {
	b := *s
	b.Did, b.Issued, b.Package, b.Cells, b.Reason = did, false, "", nil, ""
	b.Packages = slices.Clone(s.Packages)
	return &b
}

// atHand refuses what is done only while the packages are in the shop.
func (s *shipmentBody) atHand() error {
	name := triage.SpacedTag(s.About)
	switch s.Stage {
	case stagePacking, stageBack:
		return nil
	case stageOnWay:
		return Usage("shipment %s left on %s; where the carrier did not take it: pouchward ship refused %s --reason \"...\"", name, s.Offered, s.About)
	}
	return Usage("shipment %s left on %s and has a receipt (pouchward ship show %s)", name, s.Offered, s.About)
}

func (s *shipmentBody) route() (triage.Route, error) { return readRoute(s.Route) }

// readRoute reads the word of one route.
func readRoute(word string) (triage.Route, error) {
	list, err := triage.ParseRoutes([]string{word})
	if err != nil || len(list) != 1 {
		return 0, Usage("--route %q: use one of %s", word, strings.Join(triage.RouteNames(), ", "))
	}
	return list[0], nil
}

// readShipTag reads the tag of a shipment.
func readShipTag(text string) (string, error) {
	tag, err := ReadTag(text)
	if err != nil {
		return "", err
	}
	if kind, _ := triage.TagNumber(tag); kind != triage.ShipmentTag {
		return "", Usage("%s is the tag of a %s; a shipment's has %d symbols", triage.SpacedTag(tag), kind, triage.ShipmentTag.Length())
	}
	return tag, nil
}

// readPackTag reads the tag of a package.
func readPackTag(text string) (string, error) {
	tag, err := ReadTag(text)
	if err != nil {
		return "", err
	}
	if kind, _ := triage.TagNumber(tag); kind != triage.ContainerTag {
		return "", Usage("%s is the tag of a %s; a package's has %d symbols, as a container's", triage.SpacedTag(tag), kind, triage.ContainerTag.Length())
	}
	return tag, nil
}

// today refuses to judge what is packed or leaves by the rules of another day
// than the one on which that happens.
func (r *Recording) today(shop *Shop, act Act) error {
	at := r.at(act.Happened)
	if day := triage.DateOf(at); day != shop.Rulebook.On {
		return Usage("judged for %s, and it happens on %s: what is packed and what leaves is judged by the rules of its day (--on %s)", shop.Rulebook.On, day, day)
	}
	return nil
}

// inOrder refuses a step of a shipment that is said to have happened before the
// last one. Else a hand-over that is dated back goes by the rules of a day on which
// nothing was packed, and by an acceptance that has run out. A time is typed to the
// minute, so steps of one minute are taken as typed.
func (r *Recording) inOrder(from lastSaid, tag string, act Act) error {
	e, err := from.LastAbout("shipment", tag)
	if err != nil || e == nil {
		return err
	}
	at := r.at(act.Happened)
	if last := e.Local(e.Happened); at.Truncate(time.Minute).Before(last.Truncate(time.Minute)) {
		return Usage("--happened %s is before the last step of shipment %s, which was on %s (entry %d): say when it was done", at.Format("2006-01-02 15:04"),
			triage.SpacedTag(tag), last.Format("2006-01-02 15:04"), e.Number)
	}
	return nil
}

// parseKg reads a mass above zero, in kilograms or with its unit (552 g), as
// milligrams.
func parseKg(name, text string) (mg int64, err error) {
	number := strings.TrimSpace(strings.TrimSuffix(strings.ToLower(strings.TrimSpace(text)), "kg"))
	m, err := triage.ParseQuantity(number, "", false)
	if unit := strings.TrimLeft(number, "0123456789.,+- "); unit != "" {
		m, err = triage.ParseQuantity(number, "g", false)
		m /= 1000 // a millionth of a gram to one of a kilogram
	}
	if err == nil && (m <= 0 || m > 100_000*triage.One) {
		err = fmt.Errorf("use a number of kilograms above 0, at most 100000")
	}
	if err != nil {
		return 0, Usage("%s %q: %v", name, text, err)
	}
	return int64(m), nil // a millionth of a kilogram is a milligram
}

// dateText is the local date of a moment.
func dateText(t time.Time) string { return t.Format(time.DateOnly) }
