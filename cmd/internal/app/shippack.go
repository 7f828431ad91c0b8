package app

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/consign"
)

// OuterLevels are how strong an outer packaging is: a strong one, or a UN
// specification packaging of packing group II or I level.
var OuterLevels = []string{"strong", "pg2", "pg1"}

// defaultPackingPlace is where packages stand that nobody said a place of.
const defaultPackingPlace = "packing table"

// ParseOuter reads an outer packaging: NAME,LEVEL[,TARE_KG[,MAX_KG[,UN_MARK]]].
func ParseOuter(text string) (o outerBody, err error) {
	parts := strings.Split(text, ",")
	if len(parts) < 2 || len(parts) > 5 {
		return o, Usage("--outer %q: write NAME,LEVEL,TARE_KG,MAX_KG,UN_MARK, such as %q; the masses may be left out, and of a strong one the mark", text, outerExample)
	}
	o.Name, o.Level = strings.TrimSpace(parts[0]), strings.ToLower(strings.TrimSpace(parts[1]))
	if o.Name == "" || len(o.Name) > 60 {
		return o, Usage("--outer %q: begin with a name of 1 to 60 characters", text)
	}
	if !slices.Contains(OuterLevels, o.Level) {
		return o, Usage("--outer %q: the level %q is none of %s", text, o.Level, strings.Join(OuterLevels, ", "))
	}
	for i, to := range []*int64{&o.TareMg, &o.MaxMg} {
		if len(parts) <= 2+i || strings.TrimSpace(parts[2+i]) == "" {
			continue
		}
		if *to, err = parseKg("--outer "+o.Name+", "+[]string{"tare", "most"}[i], parts[2+i]); err != nil {
			return o, err
		}
	}
	if len(parts) == 5 {
		o.UNMark = strings.TrimSpace(parts[4])
	}
	if o.Level != "strong" && o.UNMark == "" {
		return o, Usage("--outer %q: a packaging of level %s bears a UN mark: copy it as the fifth part, \"drum 10 L,pg1,1.1,10,1A2/X10/S/...\"", text, o.Level)
	}
	if o.MaxMg > 0 && o.TareMg >= o.MaxMg {
		return o, Usage("--outer %q: it weighs %s kg empty, and holds at most %s kg", text, parts[2], parts[3])
	}
	return o, nil
}

// A Packing says into which package of which shipment cells are packed, one
// after the other. Pack fills in the tags of what it begins.
type Packing struct {
	Shipment  string // tag, or new
	Package   string // tag, or new
	Route     string // of a new shipment
	Consignee string // blank: of the house file
	Outer     string // of a new package, as ParseOuter reads it
	Place     string // where a new package stands
	Inner     bool   // each cell is in an inner packaging of its own
	Fill      bool   // and cushioned

	outer outerBody
}

const newTag = "new"

const outerExample = "box 30x20x20,strong,0.4,30"

// check reads what the flags say.
func (x *Packing) check(shop *Shop) (err error) {
	x.Consignee = strings.TrimSpace(x.Consignee)
	if x.Shipment = strings.TrimSpace(x.Shipment); x.Shipment != newTag {
		if x.Shipment, err = readShipTag(x.Shipment); err != nil {
			return err
		}
	} else {
		if x.Route == "" {
			return Usage("a new shipment has a route: --route us-highway")
		}
		if _, err := readRoute(x.Route); err != nil {
			return err
		}
	}
	if x.Package = strings.TrimSpace(x.Package); x.Package != newTag {
		if x.Package, err = readPackTag(x.Package); err != nil {
			return err
		}
	} else if x.Outer == "" {
		return Usage("a new package has an outer packaging: --outer %q", outerExample)
	}
	if x.Outer != "" {
		if x.outer, err = ParseOuter(x.Outer); err != nil {
			return err
		}
	}
	if x.Place == "" {
		if x.Place = defaultPackingPlace; shop.House != nil && shop.House.Shop.StorePlace != "" {
			x.Place = shop.House.Shop.StorePlace
		}
	}
	return nil
}

// A Packed is what became of one scan.
type Packed struct {
	Outcome
	Shipment, Package string
	Begun             []string // what this scan began
	Cells             int64    // in the package now
	MicroWh, Unrated  int64
	MassMg, Unweighed int64
	Owed              []string // what is not known yet, and is asked at closing
}

