package exports

import (
	"fmt"
	"io"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
)

// A ShipmentRow is one shipment in a list.
type ShipmentRow struct {
	Tag       string  `json:"shipment"`
	Stage     string  `json:"stage"`
	Route     string  `json:"route"`
	Consignee string  `json:"consignee,omitempty"`
	Offered   string  `json:"offered,omitempty"`
	Packages  int     `json:"packages"`
	Cells     int64   `json:"cells"`
	Wh        float64 `json:"wh"`
	Unrated   int64   `json:"unrated"`
	NetKg     float64 `json:"net_kg"`
	Unweighed int64   `json:"unweighed"`
}

// A Shipment is one shipment with its packages and what became of it.
type Shipment struct {
	ShipmentRow
	Carrier       string           `json:"carrier,omitempty"`
	AcceptedBy    string           `json:"accepted_by,omitempty"`
	Accepted      string           `json:"acceptance,omitempty"`
	AcceptedUntil string           `json:"acceptance_until,omitempty"`
	Papers        bool             `json:"papers,omitempty"`
	Phone         string           `json:"emergency_number,omitempty"`
	CameBack      string           `json:"came_back,omitempty"`
	Why           string           `json:"came_back_because,omitempty"`
	Received      string           `json:"received,omitempty"`
	Differs       []string         `json:"differs,omitempty"`
	Settled       string           `json:"settled,omitempty"`
	Note          string           `json:"settled_because,omitempty"`
	Packs         []ShipPackage    `json:"package"`
	Others        []string         `json:"earlier_shipments,omitempty"` // that a cell was in
	Entries       []*logbook.Entry `json:"-"`
}

// A ShipPackage is a package of a shipment.
type ShipPackage struct {
	Tag        string     `json:"package"`
	Outer      string     `json:"outer"`
	Level      string     `json:"level"`
	UNMark     string     `json:"un_mark,omitempty"`
	Closed     bool       `json:"closed"`
	UN         string     `json:"un,omitempty"`
	Conditions []string   `json:"conditions,omitempty"`
	Ways       []string   `json:"ways,omitempty"`
	Inner      bool       `json:"inner"`
	Fill       bool       `json:"fill"`
	Cells      int64      `json:"cells"`
	Wh         float64    `json:"wh"`
	Unrated    int64      `json:"unrated"`
	NetKg      float64    `json:"net_kg"`
	Unweighed  int64      `json:"unweighed"`
	TareKg     float64    `json:"tare_kg,omitempty"`
	GrossKg    float64    `json:"gross_kg,omitempty"`
	PackedBy   string     `json:"packed_by,omitempty"`
	CheckedBy  string     `json:"checked_by,omitempty"`
	Note       string     `json:"note,omitempty"`
	Tags       []string   `json:"-"`
	Lines      []ShipCell `json:"cell,omitempty"`
	Gone       []ShipCell `json:"moved_out,omitempty"` // in the shop: packed, and no longer in it
}

// A ShipCell is a cell of a package: in the shop by the last that the log says of it,
// in a shipment that left as it was handed over.
type ShipCell struct {
	Tag       string   `json:"tag"`
	Handling  string   `json:"handling"`
	Condition string   `json:"condition"`
	Wh        float64  `json:"wh"`              // 0 not known
	G         float64  `json:"scale_g"`         // 0 not weighed
	Since     []string `json:"since,omitempty"` // what is otherwise since it left, was closed or was packed
}

// A ShipMark is what a package bears outside.
type ShipMark struct{ Words, Text, Source string }

// Only keeps one package.
func (x *Shipment) Only(tag string) {
	for _, p := range x.Packs {
		if p.Tag == tag {
			x.Packs = []ShipPackage{p}
			return
		}
	}
}

// StageText says where a shipment stands.
func StageText(stage string) string {
	switch stage {
	case "packing":
		return "being packed"
	case "on-the-way":
		return "on the way, no receipt"
	case "came-back":
		return "not taken, in the shop again"
	case "difference":
		return "OPEN: the receipt differs"
	case "settled":
		return "received and settled"
	}
	return stage
}

