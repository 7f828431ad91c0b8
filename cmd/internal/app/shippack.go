package app

import (
	"slices"
	"strings"
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
	shop  *Shop // for which read was judged
	read  map[string]asOf
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