// Pack puts one cell into a package, and begins the package and the shipment
// where they are new, in one write. A cell that does not belong there is refused
// with the reason, and nothing is written.
func (r *Recording) Pack(shop *Shop, act Act, x *Packing, tag string) (*Packed, error) {
	if err := x.check(shop); err != nil {
		return nil, err
	}
	if err := r.today(shop, act); err != nil {
		return nil, err
	}
	tag, err := ReadTag(tag)
	if err == nil {
		tag, err = cellTag(tag)
	}
	if err != nil {
		return nil, Usage("%v", err)
	}
	out := &Packed{Outcome: Outcome{Shop: shop}}
	err = r.log.Write(func(tx *logbook.Tx) error {
		p, err := readPacked(tx, shop, tag)
		if err != nil {
			return err
		}
		if p.cell.Tag != tag {
			out.note("%s is another tag of %s.", triage.SpacedTag(tag), triage.SpacedTag(p.cell.Tag))
		}
		return r.packIn(tx, act, x, p, out)
	})
	if err != nil {
		return nil, fmt.Errorf("%s not packed: %w", triage.SpacedTag(tag), err)
	}
	// What was new is begun, now that it is on record.
	x.Shipment, x.Package, x.Outer = out.Shipment, out.Package, ""
	return out, nil
}

func (r *Recording) packIn(tx *logbook.Tx, act Act, x *Packing, p *packedCell, out *Packed) error {
	c, shop := p.cell, out.Shop
	out.Tag, out.Was = c.Tag, c.State
	s, err := r.shipmentFor(tx, x)
	if err != nil {
		return err
	}
	route, err := s.route()
	if err != nil {
		return err
	}
	if why := p.unfit(shop, route); why != "" {
		return Usage("%s", why)
	}
	if err := c.packedAlready(tx, x); err != nil {
		return err
	}
	pack, box, err := r.packageFor(tx, s, x)
	if err != nil {
		return err
	}
	pack.Inner, pack.Fill = pack.Inner || x.Inner, pack.Fill || x.Fill
	cells, err := contentsOf(tx, shop, pack.Tag)
	if err != nil {
		return err
	}
	cells = append(cells, p)
	// How they are packed is seen at the closing; what does not go together never
	// does.
	asClosed := pack.consignPackage(cells)
	asClosed.Inner, asClosed.Fill = true, true
	if wrong := broken(consign.Judge(shop.Rulebook, route, asClosed).Breaches, false); len(wrong) > 0 {
		more := ""
		if len(wrong) > 1 {
			more = fmt.Sprintf("; and %d limits more", len(wrong)-1)
		}
		return Usage("it is %s, %s%s. It does not go into %s: %s%s", exports.HandlingText(p.verdict.Handling.String()), p.verdict.Condition, c.since(shop, p.verdict),
			packName(pack.Tag), wrong[0], more)
	}
	if err := r.begin(tx, act, s, pack, box, out); err != nil {
		return err
	}
	b := s.then("packed")
	b.Package, b.Cells = pack.Tag, []string{c.Tag}
	d, err := r.draft(shop, act, "shipment", b, s.About, pack.Tag, c.Tag)
	if err != nil {
		return err
	}
	if err := c.add(tx, &d); err != nil {
		return err
	}
	c.State = c.after(shop, p.verdict, d.Happened, false)
	d.Now = []logbook.State{c.State}
	out.Is, out.Verdict = c.State, p.verdict
	out.Shipment, out.Package = s.About, pack.Tag
	out.Owed = broken(consign.Judge(shop.Rulebook, route, pack.consignPackage(cells)).Breaches, true)
	out.count(cells)
	return out.append(tx, d)
}

func packName(tag string) string {
	if tag == "" {
		return "the new package"
	}
	return "package " + triage.SpacedTag(tag)
}

// count sums up what is in the package.
func (o *Packed) count(cells []*packedCell) {
	for _, p := range cells {
		o.Cells++
		if e := p.verdict.Facts[triage.FEnergy]; e.State == triage.Known {
			o.MicroWh += int64(e.Lo)
		} else {
			o.Unrated++
		}
		if m := p.verdict.Facts[triage.FScaleMass]; m.State == triage.Known {
			o.MassMg += int64(m.Hi / 1000)
		} else {
			o.Unweighed++
		}
	}
}

// packedAlready refuses a cell that stands in a package.
func (c *Cell) packedAlready(tx *logbook.Tx, x *Packing) error {
	if c.in == "" {
		return nil
	}
	if c.in == x.Package {
		return Usage("it is in %s already", packName(c.in))
	}
	s, err := shipmentOfPackage(tx, c.in)
	if err != nil || s == nil {
		return err
	}
	return Usage("it is in %s of shipment %s: take it out first (pouchward move %s --to ...)", packName(c.in), triage.SpacedTag(s.About), c.Tag)
}