// Shipments writes the list of shipments.
func Shipments(w io.Writer, list []ShipmentRow, asJSON bool) error {
	if asJSON {
		return jsonLines(w, list)
	}
	t := table{head: []string{"TAG", "LEFT", "ROUTE", "PKGS", "CELLS", "Wh", "kg", "STAGE"}, right: []bool{false, false, false, true, true, true, true}}
	for i := range list {
		x := &list[i]
		t.rows = append(t.rows, []string{triage.SpacedTag(x.Tag), x.Offered, x.Route, fmt.Sprint(x.Packages), fmt.Sprint(x.Cells),
			withOpen(rowWh(x.Wh, x.Cells), x.Wh, x.Unrated), rowKg(x.NetKg, x.Cells), StageText(x.Stage)})
	}
	var b strings.Builder
	t.write(&b)
	if len(list) == 0 {
		b.WriteString("No shipment is on record: pouchward ship plan --route us-highway\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// WriteShipment writes one shipment with its packages, cells and entries.
func WriteShipment(w io.Writer, x *Shipment) error {
	c := card{width: width}
	fmt.Fprintf(&c.b, "SHIPMENT %s: %s\n", triage.SpacedTag(x.Tag), StageText(x.Stage))
	c.item("ROUTE", x.Route)
	c.known("TO", x.Consignee)
	c.item("HOLDS", fmt.Sprintf("%s in %s, %s, %s kg net", Count(x.Cells, "cell"), Count(int64(x.Packages), "package"), whText(x.Wh, x.Unrated), shortest(x.NetKg)))
	if x.Carrier != "" {
		c.item("LEFT", x.Offered+" with "+x.Carrier)
		c.item("ACCEPTED", fmt.Sprintf("%s by %s, until %s", x.Accepted, x.AcceptedBy, x.AcceptedUntil))
	}
	if x.Papers {
		c.item("PAPERS", "owed; emergency telephone "+x.Phone)
	}
	if x.CameBack != "" {
		c.item("CAME BACK", x.CameBack+": "+x.Why+". Each cell is looked at before it travels again.")
	}
	c.known("RECEIVED", x.Received)
	for _, d := range x.Differs {
		c.item("DIFFERS", d)
	}
	if x.Note != "" {
		c.item("SETTLED", x.Settled+": "+x.Note)
	}
	for i := range x.Packs {
		x.Packs[i].write(&c)
	}
	if len(x.Others) > 0 {
		c.item("BEFORE", "the cell was in "+strings.Join(spacedTags(x.Others), ", ")+" too")
	}
	c.item("CARE", notAdvice+triage.LocalFirst)
	out := cleanLines(c.b.String())
	if _, err := io.WriteString(w, out); err != nil {
		return err
	}
	return x.entries(w)
}

// cleanLines is Clean for text of several lines.
func cleanLines(text string) string {
	var b strings.Builder
	for line := range strings.Lines(text) {
		b.WriteString(Clean(strings.TrimSuffix(line, "\n")) + "\n")
	}
	return b.String()
}

func (c *card) known(label, text string) {
	if text != "" {
		c.item(label, text)
	}
}

func whText(wh float64, unrated int64) string {
	text := shortest(wh) + " Wh"
	if unrated > 0 {
		text += fmt.Sprintf(" and %d without a rating", unrated)
	}
	return text
}

// HoldsText says what is in a package, and for a closed one what it weighs and who
// closed it.
func HoldsText(p *ShipPackage) string {
	text := Count(p.Cells, "cell") + ", " + whText(p.Wh, p.Unrated)
	if p.UN != "" {
		text = p.UN + ": " + text
	}
	if p.Closed {
		text += fmt.Sprintf("; gross %s kg, tare %s kg, net %s kg; packed by %s, checked by %s", shortest(p.GrossKg), shortest(p.TareKg), shortest(p.NetKg), p.PackedBy, p.CheckedBy)
	} else {
		text += fmt.Sprintf("; %s kg of cells weighed", shortest(p.NetKg))
	}
	if p.Unweighed > 0 {
		text += ", " + Count(p.Unweighed, "cell") + " never weighed"
	}
	return text
}

func (p *ShipPackage) write(c *card) {
	state := "open"
	if p.Closed {
		state = "closed"
	}
	c.b.WriteString("\n")
	c.set(0, fmt.Sprintf("PACKAGE %s: %s (%s), %s", triage.SpacedTag(p.Tag), p.Outer, p.Level, state))
	for _, line := range Wrap(HoldsText(p), c.width-2) {
		c.b.WriteString("  " + line + "\n")
	}
	if p.UNMark != "" {
		c.set(2, "UN mark "+p.UNMark)
	}
	for i := range p.Lines {
		p.Lines[i].write(c)
	}
	if len(p.Gone) > 0 {
		c.b.WriteString("  NOT IN IT ANY MORE\n")
	}
	for i := range p.Gone {
		p.Gone[i].write(c)
	}
}

// write writes a cell, and in lines of their own what is otherwise since.
func (x *ShipCell) write(c *card) {
	wh, g := x.figures()
	fmt.Fprintf(&c.b, "  %-8s %10s  %-11s  %s, %s\n", triage.SpacedTag(x.Tag), wh, g, HandlingText(x.Handling), x.Condition)
	if text := x.sinceText(); text != "" {
		for _, line := range Wrap(text, c.width-11) {
			c.b.WriteString(strings.Repeat(" ", 11) + line + "\n")
		}
	}
}

func (x *ShipCell) sinceText() string {
	if len(x.Since) == 0 {
		return ""
	}
	return "since then: " + strings.Join(x.Since, "; ")
}

func (x *ShipCell) figures() (wh, g string) {
	wh, g = "Wh ?", "not weighed"
	if x.Wh > 0 {
		wh = shortest(x.Wh) + " Wh"
	}
	if x.G > 0 {
		g = shortest(x.G) + " g"
	}
	return wh, g
}

// Text says what is on record of a cell in a package.
func (x *ShipCell) Text() string {
	wh, g := x.figures()
	text := fmt.Sprintf("%s, %s, %s, %s", wh, g, HandlingText(x.Handling), x.Condition)
	if since := x.sinceText(); since != "" {
		text += "; " + since
	}
	return text
}

// entries writes what was done, but for each single cell packed.
func (x *Shipment) entries(w io.Writer) error {
	packed := 0
	if _, err := io.WriteString(w, "\n"); err != nil {
		return err
	}
	for _, e := range x.Entries {
		var b struct {
			Did string `json:"did"`
		}
		if e.Body.Decode(&b) == nil && b.Did == "packed" {
			packed++
			continue
		}
		if err := LogLine(w, e); err != nil {
			return err
		}
	}
	if packed == 0 {
		return nil
	}
	_, err := fmt.Fprintf(w, "%9sand %s of a cell packed (pouchward log history %s)\n", "", plural(packed, "scan"), x.Tag)
	return err
}

func spacedTags(tags []string) (list []string) {
	for _, t := range tags {
		list = append(list, triage.SpacedTag(t))
	}
	return list
}