// shipmentFor returns the shipment that is packed; a new one has no tag yet.
func (r *Recording) shipmentFor(tx *logbook.Tx, x *Packing) (*shipmentBody, error) {
	if x.Shipment == newTag {
		return &shipmentBody{Stage: stagePacking, Route: x.Route, Consignee: x.Consignee}, nil
	}
	s, err := readShipment(tx, x.Shipment)
	if err != nil {
		return nil, err
	}
	if err := s.atHand(); err != nil {
		return nil, err
	}
	if x.Route != "" && x.Route != s.Route {
		return nil, Usage("shipment %s goes by %s, not by %s: begin another (new)", triage.SpacedTag(s.About), s.Route, x.Route)
	}
	s.Consignee = cmp.Or(x.Consignee, s.Consignee)
	return s, nil
}

// packageFor returns the package, and its state where it is on record already; a
// new one without a tag gets one when it is begun.
func (r *Recording) packageFor(tx *logbook.Tx, s *shipmentBody, x *Packing) (*packedBody, logbook.State, error) {
	fresh := packedBody{Outer: x.outer}
	box := logbook.State{Is: logbook.Here, Place: x.Place, What: "package, " + x.outer.Name}
	if x.Package == newTag {
		s.Packages = append(s.Packages, fresh)
		return &s.Packages[len(s.Packages)-1], box, nil
	}
	if p := s.pack(x.Package); p != nil {
		if p.Closed {
			return nil, box, Usage("%s is closed: pouchward ship reopen %s --reason \"...\"", packName(p.Tag), p.Tag)
		}
		if x.Outer != "" && x.outer != p.Outer {
			return nil, box, Usage("%s is a %s (%s) on record: leave out --outer, or begin another package (new)", packName(p.Tag), p.Outer.Name, p.Outer.Level)
		}
		box, err := r.container(tx, p.Tag)
		return p, box, err
	}
	entries, err := tx.History(x.Package)
	if err != nil {
		return nil, box, err
	}
	if len(entries) > 0 {
		return nil, box, Usage("%s is on record and no package of this shipment: take another tag, or new", triage.SpacedTag(x.Package))
	}
	if x.Outer == "" {
		return nil, box, Usage("%s is a new package: --outer %q", triage.SpacedTag(x.Package), outerExample)
	}
	fresh.Tag, box.Tag = x.Package, x.Package
	s.Packages = append(s.Packages, fresh)
	return &s.Packages[len(s.Packages)-1], box, nil
}

// begin writes the entries of a shipment and a package that are new.
func (r *Recording) begin(tx *logbook.Tx, act Act, s *shipmentBody, pack *packedBody, box logbook.State, out *Packed) (err error) {
	if s.About == "" {
		if s.About, err = tx.IssueTag(triage.ShipmentTag); err != nil {
			return err
		}
		b := s.then("begun")
		b.Issued, b.Packages = true, nil
		if err := r.putShipment(tx, out.Shop, act, &out.Outcome, b, nil, s.About); err != nil {
			return err
		}
		out.Begun = append(out.Begun, "shipment "+triage.SpacedTag(s.About)+", by "+s.Route)
	}
	if pack.Tag != "" {
		if known, err := tx.History(pack.Tag); err != nil || len(known) > 0 {
			return err
		}
	}
	x := packageContainer{Kind: "package", Outer: pack.Outer, Place: box.Place, Shipment: s.About}
	if pack.Tag == "" {
		if pack.Tag, err = tx.IssueTag(triage.ContainerTag); err != nil {
			return err
		}
		x.Issued = true
	}
	box.Tag = pack.Tag
	d, err := r.draft(nil, act, "container", x, pack.Tag)
	if err != nil {
		return err
	}
	d.Now = []logbook.State{box}
	out.Begun = append(out.Begun, fmt.Sprintf("package %s, %s (%s)", triage.SpacedTag(pack.Tag), pack.Outer.Name, pack.Outer.Level))
	return out.append(tx, d)
}

// packageContainer is the body of the entry that begins a package.
type packageContainer struct {
	Kind     string    `json:"kind"`
	Outer    outerBody `json:"outer"`
	Place    string    `json:"place,omitempty"`
	Shipment string    `json:"shipment"`
	Issued   bool      `json:"issued,omitempty"`
}

// putShipment writes an entry about a shipment.
func (r *Recording) putShipment(tx *logbook.Tx, shop *Shop, act Act, o *Outcome, b *shipmentBody, now []logbook.State, tags ...string) error {
	d, err := r.draft(shop, act, "shipment", b, tags...)
	if err != nil {
		return err
	}
	d.Now = now
	return o.append(tx, d)
}
